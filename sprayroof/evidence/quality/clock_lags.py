"""Clocks that differ between logs: the lag at which two records of the same thing fit best, and when it changes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.channels.spray_times import level_while_on

if TYPE_CHECKING:
    from sprayroof.evidence.quality.masks import Bench

WEEK_S = 7 * 86400
FARTHEST_S = 2.5 * 3600
LEAST_LAG_S = 300.0
HOUR_TOLERANCE_S = 600.0
LEAST_FIT, LEAST_GAIN = 0.6, 0.02  # correlation at the best lag, and how much better than none


def check_clocks(bench: Bench) -> None:
    """Tell where two signs of the spray running, or the air and the weather record, fit better at another time."""
    named = {column: _sign(bench, column) for column in ("spray_L_min", "spray_on_frac", "pump_W")}
    signs = [(column, sign) for column, sign in named.items() if sign is not None]
    for at, (first, sign) in enumerate(signs):
        for second, other in signs[at + 1 :]:
            _tell(bench, first, second, _weekly_lags(sign, other, bench.step_s))
    air = bench.values("air_C")
    if air is not None and bench.weather is not None:
        station = bench.weather["t_air_C"].reindex(bench.table.index).interpolate(limit=int(3600 / bench.step_s))
        _tell(bench, "air_C", "the weather record", _weekly_lags(air, station.to_numpy(dtype=float), bench.step_s))


def _sign(bench: Bench, column: str) -> np.ndarray | None:
    values = bench.values(column)
    if values is None or not np.isfinite(values).any():
        return None
    top = 1.0 if column == "spray_on_frac" else level_while_on(values)
    return np.minimum(values / top, 1.0) if top > 0.0 else None


def _weekly_lags(first: np.ndarray, second: np.ndarray, step_s: int) -> list[tuple[int, float]]:
    """First step of each week with a clear lag, and the lag [s]: positive where `first` comes later."""
    week = WEEK_S // step_s
    found = []
    for start in range(0, max(len(first) - week // 2, 1), week):
        lag_s = best_lag_s(first[start : start + week], second[start : start + week], step_s)
        if lag_s is not None:
            found.append((start, lag_s))
    return found


def best_lag_s(first: np.ndarray, second: np.ndarray, step_s: int) -> float | None:
    """By how much `first` comes later than `second`, or None where the two do not tell.

    Parameters
    ----------
    first, second : ndarray, shape (n,)
        Records of the same thing; NaN where missing.
    step_s : int
        Step [s].

    Returns
    -------
    float or None
        Lag of the best correlation within 2.5 h either way [s]; 0 where another lag is not clearly better.
    """
    known = np.isfinite(first) & np.isfinite(second)
    if known.sum() < 0.5 * len(first) or not len(first):
        return None
    a = np.where(known, first - first[known].mean(), 0.0)
    b = np.where(known, second - second[known].mean(), 0.0)
    scale = float(np.sqrt((a**2).sum() * (b**2).sum()))
    if scale == 0.0:
        return None
    size = 1 << (2 * len(a) - 1).bit_length()
    product = np.fft.irfft(np.fft.rfft(a, size) * np.conj(np.fft.rfft(b, size)), size) / scale
    reach = min(int(FARTHEST_S / step_s), len(a) - 1)
    fit = np.concatenate([product[-reach:], product[: reach + 1]])
    best = int(fit.argmax())
    if fit[best] < LEAST_FIT:
        return None
    return float((best - reach) * step_s) if fit[best] - fit[reach] >= LEAST_GAIN else 0.0


def _tell(bench: Bench, first: str, second: str, lags: list[tuple[int, float]]) -> None:
    if not lags:
        return
    values = np.array([lag for _, lag in lags])
    steps_s = np.diff(values)
    jumps = np.flatnonzero(np.abs(np.abs(steps_s) - 3600.0) <= HOUR_TOLERANCE_S)
    if len(jumps):
        at = bench.time(lags[int(jumps[0]) + 1][0])
        bench.gather.finding(
            "cross.clock-hour",
            f"From about {at} on {first} fits {second} at a time {steps_s[jumps[0]] / 60:+.0f} min from before: one "
            "clock "
            "was changed by an hour (daylight saving) and is not declared so.", f"{first}, {second}",
            {"disposition": "warn", "column": f"{first}, {second}", "first": at,
             "lag_min": float(steps_s[jumps[0]] / 60),
             "rule": "lag of the best correlation, week by week"},
            "Heat and run hours of the nights after it are wrong: give each file its own time_zone (a logger left in "
            "standard time: \"Etc/GMT...\").")
        return
    lag_s = float(np.median(values))
    if abs(lag_s) >= max(LEAST_LAG_S, 2.0 * bench.step_s):
        bench.gather.finding(
            "cross.clocks-apart",
            f"{first} runs {abs(lag_s) / 60:.0f} min {'behind' if lag_s > 0 else 'ahead of'} {second} by the lag that "
            "fits best.", f"{first}, {second}",
            {"disposition": "warn", "column": f"{first}, {second}", "lag_min": lag_s / 60.0,
             "rule": "lag of the best correlation, week by week"},
            "If it is a clock, state clock_checks or another time_zone for its file; an hour may be daylight saving.")
