"""Sheets of a workbook to rows of cells, as text: the declared sheet, merged cells filled, formulas by value."""

from __future__ import annotations

import datetime
import io
import posixpath
import re
import zipfile
from dataclasses import replace
from typing import Any
from xml.etree import ElementTree

import numpy as np

from sprayroof.evidence.gather import Gather, some_of
from sprayroof.evidence.log_files.raw_table import RawTable, headings_are_single, places_of, tell_absent
from sprayroof.evidence.log_files.units_seen import is_unit
from sprayroof.evidence.site_file.entries import shown
from sprayroof.evidence.tables import HEADER_WITHIN_ROWS, plain_heading

ZIP_MARK, OLD_MARK = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
LARGEST_BYTES = 2_000_000_000  # of the unpacked sheets
_OFFICE = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_MERGED = re.compile(rb'<mergeCell[^>]*ref="([A-Z]{1,3})(\d+):([A-Z]{1,3})(\d+)"')
_EMPTY_FORMULA = re.compile(
    rb'<c\b[^>]*\br="([A-Z]{1,3})(\d+)"[^>]*>\s*<f\b(?:[^>]*/>|[^>]*>[^<]*</f>)\s*(?:<v\s*/>|<v></v>)?\s*</c>'
)


def is_workbook(raw: bytes) -> bool:
    """Whether the bytes are those of a workbook, old forms included."""
    return raw[:4] in (ZIP_MARK, OLD_MARK)


def sheet_names(raw: bytes) -> list[str]:
    """Names of the sheets of an XLSX workbook; empty where it cannot be opened."""
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            return [name for name, _ in _sheet_paths(archive)]
    except (zipfile.BadZipFile, KeyError, ElementTree.ParseError, OSError, ValueError):
        return []


def read_sheet(
    raw: bytes, sheet: str | None, wanted: dict[str, str], where: str, entry: str, gather: Gather
) -> RawTable | None:
    """The cells of the wanted columns of a sheet, as text; None after a problem.

    Parameters
    ----------
    raw : bytes
        The workbook.
    sheet : str or None
        Name of the sheet; None for the only one.
    wanted : dict of str to str
        Heading -> entry of the site file that names it; the first is that of the times.
    where, entry : str
        Shown name of the file; "log.2".
    gather : Gather
        Receives problems and findings.
    """
    name = chosen_sheet(raw, sheet, where, entry, gather)
    if name is None:
        return None
    rows = sheet_rows(raw, name)
    place = _heading_place(rows, wanted)
    if place is None and (double := _double_place(rows, wanted)) is not None:
        place = double + 1
        rows[place] = list(joined_headings(rows, double) or ())
    at = f"{where}, sheet {name}"
    if place is None:
        _tell_no_heading(rows, wanted, at, gather)
        return None
    headings = [text_of(cell).strip() for cell in rows[place]]
    if not headings_are_single(headings, wanted, at, place + 1, gather):
        return None
    places = places_of(headings, wanted)
    xml = _sheet_xml(raw, name)
    if not _all_calculated(xml, places, place, at, gather) or not _one_kind_of_time(rows, place, places, at, gather):
        return None
    merged = _fill_merged(rows, xml, places, place)
    return replace(_table(rows, headings, place, places), merged=merged)


def chosen_sheet(raw: bytes, sheet: str | None, where: str, entry: str, gather: Gather) -> str | None:
    """The declared sheet, or the only one with cells; None after a problem."""
    if raw[:4] == OLD_MARK:
        gather.problem(
            where,
            "a workbook of the old form, or one locked with a password",
            "an open XLSX workbook or text",
            "save it as XLSX without password, or as CSV (UTF-8), and name that file",
        )
        return None
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            large = sum(info.file_size for info in archive.infolist()) > LARGEST_BYTES
            names = [name for name, _ in _sheet_paths(archive)]
    except (zipfile.BadZipFile, KeyError, ElementTree.ParseError, OSError, ValueError):
        gather.problem(
            where,
            "an archive that is no XLSX workbook, or a damaged one",
            "an XLSX workbook or text",
            "save the sheet as XLSX or CSV (UTF-8) again",
        )
        return None
    if large or not names:
        gather.problem(
            where,
            "a workbook too large to open" if large else "a workbook without sheets",
            "a sheet of readings",
            "export the period of the audit alone, as CSV (UTF-8)",
        )
        return None
    if sheet is not None and sheet not in names:
        gather.problem(
            where,
            f"no sheet {shown(sheet)}; it has {some_of([shown(name) for name in names], 12)}",
            "the name of a sheet",
            f"correct {entry}.sheet",
        )
        return None
    if sheet is None and len(names) > 1:
        gather.problem(
            where,
            f"{len(names)} sheets: {some_of([shown(name) for name in names], 12)}",
            "the sheet to read",
            f"add sheet = {shown(names[0])} to {entry}, or another of them",
        )
        return None
    return sheet or names[0]


