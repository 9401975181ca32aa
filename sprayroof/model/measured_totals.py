"""Nights to rows, months and totals: sums of the measured nights, and estimates for all nights, told apart."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from sprayroof.model.measured_amounts import Amount, MeasuredValue, as_row, by_weight, measured_value, total
from sprayroof.model.measured_heat import Heat, litres_sprayed, pipe_heat, pump_heat_kWh, pump_kWh, tank_heat
from sprayroof.model.measured_nights import Night, spray_hours_h, state_reasons, weather_of
from sprayroof.model.measured_readings import Readings
from sprayroof.model.measured_split import Leak, NightSplit
from sprayroof.model.measured_store import content_at
from sprayroof.model.measured_water import NightWater

L_PER_M3 = 1000.0
# Amounts that are shown by their name in a night's row: identifier -> name and unit
SHOWN = {"cooling_roof_kWh": ("cooling_roof", "kWh"), "cooling_pipe_kWh": ("cooling_pipe", "kWh"),
         "cooling_tank_kWh": ("cooling_tank", "kWh"), "water_remainder_m3": ("water_remainder", "m3"),
         "spray_loss_m3": ("spray_loss", "m3")}


@dataclass(frozen=True)
class NightHeat:
    """Heat of a night by both ways and by both together, litres sprayed and the pump's electricity."""

    pipe: Heat
    tank: Heat
    both: Amount | None
    by: str
    sprayed_L: Amount | None
    pump_kWh: Amount | None
    hours: Amount | None


def heat_of(readings: Readings, night: Night, rain_L: np.ndarray, ua_W_K: Amount) -> NightHeat:
    """Heat, litres and electricity of a night."""
    pipe, tank = pipe_heat(readings, night), tank_heat(readings, night, rain_L, ua_W_K)
    hours = None if state_reasons(readings, night) else spray_hours_h(readings, night)
    pump = None if hours is None and not readings.has("pump_W") else pump_kWh(
        readings, night.steps, 0.0 if hours is None else hours.value)
    return NightHeat(pipe, tank, **both_of(pipe, tank), sprayed_L=litres_sprayed(readings, night), pump_kWh=pump,
                     hours=hours)


def both_of(pipe: Heat, tank: Heat) -> dict[str, Any]:
    """Heat of a night by what is known of both ways, and the name of it, as `NightHeat` calls them."""
    by = {(True, True): "both", (True, False): "pipe", (False, True): "store"}.get(
        (pipe.kWh is not None, tank.kWh is not None), "")
    both = by_weight(pipe.kWh, tank.kWh) if by == "both" else pipe.kWh if by == "pipe" else tank.kWh
    return {"both": both, "by": by}


def amounts_of(readings: Readings, heat: NightHeat, water: NightWater, split: NightSplit) -> dict[str, Amount | None]:
    """The amounts of a night by identifier; None where not measured."""
    pump_heat = None if heat.pump_kWh is None else pump_heat_kWh(readings, heat.pump_kWh)
    stored = None if heat.both is None or pump_heat is None else heat.both - pump_heat
    litres = {"sprayed_m3": heat.sprayed_L, "evaporation_m3": split.evaporation, "drift_m3": split.drift,
              "leak_m3": split.leak, "other_uses_m3": water.draw, "overflow_m3": water.overflow,
              "rain_caught_m3": water.rain, "mains_m3": water.mains, "storage_change_m3": water.storage_change,
              "water_remainder_m3": water.remainder, "spray_loss_m3": split.spray_loss,
              "water_unexplained_m3": split.unexplained}
    return {"cooling_roof_kWh": heat.both, "cooling_pipe_kWh": heat.pipe.kWh, "cooling_tank_kWh": heat.tank.kWh,
            "cooling_stored_kWh": stored, "electricity_own_kWh": heat.pump_kWh,
            "spray_hours_h": heat.hours,
            **{name: None if amount is None else amount.scaled(1.0 / L_PER_M3) for name, amount in litres.items()}}


def row_of(readings: Readings, night: Night, heat: NightHeat, water: NightWater,
           amounts: dict[str, Amount | None]) -> dict[str, Any]:
    """A night's row: what was measured, why what was not, and the weather."""
    row: dict[str, Any] = {"date": night.date.isoformat(), "valid": heat.both is not None, "heat_by": heat.by,
                           "pipe_why": "; ".join(heat.pipe.reasons), "tank_why": "; ".join(heat.tank.reasons),
                           "water_valid": water.remainder is not None, "water_why": "; ".join(water.reasons)}
    for name, amount in amounts.items():
        if name in SHOWN:
            row |= as_row(*SHOWN[name], amount)
        else:
            row[name] = None if amount is None else amount.value
    lost, cooling = amounts["spray_loss_m3"], amounts["cooling_roof_kWh"]
    clear = lost is not None and cooling is not None and cooling.value > 2.0 * cooling.half_width
    row["water_per_roof_L_kWh"] = L_PER_M3 * lost.value / cooling.value if clear and night.sprays else None
    row["test_draw_m3"] = water.tests.value / L_PER_M3
    return row | weather_of(readings, night)


