"""Sensors of the air that the spray wets or the sun warms."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.channels.spray_times import widened
from sprayroof.evidence.gather import count_of
from sprayroof.evidence.spread import robust_sd
from sprayroof.evidence.steps import runs

if TYPE_CHECKING:
    from sprayroof.evidence.quality.masks import Bench

# Own judgement: weather seldom turns in the very half hour in which the spray starts.
LEAST_JUMP_FRAC, JUMP_SPREADS, HALF_HOUR_S, DRIES_S = 0.04, 4.0, 1800.0, 3600.0
SURE_NIGHTS = 3
LEAST_ROOM_FRAC = 0.02  # short of saturation; nearer than this the sensor cannot show a jump
SOON_S, LATE_S, SUDDEN_SHARE = (600.0, 1500.0), (2700.0, 4500.0), 0.5  # after the start of a spraying
NIGHTS_JOINED_S = 1800.0  # stops of the pump shorter than this do not end a spraying
SUN_W_M2, SUN_EXCESS_K, SUN_LEAST_H = 300.0, 3.0, 20.0


def wetted(bench: Bench) -> None:
    """Mask the humidity (and the air temperature that falls with it) on nights when the spray wets the sensor."""
    humidity, on = bench.values("humidity_frac"), bench.running()
    if humidity is None or on is None or not on.any():
        return
    joined = on | _short_holes(~on, int(NIGHTS_JOINED_S / bench.step_s))
    half, after = max(int(HALF_HOUR_S / bench.step_s), 1), int(DRIES_S / bench.step_s)
    before, jump = _jumps(humidity, half)
    calm = ~widened(joined, 3 * half, 3 * half) & np.isfinite(jump)
    least = max(LEAST_JUMP_FRAC, JUMP_SPREADS * robust_sd(jump[calm], 0.0))
    wet = _wet_sprayings(humidity, joined, before, jump, least, bench.step_s)
    if not wet:
        return
    found = np.zeros(len(humidity), dtype=bool)
    for start, stop in wet:
        found[start : min(stop + after, len(found))] = True
    bench.finding(
        "quality.humidity-wetted",
        f"humidity_frac jumps as the spray starts, on {count_of(len(wet), 'night')}, first {bench.time(wet[0][0])}, by "
        f"{np.median([jump[start] for start, _ in wet]):.0%} in the middle: the spray wets the sensor or the air "
        "around it; "
        "not used from the start until an hour after the stop.", "humidity_frac", "wetted", found,
        f"a jump of {least:.1%} or more within half an hour of the start, beyond the trend before it")


def _wet_sprayings(humidity: np.ndarray, joined: np.ndarray, before: np.ndarray, jump: np.ndarray, least: float,
                   step_s: int) -> list[tuple[int, int]]:
    """Start and end of each spraying that wets the sensor."""
    rises = {(start, stop): _rises(humidity, start, stop, step_s) for start, stop in runs(joined)
             if np.isfinite(jump[start])}
    sudden = [spraying for spraying, rise in rises.items() if _is_sudden(*rise)]
    wet = [spraying for spraying in sudden if jump[spraying[0]] >= least]
    if len(wet) < SURE_NIGHTS:
        return wet
    # a sensor that the spray reaches: in moist air its jump is smaller, as a share of what is left to saturation
    share = {spraying: (rises[spraying][0] if np.isfinite(rises[spraying][0]) else jump[spraying[0]])
             / max(1.0 - before[spraying[0]], LEAST_ROOM_FRAC) for spraying in sudden}
    usual = float(np.median([share[spraying] for spraying in wet]))
    return [spraying for spraying in sudden if jump[spraying[0]] >= least or share[spraying] >= 0.5 * usual]


def _jumps(humidity: np.ndarray, half: int) -> tuple[np.ndarray, np.ndarray]:
    """At each step, the last half hour, and what the next lies above it less what the one before would have led to."""
    import pandas as pd

    mean = pd.Series(humidity).rolling(half, min_periods=max(half // 2, 1)).mean().to_numpy()
    # Means that end at, or half an hour before, and half an hour after the step and its own quarter hour of rise.
    later = np.concatenate([mean[half + half // 2 :], np.full(half + half // 2, np.nan)])
    before = np.concatenate([[np.nan], mean[:-1]])
    earlier = np.concatenate([np.full(half + half // 2 + 1, np.nan), mean[: -half - half // 2 - 1]])
    return before, (later - before) - np.maximum(before - earlier, 0.0)


def _rises(humidity: np.ndarray, start: int, stop: int, step_s: int) -> tuple[float, float]:
    """By how much the humidity lies above the half hour before the spraying, minutes after its start and an hour after.

    NaN where the steps are too long, the spraying too short or the readings too few to tell.
    """

    def mean(from_s: float, to_s: float) -> float:
        part = humidity[max(start + round(from_s / step_s), 0) : start + round(to_s / step_s)]
        return float(np.nanmean(part)) if np.isfinite(part).any() else np.nan

    if step_s > SOON_S[0] or (stop - start) * step_s < LATE_S[1]:
        return np.nan, np.nan
    before = mean(-HALF_HOUR_S, 0.0)
    return mean(*SOON_S) - before, mean(*LATE_S) - before


def _is_sudden(soon: float, late: float) -> bool:
    """Whether most of an hour's rise comes within minutes, as with drops, not a shower's air; True if unknown."""
    return not np.isfinite(soon + late) or soon >= SUDDEN_SHARE * late


def _short_holes(off: np.ndarray, longest: int) -> np.ndarray:
    """Where the spray paused for a short time."""
    found = np.zeros(len(off), dtype=bool)
    for start, stop in runs(off):
        found[start:stop] = stop - start <= longest and start > 0 and stop < len(off)
    return found


def sunlit(bench: Bench) -> None:
    """Mask the air temperature in sunshine where it then exceeds the measured weather by much more than at night."""
    air = bench.values("air_C")
    if air is None or bench.weather is None:
        return
    station, sun = bench.station("t_air_C"), bench.station("solar_W_m2")
    excess = air - station
    with np.errstate(invalid="ignore"):
        day, night = (sun > SUN_W_M2) & np.isfinite(excess), (sun <= 0.0) & np.isfinite(excess)
    if min(day.sum(), night.sum()) * bench.step_s < SUN_LEAST_H * 3600.0:
        return
    more = float(np.median(excess[day]) - np.median(excess[night]))
    if more < SUN_EXCESS_K:
        return
    found = widened(day, 0, int(3600 / bench.step_s))
    bench.finding(
        "quality.sensor-in-sun",
        f"air_C lies {more:.1f} K more above the weather record in sunshine than at night: the sensor stands in the "
        "sun; "
        "not used in sunshine and an hour after it.", "air_C", "sunlit", found,
        f"{SUN_EXCESS_K:g} K more than at night above {SUN_W_M2:g} W/m2")
