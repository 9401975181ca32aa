"""Cells of a log's columns to numbers: decimal marks, codes for missing, words, units and limits in cells."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.gather import Gather, count_of, some_of
from sprayroof.evidence.log_files.missing_codes import MISSING_TEXTS, NEVER_READINGS, PERHAPS_READINGS, codes_in
from sprayroof.evidence.log_files.number_forms import (
    Cell,
    Marks,
    all_plain,
    is_grouped,
    marks_of,
    number_of,
    parted,
    plain_marks,
)
from sprayroof.evidence.log_times.row_names import RowNames
from sprayroof.evidence.site_file.channel_table import channel_of
from sprayroof.evidence.site_file.entries import shown
from sprayroof.evidence.units import NotAQuantity, Scale, scale_to

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.logged import LogColumn

WORDS = {
    "on": 1.0,
    "off": 0.0,
    "true": 1.0,
    "false": 0.0,
    "yes": 1.0,
    "no": 0.0,
    "running": 1.0,
    "stopped": 0.0,
    "run": 1.0,
    "stop": 0.0,
    "active": 1.0,
    "inactive": 0.0,
    "ein": 1.0,
    "aus": 0.0,
    "marche": 1.0,
    "arrêt": 0.0,
    "aan": 1.0,
    "uit": 0.0,
}
STANDS_STILL = ("L/min", "W")  # units of channels that read zero while they are off
SHOWN_CODES = 12
MOST_UNREADABLE = 0.5  # of the cells that are not empty: beyond it the column is not what it is taken for


@dataclass(frozen=True, eq=False)
class Column:
    """Distinct texts of a column and where each stands."""

    channel: str
    declared: LogColumn
    texts: list[str]
    codes: np.ndarray
    plain: np.ndarray | None  # the numbers of `texts`, where all of them are plain
    marks: Marks

    @property
    def heading(self) -> str:
        """Heading as declared."""
        return self.declared.column


@dataclass
class Read:
    """What the distinct texts of a column mean; counts are of cells."""

    numbers: np.ndarray
    missing: dict[str, int] = field(default_factory=dict)
    words: dict[str, int] = field(default_factory=dict)
    limits: dict[str, int] = field(default_factory=dict)
    units: dict[str, int] = field(default_factory=dict)
    grouped: int = 0


def column_of_cells(channel: str, declared: LogColumn, cells: np.ndarray) -> Column:
    """The column's distinct texts; shape of `cells` (n,)."""
    import pandas as pd

    codes, uniques = pd.factorize(cells)
    texts = list(uniques)
    plain = all_plain(texts)
    if plain is not None:
        return Column(channel, declared, texts, codes, plain, plain_marks(texts))
    return Column(channel, declared, texts, codes, None, marks_of([text for text in texts if not _is_code(text)]))


def _is_code(text: str) -> bool:
    try:
        return float(text) in (*NEVER_READINGS, *PERHAPS_READINGS)
    except ValueError:
        return False


def file_mark(columns: list[Column]) -> str | None:
    """The decimal mark that columns of the file show with certainty, if they agree."""
    certain = {column.marks.certain for column in columns} - {None}
    return certain.pop() if len(certain) == 1 else None


def decimal_fits(columns: list[Column], stated: str, names: RowNames, entry: str, gather: Gather) -> bool:
    """False, with one problem for the file, where columns show another decimal mark than the stated one."""
    others = [column for column in columns if column.marks.certain not in (None, stated) and column.declared.use]
    if not others:
        return True
    other = "," if stated == "." else "."
    first = others[0]
    place = first.marks.comma if other == "," else first.marks.point
    assert place is not None  # the mark is certain
    is_alone = not any(column.marks.certain == stated for column in columns)
    mend = f'write decimal = "{other}" at {entry}' if is_alone else "export the file again with one decimal mark"
    gather.problem(
        f"site file, {entry}.decimal",
        f'"{stated}", but the numbers of {names.file} have "{other}" in {count_of(len(others), "column")} '
        f"({some_of([column.heading for column in others], 3)}), such as {_example(first, place, names)}",
        "the decimal mark of the file",
        f"{mend}, or take the entry out",
    )
    return False