def sheet_rows(raw: bytes, name: str, most: int | None = None) -> list[list[Any]]:
    """All cells of a sheet, row by row, as openpyxl gives them (values of formulas, dates as datetime)."""
    import warnings

    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # styles and extensions that play no part
        book = openpyxl.load_workbook(io.BytesIO(raw), read_only=True, data_only=True)
        try:
            sheet = book[name]
            sheet.reset_dimensions()
            return [list(row) for row in sheet.iter_rows(values_only=True, max_row=most)]
        finally:
            book.close()


def text_of(cell: Any) -> str:
    """A cell as text: ISO times, numbers with a decimal point, empty cells as ""."""
    if cell is None:
        return ""
    if isinstance(cell, str):
        return cell.strip()
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, datetime.datetime):
        near = cell + datetime.timedelta(microseconds=500)  # days as numbers miss the second by some microseconds
        return f"{near.replace(microsecond=0):%Y-%m-%d %H:%M:%S}" if near.microsecond < 1000 else cell.isoformat(" ")
    if isinstance(cell, datetime.date):
        return cell.isoformat()
    if isinstance(cell, datetime.time):
        return cell.isoformat("seconds")
    if isinstance(cell, datetime.timedelta):
        hours, rest = divmod(round(cell.total_seconds()), 3600)
        return f"{hours:02d}:{rest // 60:02d}:{rest % 60:02d}"
    return repr(cell)


# --- rows --------------------------------------------------------------------------------------------------------


def _heading_place(rows: list[list[Any]], wanted: dict[str, str]) -> int | None:
    asked = {plain_heading(heading) for heading in wanted}
    for place, row in enumerate(rows[:HEADER_WITHIN_ROWS]):
        if asked <= {plain_heading(text_of(cell)) for cell in row}:
            return place
    return None


def joined_headings(rows: list[list[Any]], place: int) -> list[str] | None:
    """The names of two heading rows, such as "Water" above "T return", joined; None where there are not two.

    The upper row has a name for several columns (merged, or followed by empty cells), the lower one for each.
    """
    if place + 1 >= len(rows):
        return None
    upper, lower = ([text_of(cell) for cell in row] for row in (rows[place], rows[place + 1]))
    width = max(len(upper), len(lower))
    upper, lower = (row + [""] * (width - len(row)) for row in (upper, lower))
    named = [text for text in lower if text]
    words = [text for text in named if not text[:1].isdigit() and not is_unit(text.strip("[]()"))]
    shared = [at for at in range(1, width) if lower[at] and not upper[at]]
    if len(named) < 2 or len(words) < max(2, 0.8 * len(named)) or not shared or not any(upper):
        return None
    joined, group = [], ""
    for above, below in zip(upper, lower, strict=True):
        group = above or (group if below else "")
        joined.append(f"{group} {below}".strip())
    return joined


def _double_place(rows: list[list[Any]], wanted: dict[str, str]) -> int | None:
    """The upper of two heading rows that joined have all wanted headings."""
    asked = {plain_heading(heading) for heading in wanted}
    for place in range(min(len(rows) - 1, HEADER_WITHIN_ROWS)):
        joined = joined_headings(rows, place)
        if joined is not None and asked <= {plain_heading(cell) for cell in joined}:
            return place
    return None


def _tell_no_heading(rows: list[list[Any]], wanted: dict[str, str], at: str, gather: Gather) -> None:
    asked = {plain_heading(heading) for heading in wanted}
    counts = [
        (len(asked & {plain_heading(text_of(cell)) for cell in row}), sum(cell is not None for cell in row))
        for row in rows[:HEADER_WITHIN_ROWS]
    ]
    place = counts.index(max(counts)) if counts else 0
    cells = [text for cell in rows[place] if (text := text_of(cell))] if rows else []
    double = next((at for at in (place, place - 1) if at >= 0 and joined_headings(rows, at)), None)
    if double is not None:
        names = [name for name in joined_headings(rows, double) or () if name]
        gather.problem(
            at, f"rows {double + 1} and {double + 2} are both headings, and joined they do not have all of the "
            f"declared ones; they read {some_of([shown(name) for name in names], 12)}",
            "every declared column by its joined heading",
            f"write these names at the entries of {next(iter(wanted.values())).rpartition('.')[0]}")
        return
    held = {plain_heading(cell) for cell in cells}
    for heading, entry in wanted.items():
        if plain_heading(heading) not in held:
            tell_absent(heading, entry, cells, f"row {place + 1}", at, gather)


