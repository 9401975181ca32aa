"""Delimited text with declared columns and units: file -> times in UTC and numbers in the units asked for.

The header row is the first one that holds every declared column name; what stands above it is left alone. Delimiters
are ; , tab and |. A decimal comma is accepted where a whole column agrees on it.
"""

from __future__ import annotations

import csv
import difflib
import re
import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.files import EvidenceFile
from sprayroof.evidence.gather import Gather, count_of, some_of
from sprayroof.evidence.text import NUMBER, decode, lines_of, numbers
from sprayroof.evidence.times import check_order, local_times, to_utc
from sprayroof.evidence.units import NotAQuantity, scale_to, unit_words

if TYPE_CHECKING:
    import pandas as pd

DELIMITERS = (";", "\t", "|", ",")
HEADER_WITHIN_ROWS = 60
MISSING_TEXTS = ("", "nan", "na", "n/a", "#n/a", "null", "none", "-", "--", "---", "bad", "error")
MISSING_NUMBERS = (-9999.0, -9999.9, -999.0, -999.9, -9900.0, -99999.0)
COMMA_NUMBER = re.compile(r"[+-]?\d+,\d+")
THOUSANDS_LOOK = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")


@dataclass(frozen=True)
class Wanted:
    """A column to read: its heading, its unit in the file, and the unit to give it in.

    `entry` is the entry of the site file that declares it, for messages.
    """

    heading: str
    unit: str
    to_unit: str
    entry: str


@dataclass(frozen=True)
class Table:
    """What was read: strictly rising times (UTC; without zone for daily tables), numbers and their lines."""

    times: pd.DatetimeIndex
    values: dict[str, np.ndarray]
    lines: np.ndarray


@dataclass(frozen=True)
class _Rows:
    header: list[str]
    header_line: int
    cells: list[list[str]]
    lines: np.ndarray
    delimiter: str


def read_table(
    file: EvidenceFile,
    columns: dict[str, Wanted],
    time_column: str,
    time_format: str | None,
    time_zone: str | None,
    section: str,
    gather: Gather,
    daily: bool = False,
) -> Table | None:
    """Times and numbers of the declared columns.

    Parameters
    ----------
    file : EvidenceFile
        As read.
    columns : dict of str to Wanted
        Key of the result -> column.
    time_column : str
        Heading of the time column.
    time_format : str or None
        strptime codes; None for ISO times.
    time_zone : str or None
        IANA name of the clock; not used for daily tables and for times that carry their own offset.
    section : str
        Section of the site file that declares the table, for messages ("weather.rain").
    gather : Gather
        Receives every problem met.
    daily : bool
        True where the time column holds dates.

    Returns
    -------
    Table or None
        None after a problem.
    """
    before = len(gather.problems)
    text = decode(file.raw, file.where, gather)
    scales = {key: _scale(wanted, gather) for key, wanted in columns.items()}
    if text is None:
        return None
    headings = {time_column: f"{section}.time_column", **{wanted.heading: wanted.entry for wanted in columns.values()}}
    rows = _rows(text, headings, file.where, gather)
    if rows is None:
        return None
    times = _times(rows, time_column, time_format, time_zone, section, file.where, daily, gather)
    values = {}
    for key, wanted in columns.items():
        read = _column(rows, wanted.heading, file.where, gather)
        if scales[key] is not None:
            values[key] = scales[key](read)
    if len(gather.problems) > before or times is None:
        return None
    return Table(times, values, rows.lines)


def _scale(wanted: Wanted, gather: Gather):
    try:
        return scale_to(wanted.unit, wanted.to_unit)
    except NotAQuantity as error:
        gather.problem(
            f"site file, {wanted.entry}, unit",
            f'"{wanted.unit[:40]}"{error.why}',
            f"a unit that converts to {unit_words(wanted.to_unit)}",
            error.do,
        )
        return None


# --- rows --------------------------------------------------------------------------------------------------------


def plain_heading(text: str) -> str:
    """A heading for comparison: no case, quotes or doubled blanks."""
    return " ".join(unicodedata.normalize("NFKC", text).strip().strip("\"'").split()).casefold()