def read_column(
    column: Column, stated: str | None, elsewhere: str | None, names: RowNames, entry: str, gather: Gather
) -> tuple[np.ndarray, np.ndarray]:
    """Numbers of a column in the file's unit, NaN where there is none; and where cells are plainly empty.

    Parameters
    ----------
    column : Column
        Its distinct texts.
    stated : str or None
        Decimal mark as the site file states it.
    elsewhere : str or None
        Decimal mark that other columns show.
    names : RowNames
        The rows, in the order of time.
    entry : str
        "log.2".
    gather : Gather
        Receives problems and findings.

    Returns
    -------
    values, blanks : ndarray, shape (n,)
        All NaN after a problem.
    """
    count = len(column.codes)
    at = f"{names.file}, column {column.heading}"
    if column.plain is not None and not _points_part_thousands(column, stated, elsewhere):
        values = column.plain[column.codes]
        read = Read(column.plain)
        blanks = np.zeros(count, dtype=bool)
    else:
        decimal = _decimal(column, stated, elsewhere, names, at, entry, gather)
        read = None if decimal is None else _read_texts(column, decimal, names, at, entry, gather)
        if decimal is None or read is None:
            return np.full(count, np.nan), np.zeros(count, dtype=bool)
        blanks = np.array([not text for text in column.texts], dtype=bool)[column.codes]
        values = read.numbers[column.codes]
        _tell_forms(column, read, decimal, names, gather)
    values = _without_codes(column, values, read, names, gather)
    return values, blanks


def _points_part_thousands(column: Column, stated: str | None, elsewhere: str | None) -> bool:
    has_points = column.marks.point is not None or column.marks.point_or_thousands is not None
    return has_points and (stated or column.marks.certain or elsewhere) == ","


# --- decimal marks -----------------------------------------------------------------------------------------------


def _decimal(
    column: Column, stated: str | None, elsewhere: str | None, names: RowNames, at: str, entry: str, gather: Gather
) -> str | None:
    marks = column.marks
    if marks.point is not None and marks.comma is not None:
        comma, point = (_example(column, place, names) for place in (marks.comma, marks.point))
        gather.problem(
            at,
            f"decimal comma at {comma} and decimal point at {point}",
            "one decimal mark throughout a column",
            "export the file again with one decimal mark",
        )
        return None
    if marks.certain or stated or elsewhere:
        return stated or marks.certain or elsewhere
    if marks.comma_or_thousands is None:
        return "."
    gather.problem(
        at,
        f"{_example(column, marks.comma_or_thousands, names)}: the comma may be a decimal mark or part thousands",
        "numbers that read one way only",
        f'add decimal = "," to {entry} if the comma is the decimal mark, or decimal = "." if it parts thousands',
    )
    return None


def _example(column: Column, place: int, names: RowNames) -> str:
    texts = [text for text in column.texts if not _is_code(text)]
    text = texts[place]
    row = int(np.argmax(column.codes == column.texts.index(text)))
    return f"line {names.lines[row]} {text[:40]!r}"


# --- texts -------------------------------------------------------------------------------------------------------


def _read_texts(column: Column, decimal: str, names: RowNames, at: str, entry: str, gather: Gather) -> Read | None:
    """Numbers of the distinct texts, with counts of what is no plain number; None after a problem."""
    counts = np.bincount(column.codes, minlength=len(column.texts))
    read = Read(np.full(len(column.texts), np.nan))
    words = {**(WORDS if _may_be_off(column) else {}), **(column.declared.words or {})}
    declared = column.declared.unit.strip().casefold()
    for place, text in enumerate(column.texts):
        word, count = text.casefold(), int(counts[place])
        if word in (column.declared.words or ()):
            read.numbers[place] = words[word]
            continue
        cell = parted(text)
        if cell is not None:
            _read_number(text, cell, place, count, decimal, read, declared)
        elif word in words:
            read.numbers[place] = words[word]
        elif word in MISSING_TEXTS:
            read.missing[text] = count
        else:
            read.words[text] = count
    if not _units_fit(column, read, names, at, entry, gather) or not _few_unreadable(
        column, read, counts, at, entry, gather
    ):
        return None
    return read


def _may_be_off(column: Column) -> bool:
    """Whether on and off are readings of the column: of a status, a flow or a power; a running total has neither."""
    found = channel_of(column.channel)
    if column.declared.kind == "counter":
        return False
    if found is not None:
        return found[0].kind == "status" or found[0].unit in STANDS_STILL
    return any(_scale(column.declared.unit, unit) is not None for unit in STANDS_STILL)


