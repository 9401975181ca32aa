"""Exact zeros that readings do not lead up to: what a logger writes when it has no reading, or a true zero."""

from __future__ import annotations

import numpy as np

from sprayroof.evidence.gather import Gather, count_of
from sprayroof.evidence.log_files.rows import LogRows
from sprayroof.evidence.site_file.channel_table import channel_of
from sprayroof.evidence.steps import runs

# How far the reading before and the one after must lie from a zero that is none, by unit. A pond that freezes, air that
# thaws come to zero by degrees. Flows, rain, wind, sunshine and electricity are zero as a rule. Own judgement.
FAR = {"degC": 3.0, "1": 0.15, "m3": 0.1, "uS/cm": 20.0, "Pa": 5000.0}  # m3: share of the largest content
LONG_RUN, MANY = 3, 10  # rows on end, or in all: fewer are spikes
LONG_S = 900.0  # or so long between two rows


def zeros_are_plausible(rows: LogRows, name: str, kind: str, values: np.ndarray, entry: str, gather: Gather) -> bool:
    """False, with a problem that asks, where a channel jumps to exact zeros and back.

    Parameters
    ----------
    rows : LogRows
    name : str
        Channel as written in the site file.
    kind : str
        What a number of the column is.
    values : ndarray, shape (n,)
        In the channel's unit.
    entry : str
        "log.1.columns.return_temperature".
    gather : Gather
        Receives the problem.
    """
    declared, found = rows.log.columns[name], channel_of(name)
    assert found is not None  # the site file's reader refuses unknown channels
    meaning = found[0]
    far = FAR.get(meaning.unit)
    if far is None or kind in ("status", "sum", "counter", "tips") or declared.zeros is not None:
        return True
    zero = rows.values[name] == 0.0
    if not zero.any():
        return True
    if meaning.unit == "m3":
        far *= float(np.nanmax(values))
    blocks = _far_blocks(zero, values, far)
    count = sum(stop - start for start, stop in blocks)
    if not any(stop - start >= LONG_RUN or _lasts_s(rows, start, stop) > LONG_S for start, stop in blocks) and (
            count < MANY):
        return True
    others = float(np.nanmedian(values[~zero])) if np.isfinite(values[~zero]).any() else None
    unit = "" if meaning.unit == "1" else f" {meaning.unit}"
    beside = "there is no other number" if others is None else f"the middle of the other readings is {others:.4g}{unit}"
    gather.problem(
        f"{rows.where}, column {declared.column}",
        f"exactly 0 in {count_of(count, 'row')} ({count_of(len(blocks), 'time')}, first at "
        f"{rows.row_text(blocks[0][0])}, last at {rows.row_text(blocks[-1][1] - 1)}), and the readings beside do not "
        f"lead up to it; {beside}",
        f"readings of {meaning.meaning}",
        f'write zeros = "missing" at {entry} if the logger writes 0 when it has no reading, or zeros = "readings" if '
        "they are true")
    return False


def _far_blocks(zero: np.ndarray, values: np.ndarray, far: float) -> list[tuple[int, int]]:
    """Runs of zero rows (missing rows do not part them) with the reading before and the one after far away."""
    known = np.flatnonzero(np.isfinite(values))
    found = []
    for start, stop in runs(zero[known]):
        level = values[known[start]]
        beside = [values[known[at]] for at in (start - 1, stop) if 0 <= at < len(known)]
        if all(abs(value - level) > far for value in beside):
            found.append((int(known[start]), int(known[stop - 1]) + 1))
    return found


def _lasts_s(rows: LogRows, start: int, stop: int) -> float:
    """From the first of some rows to the one after them [s]; one interval for the last of the log."""
    if stop < len(rows.times_ns):
        return float(rows.times_ns[stop] - rows.times_ns[start]) / 1e9
    return float(rows.times_ns[stop - 1] - rows.times_ns[start]) / 1e9 + rows.interval_s
