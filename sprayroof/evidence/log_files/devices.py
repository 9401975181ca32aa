"""Several devices in one file: their rows told apart as the site file says, or asked about where it says nothing."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.gather import Gather, count_of, some_of
from sprayroof.evidence.log_files.heading_words import plain_words
from sprayroof.evidence.log_files.raw_table import RawTable
from sprayroof.evidence.site_file.entries import toml_value

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.logged import Log

ALL = "all"
# A heading of these words alone names devices; "Node temperature" does not.
_NAMING = (
    "id ids serial sn seriennummer device devices gerat gerate node nodes knoten logger station sensor meter probe "
    "imei mac eui deveui appareil capteur dispositivo apparecchio toestel apparaat"
)
_BESIDE = "no nr num number name nummer nombre numero code address addr of the"
MOST_DEVICES = 50
LEAST_ROWS_EACH = 5  # in the mean: a column that changes in every row counts records


def names_devices(heading: str) -> bool:
    """Whether a heading is that of a device's name or number."""
    words, naming = set(plain_words(heading)), set(_NAMING.split())
    return bool(words & naming) and words <= naming | set(_BESIDE.split())


def devices_in(cells: np.ndarray, least: int = 2) -> dict[str, int]:
    """Devices that a column names and their rows, in the order of the file; empty where there are fewer than `least`.

    Parameters
    ----------
    cells : ndarray of object, shape (n,)
        Texts of the column in the rows that have a time.
    least : int
    """
    names, first, counts = np.unique(cells.astype(str), return_index=True, return_counts=True)
    order = [place for place in np.argsort(first) if names[place]]
    found = {str(names[place]): int(counts[place]) for place in order}
    few = least <= len(found) <= min(MOST_DEVICES, len(cells) / LEAST_ROWS_EACH)
    return found if few and not any(_is_measured(name) for name in found) else {}


def _is_measured(text: str) -> bool:
    """Whether a cell is a number with decimals, as readings have and names do not."""
    whole, mark, rest = text.replace(",", ".").lstrip("+-").partition(".")
    return bool(mark) and whole.isdigit() and rest.isdigit()


def rows_of_device(raw: RawTable, log: Log, where: str, entry: str, gather: Gather) -> RawTable | None:
    """The rows of the device that the site file chose, all where it chose none; None after a problem."""
    if log.device_column is None:
        if log.device is None:
            return raw
        gather.problem(f"site file, {entry}", "device without device_column", "the heading of the devices' names",
                       f'add device_column = "ID" to {entry}')
        return None
    cells = raw.cells[log.device_column]
    if log.device is None:
        found = devices_in(cells)
        if found:
            _ask(log.device_column, found, raw, cells, where, entry, gather)
        return None if found else raw
    if log.device == ALL:
        return raw
    keep = cells == log.device
    if not keep.any():
        names = [toml_value(name) for name in dict.fromkeys(cells.tolist()) if name]
        gather.problem(f"{where}, column {log.device_column}", f"no device {toml_value(log.device)}; there are "
                       f"{some_of(names)}", "a device of the file", f"correct device at {entry}")
        return None
    return replace(raw, cells={heading: column[keep] for heading, column in raw.cells.items()}, lines=raw.lines[keep])


def candidates(raw: RawTable, log: Log) -> list[str]:
    """Headings that name devices and that the site file leaves aside."""
    if log.device_column is not None:
        return []
    used = {log.time_column, log.clock_column, *(column.column for column in log.columns.values())}
    return [heading for heading in dict.fromkeys(raw.headings)
            if heading not in used and raw.headings.count(heading) == 1 and names_devices(heading)]


def only_devices(raw: RawTable, headings: list[str], is_time: np.ndarray, where: str, entry: str,
                 gather: Gather) -> dict[str, str] | None:
    """The one device that each column names; None, with a problem, where a column names two devices or more.

    Parameters
    ----------
    raw : RawTable
        With the cells of `headings`.
    headings : list of str
        Columns that the site file does not use.
    is_time : ndarray of bool, shape (n,)
        Rows that have a time.
    where, entry : str
    gather : Gather
    """
    only = {}
    for heading in headings:
        found = devices_in(raw.cells[heading][is_time], least=1)
        if len(found) > 1:
            _ask(heading, found, raw, raw.cells[heading], where, entry, gather)
            return None
        if found:
            only[heading] = next(iter(found))
    return only


def same_device(devices: list[tuple[str, dict[str, str]]], where: str, entry: str, gather: Gather) -> bool:
    """False, with a problem, where the files of one block are of different devices.

    Parameters
    ----------
    devices : list of (str, dict of str to str)
        File, and heading -> the one device that it names.
    where, entry : str
    gather : Gather
    """
    for heading in dict.fromkeys(heading for _, only in devices for heading in only):
        told: dict[str, list[str]] = {}
        for file, only in devices:
            if heading in only:
                told.setdefault(only[heading], []).append(file)
        if len(told) > 1:
            words = "; ".join(f"{toml_value(name)} in {some_of(files, 3)}" for name, files in told.items())
            gather.problem(
                f"{where}, column {heading}", f"files of {len(told)} devices: {words}", "the readings of one device",
                f"name the files of one device alone in {entry}.file, with a [[log]] block for each other device of "
                f'use; or add device_column = {toml_value(heading)} and device = "all" to {entry} if one took the '
                "other's place")
            return False
    return True


def _ask(heading: str, found: dict[str, int], raw: RawTable, cells: np.ndarray, where: str, entry: str,
         gather: Gather) -> None:
    told = [f"{toml_value(name)} ({count_of(count, 'row')} from line {int(raw.lines[np.argmax(cells == name)])})"
            for name, count in found.items()]
    gather.problem(
        f"{where}, column {heading}", f"{len(found)} devices: {some_of(told)}", "the readings of one device",
        f"add device_column = {toml_value(heading)} and device = {toml_value(next(iter(found)))}, or another, to "
        f"{entry}, and a [[log]] block for each other device of use; device = \"all\" if one took the other's place")
