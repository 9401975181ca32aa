"""Water meters against the rise and fall of the level: a wrong pulse weight shows as its factor."""

from __future__ import annotations

import numpy as np

from sprayroof.evidence.channels.record import Record
from sprayroof.evidence.channels.spray_times import widened
from sprayroof.evidence.gather import count_of
from sprayroof.evidence.quality.compare import PULSE_FACTORS, factor_near
from sprayroof.evidence.quality.work import LogWork
from sprayroof.evidence.steps import runs

SETTLED_MIN = 60.0  # after spraying: the roof has drained
JOINED_MIN = 10.0
MOST_RUNS = 5000
BESIDE = 3  # steps before and after a run whose mean level counts
LEAST_FRAC = 0.02  # of the full store: a sum of changes that the level can show
LEAST_ASIDE = 0.25  # a ratio nearer to one is no wrong pulse weight


def check_meters(work: LogWork) -> None:
    """Make-up against the rise of the level, draw against its fall, where nothing else moved it."""
    level = work.values("store_m3")
    if level is None:
        return
    for column, sign in (("makeup_L_min", 1.0), ("draw_L_min", -1.0)):
        record = work.records.get(column)
        if record is not None:
            _check(record, sign, level, work)


def _check(record: Record, sign: float, level: np.ndarray, work: LogWork) -> None:
    flow = work.laid[record.column].values
    still = _undisturbed(record.column, work)
    metered_m3, moved_m3, times = 0.0, 0.0, 0
    step_min = work.grid.step_s / 60.0
    # pulses a few minutes apart are one inflow
    active = widened(np.nan_to_num(flow) > 0.0, 0, round(JOINED_MIN * 60.0 / work.grid.step_s))
    for start, stop in runs(active)[:MOST_RUNS]:
        low, high = start - BESIDE, stop + BESIDE
        if low < 0 or high > len(flow) or not still[low:high].all():
            continue
        before, after = level[low:start], level[stop:high]
        if np.isnan(before).all() or np.isnan(after).all():
            continue
        metered_m3 += float(np.nansum(flow[start:stop])) * step_min / 1000.0
        moved_m3 += sign * float(np.nanmean(after) - np.nanmean(before))
        times += 1
    if not times or moved_m3 < LEAST_FRAC * work.site.store.volume_m3.value:
        return
    ratio = metered_m3 / moved_m3
    mark = factor_near(ratio, PULSE_FACTORS)
    if mark is None or abs(ratio - 1.0) < LEAST_ASIDE:
        return
    moved = "rose" if sign > 0.0 else "fell"
    work.gather.problem(
        record.where, f"the meter counts {metered_m3:.3g} m3 while the level {moved} by {moved_m3:.3g} m3 and nothing "
        f"else moved it ({count_of(times, 'time')}): {ratio:.4g} times as much, near {mark[0]:.4g} ({mark[1]})",
        "a meter and a level that agree",
        f"correct per_count or unit at {record.entry}, or unit or table of the level")


def _undisturbed(column: str, work: LogWork) -> np.ndarray:
    """Steps without spraying (and an hour after), rain, and flow of the other meters."""
    still = np.ones(work.grid.steps, dtype=bool)
    spraying = work.running()
    if spraying is not None:
        still &= ~widened(spraying, 1, round(SETTLED_MIN * 60.0 / work.grid.step_s))
    rain = work.values("rain_mm")
    if rain is not None:
        still &= ~widened(np.nan_to_num(rain) > 0.0, 1, round(SETTLED_MIN * 60.0 / work.grid.step_s))
    for other in work.records:
        if other != column and other.startswith(("makeup_L_min", "draw_L_min")):
            still &= ~(np.nan_to_num(work.laid[other].values) > 0.0)
    return still