def _read_number(text: str, cell: Cell, place: int, count: int, decimal: str, read: Read, declared: str) -> None:
    number = number_of(cell.digits, decimal)
    if not np.isfinite(number) and _is_code(text):
        number = float(text)
    if text.casefold() in MISSING_TEXTS:
        read.missing[text] = count
    elif not np.isfinite(number) or (cell.unit and cell.unit.casefold() != declared and not _names_unit(cell.unit)):
        read.words[text] = count
    elif cell.limit:
        read.limits[text] = count
    else:
        read.numbers[place] = number
        read.grouped += count if is_grouped(cell.digits, decimal) else 0
        if cell.unit:
            read.units[cell.unit] = read.units.get(cell.unit, 0) + count


def _names_unit(text: str) -> bool:
    return any(
        _scale(text, unit) is not None
        for unit in ("1", "degC", "m", "m3", "m3/h", "kW", "kWh", "Pa", "m/s", "W/m2", "uS/cm")
    )


def _scale(text: str, unit: str) -> Scale | None:
    try:
        return scale_to(text, unit)
    except NotAQuantity:
        return None


def _units_fit(column: Column, read: Read, names: RowNames, at: str, entry: str, gather: Gather) -> bool:
    """Whether units written in the cells are the declared one; a problem that names another."""
    declared = column.declared.unit
    others = {
        unit: count
        for unit, count in read.units.items()
        if unit.casefold() != declared.strip().casefold() and _scale(unit, declared) != Scale(1.0, 0.0)
    }
    if not others:
        return True
    unit = max(others, key=lambda name: others[name])
    place = next(place for place, text in enumerate(column.texts) if (cell := parted(text)) and cell.unit == unit)
    row = int(np.argmax(column.codes == place))
    told = f"line {names.lines[row]} {column.texts[place][:40]!r} in a column that is declared in {declared}"
    if len(read.units) > 1:
        gather.problem(
            at,
            f"cells in {some_of(sorted(read.units))}, first {told}",
            "one unit throughout a column",
            "export the file again with one unit",
        )
    else:
        gather.problem(
            at,
            told,
            "the declared unit",
            f"write unit = {shown(unit)} at {entry}.columns.{column.channel} if that is the unit",
        )
    return False


def _few_unreadable(column: Column, read: Read, counts: np.ndarray, at: str, entry: str, gather: Gather) -> bool:
    bad = sum(read.words.values())
    filled = int(counts.sum()) - sum(read.missing.values())
    if not bad or bad <= MOST_UNREADABLE * filled:
        return True
    common = sorted(read.words, key=lambda text: -read.words[text])[:4]
    table = ", ".join(f"{shown(word)} = 1" for word in common)
    place = f"{entry}.columns.{column.channel}"
    gather.problem(
        at,
        f"{count_of(bad, 'cell')} of {filled} hold words: {some_of([shown(word) for word in common])}",
        "numbers",
        f"name the column of {_meaning_of(column)} at {place}.column"
        if all(word.casefold() in WORDS for word in common)
        else f"write the unit of the numbers at {place}.unit, or take what is no number out of a copy of the file"
        if all(parted(word) for word in common)
        else f"add words = {{{table}}}, each with the number it stands for, to {place}, or correct the heading",
    )
    return False


def _meaning_of(column: Column) -> str:
    found = channel_of(column.channel)
    return found[0].meaning if found else column.channel


# --- findings ----------------------------------------------------------------------------------------------------


def _tell_forms(column: Column, read: Read, decimal: str, names: RowNames, gather: Gather) -> None:
    """Findings on how the cells are written."""
    _tell_marks(column, read, decimal, names, gather)
    _tell_not_used(column, read, names, gather)


def tell_commas(columns: list[Column], names: RowNames, gather: Gather) -> None:
    """One finding for all columns of a file that were read with a decimal comma."""
    found = [column for column in columns if column.marks.certain == ","]
    if found:
        headings = [column.heading for column in found]
        gather.finding(
            "log.decimal-comma",
            f"{names.file} has decimal commas (column {some_of(headings)}).",
            names.file,
            names.evidence(
                "repair", np.arange(len(names.lines)), "all cells of a column agree on the mark", ", ".join(headings)
            ),
            "None: every cell can be read one way only.",
        )


def _rows_with(column: Column, chosen: list[bool]) -> np.ndarray:
    """Rows whose text is chosen."""
    return np.flatnonzero(np.array(chosen, dtype=bool)[column.codes])


