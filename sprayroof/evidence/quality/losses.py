"""What a doubted reading costs the headline: hours and nights lost, and the heat or water that rests on them.

Everything here is reckoned from the channels as they lie on the grid, by the rules with which the night ledger takes
or leaves a night (`night_rule`). Heat is taken at the mean of its night, once all that was doubted is masked.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.channels.spray_times import level_while_on
from sprayroof.evidence.gather import count_of
from sprayroof.evidence.quality.night_rule import AT_A_TIME_S, BEFORE_S, SETTLES_MIN, falls_short
from sprayroof.evidence.times import standard_offset_h

if TYPE_CHECKING:
    from sprayroof.evidence.quality.masks import Bench

DAY_S, HOUR_S = 86400, 3600.0
PIPE = ("spray_L_min", "supply_C", "return_C")
KWH_PER_L_K = 4.18 / 3600.0  # of water; enough to tell the size of a loss
METERS = ("makeup_L_min", "draw_L_min")
WEATHER = ("air_C", "humidity_frac", "wind_m_s", "pressure_Pa", "long_wave_W_m2", "solar_W_m2")


@dataclass(frozen=True)
class Loss:
    """An effect in words, and its numbers for the finding's `data`."""

    words: str
    numbers: dict[str, float]


@dataclass(frozen=True)
class Lost:
    """Which steps of a channel are doubted, and what of the spraying they touch.

    Parameters
    ----------
    bench : Bench
        With all masks.
    column : str
    where : ndarray of bool, shape (n,)
    """

    bench: Bench
    column: str
    where: np.ndarray

    def hours(self, steps: np.ndarray) -> float:
        """Length of some steps [h]."""
        return float(steps.sum()) * self.bench.step_s / HOUR_S

    @cached_property
    def values(self) -> np.ndarray:
        """The channel without what is masked."""
        return self.bench.values(self.column)

    @cached_property
    def nights(self) -> list[tuple[slice, np.ndarray]]:
        """Steps from noon to noon of each night that sprayed, and in which of them it did."""
        on = self.bench.running()
        if on is None or not on.any():
            return []
        index = self.bench.table.index
        offset_s = standard_offset_h(self.bench.site.place.time_zone, index[0].year) * HOUR_S
        days = (index.as_unit("s").asi8 + round(offset_s) - DAY_S // 2) // DAY_S
        edges = np.concatenate([[0], np.flatnonzero(np.diff(days)) + 1, [len(days)]])
        return [(slice(int(start), int(stop)), on[start:stop])
                for start, stop in itertools.pairwise(edges) if on[start:stop].any()]


def loss_of(bench: Bench, column: str, where: np.ndarray) -> Loss:
    """What leaving out some steps of a channel costs.

    Parameters
    ----------
    bench : Bench
        With all masks, so that what other faults took already is not counted twice.
    column : str
    where : ndarray of bool, shape (n,)
    """
    lost = Lost(bench, column, where)
    if column in PIPE:
        return _of_pipe(lost)
    if column.startswith("store_"):
        return _of_store(lost)
    if column.startswith(METERS):
        return _of_meter(lost)
    if column == "rain_mm":
        gone_h = lost.hours(where)
        return Loss(f"{hours_text(gone_h)} h are without rain_mm: rain caught in them is known by the level alone.",
                    {"hours_lost_h": gone_h})
    if column.startswith(("pump_W", "ac_W")):
        return _of_power(lost)
    return _of_other(lost)


def _spraying(lost: Lost) -> tuple[str, float, float, int]:
    """Words, hours lost while spraying, all hours of spraying, and how many nights sprayed."""
    nights = lost.nights
    on_h = sum(lost.hours(on) for _, on in nights)
    gone_h = sum(lost.hours(lost.where[steps] & on) for steps, on in nights)
    return f"{hours_text(gone_h)} of {on_h:.0f} h of spraying are without {lost.column}", gone_h, on_h, len(nights)


def hours_text(hours: float) -> str:
    """Hours to two digits."""
    return f"{hours:.2g}" if hours < 10.0 else f"{hours:.0f}"


def _two_digits(value: float) -> str:
    """Two digits without an exponent."""
    rounded = float(f"{value:.2g}")
    return f"{rounded:.0f}" if abs(rounded) >= 10.0 else f"{rounded:g}"


def _invalid(count: int, nights: int, what: str) -> str:
    head = f"{count or 'none'} of {count_of(nights, 'night')}"
    return f"{head} {'is' if count < 2 else 'are'} {what}"


def _of_pipe(lost: Lost) -> Loss:
    words, gone_h, on_h, nights = _spraying(lost)
    if not nights:
        return _of_other(lost)
    if gone_h == 0.0:
        return Loss(f"{words}: heat by pipe does not change.", {"hours_lost_h": 0.0, "hours_spraying_h": on_h})
    invalid, scaled_kWh, whole_kWh = _pipe_nights(lost)
    numbers = {"hours_lost_h": gone_h, "hours_spraying_h": on_h, "nights_lost": invalid, "nights": nights}
    heat = "" if whole_kWh is None else (
        f"; {_two_digits(scaled_kWh)} of about {_two_digits(whole_kWh)} kWh of heat by pipe are not read but scaled "
        "from the rest of the night or from like nights")
    numbers |= {} if whole_kWh is None else {"heat_scaled_kWh": scaled_kWh, "heat_pipe_kWh": whole_kWh}
    return Loss(f"{words}; {_invalid(invalid, nights, 'lost for heat by pipe')}{heat}.", numbers)


def _pipe_nights(lost: Lost) -> tuple[int, float, float | None]:
    """Nights not valid by this fault, heat that is then not counted [kWh], and all heat; None where not logged."""
    values, power_kW = lost.values, _pipe_kW(lost.bench)
    invalid, scaled_kWh, whole_kWh, usual = 0, 0.0, 0.0, _mean(power_kW)
    for steps, on in lost.nights:
        unknown, gone = np.isnan(values[steps]) & on, lost.where[steps] & on
        fails = falls_short(unknown, int(on.sum()), lost.bench.step_s) and not falls_short(
            unknown & ~gone, int(on.sum()), lost.bench.step_s)
        invalid += fails
        if power_kW is not None:
            mean_kW = _mean(power_kW[steps], usual)
            whole_kWh += mean_kW * lost.hours(on)
            scaled_kWh += mean_kW * lost.hours(on if fails else gone)
    return invalid, scaled_kWh, None if power_kW is None else whole_kWh


def _pipe_kW(bench: Bench) -> np.ndarray | None:
    """Heat by flow and temperatures while spraying, NaN where any is unknown; None where one was not logged."""
    flow, supply, back = (bench.values(column) for column in PIPE)
    if flow is None or supply is None or back is None:
        return None
    return np.where(bench.running(), flow * 60.0 * KWH_PER_L_K * (supply - back), np.nan)


def _mean(values: np.ndarray | None, otherwise: float = 0.0) -> float:
    if values is None or not np.isfinite(values).any():
        return otherwise
    return float(np.nanmean(values))


def _of_store(lost: Lost) -> Loss:
    """Level and temperatures of the store count at the start of spraying, when it has settled, and at noon."""
    words, gone_h, on_h, nights = _spraying(lost)
    if not nights:
        return _of_other(lost)
    heat = water = 0
    is_level = lost.column == "store_m3"
    for steps, on in lost.nights:
        ran = np.flatnonzero(on) + steps.start
        heat += any(_is_gone(lost, *window) for window in _state_windows(lost.bench, int(ran[0]), int(ran[-1]) + 1))
        water += is_level and any(_is_gone(lost, *window) for window in _noon_windows(lost.bench, steps))
    numbers = {"hours_lost_h": gone_h, "hours_spraying_h": on_h, "nights_lost": heat, "nights": nights}
    told = f"{words}; {_invalid(heat, nights, 'lost for heat by the store')}"
    if is_level:
        numbers["nights_without_water"] = water
        told += f", {water} without water by the level"
    same = "" if heat or water else ": heat and water of the store do not change"
    return Loss(f"{told}{same}.", numbers)


def _state_windows(bench: Bench, start: int, stop: int) -> tuple[tuple[int, int], tuple[int, int]]:
    """Steps that give the store's state before spraying and when it has settled after."""
    before, beside = _steps(bench, BEFORE_S), _steps(bench, AT_A_TIME_S)
    settled = stop + _steps(bench, 60.0 * SETTLES_MIN)
    return (start - before, start), (settled - beside, settled + beside)


def _noon_windows(bench: Bench, steps: slice) -> tuple[tuple[int, int], tuple[int, int]]:
    beside = _steps(bench, AT_A_TIME_S)
    return (steps.start - beside, steps.start + beside), (steps.stop - beside, steps.stop + beside)


def _steps(bench: Bench, seconds: float) -> int:
    return max(1, round(seconds / bench.step_s))


def _is_gone(lost: Lost, start: int, stop: int) -> bool:
    """Whether more than half of a window is lost by this fault, and was not lost without it."""
    inside = slice(max(start, 0), max(stop, 0))
    unknown, gone = np.isnan(lost.values[inside]), lost.where[inside]
    half = 0.5 * len(unknown)
    return bool(unknown.sum() > half >= (unknown & ~gone).sum())


def _of_meter(lost: Lost) -> Loss:
    """Water that a meter told while it was doubted, at its mean of the rest."""
    values = lost.values
    known = values[np.isfinite(values)]
    gone_h = lost.hours(lost.where)
    litres = float(known.mean()) * gone_h * 60.0 if len(known) else 0.0
    return Loss(f"{hours_text(gone_h)} of {lost.hours(np.ones(len(values), dtype=bool)):.0f} h are without "
                f"{lost.column}: at its mean of the rest, {litres:.0f} L are not counted.",
                {"hours_lost_h": gone_h, "water_not_counted_L": litres})


def _of_power(lost: Lost) -> Loss:
    values, gone_h = lost.values, lost.hours(lost.where)
    on = lost.bench.running()
    if lost.column.startswith("pump") and on is not None:
        gone_h, usual_W = lost.hours(lost.where & on), level_while_on(values)
    else:
        usual_W = float(np.nanmean(values)) if np.isfinite(values).any() else 0.0
    kWh = usual_W * gone_h / 1000.0
    return Loss(f"{hours_text(gone_h)} h are without {lost.column}, at its usual power {kWh:.2g} kWh of electricity; "
                "heat and water do not change.", {"hours_lost_h": gone_h, "electricity_kWh": kWh})


def _of_other(lost: Lost) -> Loss:
    """Channels on which neither heat nor water rests."""
    words, gone_h, on_h, nights = _spraying(lost)
    if not nights:
        return Loss(f"{hours_text(lost.hours(lost.where))} h are without {lost.column}; no spraying was logged.",
                    {"hours_lost_h": lost.hours(lost.where)})
    numbers = {"hours_lost_h": gone_h, "hours_spraying_h": on_h, "nights": nights}
    if lost.column not in WEATHER:
        return Loss(f"{words}; metered heat and water of the nights do not change.", numbers)
    values = lost.values
    without = sum(bool(np.isnan(values[steps][on]).mean() > 0.5 and not
                       (np.isnan(values[steps]) & ~lost.where[steps])[on].mean() > 0.5)
                  for steps, on in lost.nights)
    return Loss(f"{words}; {_invalid(without, nights, 'without its mean')}; metered heat and water do not change.",
                numbers | {"nights_lost": without})


def resting_on(bench: Bench, column: str, where: np.ndarray) -> Loss:
    """What rests on doubted readings that stay in use (arguments as `loss_of`)."""
    lost = Lost(bench, column, where)
    _, gone_h, on_h, nights = _spraying(lost)
    numbers = {"hours_doubted_h": lost.hours(where)}
    power_kW = _pipe_kW(bench) if column in PIPE and nights else None
    if power_kW is None:
        spraying = f", {hours_text(gone_h)} of {on_h:.0f} h of spraying" if nights else ""
        return Loss(f"{hours_text(lost.hours(where))} h may be read too low{spraying}.", numbers)
    kWh = float(np.nansum(np.where(where, power_kW, 0.0))) * bench.step_s / HOUR_S
    return Loss(f"{hours_text(gone_h)} of {on_h:.0f} h of spraying may be read too low; {kWh:.0f} kWh of heat by pipe "
                "rest on them.", numbers | {"hours_spraying_h": on_h, "heat_resting_kWh": kWh})


def coarseness(bench: Bench, column: str, step: float) -> Loss:
    """What half a step of the readings would do to the heat, were it alike on every night."""
    flow, on = bench.values("spray_L_min"), bench.running()
    if column not in ("supply_C", "return_C") or flow is None or on is None:
        return Loss("Differences of two such channels are sure to one step only.", {})
    kWh = 0.5 * step * float(np.nansum(np.where(on, flow, 0.0))) * bench.step_s / 60.0 * KWH_PER_L_K
    return Loss(f"Heat by pipe may be off by {kWh:.0f} kWh in all, should the half step go one way on all nights.",
                {"heat_half_step_kWh": kWh})
