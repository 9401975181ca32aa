"""Nights with and without spraying, switched on purpose: the best baseline an existing system can have.

The first night after each switch is left out: the store still remembers the state before. Days that follow each other
are alike, so their number counts for less than it seems (n' = n (1 - r) / (1 + r)).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sprayroof.evidence.gather import count_of
from sprayroof.model.measured_nights import Night
from sprayroof.model.measured_readings import Readings
from sprayroof.model.measured_store import beside, content_m3, mean_C, settled_after

LEAST_NIGHTS = 3  # of each state, the first after a switch left out
LEAST_FREEDOM = 3.0
LEAST_FOR_TREND = 12  # nights
LEAST_WEEKS = 3  # of each day of the week, before the week's rhythm is told
LEAST_KNOWN_FRAC = 0.9


@dataclass(frozen=True)
class Effect:
    """What spraying did to something, by nights switched on and off.

    Parameters
    ----------
    id, unit, label : str
    value, low, high : float or None
        On less off on days that are alike in outdoor temperature, season and day of the week, and its 90 % range; None
        where too few nights tell.
    mean_on, mean_off : float or None
        Plain means of the nights that count.
    nights_on, nights_off : int
        Nights that count.
    autocorrelation : float or None
        Of what is left of days that follow each other.
    nights_effective : float or None
        What the nights are worth.
    verdict : str
        "lower", "higher" or "cannot tell".
    why : str
        Why it cannot be told, or "".
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


_MEASURES = (("store_C", "degC", "Store at the end of the night"),
             ("ac_kWh", "kWh/day", "Air conditioner, the night and the day after it"),
             ("makeup_m3", "m3/day", "Make-up, the night and the day after it"))


def on_off_of(readings: Readings, nights: list[Night]) -> list[Effect]:
    """Effects on the store's temperature, the air conditioner and the make-up; empty where nothing was switched.

    A night counts together with the day that it cools: from the start of the spraying hours to the next.
    """
    states = switched_states(readings.site, nights)
    if not states:
        return []
    rows = [(night, state, _measures(readings, night)) for night, state in states]
    return [_effect(*measure, rows) for measure in _MEASURES
            if any(values[measure[0]] is not None for _, _, values in rows)]


def switched_states(site, nights: list[Night]) -> list[tuple[Night, bool]]:
    """Nights of switched blocks with their state, without the first after each change of state."""
    blocks = sorted(site.switched, key=lambda block: block.from_date)
    found, last = [], None
    for night in nights:
        state = next((block.state == "on" for block in blocks if block.from_date <= night.date <= block.to_date), None)
        if state is None:
            last = None
            continue
        # of the first night that was logged nothing says that the state was another before
        if last == state or (last is None and night is nights[0]):
            found.append((night, state))
        last = state
    return found


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


def _effect(id: str, unit: str, label: str, rows: list[tuple[Night, bool, dict[str, Any]]]) -> Effect:
    good = [(night, state, values) for night, state, values in rows if values[id] is not None]
    if sum(values["air_C"] is not None for _, _, values in good) >= LEAST_KNOWN_FRAC * len(good):
        good = [row for row in good if row[2]["air_C"] is not None]
    on = np.array([state for _, state, _ in good], dtype=bool)
    y = np.array([values[id] for _, _, values in good], dtype=float)
    counts = int(on.sum()), int((~on).sum())
    means = [float(y[chosen].mean()) if chosen.any() else None for chosen in (on, ~on)]
    base = {"id": id, "unit": unit, "label": label, "mean_on": means[0], "mean_off": means[1], "nights_on": counts[0],
            "nights_off": counts[1]}
    if min(counts) < LEAST_NIGHTS:
        why = f"{count_of(counts[0], 'night')} on and {counts[1]} off count, {LEAST_NIGHTS} of each are wanted"
        return Effect(**base, **_untold(why))
    days = np.array([night.date.toordinal() for night, _, _ in good])
    return _fitted(base, y, _design(on, days, [values["air_C"] for _, _, values in good]), days)


def _design(on: np.ndarray, days: np.ndarray, air_C: list[float | None]) -> np.ndarray:
    """Columns: one, on, and what else moves the days: outdoor air, the season's drift, the week where it is told."""
    columns = [np.ones(len(on)), on.astype(float)]
    if None not in air_C and np.ptp(air_C) > 0.5:
        columns.append(np.array(air_C) - np.mean(air_C))
    if len(on) >= LEAST_FOR_TREND:
        columns.append((days - days.mean()) / max(np.ptp(days), 1))
    weekdays = days % 7
    if np.bincount(weekdays, minlength=7).min() >= LEAST_WEEKS:
        columns += [(weekdays == day).astype(float) for day in range(1, 7)]
    return np.column_stack(columns)


def _untold(why: str) -> dict[str, Any]:
    return {"value": None, "low": None, "high": None, "autocorrelation": None, "nights_effective": None,
            "verdict": "cannot tell", "why": why}


def _fitted(base: dict[str, Any], y: np.ndarray, design: np.ndarray, days: np.ndarray) -> Effect:
    """On less off by least squares beside what else moves the days."""
    from scipy import stats

    found, *_ = np.linalg.lstsq(design, y, rcond=None)
    rest = y - design @ found
    likeness = autocorrelation(rest, days)
    worth = len(y) * (1.0 - likeness) / (1.0 + likeness)
    freedom = worth - design.shape[1]
    if freedom < LEAST_FREEDOM:
        return Effect(**base, **{**_untold(f"the {len(y)} nights are so alike that they are worth {worth:.1f}"),
                                 "autocorrelation": likeness, "nights_effective": worth})
    # the variance of the rest, and of the effect, as if there were only so many nights
    variance = float(rest @ rest) / freedom * np.linalg.inv(design.T @ design)[1, 1] * len(y) / worth
    half = float(stats.t.ppf(0.95, freedom)) * float(np.sqrt(variance))
    low, high = float(found[1]) - half, float(found[1]) + half
    verdict = "lower" if high < 0.0 else "higher" if low > 0.0 else "cannot tell"
    why = "" if verdict != "cannot tell" else "the range spans zero"
    return Effect(**base, value=float(found[1]), low=low, high=high, autocorrelation=likeness, nights_effective=worth,
                  verdict=verdict, why=why)


def autocorrelation(rest: np.ndarray, days: np.ndarray) -> float:
    """Likeness of what is left on days that follow each other, 0 to 0.95; negative likeness is not counted on."""
    pairs = np.flatnonzero(np.diff(days) == 1)
    if len(pairs) < 3 or not rest.any():
        return 0.0
    return float(np.clip(rest[pairs] @ rest[pairs + 1] / (rest @ rest) * len(rest) / len(pairs), 0.0, 0.95))