def _rows(text: str, headings: dict[str, str], where: str, gather: Gather) -> _Rows | None:
    lines = lines_of(text)
    declared = re.fullmatch(r"sep=(.)", lines[0].strip()) if lines else None
    candidates = (declared[1],) if declared else DELIMITERS
    best: tuple[int, int, str, int, list[str]] | None = None
    wanted = {plain_heading(heading) for heading in headings}
    for delimiter in candidates:
        for place, cells in enumerate(split_line(line, delimiter) for line in lines[:HEADER_WITHIN_ROWS]):
            found = len(wanted & {plain_heading(cell) for cell in cells})
            if best is None or (found, len(cells)) > best[:2]:
                best = (found, len(cells), delimiter, place, cells)
    if best is None or best[0] < len(wanted):
        _tell_no_header(best, headings, where, gather)
        return None
    _, _, delimiter, place, header = best
    if not _headings_are_single(header, headings, where, place + 1, gather):
        return None
    return _data_rows(lines, delimiter, place, header, headings, where, gather)


def split_line(line: str, delimiter: str) -> list[str]:
    """The cells of one line; none where it is no delimited text."""
    try:
        return next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error:
        return []


def _tell_no_header(
    best: tuple[int, int, str, int, list[str]] | None, headings: dict[str, str], where: str, gather: Gather
) -> None:
    cells = [cell.strip() for cell in best[4] if cell.strip()] if best else []
    known = {plain_heading(cell): cell for cell in cells}
    for heading, entry in headings.items():
        if plain_heading(heading) in known:
            continue
        close = difflib.get_close_matches(plain_heading(heading), known, n=1, cutoff=0.6)
        there = some_of([f'"{cell[:40]}"' for cell in cells], 12)
        gather.problem(
            where,
            f'no column "{heading}" in the first {HEADER_WITHIN_ROWS} rows; line {best[3] + 1 if best else 1} '
            f"holds {there or 'nothing'}",
            "every declared column in one header row",
            f"correct {entry}" + (f' to "{known[close[0]]}"' if close else ""),
        )


def _headings_are_single(header: list[str], headings: dict[str, str], where: str, line: int, gather: Gather) -> bool:
    plain = [plain_heading(cell) for cell in header]
    twice = [heading for heading in headings if plain.count(plain_heading(heading)) > 1]
    for heading in twice:
        gather.problem(
            f"{where}, line {line}",
            f'column "{heading}" stands there {plain.count(plain_heading(heading))} times',
            "each declared heading once",
            "rename one of them in a copy of the file",
        )
    return not twice


def _data_rows(
    lines: list[str],
    delimiter: str,
    header_place: int,
    header: list[str],
    headings: dict[str, str],
    where: str,
    gather: Gather,
) -> _Rows | None:
    plain = [plain_heading(cell) for cell in header]
    least = max(plain.index(plain_heading(heading)) for heading in headings) + 1
    cells, places, short, long = [], [], [], []
    reader = csv.reader(lines[header_place + 1 :], delimiter=delimiter)
    try:
        for row in reader:
            line = header_place + 1 + reader.line_num
            if not "".join(row).strip() or row[0].lstrip().startswith("#"):
                continue
            if len(row) < least:
                short.append(f"line {line}")
            elif len(row) > len(header) and any(cell.strip() for cell in row[len(header) :]):
                long.append(f"line {line}")
            else:
                cells.append(row)
                places.append(line)
    except csv.Error as error:
        gather.problem(
            f"{where}, line {header_place + 1 + reader.line_num}",
            f"not delimited text ({error})",
            "one record a line",
            "export the file again",
        )
        return None
    if short:
        gather.problem(
            where, f"cut off: {some_of(short)}", f"at least {least} cells a row", "complete or remove these rows"
        )
    if long:
        gather.problem(
            where,
            f"more cells than the header: {some_of(long)}",
            f"at most {len(header)} cells a row",
            "if the comma is both delimiter and decimal mark, export again with ; between cells",
        )
    if not cells and not short and not long:
        gather.problem(where, "no rows below the header", "a row for each time", "export the file again")
    if short or long or not cells:
        return None
    return _without_units_row(_Rows(header, header_place + 1, cells, np.array(places), delimiter), headings)