def _one_kind_of_time(rows: list[list[Any]], place: int, places: dict[str, int], at: str, gather: Gather) -> bool:
    """False, with a problem, where a spreadsheet has turned a part of the texts into dates."""
    column = next(iter(places.values()))
    cells = [row[column] if column < len(row) else None for row in rows[place + 1 :]]
    dates = [at for at, cell in enumerate(cells) if isinstance(cell, (datetime.datetime, datetime.date))]
    texts = [
        at
        for at, cell in enumerate(cells)
        if isinstance(cell, str) and re.match(r"\s*\d{1,4}[-/.]\d{1,2}[-/.]\d", cell)
    ]
    if not dates or not texts:
        return True
    gather.problem(
        f"{at}, times",
        f"{len(dates)} cells are dates and {len(texts)} are text, such as row {place + 2 + texts[0]} "
        f"{shown(cells[texts[0]])}: a spreadsheet took some texts for dates, perhaps with day and month exchanged",
        "times of one kind",
        "name the text file that the logger wrote, not one that a spreadsheet has opened",
    )
    return False


def _table(rows: list[list[Any]], headings: list[str], place: int, places: dict[str, int]) -> RawTable:
    below = rows[place + 1 :]
    filled = [number for number, row in enumerate(below) if any(cell is not None and cell != "" for cell in row)]
    cells = {
        heading: np.array(
            [text_of(below[number][column]) if column < len(below[number]) else "" for number in filled], dtype=object
        )
        for heading, column in places.items()
    }
    near = {
        number + 1: [text_of(cell) for cell in rows[number]]
        for number in (place - 1, *range(place + 1, min(place + 6, len(rows))))
        if number >= 0
    }
    above = tuple(" ".join(text for cell in row if (text := text_of(cell)))[:100] for row in rows[:place])
    return RawTable(
        tuple(headings),
        place + 1,
        cells,
        np.array(filled, dtype=np.int64) + place + 2,
        tuple(text for text in above if text),
        (),
        "",
        len(rows),
        near,
    )


# --- what only the sheet's own file tells ------------------------------------------------------------------------


def _sheet_paths(archive: zipfile.ZipFile) -> list[tuple[str, str]]:
    """Name and path of each sheet."""
    book = ElementTree.fromstring(archive.read("xl/workbook.xml"))
    links = ElementTree.fromstring(archive.read("xl/_rels/workbook.xml.rels"))
    targets = {
        link.get("Id"): str(link.get("Target")) for link in links if str(link.get("Type", "")).endswith("/worksheet")
    }
    found = []
    for element in book.iter():
        target = targets.get(element.get(_OFFICE)) if element.tag.endswith("}sheet") else None
        if target:
            path = target.lstrip("/") if target.startswith("/") else posixpath.normpath(f"xl/{target}")
            found.append((str(element.get("name")), path))
    return found


def _sheet_xml(raw: bytes, name: str) -> bytes:
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        return archive.read(dict(_sheet_paths(archive))[name])


def _number_of(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = 26 * number + letter - 64
    return number - 1


def _all_calculated(xml: bytes, places: dict[str, int], place: int, at: str, gather: Gather) -> bool:
    """False, with a problem, where a wanted column holds formulas that no program has calculated."""
    if b"<f" not in xml:
        return True
    columns = {column: heading for heading, column in places.items()}
    empty = [
        (columns[_number_of(letters)], f"{letters.decode()}{row.decode()}")
        for letters, row in _EMPTY_FORMULA.findall(xml)
        if _number_of(letters) in columns and int(row) > place + 1
    ]
    for heading in dict.fromkeys(heading for heading, _ in empty):
        cells = [cell for name, cell in empty if name == heading]
        gather.problem(
            f"{at}, column {heading}",
            f"formulas that were never calculated: {some_of(cells)}",
            "values",
            "open the workbook in a spreadsheet program, let it calculate, and save it",
        )
    return not empty


def _fill_merged(rows: list[list[Any]], xml: bytes, places: dict[str, int], place: int) -> int:
    """Gives every cell under a merged one its value; number of cells of the wanted columns so filled."""
    count, columns = 0, set(places.values())
    for left, top, right, bottom in _MERGED.findall(xml):
        first, last = int(top) - 1, min(int(bottom), len(rows))
        start, end = _number_of(left), _number_of(right) + 1
        if last <= place + 1 or first >= len(rows) or start >= len(rows[first]):
            continue
        value = rows[first][start]
        for row in range(max(first, place + 1), last):
            for column in columns & set(range(start, end)):
                if column < len(rows[row]) and rows[row][column] is None and value is not None:
                    rows[row][column] = value
                    count += 1
    return count
