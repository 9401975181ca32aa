"""Files and columns that stand in the site file twice: the same bytes under two names, the same readings twice.

A copy counts what it holds a second time, and would seem to bear out the first.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.files import EvidenceFile
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.log_files.rows import LogRows
from sprayroof.evidence.site_file.channel_table import ChannelMeaning, channel_of

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.logged import LogColumn

LEAST_CHANGES = 40  # from row to row in which both move alike: no two instruments do
LEAST_VALUES = 8


@dataclass(frozen=True, eq=False)
class _Channel:
    """A used channel of a log."""

    name: str
    rows: LogRows
    declared: LogColumn
    meaning: ChannelMeaning

    @property
    def at(self) -> str:
        """Entry of the site file."""
        return f"{self.rows.entry}.columns.{self.name}"


def is_copy(file: EvidenceFile, entry: str, seen: dict[str, tuple[str, str]], gather: Gather) -> bool:
    """Whether a file of another name has the same bytes, with a problem.

    Parameters
    ----------
    file : EvidenceFile
    entry : str
        "log.2".
    seen : dict of str to (str, str)
        SHA-256 -> shown name and entry of the first file that has it; is added to.
    gather : Gather
        Receives the problem.
    """
    where, first = seen.setdefault(file.sha256, (file.where, entry))
    if where == file.where or first == entry:  # files of one pattern are merged, row by row
        return False
    gather.problem(
        f"site file, {entry}.file",
        f"{file.where} has the same bytes as {where} of {first}",
        "each file once",
        f"take [[log]] {entry.partition('.')[2]} out, or name the file that was meant",
    )
    return True


def check_copied_channels(logs: list[LogRows], gather: Gather) -> None:
    """A problem for every two channels that read the same at the same times, row by row."""
    channels = list(_used(logs))
    for one, other in combinations(channels, 2):
        if one.meaning.unit != other.meaning.unit or one.name == other.name or _is_one_column(one, other):
            continue
        same = _same_rows(one, other)
        if same:
            gather.problem(
                f"site file, {other.at}",
                f"column {other.declared.column} of {other.rows.where} has the same readings as column "
                f"{one.declared.column} of {one.rows.where} ({one.at}), in all {same} rows that both have",
                "each instrument once",
                f"name the column of {other.meaning.meaning} that was meant, or add use = false to one of the two",
            )


def _used(logs: list[LogRows]) -> Iterator[_Channel]:
    for rows in logs:
        for name in rows.values:
            found, declared = channel_of(name), rows.log.columns[name]
            if found is not None and declared.use and found[0].kind != "status":
                yield _Channel(name, rows, declared, found[0])


def _is_one_column(one: _Channel, other: _Channel) -> bool:
    """Whether one column of one log stands for two temperatures, which the auditor may mean; no amount counts twice."""
    alike = one.rows.files == other.rows.files and one.declared.column == other.declared.column
    return alike and not one.meaning.counts


def _same_rows(one: _Channel, other: _Channel) -> int:
    """Rows that both have, where all of them are alike and enough change; else 0."""
    first, second = one.rows.values[one.name], other.rows.values[other.name]
    if one.rows.times_ns is not other.rows.times_ns:
        _, here, there = np.intersect1d(one.rows.times_ns, other.rows.times_ns, True, return_indices=True)
        first, second = first[here], second[there]
    known = np.isfinite(first) & np.isfinite(second)
    first, second = first[known], second[known]
    is_same = len(first) > LEAST_CHANGES and bool((first == second).all())
    lively = is_same and (np.diff(first) != 0.0).sum() >= LEAST_CHANGES and len(np.unique(first)) >= LEAST_VALUES
    return len(first) if lively else 0


def sha256_of(path: Path) -> str:
    """SHA-256 of a file."""
    return hashlib.sha256(path.read_bytes()).hexdigest()
