"""Time zones that a log file itself names, in title rows or headings, against the declared one."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from zoneinfo import available_timezones

import numpy as np

from sprayroof.evidence.gather import Gather, some_of
from sprayroof.evidence.log_times.row_names import RowNames
from sprayroof.evidence.log_times.zone import offsets_h

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.logged import Log

_OFFSET = re.compile(r"\b(?:UTC|GMT)\s*(?:([+-]|\u2212)\s*(\d{1,2})(?::?(\d{2}))?)?(?![\w/+-])")
_LETTERS = {
    "CET": 1,
    "MEZ": 1,
    "CEST": 2,
    "MESZ": 2,
    "EET": 2,
    "EEST": 3,
    "WEST": 1,
    "BST": 1,
    "EST": -5,
    "EDT": -4,
    "CST": -6,
    "CDT": -5,
    "MST": -7,
    "MDT": -6,
    "PST": -8,
    "PDT": -7,
    "AKST": -9,
    "AKDT": -8,
    "HST": -10,
    "JST": 9,
    "KST": 9,
    "AEST": 10,
    "AEDT": 11,
    "ACST": 9.5,
    "AWST": 8,
    "NZST": 12,
    "NZDT": 13,
    "SAST": 2,
}
_ZONE_TALK = re.compile(r"time|zone|zeit|heure|hora|ora|tijd|clock|stamp|utc|gmt", re.IGNORECASE)


def named_offsets_h(texts: tuple[str, ...], times_ns: np.ndarray) -> tuple[str, set[float]] | None:
    """The zone that title rows or headings name, as written, and its offsets from UTC [h]; None if there is none.

    Parameters
    ----------
    texts : tuple of str
        Rows above and below the data, and the heading of the times.
    times_ns : ndarray of int64
        UTC, of the rows.
    """
    for text in texts:
        for word in re.findall(r"[A-Za-z]+/[A-Za-z_]+(?:/[A-Za-z_]+)?(?:[+-]\d+)?", text):
            if word in available_timezones():
                return word, offsets_h(word, times_ns)
        match = _OFFSET.search(text)
        if match:
            hours = int(match[2] or 0) + int(match[3] or 0) / 60.0
            return match[0].strip(), {-hours if match[1] in ("-", "\u2212") else hours}
        if _ZONE_TALK.search(text):
            letters = [word for word in re.findall(r"\b[A-Z]{3,4}\b", text) if word in _LETTERS]
            if letters:
                return letters[0], {float(_LETTERS[letters[0]])}
    return None


def check_named_zone(
    texts: tuple[str, ...], times_ns: np.ndarray, log: Log, entry: str, names: RowNames, gather: Gather
) -> None:
    """A doubt where the file names another zone than the site file."""
    if not len(times_ns):
        return
    named = named_offsets_h(texts, times_ns)
    declared = offsets_h(log.time_zone, times_ns)
    if named is None or named[1] == declared:
        return
    told = some_of([f"{hours:+g} h" for hours in sorted(declared)])
    gather.finding(
        "log.zone-contradicts",
        f'{names.file} names the zone {named[0]}; the site file says "{log.time_zone}" ({told} from '
        "UTC at these dates). The site file was followed.",
        names.file,
        {
            "disposition": "warn",
            "file": names.file,
            "rule": f"{entry}.time_zone",
            "old": named[0],
            "new": log.time_zone,
        },
        f"If the file is right, all its rows lie {max(abs(a - b) for a in named[1] for b in declared):g} h off.",
    )
