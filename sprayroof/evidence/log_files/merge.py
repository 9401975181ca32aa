"""Several exports of one logger joined: overlaps that agree are merged, overlaps that disagree are not guessed at."""

from __future__ import annotations

from typing import Any

import numpy as np

from sprayroof.evidence.gather import Gather, count_of
from sprayroof.evidence.log_files.devices import same_device
from sprayroof.evidence.log_files.rows import LogRows, resolution_of
from sprayroof.evidence.log_files.table import LogTable
from sprayroof.evidence.log_times.row_names import time_text
from sprayroof.evidence.site_file.logged import Log

MOST_DIFFERING = 0.01  # of the cells in an overlap
MOST_BETWEEN = 0.05  # of a file's rows in an overlap that lie between the rows of the other


def joined(tables: list[LogTable], log: Log, entry: str, raw: dict[str, Any], gather: Gather) -> LogRows | None:
    """The rows of all files of a log.

    Parameters
    ----------
    tables : list of LogTable
        At least one.
    log : Log
        Declaration.
    entry : str
        "log.2".
    raw : dict
        The block as it stands in the site file (tells what is stated).
    gather : Gather
        Receives problems and findings.

    Returns
    -------
    LogRows or None
        None after a problem that leaves no rows to go on with.
    """
    tables = sorted((table for table in tables if len(table.times_ns)), key=lambda table: int(table.times_ns[0]))
    if not tables:
        return None
    _check_units(tables, gather)
    values, lines, file_of = {}, tables[0].lines, np.zeros(len(tables[0].times_ns), dtype=np.int32)
    times_ns, blanks = tables[0].times_ns, tables[0].blanks
    values = tables[0].values
    if len(tables) > 1:
        devices = [(table.where, table.devices) for table in tables]
        if not same_device(devices, log.file.replace("\\", "/"), entry, gather):
            return None
        if not _check_between(tables, log, entry, gather):
            return None
        times_ns = np.unique(np.concatenate([table.times_ns for table in tables]))
        places = [np.searchsorted(times_ns, table.times_ns) for table in tables]
        lines, file_of = _origins(tables, places, len(times_ns))
        # a column that is only held against another may be unreadable in one of the files
        shared = [name for name in tables[0].values if all(name in table.values for table in tables)]
        values = {name: _merged(name, tables, places, times_ns, log, entry, gather) for name in shared}
        blanks = {name: _merged_blanks(name, tables, places, len(times_ns)) for name in tables[0].blanks}
        _tell_overlap(tables, times_ns, log, gather)
    return LogRows(log, entry, tuple(table.where for table in tables), times_ns, values, lines, file_of,
                   tables[0].headings, tables[0].units_seen, blanks, "stamp" in raw, "values" in raw)


def _origins(tables: list[LogTable], places: list[np.ndarray], count: int) -> tuple[np.ndarray, np.ndarray]:
    lines, file_of = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int32)
    for number, (table, place) in reversed(list(enumerate(zip(tables, places, strict=True)))):
        lines[place], file_of[place] = table.lines, number
    return lines, file_of


def _merged(name: str, tables: list[LogTable], places: list[np.ndarray], times_ns: np.ndarray, log: Log, entry: str,
            gather: Gather) -> np.ndarray:
    """A channel of all files: the first that has a number, NaN where two differ by more than their rounding."""
    whole, step = np.full(len(times_ns), np.nan), 0.0
    both, apart = 0, np.zeros(len(times_ns), dtype=bool)
    example = ""
    for table, place in zip(tables, places, strict=True):
        new = table.values[name]
        step = max(step, min(resolution_of(new), 1.0))
        known = np.isfinite(whole[place]) & np.isfinite(new)
        differs = known & (np.abs(whole[place] - new) > 0.51 * step + 1e-9 * np.abs(new))
        if differs.any() and not example:
            at = int(np.flatnonzero(differs)[0])
            example = (f"{whole[place[at]]:g} and {new[at]:g} at {time_text(times_ns[place[at]])} "
                       f"({table.where}, line {int(table.lines[at])})")
        both += int(known.sum())
        apart[place[differs]] = True
        whole[place] = np.where(np.isfinite(whole[place]), whole[place], new)
    if apart.any():
        _tell_differing(name, int(apart.sum()), both, example, log, entry, gather)
    whole[apart] = np.nan
    return whole


