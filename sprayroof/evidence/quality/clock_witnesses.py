"""Pairs of channels that must move together if their clocks agree, and how well they fit at each lag.

The spray's own signs (flow, status, power) start and stop together. Water in the pipe changes as the pump starts and
stops. The level rises by what the make-up meter counts and falls by what is drawn. The store cools while it sprays. The
air at the site follows that of the weather record.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.channels.spray_times import level_while_on, widened
from sprayroof.evidence.quality.lag_fits import moved_fits

if TYPE_CHECKING:
    from sprayroof.evidence.quality.masks import Bench

DAY_S, HOUR_S = 86400, 3600
SIGNS = ("spray_on_frac", "spray_L_min", "pump_W")
ZONE_REACH_S = 14 * HOUR_S  # a zone named wrongly
PIPE_REACH_S = 12 * HOUR_S  # the next night looks the same
BOTH_PREFERRED = 1.2  # both, where their fit is nearly that of the better one
STANDS_OUT = 3.0  # times the usual unrest of the water
AIR_REACH_S = 3 * HOUR_S  # air has a daily swing and little else: farther lags are not sought
SWITCH_S = 600  # the water before and after a start or stop that is compared
REST_S, RUN_S = 2 * HOUR_S, 1200  # so long it did not run, and ran, for a start or stop to count
MOST_EVENTS = 4000
WAY_S, LATE_S = 1080.0, 1800.0  # water from a roof takes up to so long; from a large one perhaps so long
LEAST_JUMP_K = 0.3
PIPE_S, STORE_S, AIR_S, LEAST_S = 900.0, 2700.0, 2700.0, 300.0  # lags that are no clock, by what the water does


@dataclass(frozen=True)
class Witness:
    """Two channels held against each other.

    Parameters
    ----------
    first, second : str
        Their columns ("the weather record" for `second` where it is no log).
    starts : ndarray of int, shape (windows,)
        First step of each window that tells.
    fits : ndarray, shape (windows, 2 reach + 1)
        Fit at each lag; positive lags where `first` comes later.
    least_fit, least_gain : float
        What a lag must reach, and by how much it must fit better than none.
    tolerance_s : float
        Lags up to this are no clock.
    sharp : bool
        Whether the response is sharp enough for a clear word; else a lag is a doubt.
    way_s, late_s : float
        A lag up to `way_s` is the way of the water, where `first` comes later; up to `late_s` it may be.
    what : str
        In words.
    """

    first: str
    second: str
    starts: np.ndarray
    fits: np.ndarray
    least_fit: float
    least_gain: float
    tolerance_s: float
    sharp: bool
    way_s: float
    late_s: float
    what: str


def sign_of_running(bench: Bench, column: str) -> np.ndarray | None:
    """A channel that tells when the spray runs, as a share from 0 to 1."""
    values = bench.values(column)
    if values is None or not np.isfinite(values).any():
        return None
    top = 1.0 if column == "spray_on_frac" else level_while_on(values)
    return np.clip(values / top, 0.0, 1.0) if top > 0.0 else None


def signs_together(bench: Bench, first: str, second: str) -> Witness | None:
    """Two signs of running."""
    a, b = sign_of_running(bench, first), sign_of_running(bench, second)
    if a is None or b is None:
        return None
    return _witness(bench, (first, second), _moved(a, b, bench, ZONE_REACH_S, 1, _quiet_step(a, bench)),
                    (0.6, 0.02, LEAST_S, True, 0.0, 0.0), "the spray's starts and stops")


def pipe_at_switches(bench: Bench, first: str, second: str) -> Witness | None:
    """The water in the pipe (`first`) as the spray (`second`) starts and stops."""
    water, sign = bench.values(first), sign_of_running(bench, second)
    if water is None or sign is None:
        return None
    jumps = _first_and_last(_jumps(water, max(2, SWITCH_S // bench.step_s)), bench.step_s)
    told = _responding([_around(jump_K, events, PIPE_REACH_S // bench.step_s)
                        for jump_K, events in zip(jumps, _switches(sign, bench.step_s), strict=True)])
    if told is None:
        return None
    events, shares, both = told
    days = (events + _quiet_step(sign, bench)) // (DAY_S // bench.step_s)
    fits = np.array([shares[days == day].mean(axis=0) for day in np.unique(days)])
    starts = np.array([events[days == day][0] for day in np.unique(days)])
    # starts alone may be answered by what follows the roof's first water; starts and stops late alike are no such thing
    return _witness(bench, (first, second), (starts, fits), (0.5, 0.2, PIPE_S, True, WAY_S if both else LATE_S, LATE_S),
                    "the water in the pipe as the spray starts and stops")


def _around(jump_K: np.ndarray, events: np.ndarray, reach: int) -> tuple[np.ndarray, np.ndarray]:
    """Events about which enough is known, and the jumps at every lag from them, shape (events, 2 reach + 1)."""
    padded = np.concatenate([np.full(reach, np.nan), jump_K, np.full(reach, np.nan)])
    around = np.array([padded[event : event + 2 * reach + 1] for event in events]).reshape(len(events), 2 * reach + 1)
    known = np.isfinite(around).mean(axis=1) > 0.5
    return events[known], np.nan_to_num(around[known])


def _responding(kinds: list[tuple[np.ndarray, np.ndarray]]) -> tuple[np.ndarray, np.ndarray, bool] | None:
    """Starts, stops or both, whichever the water answers, the share of its usual jump at each lag, and whether both.

    None if neither is answered.

    Water that stands in the pipe after a stop may keep its temperature for hours: stops are then no sign.
    """
    both = np.concatenate([events for events, _ in kinds]), np.concatenate([around for _, around in kinds])
    order = np.argsort(both[0], kind="stable")
    told = []
    for events, around, is_both in ((both[0][order], both[1][order], all(len(events) for events, _ in kinds)),
                                    *((*kind, False) for kind in kinds)):
        shares = _shares(around) if len(events) else None
        if shares is not None:
            told.append((float(shares.mean(axis=0).max()) * (BOTH_PREFERRED if is_both else 1.0), events, shares,
                         is_both))
    return max(told, key=lambda one: one[0])[1:] if told else None


def _shares(around_K: np.ndarray) -> np.ndarray | None:
    """Jumps as shares of the usual one at the lag that answers best, 1 at most; None where no lag stands out."""
    capped_K = np.minimum(around_K, np.quantile(around_K, 0.99))
    usual_K = float(np.median(around_K[:, int(capped_K.mean(axis=0).argmax())]))
    if usual_K < LEAST_JUMP_K or usual_K <= STANDS_OUT * float(np.median(around_K)):
        return None
    shares = np.minimum(around_K / usual_K, 1.0)
    profile = shares.mean(axis=0)
    return shares if profile.max() - np.median(profile) >= 0.3 else None


def store_while_spraying(bench: Bench, first: str, second: str) -> Witness | None:
    """The store's cooling (`first`) while the spray (`second`) runs."""
    water, sign = bench.values(first), sign_of_running(bench, second)
    if water is None or sign is None:
        return None
    hour = max(2, HOUR_S // bench.step_s)
    fits = _moved(-_change(water, hour), _mean_of(sign, hour), bench, ZONE_REACH_S, 1, _quiet_step(sign, bench))
    return _witness(bench, (first, second), fits, (0.6, 0.1, STORE_S, False, 0.0, 0.0), "the store's cooling")


def meters_and_level(bench: Bench, columns: list[str], level_column: str = "store_m3") -> Witness | None:
    """What water meters count (`columns` of one log) and the rise and fall of the level, from hour to hour."""
    level = bench.values(level_column)
    flows = {column: bench.values(column) for column in columns}
    if level is None or not flows:
        return None
    hour = max(1, HOUR_S // bench.step_s)
    net = sum((1.0 if column.startswith("makeup") else -1.0) * values for column, values in flows.items())
    metered = _mean_of(net, hour) * hour * bench.step_s / 60000.0
    change = np.where(_moved_otherwise(bench, hour), np.nan, _change(level, hour))
    fits = _moved(metered, change, bench, ZONE_REACH_S, 3, 0)
    return _witness(bench, (columns[0], level_column), fits, (0.6, 0.1, LEAST_S, True, 0.0, 0.0),
                    "the level against make-up and draws")


def air_and_station(bench: Bench) -> Witness | None:
    """Air at the site and the measured weather record."""
    air = bench.values("air_C")
    if air is None or bench.weather is None:
        return None
    fits = _moved(air, bench.station_air_C(), bench, AIR_REACH_S, 4, 0)
    return _witness(bench, ("air_C", "the weather record"), fits, (0.6, 0.02, AIR_S, True, 0.0, 0.0), "the air")


def _witness(bench: Bench, columns: tuple[str, str], told: tuple[np.ndarray, np.ndarray],
             limits: tuple[float, float, float, bool, float, float], what: str) -> Witness | None:
    starts, fits = told
    if not len(starts):
        return None
    least_fit, least_gain, tolerance_s, sharp, way_s, late_s = limits
    widest_s = max([tolerance_s, 2.0 * bench.step_s, *(0.5 * bench.interval_s(column) for column in columns)])
    return Witness(*columns, starts, fits, least_fit, least_gain, widest_s, sharp, max(way_s, widest_s), late_s,
                   what)


def _moved(first: np.ndarray, second: np.ndarray, bench: Bench, reach_s: int, days: int,
           quiet: int) -> tuple[np.ndarray, np.ndarray]:
    """Windows of some days from the quiet step on: first step of each that tells, and its fits."""
    size, reach = days * DAY_S // bench.step_s, reach_s // bench.step_s
    begins = np.arange(-quiet, len(first), size)
    told = [(max(begin, 0), fits) for begin in begins
            if (fits := moved_fits(first, second, max(begin, 0), min(begin + size, len(first)), reach)) is not None
            and fits.any()]
    return np.array([start for start, _ in told], dtype=int), np.array([fits for _, fits in told])


def _quiet_step(sign: np.ndarray, bench: Bench) -> int:
    """How many steps a day must be moved so that it is cut where the spray runs least."""
    day = DAY_S // bench.step_s
    whole = sign[: len(sign) // day * day]
    if not len(whole):
        return 0
    share = np.nan_to_num(whole).reshape(-1, day).mean(axis=0)
    around = max(1, 4 * HOUR_S // bench.step_s)
    smooth = np.convolve(np.concatenate([share[-around:], share, share[:around]]), np.ones(2 * around + 1), "valid")
    return (day - int(smooth.argmin())) % day


def _switches(sign: np.ndarray, step_s: int) -> tuple[np.ndarray, np.ndarray]:
    """Steps at which it first starts after a long rest, and at which it last stops before one.

    Starts within a night that is sprayed in turns look like each other, an hour before or after.
    """
    rest, run = max(2, REST_S // step_s), max(2, RUN_S // step_s)
    on, known = np.nan_to_num(sign) > 0.1, np.isfinite(sign)
    edges = np.flatnonzero(np.diff(on.astype(np.int8)) != 0) + 1
    lengths = np.diff(np.concatenate([[0], edges, [len(on)]]))
    lasting = lengths >= np.where(on[np.concatenate([[0], edges])], run, rest)
    good = np.array([edge for at, edge in enumerate(edges)
                     if lasting[at] and lasting[at + 1] and known[max(edge - rest, 0) : edge + rest].all()], dtype=int)
    good = good[:: max(1, len(good) // MOST_EVENTS)]
    return good[on[good]], good[~on[good]]


def _first_and_last(jump_K: np.ndarray, step_s: int) -> tuple[np.ndarray, np.ndarray]:
    """Jumps less the largest of the hour before them, and less that of the hour after: what begins, and what ends."""
    near, far = 2 * max(2, SWITCH_S // step_s), max(1, HOUR_S // step_s)
    filled = np.concatenate([np.zeros(near + far), np.nan_to_num(jump_K), np.zeros(near + far)])
    largest = np.lib.stride_tricks.sliding_window_view(filled, far).max(axis=1)
    before, after = largest[: len(jump_K)], largest[2 * near + far + 1 :][: len(jump_K)]
    return np.maximum(jump_K - before, 0.0), np.maximum(jump_K - after, 0.0)


def _jumps(values: np.ndarray, beside: int) -> np.ndarray:
    """By how much the mean after each step differs from the mean before it."""
    mean = _mean_of(values, beside)
    before = np.concatenate([np.full(beside, np.nan), mean[:-beside]])
    return np.abs(mean - before)


def _mean_of(values: np.ndarray, steps: int) -> np.ndarray:
    """Mean of each step and those after it; NaN where any is unknown or lies outside."""
    known = np.isfinite(values)
    sums = np.concatenate([[0.0], np.cumsum(np.where(known, values, 0.0))])
    counts = np.concatenate([[0], np.cumsum(known)])
    mean = np.full(len(values), np.nan)
    if len(values) >= steps:
        whole = counts[steps:] - counts[:-steps] == steps
        mean[: len(whole)] = np.where(whole, (sums[steps:] - sums[:-steps]) / steps, np.nan)
    return mean


def _change(values: np.ndarray, steps: int) -> np.ndarray:
    """From each step to that some steps later."""
    changed = np.full(len(values), np.nan)
    if len(values) > steps:
        changed[:-steps] = values[steps:] - values[:-steps]
    return changed


def _moved_otherwise(bench: Bench, hour: int) -> np.ndarray:
    """Steps from which, within the hour, spray or rain moves the level."""
    moved = np.zeros(len(bench.table), dtype=bool)
    on, rain = bench.running(), bench.values("rain_mm")
    if on is not None:
        moved |= widened(on, hour, hour)
    if rain is not None:
        moved |= widened(np.nan_to_num(rain) > 0.0, hour, hour)
    return moved
