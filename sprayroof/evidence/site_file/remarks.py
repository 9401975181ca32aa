"""Headings of the site file that are still remarks, with an entry below them that no longer is one.

A new site file holds optional tables as remarks. Whoever takes the # from an entry and leaves it at its heading puts
the entry into the table above.
"""

from __future__ import annotations

import re

from sprayroof.evidence.site import LISTS, SECTIONS
from sprayroof.evidence.site_file.entry_words import TableEntry

_REMARK = re.compile(r"\s*#\s*\[\[?\s*([a-z_]+(?:\.[a-z_]+)?)\s*\]\]?\s*(?:#.*)?")
_HEADING = re.compile(r"\s*\[")


def remark_advice(text: str, line: int, entry: str) -> str:
    """What to do where an entry stands below a heading that is still a remark and knows the entry; "" elsewhere.

    Parameters
    ----------
    text : str
        The site file.
    line : int
        Line of the entry, from 1.
    entry : str
        Its name as written.
    """
    above = text.split("\n")[: line - 1]
    for number in range(len(above), 0, -1):
        remark = _REMARK.fullmatch(above[number - 1].rstrip("\r"))
        if remark and entry in _entries_of(remark[1]):
            heading = f"[[{remark[1]}]]" if remark[1] in LISTS else f"[{remark[1]}]"
            return f"the heading {heading} above it, line {number}, is still a remark: take away its #"
        if remark or _HEADING.match(above[number - 1]):
            return ""
    return ""


def _entries_of(heading: str) -> set[str]:
    """Names of the entries of a table by its heading ("booster", "weather.rain"); none for an unknown heading."""
    name, _, inner = heading.partition(".")
    section = SECTIONS.get(name)
    if section is not None and inner:
        tables = [entry.section for entry in section.entries().values()
                  if isinstance(entry, TableEntry) and entry.entry == inner]
        section = tables[0] if tables else None
    return set() if section is None else {entry.entry for entry in section.entries().values()}