def _tell_marks(column: Column, read: Read, decimal: str, names: RowNames, gather: Gather) -> None:
    at = f"Column {column.heading} of {names.file}"

    if read.grouped:
        grouped = [bool((cell := parted(text)) and is_grouped(cell.digits, decimal)) for text in column.texts]
        gather.finding(
            "log.thousands",
            f"{at} has marks between thousands in {count_of(read.grouped, 'cell')}; they were taken out.",
            names.file,
            names.evidence("repair", _rows_with(column, grouped), "whole groups of three digits", column.heading),
            "None: the groups are whole.",
        )
    if read.units:
        count = sum(read.units.values())
        with_unit = [bool((cell := parted(text)) and cell.unit in read.units) for text in column.texts]
        gather.finding(
            "log.units-in-cells",
            f"{at} has the unit in {count_of(count, 'cell')} ({some_of(sorted(read.units))}); the numbers were taken.",
            names.file,
            names.evidence("repair", _rows_with(column, with_unit), "the declared unit behind the "
                                                                    "number", column.heading),
            "None: it is the declared unit.",
        )


def _tell_not_used(column: Column, read: Read, names: RowNames, gather: Gather) -> None:
    for is_limit, cells in ((True, read.limits), (False, read.words)):
        if not cells:
            continue
        what, rule = (("limits and no readings", "below or above a limit") if is_limit else
                      ("words that are no numbers", "words without a number"))
        rows = _rows_with(column, [text in cells for text in column.texts])
        told = some_of([f"{shown(text)} {count_of(number, 'time')}" for text, number in cells.items()])
        gather.finding(
            "log.limits" if is_limit else "log.words-excluded",
            f"Column {column.heading} of {names.file} holds {what}: {told}. These cells are not used; the words "
            "entry of "
            f"{column.channel} can give numbers for them.",
            names.file,
            names.evidence("exclude", rows, rule, column.heading, cells=dict(list(cells.items())[:20])),
            f"{count_of(len(rows), 'reading')} of {column.channel} missing.",
        )


def _without_codes(column: Column, values: np.ndarray, read: Read, names: RowNames, gather: Gather) -> np.ndarray:
    """The numbers with codes for missing taken out and told, together with the words for missing."""
    coded = codes_in(values, _temperature_unit(column))
    if column.declared.zeros == "missing" and (values == 0.0).any():
        coded[0.0] = np.flatnonzero(values == 0.0)
    counts: dict[str, int] = {f"{code:.10g}": len(rows) for code, rows in coded.items()}
    empty = _empty_rows(column, names)
    counts |= {shown(text): count for text, count in read.missing.items() if text}
    counts |= {"empty": len(empty)} if len(empty) else {}
    if not counts:
        return values
    values = values.copy()
    is_missing = np.array([bool(text) and text in read.missing for text in column.texts], dtype=bool)[column.codes]
    is_missing[empty] = True
    for rows in coded.values():
        values[rows] = np.nan
        is_missing[rows] = True
    rows = np.flatnonzero(is_missing)
    told = some_of([f"{name} ({count})" for name, count in counts.items()], SHOWN_CODES)
    gather.finding(
        "log.missing-codes",
        f"Column {column.heading} of {names.file} has {count_of(len(rows), 'cell')} of {len(values)} "
        f"without a reading: {told}.",
        names.file,
        names.evidence("exclude", rows, "codes for missing", column.heading, codes=counts),
        f"{count_of(len(rows), 'reading')} of {column.channel} missing.",
    )
    return values


def _empty_rows(column: Column, names: RowNames) -> np.ndarray:
    """Rows without anything in the cell; rows of one time fill each other's empty cells and are not counted."""
    is_empty = np.array([not text for text in column.texts], dtype=bool)[column.codes]
    if names.times_ns is not None and len(is_empty):
        same = np.diff(names.times_ns) == 0
        is_empty &= ~(np.append(same, False) | np.append(False, same))
    return np.flatnonzero(is_empty)


def _temperature_unit(column: Column) -> str:
    found = channel_of(column.channel)
    scale = _scale(column.declared.unit, "degC") if found and found[0].unit == "degC" else None
    if scale is None:
        return ""
    return "degC" if scale == Scale(1.0, 0.0) else "degF" if abs(scale.factor - 5.0 / 9.0) < 1e-9 else ""
