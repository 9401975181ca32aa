"""Units that a log file itself names: in brackets behind headings, or in a row of units."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from sprayroof.evidence.units import converts

if TYPE_CHECKING:
    from sprayroof.evidence.log_files.raw_table import RawTable

KINDS_OF_UNIT = (
    "1",
    "degC",
    "m",
    "m2",
    "m3",
    "m3/h",
    "kW",
    "kWh",
    "Pa",
    "m/s",
    "W/m2",
    "uS/cm",
    "h",
    "mm/h",
    "mg/L",
    "kg/m2",
)
UNREADABLE = (
    "gal",
    "gpm",
    "gph",
    "gallons",
    "ton",
    "tons",
    "hp",
    "counts",
    "count",
    "pulses",
    "imp",
    "imp.",
    "v",
    "a",
    "ma",
    "mv",
    "hz",
    "w/m²",
    "bool",
    "on/off",
    "0/1",
    "%rh",
    "% rh",
    "% r.h.",
    "%rf",
    "% rf",
    "% r.f.",
)
_BRACKETS = re.compile(r"[(\[{]\s*([^()\[\]{}]{1,24}?)\s*[)\]}]\s*$")
_COMMA = re.compile(r",\s*([^,;]{1,12})$")
_HUMIDITY_UNIT = re.compile(r"%\s*(?:r\.?\s?[hf]\.?)", re.IGNORECASE)


def is_unit(text: str) -> bool:
    """Whether a text is a unit that the site file knows, or one of trade that needs to be said more clearly."""
    bare = text.strip()
    return bool(bare) and (bare.casefold() in UNREADABLE or any(converts(bare, kind) for kind in KINDS_OF_UNIT))


def unit_in_heading(heading: str) -> str | None:
    """The unit in brackets, or behind a comma, at the end of a heading; None if there is none."""
    match = _BRACKETS.search(heading) or _COMMA.search(heading)
    if match is None or not is_unit(match[1]):
        return None
    return "%" if _HUMIDITY_UNIT.fullmatch(match[1].strip()) else match[1].strip()


def unit_row(raw: RawTable, leave_out: set[str], first_line: int) -> dict[str, str]:
    """Heading -> unit by the row near the headings in which most filled cells are units; empty where there is none."""
    best: dict[str, str] = {}
    for line, row in raw.all_cells.items():
        cells = {
            heading: cell
            for heading, cell in zip(raw.headings, row, strict=False)
            if heading and heading not in leave_out and cell.strip()
        }
        units = {heading: cell for heading, cell in cells.items() if _is_unit_cell(cell)}
        if line < first_line and len(units) > max(len(best), 0.5 * len(cells)):
            best = units
    return {heading: _bare(cell) for heading, cell in best.items()}


def _is_unit_cell(cell: str) -> bool:
    return not any(letter.isdigit() for letter in cell[:1]) and is_unit(_bare(cell))


def _bare(cell: str) -> str:
    text = cell.strip().strip("[]()")
    return "%" if _HUMIDITY_UNIT.fullmatch(text.strip()) else text


def units_seen_in(raw: RawTable, leave_out: set[str], first_line: int) -> dict[str, str]:
    """Heading -> unit that the file names; also under the heading as the site file spells it.

    Parameters
    ----------
    raw : RawTable
    leave_out : set of str
        Headings of times.
    first_line : int
        Line of the uppermost row with a time: units stand above it.
    """
    seen = {heading: unit for heading in raw.headings if (unit := unit_in_heading(heading)) is not None}
    seen |= unit_row(raw, leave_out, first_line)
    spelt = {" ".join(heading.split()).casefold(): unit for heading, unit in seen.items()}
    for asked in raw.cells:
        unit = spelt.get(" ".join(asked.split()).casefold())
        if unit is not None:
            seen.setdefault(asked, unit)
    return {heading: unit for heading, unit in seen.items() if heading not in leave_out}
