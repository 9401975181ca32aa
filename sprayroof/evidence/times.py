"""Times of a table as text to UTC: one declared form or ISO, never a guess between day and month."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from sprayroof.evidence.gather import Gather, count_of, some_of

if TYPE_CHECKING:
    import pandas as pd

ISO = re.compile(r"\d{4}-\d{2}-\d{2}(?:[T ]\d{2}:\d{2}(?::\d{2}(?:\.\d+)?)?\s?(Z|[+-]\d{2}:?\d{2})?)?")
MIDNIGHT_24 = re.compile(r"(?<!\d)24:00(:00)?(?!\d)")
DAY_OR_MONTH = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{2,4})(.*)")


def standard_offset_h(zone: str, year: int) -> float:
    """Standard time of `zone` less UTC in `year` [h], without daylight saving."""
    from datetime import datetime

    offsets = [datetime(year, month, 1, 12, tzinfo=ZoneInfo(zone)).utcoffset() for month in (1, 7)]
    return min(offset.total_seconds() for offset in offsets if offset is not None) / 3600.0


def local_times(
    cells: list[str], lines: np.ndarray, time_format: str | None, where: str, entry: str, gather: Gather
) -> pd.DatetimeIndex | None:
    """Cells as times: without a zone, or in UTC where the cells carry their own offset.

    Parameters
    ----------
    cells : list of str
        The time column.
    lines : ndarray of int
        Line of each cell, for messages.
    time_format : str or None
        strptime codes; None where only ISO 8601 is accepted.
    where, entry : str
        Shown name of the file, and the entry of the site file that declares the form.
    """
    import pandas as pd

    texts = pd.Series([cell.strip() for cell in cells], dtype=object)
    late = np.array([MIDNIGHT_24.search(text) is not None for text in texts])
    texts = pd.Series([MIDNIGHT_24.sub(r"00:00\1", text) for text in texts], dtype=object)
    if time_format is None:
        times = _iso_times(texts, lines, where, entry, gather)
    else:
        times = _declared_times(texts, time_format, where, entry, gather)
    if times is None:
        return None
    bad = np.flatnonzero(times.isna())
    if len(bad):
        gather.problem(
            f"{where}, times",
            f"not a time: {some_of([f'line {lines[at]} {cells[at].strip()[:40]!r}' for at in bad])}",
            f"times of the form {time_format}" if time_format else "ISO times such as 2025-07-01 14:30",
            f"correct these cells, or {entry}",
        )
        return None
    return pd.DatetimeIndex(times) + pd.to_timedelta(late.astype(int), unit="D")


def _iso_times(texts: pd.Series, lines: np.ndarray, where: str, entry: str, gather: Gather) -> pd.Series | None:
    import pandas as pd

    matches = [ISO.fullmatch(text) for text in texts]
    odd = [at for at, match in enumerate(matches) if match is None]
    if odd:
        named = some_of([f"line {lines[at]} {texts[at][:40]!r}" for at in odd])
        gather.problem(
            f"{where}, times",
            f"not an ISO time: {named}",
            "times such as 2025-07-01 14:30, or a declared form",
            _advice(texts, entry),
        )
        return None
    zoned = sum(1 for match in matches if match and match[1])
    if 0 < zoned < len(texts):
        gather.problem(
            f"{where}, times",
            f"{count_of(zoned, 'time')} of {len(texts)} carry an offset from UTC, the others do not",
            "one form throughout",
            "export the file again in one form",
        )
        return None
    return pd.to_datetime(texts, format="ISO8601", utc=zoned > 0, errors="coerce")


def _advice(texts: pd.Series, entry: str) -> str:
    found = [DAY_OR_MONTH.fullmatch(text) for text in texts]
    if not all(found):
        return f"state the form with {entry} in strptime codes"
    first, second = max(int(match[1]) for match in found if match), max(int(match[2]) for match in found if match)
    match = found[0]
    assert match is not None
    mark = texts[0][len(match[1])]
    clock = {0: "", 1: " %H:%M", 2: " %H:%M:%S"}.get(match[4].count(":"), " %H:%M") if match[4].strip() else ""
    year = "%Y" if len(match[3]) == 4 else "%y"
    day_first, month_first = (
        f'{entry} = "{one}{mark}{two}{mark}{year}{clock}"' for one, two in (("%d", "%m"), ("%m", "%d"))
    )
    if first > 12 >= second:
        return f"add {day_first}"
    if second > 12 >= first:
        return f"add {month_first}"
    return f"add {day_first} if the day comes first, or {month_first} if the month does"


def _declared_times(texts: pd.Series, time_format: str, where: str, entry: str, gather: Gather) -> pd.Series | None:
    import pandas as pd

    if "%I" in time_format and "%p" not in time_format:
        gather.problem(
            f"site file, {entry}",
            f"{time_format!r} has a 12-hour clock without AM or PM",
            "%H, or %I with %p",
            "export the file with a 24-hour clock",
        )
        return None
    try:
        return pd.to_datetime(texts, format=time_format, utc="%z" in time_format, errors="coerce")
    except (ValueError, re.error) as error:
        gather.problem(
            f"site file, {entry}",
            f"{time_format!r} ({error})",
            "strptime codes such as %d.%m.%Y %H:%M",
            "correct the entry",
        )
        return None


def to_utc(
    times: pd.DatetimeIndex, lines: np.ndarray, zone: str, where: str, entry: str, gather: Gather
) -> pd.DatetimeIndex | None:
    """Clock times of `zone` as UTC.

    The hour that is repeated when daylight saving ends is told apart by the order of the rows: if the clock falls back
    exactly once in it, the rows before belong to daylight saving. Otherwise, and for times that the clock never
    showed, a problem is told.
    """
    if times.tz is not None:
        return times.tz_convert("UTC")
    gone = times.tz_localize(zone, ambiguous=np.ones(len(times), dtype=bool), nonexistent="NaT").isna()
    if gone.any():
        at = int(np.flatnonzero(gone)[0])
        gather.problem(
            f"{where}, times",
            f"line {lines[at]} {times[at]:%Y-%m-%d %H:%M} never stood on the clock of {zone} "
            f"(daylight saving began; {count_of(int(gone.sum()), 'time')})",
            "times of that clock",
            f'if the logger stays on standard time, set {entry} = "{_fixed_zone(zone, times[at].year)}"',
        )
        return None
    twice = times.tz_localize(zone, ambiguous="NaT", nonexistent="NaT").isna()
    is_saving = np.zeros(len(times), dtype=bool)
    for day in times[twice].normalize().unique():
        rows = np.flatnonzero(twice & (times.normalize() == day))
        falls = np.flatnonzero(np.diff(times[rows].asi8) <= 0)
        if len(falls) != 1:
            gather.problem(
                f"{where}, times",
                f"the repeated hour of {day:%Y-%m-%d} (line {lines[rows[0]]}) stands there "
                f"{'once' if not len(falls) else 'in no clear order'}",
                f"both passes of that hour on the clock of {zone}",
                f'if the logger stays on standard time, set {entry} = "{_fixed_zone(zone, day.year)}"; otherwise '
                "export in UTC",
            )
            continue
        is_saving[rows[: falls[0] + 1]] = True
        gather.finding(
            "table.daylight-saving",
            f"{where} repeats the hour of {day:%Y-%m-%d} in which daylight saving ends; its "
            "rows were told apart by their order.",
            where,
            {"date": f"{day:%Y-%m-%d}"},
        )
    return times.tz_localize(zone, ambiguous=is_saving, nonexistent="NaT").tz_convert("UTC")


def _fixed_zone(zone: str, year: int) -> str:
    hours = standard_offset_h(zone, year)
    if hours != int(hours):
        return "UTC"
    return f"Etc/GMT{-int(hours):+d}" if hours else "UTC"


def check_order(times: pd.DatetimeIndex, lines: np.ndarray, where: str, gather: Gather) -> bool:
    """True if times rise strictly; otherwise problems that name the rows."""
    steps = np.diff(times.asi8)
    repeated = np.flatnonzero(times.duplicated())
    backward = np.setdiff1d(np.flatnonzero(steps < 0) + 1, repeated)

    def named(places: np.ndarray) -> str:
        return some_of(
            [f"line {lines[at]} ({times[at]:%Y-%m-%d %H:%M}{'' if times.tz is None else ' UTC'})" for at in places]
        )

    if len(repeated):
        gather.problem(
            f"{where}, times", f"the same time twice: {named(repeated)}", "every time once", "remove the surplus rows"
        )
    if len(backward):
        gather.problem(
            f"{where}, times", f"out of time order: {named(backward)}", "times in rising order", "sort the rows by time"
        )
    return not len(repeated) and not len(backward)
