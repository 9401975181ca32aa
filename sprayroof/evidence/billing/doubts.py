"""What other columns and the signs of a file of bills say, and the site file does not: asked before bills are used."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.billing.columns import ask_whether_netted, is_export, meters_in, says_how_read
from sprayroof.evidence.billing.rows import ACTUAL, CORRECTION, MARKS, BillRows
from sprayroof.evidence.gather import Gather, count_of, some_of
from sprayroof.evidence.log_files.number_forms import number_of, parted
from sprayroof.evidence.site_file.entries import toml_value

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.logged import Bills


def check_bills(rows: BillRows, bills: Bills, entry: str, netted_stated: bool, gather: Gather) -> None:
    """Columns that nobody named, and amounts below zero that nobody explained.

    Parameters
    ----------
    rows : BillRows
        All rows of the file.
    bills : Bills
        The block.
    entry : str
        Its place, "bills.1".
    netted_stated : bool
        Whether the block says if the meter is netted.
    gather : Gather
        Receives problems and findings.
    """
    if not netted_stated:
        _ask_of_signs(rows, entry, gather)
    order = np.argsort(rows.last, kind="stable")
    unused = []
    for heading, cells in rows.others.items():
        if bills.estimated_column is None and _tells_more(heading, cells):
            gather.problem(
                f"{rows.where}, column {heading}", f"it says how each bill was read ({some_of(_words(cells))}), and "
                "the site file does not name it", "the mark of estimated readings",
                f"add estimated_column = {toml_value(heading)} to {entry}")
        elif bills.meter_column is None and (meters := meters_in(heading, cells, order)):
            gather.problem(
                f"{rows.where}, column {heading}", f"bills of {len(meters)} meters ({some_of(meters)}) lie between "
                "each other", "the bills of each meter by themselves",
                f"add meter_column = {toml_value(heading)}, and meter = {toml_value(meters[0])} or another, to {entry}")
        elif not netted_stated and is_export(heading) and _holds_amounts(cells):
            ask_whether_netted(f"{rows.where}, column {heading}", "a column that speaks of solar electricity", entry,
                               gather)
        else:
            unused.append(heading)
    if unused:
        gather.finding(
            "bills.columns-unused", f"{rows.where} has columns that the site file does not name: {some_of(unused, 8)}.",
            rows.where, {"disposition": "warn", "file": rows.where, "columns": unused, "rule": "not declared"},
            "None, unless one of them tells how bills were read or what panels made.")


def _ask_of_signs(rows: BillRows, entry: str, gather: Gather) -> None:
    below = [int(row) for row in np.flatnonzero((rows.amounts < 0.0) & (rows.marks != CORRECTION))]
    if below:
        named = some_of([f"{rows.named(row)}, {rows.amounts[row]:g}" for row in below])
        ask_whether_netted(rows.where, f"{count_of(len(below), 'amount')} below zero, not marked as a correction: "
                           f"{named}", entry, gather)


def _tells_more(heading: str, cells: np.ndarray) -> bool:
    """Whether a column marks bills, and not all of them as actual."""
    return says_how_read(heading, cells, MARKS) and any(MARKS[word] != ACTUAL for word in _words(cells))


def _words(cells: np.ndarray) -> list[str]:
    return list(dict.fromkeys(" ".join(str(cell).split()).casefold() for cell in cells if str(cell).strip()))


def _holds_amounts(cells: np.ndarray) -> bool:
    """Whether a column holds numbers other than nought."""
    found = [cell for text in cells if (cell := parted(str(text))) is not None]
    return any(number_of(cell.digits, ".") != 0.0 for cell in found)