def _without_units_row(rows: _Rows, headings: dict[str, str]) -> _Rows:
    # A row of units under the headings has no digit in any declared column.
    plain = [plain_heading(cell) for cell in rows.header]
    first = [rows.cells[0][plain.index(plain_heading(heading))] for heading in headings]
    if (
        len(rows.cells) > 1
        and not any(re.search(r"\d{2}|^\s*\d", cell) for cell in first)
        and any(cell.strip() for cell in first[1:])
        and not _is_missing(first[1])
    ):
        return _Rows(rows.header, rows.header_line, rows.cells[1:], rows.lines[1:], rows.delimiter)
    return rows


def _is_missing(cell: str) -> bool:
    return cell.strip().casefold() in MISSING_TEXTS


def _cells(rows: _Rows, heading: str) -> list[str]:
    place = [plain_heading(cell) for cell in rows.header].index(plain_heading(heading))
    return [row[place] for row in rows.cells]


# --- columns -----------------------------------------------------------------------------------------------------


def _times(
    rows: _Rows,
    heading: str,
    time_format: str | None,
    zone: str | None,
    section: str,
    where: str,
    daily: bool,
    gather: Gather,
) -> pd.DatetimeIndex | None:
    times = local_times(_cells(rows, heading), rows.lines, time_format, where, f"{section}.time_format", gather)
    if times is None:
        return None
    if daily:
        times = times.tz_localize(None).normalize()
    elif times.tz is None and zone is None:
        gather.problem(
            f"site file, {section}.time_zone",
            f"missing, and the times of {where} carry no offset",
            'the IANA name of the logger\'s clock, or "UTC"',
            f"add {section}.time_zone",
        )
        return None
    else:
        utc = to_utc(times, rows.lines, zone or "UTC", where, f"{section}.time_zone", gather)
        if utc is None or utc.isna().any():
            return None
        times = utc
    return times if check_order(times, rows.lines, where, gather) else None


def _column(rows: _Rows, heading: str, where: str, gather: Gather) -> np.ndarray:
    cells = _cells(rows, heading)
    commas = [at for at, cell in enumerate(cells) if "," in cell and COMMA_NUMBER.fullmatch(cell.strip())]
    if commas:
        points = [at for at, cell in enumerate(cells) if "." in cell and NUMBER.fullmatch(cell.strip())]
        if points:
            gather.problem(
                f"{where}, column {heading}",
                f"decimal comma at line {rows.lines[commas[0]]} {cells[commas[0]].strip()!r} "
                f"and decimal point at line {rows.lines[points[0]]} {cells[points[0]].strip()!r}",
                "one decimal mark throughout a column",
                "export the file again with one decimal mark",
            )
            return np.full(len(cells), np.nan)
        if all(THOUSANDS_LOOK.fullmatch(cells[at].strip()) for at in commas):
            gather.problem(
                f"{where}, column {heading}",
                f"{cells[commas[0]].strip()!r} at line {rows.lines[commas[0]]}: the comma may "
                "be a decimal mark or part thousands",
                "numbers that read one way only",
                "export the file again with a decimal point and nothing between thousands",
            )
            return np.full(len(cells), np.nan)
        gather.finding(
            "table.decimal-comma",
            f"Column {heading} of {where} was read with a decimal comma.",
            where,
            {"column": heading, "cells": len(commas)},
        )
        cells = [cell.replace(",", ".") for cell in cells]
    values = numbers(cells, rows.lines, heading, where, gather, MISSING_TEXTS)
    values[np.isin(values, MISSING_NUMBERS)] = np.nan
    return values


def span_of(times: pd.DatetimeIndex) -> str:
    """First and last time for `Weather.inputs`."""
    form = "%Y-%m-%d %H:%M UTC" if times.tz is not None else "%Y-%m-%d"
    return f"{times[0].strftime(form)} to {times[-1].strftime(form)} ({count_of(len(times), 'row')})"