def _tell_differing(name: str, count: int, both: int, example: str, log: Log, entry: str, gather: Gather) -> None:
    column, where = log.columns[name].column, log.file.replace("\\", "/")
    if count > MOST_DIFFERING * both:
        gather.problem(
            f"{where}, column {column}", f"files that overlap disagree in {count} of {both} cells, first {example}",
            "one value for one time", f"name the right files alone in {entry}.file, or a [[log]] block for each")
        return
    gather.finding(
        "log.overlap-differs", f"Files of {where} that overlap give different values in {count_of(count, 'cell')} of "
        f"column {column}, first {example}; these cells are not used.", where,
        {"disposition": "exclude", "file": where, "column": column, "rows": count,
         "rule": "same time, different values"}, f"{count} readings of {name} are missing.")


def _merged_blanks(name: str, tables: list[LogTable], places: list[np.ndarray], count: int) -> np.ndarray:
    blank = np.zeros(count, dtype=bool)
    for table, place in zip(tables, places, strict=True):
        if name in table.blanks:
            blank[place] |= table.blanks[name]
    return blank


def _tell_overlap(tables: list[LogTable], times_ns: np.ndarray, log: Log, gather: Gather) -> None:
    doubled = sum(len(table.times_ns) for table in tables) - len(times_ns)
    if not doubled:
        return
    where = log.file.replace("\\", "/")
    seen = np.concatenate([table.times_ns for table in tables])
    seen.sort()
    twice = seen[1:][seen[1:] == seen[:-1]]
    first, last = time_text(twice[0]), time_text(twice[-1])
    gather.finding(
        "log.overlap-merged", f"The {len(tables)} files of {where} hold {count_of(doubled, 'row')} twice, from {first} "
        f"to {last}; they were merged.", where,
        {"disposition": "repair", "file": where, "rows": doubled, "first": first, "last": last,
         "rule": "rows of one time in several files are one row"}, "None: the rows agree.")


def _check_between(tables: list[LogTable], log: Log, entry: str, gather: Gather) -> bool:
    """False, with a problem, where a file has rows of its own between those of an earlier file."""
    if any((column.kind or log.values) == "last value holds" for column in log.columns.values()):
        return True
    for number, table in enumerate(tables[1:], start=1):
        for other in tables[:number]:
            inside = (table.times_ns > other.times_ns[0]) & (table.times_ns < other.times_ns[-1])
            own = table.times_ns[inside & ~np.isin(table.times_ns, other.times_ns)]
            if len(own) == 0:
                continue
            after = np.searchsorted(other.times_ns, own)
            usual = 1.5 * float(np.median(np.diff(other.times_ns)))
            between = (other.times_ns[after] - other.times_ns[after - 1]) <= usual
            if between.sum() > max(2, MOST_BETWEEN * inside.sum()):
                where = log.file.replace("\\", "/")
                gather.problem(
                    where, f"{table.where} has {int(between.sum())} rows between those of {other.where}, first at "
                    f"{time_text(own[between][0])}", "files that follow each other, or agree where they overlap",
                    f"check the clocks of both; name the right files in {entry}.file, or a [[log]] block for each")
                return False
    return True


def _check_units(tables: list[LogTable], gather: Gather) -> None:
    for table in tables[1:]:
        for heading, unit in table.units_seen.items():
            first = tables[0].units_seen.get(heading, unit)
            if first.strip() != unit.strip():
                gather.problem(f"{table.where}, column {heading}",
                               f"the unit {unit}, where {tables[0].where} has {first}",
                               "one unit for all files of a [[log]] block", "give this file a [[log]] block of its own")
