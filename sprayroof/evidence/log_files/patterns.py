"""The files that a [[log]] block means: one path, or all that a pattern with * matches."""

from __future__ import annotations

import glob
import re
from pathlib import Path

from sprayroof.evidence.files import EvidenceFile, read_evidence
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.site_file.entries import shown_path

MOST_FILES = 2000


def names_of(folder: Path, pattern: str, entry: str, gather: Gather) -> list[str]:
    """Names of the files behind a path or pattern, relative to `folder`, in the order of their numbers.

    Parameters
    ----------
    folder : Path
        Folder of the site file.
    pattern : str
        As written; only * is special, and it does not reach into other folders.
    entry : str
        Entry that holds it ("log.2.file"), for messages.
    gather : Gather
        Receives the problem where a pattern meets no file, or far too many.
    """
    if "*" not in pattern:
        return [pattern]
    spelt = pattern.replace("\\", "/").replace("[", "[[]").replace("?", "[?]")
    inside = not Path(pattern).is_absolute()
    whole = f"{glob.escape(str(folder))}/{spelt}" if inside else spelt
    found = [Path(name) for name in glob.glob(whole) if Path(name).is_file()]
    names = [path.relative_to(folder).as_posix() if inside else str(path) for path in found]
    if not names:
        gather.problem(f"site file, {entry}", f"no file matches {shown_path(pattern)}",
                       "at least one file; * stands for any letters", "correct the pattern or put the files there")
    if len(names) > MOST_FILES:
        gather.problem(f"site file, {entry}", f"{len(names)} files match {shown_path(pattern)}",
                       f"at most {MOST_FILES}", "name the files more narrowly")
        return []
    return sorted(names, key=_by_numbers)


def read_files(folder: Path, pattern: str, entry: str, gather: Gather) -> list[EvidenceFile]:
    """The files behind a path or pattern, read (arguments as `names_of`); those that cannot be read are problems."""
    files = [read_evidence(folder, name, None, entry, gather) for name in names_of(folder, pattern, entry, gather)]
    return [file for file in files if file is not None]


def _by_numbers(name: str) -> list[tuple[int, int, str]]:
    """Sorts roof_2 before roof_10."""
    parts = re.split(r"(\d+)", name)
    return [(1, int(part), "") if part.isdigit() else (0, 0, part) for part in parts]