def totals_of(nights: Sequence[Night], amounts: Sequence[dict[str, Amount | None]],
              bases: dict[str, str]) -> dict[str, MeasuredValue]:
    """Sums over the nights that were measured.

    A quantity is left out where no night is known, or none of those on which it sprayed: what is known of the others
    would stand there as a zero.
    """
    found = {}
    sprays = any(night.sprays for night in nights)
    for name in amounts[0] if amounts else ():
        known = [(night, own[name]) for night, own in zip(nights, amounts, strict=True) if own[name] is not None]
        if known and any(night.sprays for night, _ in known) == sprays:
            found[name] = measured_value(total(amount for _, amount in known), len(known),
                                         bases.get(name, "measured"))
    return found


def months_of(nights: Sequence[Night], amounts: Sequence[dict[str, Amount | None]],
              bases: dict[str, str]) -> list[dict[str, Any]]:
    """A row a month: "month" as year-month, and the total of its measured nights by identifier."""
    rows = []
    for month in sorted({f"{night.date:%Y-%m}" for night in nights}):
        own = [place for place, night in enumerate(nights) if f"{night.date:%Y-%m}" == month]
        sums = totals_of([nights[place] for place in own], [amounts[place] for place in own], bases)
        rows.append({"month": month, "nights": len(own), **{name: asdict(value) for name, value in sums.items()}})
    return rows


def estimates_of(readings: Readings, nights: Sequence[Night], heats: Sequence[NightHeat],
                 amounts: Sequence[dict[str, Amount | None]], bases: dict[str, str]) -> dict[str, MeasuredValue]:
    """Totals of all nights: those not measured are put at the mean of like nights, with an error of their own.

    A quantity for which like nights are not known at all is left out. The change of the content is that between the
    first and the last noon at which the level is known.
    """
    hours, sprays = _hours_of(nights, heats)
    found = {}
    for name in amounts[0] if amounts else ():
        own = [night[name] for night in amounts]
        parts = [_filled([one for one, wet in zip(own, sprays, strict=True) if wet == kind],
                         hours[sprays == kind] if kind else np.ones(int((~sprays).sum()))) for kind in (True, False)]
        if any(part is None for part in parts) or not any(one is not None for one in own):
            continue
        known = sum(one is not None for one in own)
        found[name] = measured_value(total(parts), known, bases.get(name, "measured"), whole=known == len(own))
    change = _whole_change(readings, nights)
    found.pop("storage_change_m3", None)
    if change is not None:
        found["storage_change_m3"] = measured_value(change, len(nights))
    return found


def _hours_of(nights: Sequence[Night], heats: Sequence[NightHeat]) -> tuple[np.ndarray, np.ndarray]:
    """Hours of spraying of every night, and whether it counts as one; unknown nights as usual."""
    hours = np.array([math.nan if heat.hours is None else heat.hours.value for heat in heats])
    sprays = np.array([night.sprays for night in nights], dtype=bool)
    known = np.isfinite(hours)
    usual = float(hours[known].mean()) if known.any() else 0.0
    sprays |= ~known & (usual > 0.0)
    return np.where(known, hours, usual), sprays


def _filled(own: Sequence[Amount | None], weights: np.ndarray) -> Amount | None:
    """Known nights, and unknown ones at the mean of the known for each unit of weight; None where none is known."""
    known = [place for place, one in enumerate(own) if one is not None]
    if len(known) == len(own):
        return total(own)
    if not known:
        return None
    measured = total([own[place] for place in known])
    weight = float(weights[known].sum())
    lacking = float(weights.sum()) - weight
    if weight <= 0.0 or lacking <= 0.0:
        return measured
    values = np.array([own[place].value for place in known])
    rest = values - measured.value / weight * weights[known]
    scatter = float(np.sqrt(rest @ rest / max(len(known) - 1, 1)))
    missing = len(own) - len(known)
    # nights scatter about their mean, and the mean is known from so many nights only
    spread = 1.645 * scatter * math.sqrt(missing + missing ** 2 / len(known)) if len(known) > 1 else abs(
        measured.value / weight * lacking)
    return measured.scaled(1.0 + lacking / weight).with_random(spread)


def _whole_change(readings: Readings, nights: Sequence[Night]) -> Amount | None:
    if not readings.has("store_m3") or not nights:
        return None
    noons = [*(night.start_ns for night in nights), nights[-1].end_ns]
    contents = [content for time_ns in noons if (content := content_at(readings, time_ns)) is not None]
    return contents[-1] - contents[0] if len(contents) > 1 else None


def bases_of(readings: Readings, leak: Leak) -> dict[str, str]:
    """Quantities that are not measured throughout: a stated fact stands in for a meter or a test."""
    bases = {}
    if not readings.has("pump_W"):
        bases |= {"electricity_own_kWh": "assumed"}
    if leak.by == "stated":
        bases["leak_m3"] = "assumed"
    return bases


def median_difference_frac(heats: Sequence[NightHeat]) -> float | None:
    """Median over nights of the difference of both ways to measure heat, as a share of their mean."""
    apart = [abs(heat.pipe.kWh.value - heat.tank.kWh.value)
             / max(0.5 * abs(heat.pipe.kWh.value + heat.tank.kWh.value), 1e-9)
             for heat in heats if heat.by == "both" and heat.hours is not None and heat.hours.value > 0.0]
    return float(np.median(apart)) if apart else None
