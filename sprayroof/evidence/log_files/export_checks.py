"""Signs that an export is not what was logged: cut at a row limit, weeks copied, values rounded by hand."""

from __future__ import annotations

import numpy as np

from sprayroof.evidence.gather import Gather, count_of
from sprayroof.evidence.log_files.rows import resolution_of
from sprayroof.evidence.log_times.row_names import RowNames

ROW_LIMITS = (65536, 1048576)
DAY_NS = 86400 * 10**9
LEAST_WINDOW_ROWS = 24
LEAST_DISTINCT = 12
HAND_SHARE = (0.6, 0.995)  # of the changed values on whole fives of the last digit; by chance a fifth
LEAST_HAND_VALUES = 40
_ODD_FACTOR = np.uint64(0x9E3779B97F4A7C15)


def check_row_limits(file_rows: int, data_rows: int, names: RowNames, gather: Gather) -> None:
    """A doubt where the file ends just where programs cut tables off."""
    for limit in ROW_LIMITS:
        if limit in (file_rows, data_rows):
            gather.finding(
                "log.rows-limit",
                f"{names.file} has exactly {limit} rows, where older and newer spreadsheets cut tables off; "
                "later rows are probably lost.",
                names.file,
                {"disposition": "warn", "file": names.file, "rows": limit, "rule": f"exactly {limit} rows"},
                "Everything after the last row is missing; export in smaller parts.",
            )


def check_copied_blocks(times_ns: np.ndarray, values: dict[str, np.ndarray], names: RowNames, gather: Gather) -> None:
    """A doubt where a day or more of changing values stands a second time, cell by cell.

    Parameters
    ----------
    times_ns : ndarray of int64, shape (n,)
        Strictly rising.
    values : dict of str to ndarray, shape (n,)
    """
    found = copied_block(times_ns, list(values.values()))
    if found is None:
        return
    first, second, length = found
    gather.finding(
        "log.copied-block",
        f"{count_of(length, 'row')} of {names.file} from {names.of(second)} repeat those from "
        f"{names.of(first)} in every cell: a block was copied.",
        names.file,
        names.evidence("warn", np.arange(second, second + length), "identical blocks", old=names.of(first)),
        "One of the two blocks was not measured; cut it out of a copy of the file, or limit the measured period.",
    )


def copied_block(times_ns: np.ndarray, columns: list[np.ndarray]) -> tuple[int, int, int] | None:
    """First row of a block, first row of its copy, and rows of the block; None where no block of a day repeats.

    Windows are compared by sums of hashes with rising weights, so that all pairs of windows are met at one sort.
    """
    if len(times_ns) < 2 * LEAST_WINDOW_ROWS or not columns:
        return None
    interval = float(np.median(np.diff(times_ns)))
    window = max(LEAST_WINDOW_ROWS, round(DAY_NS / interval))
    if len(times_ns) < 2 * window:
        return None
    hashes = _row_hashes(columns)
    sums = _window_hashes(hashes, window)
    changes = np.concatenate(([0], np.cumsum(hashes[1:] != hashes[:-1])))
    lively = changes[window - 1 :] - changes[: len(changes) - window + 1] >= window // 4
    order = np.argsort(sums, kind="stable")
    same = np.flatnonzero(sums[order][1:] == sums[order][:-1])
    pairs = [(int(order[place]), int(order[place + 1])) for place in same[:2000] if lively[order[place]]]
    for first, second in sorted(pairs, key=lambda pair: pair[1]):
        if (
            second - first >= window
            and (hashes[first : first + window] == hashes[second : second + window]).all()
            and len(np.unique(hashes[first : first + window])) >= LEAST_DISTINCT
        ):
            return first, second, _length(hashes, first, second)
    return None


def _length(hashes: np.ndarray, first: int, second: int) -> int:
    longest = min(second - first, len(hashes) - second)
    differ = np.flatnonzero(hashes[first : first + longest] != hashes[second : second + longest])
    return int(differ[0]) if len(differ) else longest


def _row_hashes(columns: list[np.ndarray]) -> np.ndarray:
    hashes = np.zeros(len(columns[0]), dtype=np.uint64)
    for column in columns:
        bits = np.where(np.isnan(column), np.nan, column + 0.0).view(np.uint64)
        hashes = (hashes ^ bits) * _ODD_FACTOR
        hashes ^= hashes >> np.uint64(29)
    return hashes


def _window_hashes(hashes: np.ndarray, window: int) -> np.ndarray:
    """Sum over a window of hash times an odd number to the power of the place in it, wrapping around."""
    powers = np.full(len(hashes), _ODD_FACTOR)
    powers[0] = 1
    powers = np.multiply.accumulate(powers)
    sums = np.concatenate((np.zeros(1, np.uint64), np.add.accumulate(hashes * powers)))
    differences = sums[window:] - sums[:-window]
    inverse = np.full(len(hashes), np.uint64(pow(int(_ODD_FACTOR), -1, 2**64)))
    inverse[0] = 1
    return differences * np.multiply.accumulate(inverse)[: len(differences)]


def check_hand_rounded(values: np.ndarray, heading: str, names: RowNames, gather: Gather) -> None:
    """A doubt where most readings end in 0 or 5 though the instrument shows the digits between."""
    known = values[np.isfinite(values)]
    changed = known[np.concatenate(([True], np.diff(known) != 0.0))] if len(known) else known
    changed = changed[changed != 0.0]
    if len(changed) < LEAST_HAND_VALUES or len(np.unique(changed)) < LEAST_DISTINCT:
        return
    step = _last_digit(changed)
    if step == 0.0:
        return
    share = float((np.abs(changed / (5.0 * step) - np.rint(changed / (5.0 * step))) < 0.02).mean())
    if HAND_SHARE[0] <= share <= HAND_SHARE[1]:
        gather.finding(
            "log.hand-rounded",
            f"{share:.0%} of the readings of column {heading} of {names.file} end in 0 or 5 of their last "
            "digit; by chance a fifth would. They look rounded by hand.",
            names.file,
            {
                "disposition": "warn",
                "file": names.file,
                "column": heading,
                "rows": len(changed),
                "rule": "last digit 0 or 5",
                "new": share,
            },
            f"Each reading may be off by {2.5 * step:g} of its unit.",
        )


def _last_digit(values: np.ndarray) -> float:
    """The place of the last digit written (1, 0.1, ...); 0 where the step is none of these."""
    step = resolution_of(values)
    return step if step > 0.0 and abs(np.log10(step) - round(np.log10(step))) < 1e-9 else 0.0
