"""Rain caught by the store: by the rise of its level in each shower, else by the gauge and the roofs that feed it."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from sprayroof.evidence.steps import runs
from sprayroof.model.measured_amounts import NOTHING, Amount, total
from sprayroof.model.measured_meters import drawn_L, makeup_L, quiet_after, quiet_before
from sprayroof.model.measured_readings import Readings
from sprayroof.model.measured_store import content_m3

LEAST_SHOWER_mm = 1.0  # less only wets the roofs; the level cannot tell it
JOINED_H = 3.0  # tips nearer than this are one shower
BEFORE_MIN, DRAINS_MIN = 20.0, 60.0  # a bucket tips late; roofs and gutters drain after
UNKNOWN_MIN = 60.0  # a longer gap of the gauge may hide rain
LOSS_FRAC = 0.5  # 90 % half-width of water lost by spraying during a shower, as a share of what is usual


@dataclass(frozen=True)
class Losses:
    """Water that leaves the store while it rains: leaks [L/h], spraying [L/h of spraying], water up on the roof [L]."""

    leak_L_h: Amount
    spray_L_h: Amount
    hold_up_L: Amount


@dataclass(frozen=True)
class Shower:
    """A shower, or its part between two noons.

    Parameters
    ----------
    start, stop : int
        Steps from before the first tip until the roofs have drained.
    depth_mm : float
        By the gauge, within these steps.
    caught_L : Amount
        What reached the store.
    by_level : bool
        Whether the level tells it; else gauge and stated roofs do.
    """

    start: int
    stop: int
    depth_mm: float
    caught_L: Amount
    by_level: bool


def rain_mm(readings: Readings) -> np.ndarray:
    """Rain of each step; NaN in gaps that may hide rain, none in tips that the spray made and in short gaps."""
    depth = readings.weather_column("rain_mm", "rain_mm")
    sprayed = readings.logs.masks.get("rain_mm", {}).get("sprayed")
    unknown = np.isnan(depth)
    if sprayed is not None:
        unknown &= ~np.asarray(sprayed)
    filled = np.where(np.isnan(depth), 0.0, depth)
    for start, stop in runs(unknown):
        if (stop - start) * readings.step_s > UNKNOWN_MIN * 60.0:
            filled[start:stop] = np.nan
    return filled if catches_rain(readings.site) else np.zeros(len(depth))


def catches_rain(site) -> bool:
    """Whether any roof feeds rain to the store."""
    return bool(site.catchment) or any(roof.catches_rain for roof in site.roof)


def showers(readings: Readings, noons: list[int], losses: Losses) -> list[Shower]:
    """All showers, parted at noons so that each part belongs to one night."""
    depth = rain_mm(readings)
    wet = np.nan_to_num(depth) > 0.0
    gap = round(JOINED_H * 3600.0 / readings.step_s)
    found, last_wet = [], None
    for start, stop in runs(_joined(wet, gap)):
        dry_h = None if last_wet is None else (start - last_wet) * readings.step_s / 3600.0
        last_wet = stop
        found += _parts(readings, depth, (start, stop), dry_h, noons, losses)
    return found


def _joined(wet: np.ndarray, gap: int) -> np.ndarray:
    joined = wet.copy()
    for start, stop in runs(~wet):
        if start > 0 and stop < len(wet) and stop - start < gap:
            joined[start:stop] = True
    return joined


def _parts(readings: Readings, depth: np.ndarray, shower: tuple[int, int], dry_h: float | None, noons: list[int],
           losses: Losses) -> list[Shower]:
    start, stop = shower
    whole_mm = float(np.nansum(depth[start:stop]))
    by_gauge = caught_by_gauge(readings, whole_mm, dry_h)
    first = quiet_before(readings, max(start - readings.steps_in(60.0 * BEFORE_MIN), 0))
    last = quiet_after(readings, min(stop + readings.steps_in(60.0 * DRAINS_MIN), len(depth)))
    edges = [first, *(noon for noon in noons if first < noon < last), last]
    parts = []
    for low, high in itertools.pairwise(edges):
        part_mm = float(np.nansum(depth[low:high]))
        share = by_gauge.scaled(part_mm / whole_mm)
        by_level = _by_level(readings, low, high, losses) if whole_mm >= LEAST_SHOWER_mm else None
        parts.append(Shower(low, high, part_mm, share if by_level is None else by_level, by_level is not None))
    return parts


def _by_level(readings: Readings, start: int, stop: int, losses: Losses) -> Amount | None:
    """Rise of the level, less make-up, with what was drawn and lost meanwhile; None where one of them is not known."""
    if not readings.has("store_m3"):
        return None
    ends = [content_m3(readings, _around(readings, step)) for step in (start, stop)]
    mains, draw = makeup_L(readings, slice(start, stop)), drawn_L(readings, slice(start, stop))
    if None in (*ends, mains, draw):
        return None
    hours = (stop - start) * readings.step_s / 3600.0
    lost = losses.spray_L_h.scaled(float(readings.running_frac[start:stop].sum()) * readings.step_s / 3600.0)
    on_roof = _runs_at(readings, stop) - _runs_at(readings, start)
    return total([(ends[1] - ends[0]).scaled(1000.0), -mains, draw, losses.leak_L_h.scaled(hours),
                  lost.with_random(LOSS_FRAC * abs(lost.value)), losses.hold_up_L.scaled(on_roof)])


def _around(readings: Readings, step: int) -> slice:
    width = readings.steps_in(600.0)
    return slice(max(step - width, 0), min(step + width, len(readings.times_ns)))


def _runs_at(readings: Readings, step: int) -> float:
    """One where it sprays around a step, so that water is up on the roof."""
    return float(readings.running_frac[_around(readings, step)].mean() > 0.5)


def per_step_L(readings: Readings, found: list[Shower]) -> np.ndarray:
    """Rain caught laid on the steps in proportion to the gauge; NaN where rain is not known."""
    depth = rain_mm(readings)
    caught = np.where(np.isnan(depth), np.nan, 0.0)
    for shower in found:
        part = depth[shower.start:shower.stop]
        weight = np.nan_to_num(part) if np.nansum(part) > 0.0 else np.ones(len(part))
        caught[shower.start:shower.stop] += shower.caught_L.value * weight / weight.sum()
    return caught


# --- by gauge -------------------------------------------------------------------------------------------------------


def caught_by_gauge(readings: Readings, depth_mm: float, dry_h: float | None) -> Amount:
    """What the stated roofs, first flush and filter leave of a depth of rain [L]; each fact's range is systematic."""
    hand = readings.tests.gauges
    gauge = Amount(1.0, {"rain_mm.gain": readings.gain("rain_mm")}) if not hand else total(hand).scaled(1.0 / len(hand))
    facts = _facts(readings.site)
    values = {name: fact.value for name, fact in facts.items()}
    diverts = dry_h is None or dry_h >= readings.site.rain.dry_spell_h.value

    def caught(mm: float, used: dict[str, float]) -> float:
        return _of_roofs_L(readings.site, mm, used, diverts)

    fall_mm = depth_mm * gauge.value
    shifts = {name: 0.5 * (caught(fall_mm, {**values, name: fact.high}) - caught(fall_mm, {**values, name: fact.low}))
              for name, fact in facts.items()}
    best = caught(fall_mm, values)
    for source, shift in gauge.shifts.items():
        shifts[source] = caught(depth_mm * (gauge.value + shift), values) - best
    return Amount(best, shifts) if best > 0.0 else NOTHING


def _facts(site) -> dict[str, object]:
    facts = {"rain.first_flush": site.rain.first_flush_mm, "rain.filter_efficiency": site.rain.filter_efficiency_frac}
    for name, roof in _roofs(site):
        facts |= {f"{name}.area": roof.area_m2, f"{name}.runoff_coefficient": roof.runoff_coefficient_frac,
                  f"{name}.initial_loss": roof.initial_loss_mm}
    return facts


def _roofs(site) -> list[tuple[str, object]]:
    own = [(f"roof.{number}", roof) for number, roof in enumerate(site.roof, start=1) if roof.catches_rain]
    return own + [(f"catchment.{number}", roof) for number, roof in enumerate(site.catchment, start=1)]


def _of_roofs_L(site, depth_mm: float, values: dict[str, float], diverts: bool) -> float:
    ran = sum(values[f"{name}.area"] * values[f"{name}.runoff_coefficient"]
              * max(depth_mm - values[f"{name}.initial_loss"], 0.0) for name, _ in _roofs(site))
    flush = values["rain.first_flush"] * sum(values[f"{name}.area"] for name, _ in _roofs(site)) if diverts else 0.0
    return max(ran - flush, 0.0) * values["rain.filter_efficiency"]
