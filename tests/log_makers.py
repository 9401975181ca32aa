"""Invented logs for the tests: a [[log]] block from entries, and a file read with it."""

from __future__ import annotations

from typing import Any

from sprayroof.evidence.files import EvidenceFile
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.log_files.reading import read_log_file
from sprayroof.evidence.site_file.entry_logs import ChannelsEntry
from sprayroof.evidence.site_file.logged import Log, LogColumn

SUPPLY = {"supply_temperature": {"column": "T", "unit": "degC"}}


def log_of(**entries: Any) -> Log:
    """The block; `columns` as in the site file, the supply temperature in column T unless given."""
    given = {"file": "log.csv", "time_column": "Time", "time_zone": "UTC", "columns": SUPPLY, **entries}
    values: dict[str, Any] = {}
    for attribute, entry in Log.entries().items():
        values[attribute] = entry.read(given.pop(entry.entry)) if entry.entry in given else entry.absent(values, {})
    assert not given, f"no such entries: {sorted(given)}"
    assert isinstance(Log.entries()["columns"], ChannelsEntry)
    assert all(isinstance(column, LogColumn) for column in values["columns"].values())
    return Log(**values)


def read(text: str | bytes, site_zone: str | None = None, **entries: Any):
    """The table of a log file (or None) and the pad with problems and findings."""
    gather = Gather()
    raw = text if isinstance(text, bytes) else text.encode("utf-8")
    table = read_log_file(EvidenceFile("log.csv", raw, ""), log_of(**entries), "log.1", gather, site_zone)
    assert (table is None) == bool(gather.problems), "a table or a reason why not, never both"
    return table, gather


def codes(gather: Gather) -> list[str]:
    """Finding codes, sorted."""
    return sorted(finding.code for finding in gather.findings)


def data_of(gather: Gather, code: str) -> dict[str, Any]:
    """Data of the only finding of a code."""
    (finding,) = (finding for finding in gather.findings if finding.code == code)
    return finding.data


def problems(gather: Gather) -> list[str]:
    """Messages of all problems."""
    return [str(problem) for problem in gather.problems]
