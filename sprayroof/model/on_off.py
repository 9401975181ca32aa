"""Nights with and without spraying, switched on purpose: the best baseline an existing system can have.

The store remembers the state before a switch, so nights soon after it show a part of the effect only. That carry-over
is modelled (`carry_over`); where the blocks are too short for the store to settle, the difference as seen is given as
what it is, a lower bound.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

import numpy as np

from sprayroof.evidence.gather import count_of
from sprayroof.model.carry_over import lasting_effect
from sprayroof.model.measured_nights import Night
from sprayroof.model.measured_readings import Readings
from sprayroof.model.measured_store import beside, content_m3, mean_C, settled_after

LEAST_NIGHTS = 3  # of each state, besides the first after a switch
LEAST_FOR_TREND = 12  # nights
LEAST_WEEKS = 3  # of each day of the week, before the week's rhythm is told
LEAST_KNOWN_FRAC = 0.9


@dataclass(frozen=True)
class Effect:
    """What spraying did to something, by nights switched on and off.

    Parameters
    ----------
    id, unit, label : str
    value : float or None
        Spraying every night less never, on days that are alike in outdoor temperature, season and day of the week; None
        where too few nights tell. With `lower_bound` the difference as seen, of which the lasting one is at least as
        large.
    low, high : float or None
        90 % range of the lasting difference; widened away from zero with `lower_bound`.
    mean_on, mean_off : float or None
        Plain means of the nights that count.
    nights_on, nights_off : int
        Nights that count, those after a switch with the state that the store then has.
    autocorrelation : float or None
        Of what is left of days that follow each other.
    nights_effective : float or None
        What the nights are worth.
    verdict : str
        "lower", "higher" or "cannot tell".
    why : str
        Why it cannot be told, or "".
    seen : float or None
        Difference as seen, the first night after each switch left out and nothing else done about carry-over.
    lower_bound : bool
        True where the store did not settle within the blocks, whatever else is true.
    left_frac, left_low_frac, left_high_frac : float or None
        Share of a night's state that is left a day later, and its 90 % range.
    meaning : str
        What value, low and high mean, in a sentence; "" without a value.
    """

    id: str
    unit: str
    label: str
    value: float | None
    low: float | None
    high: float | None
    mean_on: float | None
    mean_off: float | None
    nights_on: int
    nights_off: int
    autocorrelation: float | None
    nights_effective: float | None
    verdict: str
    why: str
    seen: float | None = None
    lower_bound: bool = False
    left_frac: float | None = None
    left_low_frac: float | None = None
    left_high_frac: float | None = None
    meaning: str = ""


LASTING = "Spraying every night less never, what the store carries over from night to night taken off."
AT_LEAST = ("Lower bound: the difference as seen, the first night after each switch left out. The store did not settle "
            "within the blocks; the range is that of spraying every night less never.")
_MEASURES = (("store_C", "degC", "Store at the end of the night"),
             ("ac_kWh", "kWh/day", "Air conditioner, the night and the day after it"),
             ("makeup_m3", "m3/day", "Make-up, the night and the day after it"))


@dataclass(frozen=True)
class Switching:
    """Every night of the logs in turn.

    Parameters
    ----------
    nights : list of Night
    on : list of bool or None
        Whether it was on: as stated for blocks, else as logged; None for nights that nothing tells.
    counts : ndarray of bool, shape (n,)
        Nights of stated blocks.
    fresh : ndarray of bool, shape (n,)
        Nights that follow a change of state.
    """

    nights: list[Night | None]
    on: list[bool | None]
    counts: np.ndarray
    fresh: np.ndarray


def on_off_of(readings: Readings, nights: list[Night]) -> list[Effect]:
    """Effects on the store's temperature, the air conditioner and the make-up; empty where nothing was switched.

    A night counts together with the day that it cools: from the start of the spraying hours to the next.
    """
    switching = switching_of(readings, nights)
    if not switching.counts.any():
        return []
    rows = [_measures(readings, night) if counts else None
            for night, counts in zip(switching.nights, switching.counts, strict=True)]
    return [_effect(*measure, switching, rows) for measure in _MEASURES
            if any(row is not None and row[measure[0]] is not None for row in rows)]


def switching_of(readings: Readings, nights: list[Night]) -> Switching:
    """States of every date from the first night to the last."""
    by_date = {night.date: night for night in nights}
    first = nights[0].date if nights else datetime.date.min
    dates = [first + datetime.timedelta(days=day) for day in range((nights[-1].date - first).days + 1 if nights else 0)]
    stated = [next((block.state == "on" for block in readings.site.switched
                    if block.from_date <= date <= block.to_date), None) for date in dates]
    on = [_as_logged(readings, by_date.get(date)) if state is None else state
          for date, state in zip(dates, stated, strict=True)]
    counts = np.array([state is not None and date in by_date for date, state in zip(dates, stated, strict=True)], bool)
    # of the first night that was logged nothing says that the state was another before
    fresh = np.array([place > 0 and on[place - 1] != state for place, state in enumerate(on)], bool)
    return Switching([by_date.get(date) for date in dates], on, counts, fresh)


def _as_logged(readings: Readings, night: Night | None) -> bool | None:
    """Whether a night sprayed by the logs; None where they are silent for more than a tenth of it."""
    if night is None or readings.unsure[night.steps].mean() > 1.0 - LEAST_KNOWN_FRAC:
        return None
    return night.sprays


def _measures(readings: Readings, night: Night) -> dict[str, float | None]:
    step = _step_of_hour(readings, night, readings.site.controls.window_from_h)
    day = slice(step, step + round(86400.0 / readings.step_s))
    return {"store_C": _morning_C(readings, night), "ac_kWh": _summed(readings, "ac_W", day, 3.6e6),
            "makeup_m3": _summed(readings, "makeup_L_min", day, 60000.0),
            "air_C": _mean(readings.weather_column("air_C", "t_air_C")[day])}


def _step_of_hour(readings: Readings, night: Night, hour: float) -> int:
    """First step of a night at or after a time of day on the site's clock."""
    hours = readings.local_hours_h[night.steps]
    after = np.flatnonzero((hours >= hour) & (hours < hour + 1.0))
    return night.steps.start + (int(after[0]) if len(after) else 0)


