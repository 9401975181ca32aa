"""Supply and return while the pump stands still: a difference that wanders over the weeks is a sensor that drifts.

A pair test holds for the day on which it was made. Standing water in two like pipes takes the temperature of its
surroundings; where those differ the difference scatters from day to day, but it does not wander one way.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.channels.spray_times import widened
from sprayroof.evidence.spread import robust_sd

if TYPE_CHECKING:
    from sprayroof.evidence.quality.masks import Bench

SETTLED_H = 2.0  # after the pump stops
LEAST_STEPS_H = 1.0  # of standing water in a day, for the day to count
LEAST_DAYS = 10
LEAST_DRIFT_K = 0.15  # over the record; below this ordinary pairs wander with their surroundings. Own judgement.
SCATTERS = 2.0  # the drift must exceed so many times the day-to-day scatter about it


def check_pair_drift(bench: Bench) -> None:
    """Tell a pair that drifts, and widen the sensor that the pair test left uncertain by half of the drift."""
    supply, back, on = bench.values("supply_C"), bench.values("return_C"), bench.running()
    if supply is None or back is None or on is None:
        return
    settled = ~widened(on, 0, int(SETTLED_H * 3600.0 / bench.step_s))
    days, medians = _daily_medians(np.where(settled, supply - back, np.nan), bench.step_s)
    if len(days) < LEAST_DAYS:
        return
    first, last, scatter = _line(days, medians)
    drift = last - first
    if abs(drift) < max(LEAST_DRIFT_K, SCATTERS * scatter):
        return
    sensor = _widen(bench, abs(drift))
    still = settled & np.isfinite(supply) & np.isfinite(back)
    bench.gather.finding(
        "cross.pair-drifts",
        f"Supply less return moves from {first:+.2f} to {last:+.2f} K while the pump stands still, over "
        f"{days[-1] - days[0]:.0f} days; from day to day it scatters by {scatter:.2f} K. One of the two sensors seems "
        "to drift, or their surroundings change. Test the pair again in the same water and write that test beside the "
        'first, as a second [[test]] of kind = "pair".', "return_C",
        bench.evidence("warn", "return_C", still, "wander of the difference in standing water", drift_K=drift),
        f"The range of {sensor} was widened by half of the drift, {abs(drift) / 2.0:.2g} K, which is "
        f"{_share(supply - back, on, abs(drift) / 2.0)} of the usual difference while spraying and as much of the heat "
        "by the pipe.")


def _daily_medians(differences: np.ndarray, step_s: int) -> tuple[np.ndarray, np.ndarray]:
    """Days since the start, and the middle difference [K] of those with enough standing water."""
    per_day = int(86400 / step_s)
    days, medians = [], []
    for day, start in enumerate(range(0, len(differences), per_day)):
        part = differences[start:start + per_day]
        known = part[np.isfinite(part)]
        if len(known) * step_s >= LEAST_STEPS_H * 3600.0:
            days.append(float(day))
            medians.append(float(np.median(known)))
    return np.array(days), np.array(medians)


def _line(days: np.ndarray, medians: np.ndarray) -> tuple[float, float, float]:
    """Start and end of the middle line through the days [K] (Theil 1950, Sen 1968), and the scatter about it [K]."""
    from scipy.stats import theilslopes

    slope, intercept, *_ = theilslopes(medians, days)
    apart = medians - intercept - slope * days
    return float(intercept + slope * days[0]), float(intercept + slope * days[-1]), robust_sd(apart)


def _widen(bench: Bench, drift_K: float) -> str:
    """Widen the sensor whose error is tied to the other's by a pair test, else the return; its column."""
    tied = next((name for name in ("supply_C", "return_C")
                 if name in bench.instruments and bench.instruments[name].tied_to), "return_C")
    if tied in bench.instruments:
        instrument = bench.instruments[tied]
        bench.instruments[tied] = dataclasses.replace(instrument, offset=instrument.offset + 0.5 * drift_K)
    return tied


def _share(differences: np.ndarray, on: np.ndarray, off_K: float) -> str:
    """An error of the difference as a share of the usual one while water runs, in words."""
    running = differences[on & np.isfinite(differences)]
    usual_K = float(np.mean(running)) if len(running) else 0.0
    return f"{off_K / abs(usual_K):.0%}" if usual_K else "an unknown share"
