"""A file of readings that another section than [[log]] declares, read by the reader of logs.

The reader speaks of the entries of [[log]]; its problems are told again with the entries that the auditor has.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sprayroof.errors import Problem
from sprayroof.evidence.files import EvidenceFile
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.log_files.reading import read_log_file
from sprayroof.evidence.log_files.table import LogTable
from sprayroof.evidence.site_file.logged import Log, LogColumn

if TYPE_CHECKING:
    from sprayroof.evidence.site import Site


@dataclass(frozen=True)
class Asked:
    """A column to read: what it is called here, its heading and unit, and the entry that names the heading."""

    name: str
    heading: str
    unit: str
    entry: str


@dataclass(frozen=True)
class SeriesForm:
    """How the file is declared.

    Parameters
    ----------
    entry : str
        Block of the site file ("bills.1").
    settings : mapping
        Entries of [[log]] by attribute name, where they are not left to be found out: time_column, time_zone, ...
    names : mapping
        Entry of [[log]] -> what the block calls it ("time_column" -> "to_column").
    """

    entry: str
    settings: Mapping[str, Any]
    names: Mapping[str, str] = field(default_factory=dict)


SHARED = ("sheet", "clock_column", "repeated_hour", "delimiter", "decimal", "encoding", "stamp")


def settings_of(block: Any, time_column: str, time_format: str | None, time_zone: str) -> dict[str, Any]:
    """Entries of a block of bills or twins as [[log]] has them."""
    shared = {name: getattr(block, name) for name in SHARED}
    return {**shared, "time_column": time_column, "time_format": time_format, "time_zone": time_zone}


def written_block(site: Site, section: str, entry: str) -> Mapping[str, Any]:
    """The block of a section as the auditor wrote it, without defaults."""
    blocks = site.record.get(section, [])
    number = int(entry.rpartition(".")[2]) - 1
    return blocks[number] if number < len(blocks) else {}


def as_log(form: SeriesForm, asked: list[Asked]) -> Log:
    """The declaration as [[log]] would have it; what the block does not state is left to be found out."""
    columns = {column.name: _column(column) for column in asked}
    given = {"file": "", "columns": columns, **form.settings}
    return Log(**{name: given.get(name, entry.absent({}, {})) for name, entry in Log.entries().items()})


def _column(asked: Asked) -> LogColumn:
    given = {"column": asked.heading, "unit": asked.unit}
    return LogColumn(**{name: given.get(name, entry.absent({}, {})) for name, entry in LogColumn.entries().items()})


def read_series(
    file: EvidenceFile, asked: list[Asked], form: SeriesForm, site_zone: str, gather: Gather
) -> LogTable | None:
    """Rows of a file with true times; None after a problem.

    Parameters
    ----------
    file : EvidenceFile
    asked : list of Asked
        Columns to read.
    form : SeriesForm
    site_zone : str
        IANA name of the site's clock.
    gather : Gather
        Receives problems and findings.
    """
    pad = Gather()
    table = read_log_file(file, as_log(form, asked), form.entry, pad, site_zone)
    tell_again(pad, asked, form, gather)
    return None if pad.problems else table


def tell_again(pad: Gather, asked: list[Asked], form: SeriesForm, gather: Gather) -> None:
    """What readers of logs wrote on `pad`, onto `gather`, with the entries of the block."""
    gather.problems += [_of_block(problem, asked, form) for problem in pad.problems]
    for finding in pad.findings:
        message = finding.message
        for column in asked:
            message = message.replace(f"the words entry of {column.name} can give numbers for them",
                                      "correct them in a copy if they mean numbers")
        gather.findings.append(dataclasses.replace(finding, message=message))


def _of_block(problem: Problem, asked: list[Asked], form: SeriesForm) -> Problem:
    where, found, wanted, do = problem.where, problem.found, problem.wanted, problem.do
    for column in asked:
        place = f"{form.entry}.columns.{column.name}"
        if "add words = {" in do and place in do:
            do = f"correct {column.entry}, or these cells in a copy of the file"
        where, do = (text.replace(f"{place}.column", column.entry).replace(place, form.entry) for text in (where, do))
    for name, own in form.names.items():
        where, do = (re.sub(rf"(?<![A-Za-z_]){name}(?![A-Za-z_])", own, text) for text in (where, do))
    return Problem(where, found, wanted, do)
