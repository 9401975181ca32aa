"""Problems of evidence that name an entry ("site file, log.2.file"), told with the site file, its line and the log."""

from __future__ import annotations

import dataclasses
import hashlib
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from sprayroof.errors import InputProblems, Problem
from sprayroof.evidence.site_file.entries import shown_path
from sprayroof.evidence.site_file.lines import Path, lines_of

if TYPE_CHECKING:
    from sprayroof.evidence.site import Site

WITH_FILES = ("log", "bills", "twin")  # blocks known to the auditor by their files, not by their numbers
_ENTRY = re.compile(r"(?:site file, )?((?:log|test|switched|bills|twin)\.[0-9]+(?:\.[A-Za-z0-9_.]+)?"
                    r"|(?<=site file, )[A-Za-z0-9_.]+)$")


@contextmanager
def problems_placed(site: Site) -> Iterator[None]:
    """Raise the problems of evidence anew with the line of each entry of the site file that they name."""
    try:
        yield
    except InputProblems as error:
        lines = _lines(site)
        if not lines:
            raise
        placed = [_placed(problem, site, lines) for problem in error.problems]
        raise type(error)(placed) from error


def _lines(site: Site) -> dict[Path, int]:
    """Lines of the entries; none where the site is no longer what stands in its file."""
    try:
        raw = site.file.read_bytes()
    except OSError:  # a site made from tables has no file
        return {}
    if site.changes or hashlib.sha256(raw).hexdigest() != site.text_sha256:
        return {}
    return lines_of(raw.decode("utf-8-sig"))


def _placed(problem: Problem, site: Site, lines: dict[Path, int]) -> Problem:
    match = _ENTRY.fullmatch(problem.where)
    if match is None:
        return problem
    parts = [int(part) - 1 if part.isdecimal() else part for part in match[1].split(".")]
    path = next((tuple(parts[:depth]) for depth in range(len(parts), 0, -1) if tuple(parts[:depth]) in lines), None)
    line = f", line {lines[path]}" if path else ""
    return dataclasses.replace(
        problem, where=f"{site.file}{line}, {match[1]}{file_beside(tuple(parts), site.record)}")


def file_beside(path: Path, record: Mapping[str, Any]) -> str:
    """The file of the [[log]], [[bills]] or [[twin]] block that holds an entry, in brackets; "" for other entries."""
    if len(path) < 2 or path[0] not in WITH_FILES or path[-1] == "file" or not isinstance(path[1], int):
        return ""
    blocks = record.get(path[0])
    block = blocks[path[1]] if isinstance(blocks, list) and path[1] < len(blocks) else None
    name = block.get("file") if isinstance(block, dict) else None
    return f" ({shown_path(name)})" if isinstance(name, str) else ""