def _morning_C(readings: Readings, night: Night) -> float | None:
    """Store an hour after the spraying hours end, whether it sprayed or not."""
    controls = readings.site.controls
    step = settled_after(readings, _step_of_hour(readings, night, controls.window_to_h))
    steps = beside(readings, step, before=False)
    held = content_m3(readings, steps) if readings.has("store_m3") else None
    found = mean_C(readings, steps, readings.site.store.volume_m3.value if held is None else held.value)
    return None if found is None else found.value


def _summed(readings: Readings, name: str, steps: slice, per: float) -> float | None:
    """Sum of all columns of a channel over some steps; None where less than nine tenths of each is known."""
    columns = readings.columns_like(name)
    if not columns or steps.stop > len(readings.times_ns):
        return None
    amount = 0.0
    for column in columns:
        values = readings.column(column)[steps]
        known = np.isfinite(values)
        if known.sum() < LEAST_KNOWN_FRAC * len(values):
            return None
        amount += float(values[known].mean()) * len(values) * readings.step_s / per
    return amount


def _mean(values: np.ndarray) -> float | None:
    known = values[np.isfinite(values)]
    return float(known.mean()) if len(known) >= LEAST_KNOWN_FRAC * max(len(values), 1) and len(known) else None


def _effect(id: str, unit: str, label: str, switching: Switching, rows: list[dict[str, Any] | None]) -> Effect:
    good = [place for place, row in enumerate(rows) if row is not None and row[id] is not None]
    if sum(rows[place]["air_C"] is not None for place in good) >= LEAST_KNOWN_FRAC * len(good):
        good = [place for place in good if rows[place]["air_C"] is not None]
    places = np.array(good, dtype=int)
    on, fresh = np.array([switching.on[place] for place in good], dtype=bool), switching.fresh[places]
    y = np.array([rows[place][id] for place in good], dtype=float)
    means = [float(y[chosen].mean()) if chosen.any() else None for chosen in (on & ~fresh, ~on & ~fresh)]
    base = {"id": id, "unit": unit, "label": label, "mean_on": means[0], "mean_off": means[1],
            "nights_on": int(on.sum()), "nights_off": int((~on).sum())}
    later = int((on & ~fresh).sum()), int((~on & ~fresh).sum())
    if min(later) < LEAST_NIGHTS:
        return Effect(**base, **_untold(f"besides the first after a switch {count_of(later[0], 'night')} on and "
                                        f"{later[1]} off count, {LEAST_NIGHTS} of each are wanted"))
    air_C = [rows[place]["air_C"] for place in good]
    days = np.array([switching.nights[place].date.toordinal() for place in good])
    seen = _seen(y[~fresh], on[~fresh], days[~fresh], [one for one, new in zip(air_C, fresh, strict=True) if not new])
    return _lasting({**base, "seen": seen}, y, _beside(days, air_C), places, switching.on)


