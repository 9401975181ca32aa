"""Clocks that differ between logs: for every pair of logs, the lag at which what must move together does.

Nothing is moved here: a lag is told with the line of the site file that would put it right.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.quality.clock_lines import Late, line_for
from sprayroof.evidence.quality.clock_witnesses import (
    SIGNS,
    Witness,
    air_and_station,
    meters_and_level,
    pipe_at_switches,
    signs_together,
    store_while_spraying,
)
from sprayroof.evidence.quality.lag_fits import Piece, agreeing, pieces_of

if TYPE_CHECKING:
    from sprayroof.evidence.log_files.rows import LogRows
    from sprayroof.evidence.quality.masks import Bench

HOUR_TOLERANCE_MIN, EARLY_MIN = 10.0, 5.0
LEAST_JUMP_S = 600.0
CLEAR_WINDOWS, CLEAR_SHARE = 3, 0.7  # so many windows, and so many of them must tell the same by themselves
RULE = "the lag at which what must move together fits best, window by window"


@dataclass(frozen=True)
class Apart:
    """Two logs whose clocks differ.

    Parameters
    ----------
    log, other : str
        The log of the witness's first channel, and that of its second ("" where it is no log).
    witness : Witness
    pieces : list of Piece
        At least one with a lag.
    clear : bool
        Whether it is told as a lag, or only as a doubt.
    """

    log: str
    other: str
    witness: Witness
    pieces: list[Piece]
    clear: bool


def check_clocks(bench: Bench) -> None:
    """Tell where channels of two logs, or the air and the weather record, fit better at another time."""
    logs: dict[str, list[str]] = {}
    for column in bench.table.columns:
        logs.setdefault(bench.log_of(column), []).append(column)
    found = [apart for pair in itertools.combinations(logs, 2)
             if (apart := _told(_witnesses(bench, logs, *pair), bench)) is not None]
    found += [apart for apart in [_told(iter([air_and_station(bench)]), bench)] if apart is not None]
    often = Counter(log for apart in found for log in {apart.log, apart.other} - {""})
    checked, told = _checked(bench), set()
    for apart in sorted(found, key=lambda apart: not apart.clear):
        # of two logs the one whose clock was not checked, and which differs from more of the others, is taken as wrong
        doubted = {log: (log not in checked, often[log]) for log in (apart.log, apart.other)}
        turned = bool(apart.other) and doubted[apart.other] > doubted[apart.log]
        wrong = apart.other if turned else apart.log
        if wrong not in told:
            told.add(wrong)
            _tell(bench, apart, turned, logs[wrong])


def _checked(bench: Bench) -> set[str]:
    """Logs whose clock was held against the true time."""
    tested = {test.channel for test in bench.site.test if test.kind == "clock"}
    return {rows.entry for rows in bench.rows.values() if rows.log.clock_checks or tested & set(rows.log.columns)}


def _witnesses(bench: Bench, logs: dict[str, list[str]], one: str, other: str) -> Iterator[Witness | None]:
    """What two logs can be held against each other by, the sharpest first."""
    signs = {log: [column for column in SIGNS if column in logs[log]] for log in (one, other)}
    for first, second in itertools.product(signs[one], signs[other]):
        yield signs_together(bench, first, second)
    for water, sign in ((one, other), (other, one)):
        for column in ("return_C", "supply_C"):
            if column in logs[water] and signs[sign]:
                yield pipe_at_switches(bench, column, signs[sign][0])
    for meters, level in ((one, other), (other, one)):
        columns = [column for column in logs[meters] if column.startswith(("makeup_L_min", "draw_L_min"))]
        if columns and "store_m3" in logs[level]:
            yield meters_and_level(bench, columns)
    for water, sign in ((one, other), (other, one)):
        stores = [column for column in logs[water] if column.startswith("store_C")]
        if stores and signs[sign]:
            yield store_while_spraying(bench, stores[0], signs[sign][0])


def _told(witnesses: Iterator[Witness | None], bench: Bench) -> Apart | None:
    """What the first witness that can tell says; None where the clocks agree or nothing tells."""
    for witness in witnesses:
        if witness is None:
            continue
        tolerance = witness.tolerance_s / bench.step_s
        pieces = pieces_of(witness.fits, witness.least_fit, witness.least_gain,
                           int(np.ceil(max(LEAST_JUMP_S / bench.step_s, tolerance))))
        if not pieces:
            continue
        lags = [0 if -tolerance <= piece.lag <= witness.way_s / bench.step_s else piece.lag for piece in pieces]
        if not any(lags):
            return None
        kept = [Piece(piece.first, piece.last, lag) for piece, lag in zip(pieces, lags, strict=True)]
        return Apart(bench.log_of(witness.first), bench.log_of(witness.second), witness, kept,
                     _is_clear(witness, kept, bench.step_s))
    return None


def _is_clear(witness: Witness, pieces: list[Piece], step_s: int) -> bool:
    moved = [piece for piece in pieces if piece.lag]
    near = max(2, round(witness.tolerance_s / step_s))
    return (witness.sharp and sum(piece.last - piece.first for piece in moved) >= CLEAR_WINDOWS
            and all(agreeing(witness.fits, piece, near) >= CLEAR_SHARE for piece in moved)
            and not all(0 < piece.lag * step_s <= witness.late_s for piece in moved))


def _tell(bench: Bench, apart: Apart, turned: bool, columns: list[str]) -> None:
    """The finding of one log's clock; `turned` where the clock of the witness's second channel is taken as wrong."""
    witness = apart.witness
    late = _late(bench, apart, -1.0 if turned else 1.0)
    wrong, right = (witness.second, witness.first) if turned else (witness.first, witness.second)
    rows, line = bench.rows.get(wrong), "clock_checks, or another time_zone, for its log"
    if rows is not None:
        line, late = line_for(rows, late, _zones(bench, rows), witness.tolerance_s / 60.0)
    lags_min = [one.lag_min for one in late]
    jumps = [abs(second - first) for first, second in itertools.pairwise(lags_min)]
    hour = any(abs(jump - 60.0) <= HOUR_TOLERANCE_MIN for jump in jumps)
    code = "cross.clocks-doubtful" if not apart.clear else "cross.clock-hour" if hour else "cross.clocks-apart"
    data = {"disposition": "warn", "column": f"{wrong}, {right}", "lag_min": max(lags_min, key=abs),
            "first": _time(late[0].from_ns), "last": _time(late[-1].to_ns), "rule": RULE, "line": line,
            "columns": sorted(columns), "late_min": [[one.from_ns, one.lag_min] for one in late]}
    if jumps:
        data["jump_min"] = max(jumps)
    bench.gather.finding(code, _message(bench, wrong, right, late, witness.what, apart.clear), f"{wrong}, {right}",
                         data, _effect(line, apart, bench.rows.get(right)))


def _zones(bench: Bench, rows: LogRows) -> list[str]:
    """Zones that a log's clock may have kept: the site's and those of its other logs."""
    others = {other.log.time_zone for other in bench.rows.values() if other.entry != rows.entry}
    return [bench.site.place.time_zone, *sorted(others - {bench.site.place.time_zone})]


def _late(bench: Bench, apart: Apart, sign: float) -> list[Late]:
    """The pieces on the clock, from the first step of the logs to the last."""
    index = bench.table.index.as_unit("ns").asi8
    starts = apart.witness.starts
    begins = [int(index[0]), *(int(index[starts[piece.first]]) for piece in apart.pieces[1:])]
    ends = [*begins[1:], int(index[-1]) + bench.step_s * 10**9]
    lags_min = [sign * _rounded_min(piece.lag * bench.step_s / 60.0, apart.witness) for piece in apart.pieces]
    return [Late(*one) for one in zip(begins, ends, lags_min, strict=True)]


def _rounded_min(lag_min: float, witness: Witness) -> float:
    """A whole hour, where what goes beyond it may be the water's way: clocks differ by hours, seldom by 67 min."""
    hours = 60.0 * np.floor((lag_min + EARLY_MIN) / 60.0)
    way_min = witness.way_s / 60.0 if witness.late_s else 0.0
    return float(hours) if hours and lag_min - hours <= way_min else lag_min


def _message(bench: Bench, wrong: str, right: str, late: list[Late], what: str, clear: bool) -> str:
    rows = bench.rows.get(wrong)
    of_log = "" if rows is None else f" ({rows.where})"
    parts = [_lag_words(one) + ("" if len(late) == 1 else f" from {_time(one.from_ns)} on") for one in late]
    sure = "runs" if clear else "may run"
    return f"{wrong}{of_log} {sure} {', then '.join(parts)} against {right}, by {what}."


def _lag_words(late: Late) -> str:
    if not late.lag_min:
        return "with it"
    return f"{abs(late.lag_min):.0f} min {'late' if late.lag_min > 0 else 'early'}"


def _effect(line: str, apart: Apart, right_rows: LogRows | None) -> str:
    other = "" if right_rows is None else f" If the clock of {right_rows.where} is the wrong one, the opposite there."
    doubt = "" if apart.clear else "What it rests on is not sharp; look at both clocks. "
    return (f"Nothing was moved. {doubt}If its clock is wrong, write {line}.{other} Until then what is measured with "
            "both is widened until its range holds either.")


def _time(time_ns: int) -> str:
    from sprayroof.evidence.log_times.row_names import time_text

    return time_text(time_ns)
