"""A [[bills]] block to paste for a file in the bills folder that the site file does not name.

Lines that are certain are TOML; what must be settled first stands as a remark. Nothing proposed is used unasked.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.billing.columns import is_cost, is_export, is_meter, says_how_read
from sprayroof.evidence.billing.rows import MARKS
from sprayroof.evidence.log_files.number_forms import parted
from sprayroof.evidence.log_files.propose import LARGEST_BYTES, remark, safe, table_of, times_of, undeclared
from sprayroof.evidence.log_files.raw_table import RawTable
from sprayroof.evidence.log_files.units_seen import units_seen_in
from sprayroof.evidence.log_times.stamp_cells import NAT
from sprayroof.evidence.log_times.stamp_forms import parts_of
from sprayroof.evidence.site_file.entries import toml_value
from sprayroof.evidence.units import converts

if TYPE_CHECKING:
    from sprayroof.evidence.site import Site

LEAST_SHARE = 0.8  # of the cells of a column that are dates, or numbers
A_DAY_NS = 86400 * 10**9


def proposals_of_bills(site: Site) -> list[str]:
    """Lines to print for all files in the site's bills folder that no entry of the site file names."""
    lines: list[str] = []
    for path in undeclared(site, "bills"):
        name = path.relative_to(site.folder).as_posix()
        lines += ["", f"Not declared: {safe(name)}. If it belongs to the audit, paste this into site.toml and go "
                  "through it:", *propose_bills(path, site.folder)]
    return lines


def propose_bills(path: Path, folder: Path) -> list[str]:
    """Lines of a [[bills]] block for a file, with the reasons as remarks.

    Parameters
    ----------
    path : Path
        The file.
    folder : Path
        Folder of the site file; paths in it are written relative to it.

    Returns
    -------
    list of str
        Valid TOML, or remarks alone where the file cannot be read as bills.
    """
    name = path.relative_to(folder).as_posix() if path.is_relative_to(folder) else path.name
    if path.stat().st_size > LARGEST_BYTES:
        size_MB = path.stat().st_size / 1e6
        return [remark(f"{safe(name)}: {size_MB:.0f} MB, too large to look into; declare it by hand.")]
    head: list[str] = []
    table = table_of(path.read_bytes(), head)
    if table is None:
        return [remark(f"{safe(name)}: {head[-1] if head else 'no table with dates was found in it.'}")]
    raw, time_column, clock_column = table
    first, last = _days_columns(raw, time_column)
    leave_out = {column for column in (first, last, clock_column) if column}
    units = units_seen_in(raw, leave_out, int(raw.lines.min()) if len(raw.lines) else 1)
    numbers = [heading for heading in raw.cells if heading not in leave_out and _share(raw.cells[heading], _is_number)]
    warmth = next((heading for heading in numbers if converts(units.get(heading), "degC")), None)
    if warmth is not None:
        return _temperature_lines(name, warmth, units[warmth])
    times = times_of(raw.cells[last])
    named = toml_value(path.stem.replace("_", " ") if path.stem.isprintable() else "meter")
    lines = ["[[bills]]", remark(f"{len(raw.lines)} rows"), f"name = {named}", f"file = {toml_value(name)}", *head,
             f"to_column = {toml_value(last)}"]
    lines += [f"from_column = {toml_value(first)}"] if first else []
    lines += [f"clock_column = {toml_value(clock_column)}"] if clock_column and not first else []
    lines += [*times.lines, *_every_lines(times.clock_ns)]
    lines += _amount_lines(raw, numbers, units)
    lines += _mark_lines(raw, leave_out)
    return [*lines, remark("changed_on = 2025-05-01  # the day on which the sprayed roof came into use"),
            remark('temperature_file = "bills/temperature.csv"  # measured outdoor temperatures, with '
                   "temperature_column")]


def _days_columns(raw: RawTable, time_column: str) -> tuple[str | None, str]:
    """Headings of first days (None without) and of last days."""
    dates = [heading for heading in raw.cells if _share(raw.cells[heading], lambda cell: parts_of(cell) is not None)]
    pair = [heading for heading in raw.headings if heading in dates][:2]
    if len(pair) < 2:
        return None, time_column
    clocks = [times_of(raw.cells[heading]).clock_ns for heading in pair]
    known = (clocks[0] != NAT) & (clocks[1] != NAT)
    apart = clocks[1][known] - clocks[0][known]
    if not len(apart) or not np.median(np.abs(apart)):
        return None, time_column
    return (pair[0], pair[1]) if np.median(apart) > 0 else (pair[1], pair[0])


def _share(cells: np.ndarray, test: object) -> bool:
    filled = [cell for cell in cells[:500] if cell]
    return bool(filled) and sum(bool(test(cell)) for cell in filled) >= LEAST_SHARE * len(filled)  # type: ignore[operator]


def _is_number(cell: str) -> bool:
    return parted(cell) is not None


def _temperature_lines(name: str, heading: str, unit: str) -> list[str]:
    return [remark(f"temperatures; to go with the bills of a meter, into its [[bills]] block: temperature_file = "
                   f"{toml_value(name)}, temperature_column = {toml_value(heading)}, temperature_unit = "
                   f"{toml_value(unit)}")]


def _every_lines(clock_ns: np.ndarray) -> list[str]:
    known = np.unique(clock_ns[clock_ns != NAT])
    apart_ns = float(np.median(np.diff(known))) if len(known) > 1 else 0.0
    if not apart_ns or apart_ns > 4 * A_DAY_NS:
        return []
    return [f'every = "{"hour" if apart_ns < A_DAY_NS else "day"}"']


def _amount_lines(raw: RawTable, numbers: list[str], units: dict[str, str]) -> list[str]:
    """The column of amounts, its unit and what the meter sees, or the choice that is open."""
    kinds = {"m3": "mains water", "kWh": "", "kW": ""}

    def unit_of(heading: str) -> tuple[str, str] | None:
        for unit in (units.get(heading), heading, heading.split()[-1] if heading.split() else ""):
            for kind in kinds:
                if unit and converts(unit, kind):
                    return unit, kind
        return None

    found = [(heading, unit) for heading in numbers if (unit := unit_of(heading)) and not is_export(heading)]
    covers = remark('covers = "building"  # or "air conditioner": what does this meter see?')
    if len(found) == 1:
        heading, (unit, kind) = found[0]
        return [f"amount_column = {toml_value(heading)}", f"unit = {toml_value(unit)}",
                f"covers = {toml_value(kinds[kind])}" if kinds[kind] else covers]
    open_ones = [heading for heading, _ in found] or [
        heading for heading in numbers if not is_cost(heading) and not is_export(heading)]
    lines = [remark("Which column holds what was used? Keep one, and state its unit:")] if len(open_ones) != 1 else []
    lines += [remark(f"amount_column = {toml_value(heading)}") for heading in open_ones]
    return [*lines, remark('unit = "kWh"  # or "MWh", "m3", "US gal", ...'), covers]


def _mark_lines(raw: RawTable, leave_out: set[str]) -> list[str]:
    lines = []
    for heading in [heading for heading in raw.cells if heading not in leave_out and heading.isprintable()]:
        cells = raw.cells[heading]
        if says_how_read(heading, cells, MARKS):
            lines.append(f"estimated_column = {toml_value(heading)}")
        elif is_meter(heading, cells):
            lines += [f"meter_column = {toml_value(heading)}",
                      remark('meter = "..."  # which of the meters, or "all" if none of them counts what another does')]
        elif is_export(heading):
            lines.append(remark(f"column {toml_value(heading)}: netted = true, with solar_file, if panels feed in "
                                "before this meter"))
    return lines