def _beside(days: np.ndarray, air_C: list[float | None]) -> np.ndarray:
    """Columns: one, and what else moves the days: outdoor air, the season's drift, the week where it is told."""
    columns = [np.ones(len(days))]
    if None not in air_C and np.ptp(air_C) > 0.5:
        columns.append(np.array(air_C) - np.mean(air_C))
    if len(days) >= LEAST_FOR_TREND:
        columns.append((days - days.mean()) / max(np.ptp(days), 1))
    weekdays = days % 7
    if np.bincount(weekdays, minlength=7).min() >= LEAST_WEEKS:
        columns += [(weekdays == day).astype(float) for day in range(1, 7)]
    return np.column_stack(columns)


def _seen(y: np.ndarray, on: np.ndarray, days: np.ndarray, air_C: list[float | None]) -> float:
    """On less off by least squares beside what else moves the days."""
    found, *_ = np.linalg.lstsq(np.column_stack([on.astype(float), _beside(days, air_C)]), y, rcond=None)
    return float(found[0])


def _untold(why: str) -> dict[str, Any]:
    return {"value": None, "low": None, "high": None, "autocorrelation": None, "nights_effective": None,
            "verdict": "cannot tell", "why": why}


def _lasting(base: dict[str, Any], y: np.ndarray, beside_: np.ndarray, places: np.ndarray,
             on: list[bool | None]) -> Effect:
    """The effect of spraying every night less never, or the difference as seen as its lower bound."""
    found = lasting_effect(y, beside_, places, on)
    if found is None:
        return Effect(**base, **_untold("too few nights to tell the switching from what else moves the days"))
    worth = len(y) * (1.0 - found.likeness) / (1.0 + found.likeness)
    base |= {"autocorrelation": found.likeness, "nights_effective": worth, "left_frac": found.left_frac,
             "left_low_frac": found.left_low_frac, "left_high_frac": found.left_high_frac}
    nothing = 1e-9 * float(np.abs(y).max())  # rounding of readings that are all alike
    verdict = "lower" if found.high < -nothing else "higher" if found.low > nothing else "cannot tell"
    if verdict == "cannot tell":
        return Effect(**base, value=found.value, low=found.low, high=found.high, verdict=verdict, meaning=LASTING,
                      why="the range spans zero")
    if found.settled:
        return Effect(**base, value=found.value, low=found.low, high=found.high, verdict=verdict, why="",
                      meaning=LASTING)
    # a store that has not settled hides a part of the effect: what was seen is the least
    seen = base["seen"]
    if seen * found.value <= 0.0:
        return Effect(**{**_untold("as seen it has the other sign than with carry-over taken off"), **base})
    return Effect(**base, value=seen, low=min(found.low, seen), high=max(found.high, seen), verdict=verdict, why="",
                  lower_bound=True, meaning=AT_LEAST)
