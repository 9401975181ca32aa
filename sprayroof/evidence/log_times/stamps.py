"""The time column of a log to times on the logger's clock, or in UTC where the cells say so.

A declared form is followed. Otherwise the form is found from the cells; where day and month can change places, the
reading must be the only possible one, or the only one in which the rows follow each other, or the auditor is asked.
"""

from __future__ import annotations

import datetime
import re
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from sprayroof.evidence.gather import Gather, count_of, some_of
from sprayroof.evidence.log_times.row_names import RowNames
from sprayroof.evidence.log_times.stamp_cells import (
    NAT,
    SAMPLE,
    YEAR_2000_NS,
    Apart,
    Reading,
    common_example,
    cut,
    cut_apart,
    in_order,
    reading_of,
)
from sprayroof.evidence.log_times.stamp_forms import codes_of, offset_of, orders_of, parts_of
from sprayroof.evidence.site_file.entries import shown
from sprayroof.evidence.times import MIDNIGHT_24

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.logged import Log

DAY_NS = 86400 * 10**9
FAILING_SHARE = 0.001
_DATE_AND_CLOCK = re.compile(r"([^HIMSfpzZ]*)([ T])(%[HI].*)")
NUMBER_CELL = re.compile(r"\d+(?:[.,]\d+)?")
# Spreadsheet days count from here (the format takes 1900 for a leap year, which shifts the start to 30 December 1899).
SERIAL_ZERO_NS = int(np.datetime64("1899-12-30", "ns").astype(np.int64))
SERIAL_RANGE = (20000.0, 80000.0)  # days: 1954 to 2119
EPOCH_UNITS = ((1e9, "s"), (1e6, "ms"), (1e3, "µs"), (1.0, "ns"))  # nanoseconds of one, name
EPOCH_RANGE_S = (3e8, 4.5e9)  # 1979 to 2112
COARSE_SERIAL_DIGITS = 4  # of a day: 9 s, told to the minute only


@dataclass(frozen=True, eq=False)
class Stamps:
    """Times as the cells say.

    Parameters
    ----------
    clock_ns : ndarray of int64, shape (n,)
        Nanoseconds since 1970 on the cell's own clock, or in UTC; NAT where the cell is no time.
    in_utc : bool
        Whether they are UTC.
    form : str
        strptime codes, or the form in words.
    has_half : bool
        Whether the cells say AM or PM.
    notes : tuple of str
        What is unusual about the form and was put right.
    own_offsets_h : frozenset of float
        Offsets from UTC that the cells carry [h].
    """

    clock_ns: np.ndarray
    in_utc: bool
    form: str
    has_half: bool = False
    notes: tuple[str, ...] = ()
    own_offsets_h: frozenset[float] = frozenset()


def read_stamps(cells: np.ndarray, log: Log, entry: str, names: RowNames, gather: Gather) -> Stamps | None:
    """Times of all cells; None after a problem.

    Parameters
    ----------
    cells : ndarray of object, shape (n,)
        Texts without blanks around them, date and clock joined.
    log : Log
        Declares form and zone.
    entry : str
        "log.2".
    names : RowNames
        Lines of the rows.
    gather : Gather
        Receives problems and findings.
    """
    if log.time_format is not None:
        return declared_stamps(cells, log.time_format, entry, names, gather)
    sample = cells[:: max(1, len(cells) // SAMPLE)]
    number_share = sum(NUMBER_CELL.fullmatch(text) is not None for text in sample) / max(len(sample), 1)
    stamps = number_stamps(cells, names.file, gather) if number_share > 0.5 else None
    return stamps or _found_stamps(cells, log, entry, names, gather)


# --- declared form -----------------------------------------------------------------------------------------------


def declared_stamps(cells: np.ndarray, form: str, entry: str, names: RowNames, gather: Gather) -> Stamps | None:
    """Times of a stated form; midnight may be written 24:00, or left out with the clock."""
    half = "%p" in form
    codes = form if half else form.replace("%I", "%H")
    parsed = _parsed(cells, codes, entry, gather)
    if parsed is None:
        return None
    notes = []
    open_rows = np.flatnonzero(parsed == NAT)
    if len(open_rows):
        late = [row for row in open_rows.tolist() if MIDNIGHT_24.search(cells[row])]
        if late:
            again = np.array([MIDNIGHT_24.sub(r"00:00\1", cells[row]) for row in late], dtype=object)
            moved = _parsed(again, codes, entry, gather)
            assert moved is not None
            parsed[late] = np.where(moved == NAT, NAT, moved + DAY_NS)
            notes.append(f"24:00 in {count_of(len(late), 'cell')} as the end of the day")
        date_codes = re.split(r"[T ,]+%[HI]", codes)[0]
        rest = np.flatnonzero(parsed == NAT)
        if date_codes != codes and len(rest):
            dates = _parsed(cells[rest], date_codes, entry, gather)
            parsed[rest] = NAT if dates is None else dates
            if dates is not None and (dates != NAT).any():
                notes.append(f"midnight where the clock is left out ({count_of(int((dates != NAT).sum()), 'cell')})")
    if (parsed == NAT).all():
        gather.problem(
            f"{names.file}, times",
            f"not a time: {_first_cells(cells, names)}",
            f"times of the form {form}",
            f"correct {entry}.time_format",
        )
        return None
    return Stamps(
        parsed, "%z" in form, form, half, tuple(notes), _own_offsets_h(cells) if "%z" in form else frozenset()
    )


def _parsed(cells: np.ndarray, codes: str, entry: str, gather: Gather) -> np.ndarray | None:
    """Nanoseconds of cells in a stated form, NAT where they are not of it; None after a problem with the codes."""
    try:
        two = _DATE_AND_CLOCK.fullmatch(codes)
        if two is None or two[2] in two[1]:
            return _strptime(cells, codes)
        dates, clocks = cut(cells, two[2], 0)
        date_ns = _strptime(np.array(dates[0], dtype=object), two[1])[dates[1]]
        on_a_day = np.array([f"2000-01-01 {clock}" for clock in clocks[0]], dtype=object)
        clock_ns = _strptime(on_a_day, f"%Y-%m-%d {two[3]}")[clocks[1]]
    except (ValueError, re.error) as error:
        gather.problem(
            f"site file, {entry}.time_format",
            f"{shown(codes)} ({error})",
            "strptime codes such as %d.%m.%Y %H:%M",
            "correct the entry",
        )
        return None
    return np.where((date_ns == NAT) | (clock_ns == NAT), NAT, date_ns + clock_ns - YEAR_2000_NS)


def _strptime(cells: np.ndarray, codes: str) -> np.ndarray:
    import pandas as pd

    times = pd.to_datetime(pd.Series(cells, dtype=object), format=codes, errors="coerce", utc="%z" in codes)
    index = pd.DatetimeIndex(times)
    index = index if index.tz is None else index.tz_convert("UTC").tz_localize(None)
    return np.array(index.as_unit("ns").asi8)


# --- numbers -----------------------------------------------------------------------------------------------------


def number_stamps(cells: np.ndarray, where: str, gather: Gather) -> Stamps | None:
    """Spreadsheet days, seconds or milliseconds since 1970; None where the numbers are neither."""
    values = np.array([float(text.replace(",", ".")) if NUMBER_CELL.fullmatch(text) else np.nan for text in cells])
    known = values[np.isfinite(values)]
    middle = float(np.median(known))
    if SERIAL_RANGE[0] < middle < SERIAL_RANGE[1]:
        ns = SERIAL_ZERO_NS + _serial_ns(values, cells)
        return Stamps(
            np.where(np.isfinite(values), ns, NAT),
            False,
            "spreadsheet days",
            notes=("days since the end of 1899, as spreadsheets count",),
        )
    for factor, name in EPOCH_UNITS:
        if EPOCH_RANGE_S[0] < middle * factor / 1e9 < EPOCH_RANGE_S[1] and not _is_compact(known):
            ns = np.where(np.isfinite(values), np.rint(np.nan_to_num(values) * factor), NAT).astype(np.int64)
            return Stamps(
                ns, True, f"{name} since 1970", notes=(f"{name} since 1970, in UTC",), own_offsets_h=frozenset((0.0,))
            )
    return None


def _serial_ns(values: np.ndarray, cells: np.ndarray) -> np.ndarray:
    digits = max((len(re.split(r"[.,]", text)[1]) for text in cells[:SAMPLE] if re.search(r"[.,]", text)), default=0)
    rounded_s = 60.0 if 0 < digits <= COARSE_SERIAL_DIGITS else 1.0
    seconds = np.rint(np.nan_to_num(values) * 86400.0 / rounded_s) * rounded_s
    return seconds.astype(np.int64) * 10**9


def _is_compact(numbers: np.ndarray) -> bool:
    """Whether numbers are dates written without marks (2026060112)."""
    if (numbers != np.floor(numbers)).any():
        return False
    heads = [f"{int(number)}" for number in numbers[:SAMPLE]]
    return all(
        len(text) in (8, 10, 12, 14)
        and text[:2] in ("19", "20")
        and 1 <= int(text[4:6]) <= 12
        and 1 <= int(text[6:8]) <= 31
        for text in heads
    )


_COMPACT = {8: "%Y%m%d", 10: "%Y%m%d%H", 12: "%Y%m%d%H%M", 14: "%Y%m%d%H%M%S"}


# --- form found out ----------------------------------------------------------------------------------------------


def _found_stamps(cells: np.ndarray, log: Log, entry: str, names: RowNames, gather: Gather) -> Stamps | None:
    example = common_example(cells)
    if example is None:
        compact = _compact_stamps(cells)
        if compact is None:
            gather.problem(
                f"{names.file}, times",
                f"not a time: {_first_cells(cells, names)}",
                "times such as 2026-06-01 14:30, or a declared form",
                f"add time_format in strptime codes to {entry}",
            )
        return compact
    parts = parts_of(example)
    assert parts is not None
    apart = cut_apart(cells, example)
    orders = orders_of(parts)
    readings = [reading_of(apart, order) for order in orders]
    fewest = min(reading.failing for reading in readings)
    chosen = _chosen(
        [reading for reading in readings if reading.failing == fewest],
        len(orders),
        cells,
        example,
        entry,
        names,
        gather,
    )
    shifts_ns = None if chosen is None else _zone_shifts(apart, chosen.clock_ns, log, entry, names, gather)
    if chosen is None or shifts_ns is None:
        return None
    is_time = chosen.clock_ns != NAT
    clock_ns = np.where(is_time, chosen.clock_ns - shifts_ns[apart.clock_of], NAT)
    in_utc = set(apart.zones(is_time)) != {""}
    return Stamps(
        clock_ns,
        in_utc,
        codes_of(example, chosen.order) or "found by its words",
        parts.half != "",
        _notes(apart, is_time, len(orders) == 3),
        _own_offsets_h(cells),
    )


def _compact_stamps(cells: np.ndarray) -> Stamps | None:
    import pandas as pd

    lengths = Counter(len(text) for text in cells if text.isdigit())
    codes = _COMPACT.get(lengths.most_common(1)[0][0]) if lengths else None
    if codes is None:
        return None
    times = pd.to_datetime(pd.Series(cells, dtype=object), format=codes, errors="coerce")
    ns = np.array(pd.DatetimeIndex(times).as_unit("ns").asi8)
    return Stamps(ns, False, codes) if (ns != NAT).mean() > 0.5 else None


def _chosen(
    readings: list[Reading], tried: int, cells: np.ndarray, example: str, entry: str, names: RowNames, gather: Gather
) -> Reading | None:
    """The one order that fits; a problem that prints the lines to choose from where two do."""
    count = int((readings[0].clock_ns != NAT).sum())
    if readings[0].failing > FAILING_SHARE * max(count, 1):
        gather.problem(
            f"{names.file}, times",
            f"no one order of day and month fits all dates ({_first_cells(cells, names)})",
            "one form throughout",
            f"export the file again, or add time_format to {entry}",
        )
        return None
    how = "every date can be read this way only"
    if len(readings) > 1:
        how = "only so do the rows follow each other in time"
        readings = in_order(readings)
    if len(readings) > 1:
        _ask_order(readings, cells, example, entry, names, gather)
        return None
    chosen = readings[0]
    if tried > 1:
        first = {"d": "day", "m": "month", "y": "year"}[chosen.order[0]]
        rows = np.flatnonzero(chosen.clock_ns != NAT)
        gather.finding(
            "log.day-month-order",
            f"The times of {names.file} were read with the {first} first: {how}.",
            names.file,
            names.evidence("repair", rows, how, new=codes_of(example, chosen.order)),
            "None, unless the form is another after all.",
        )
    return chosen


def _ask_order(
    readings: list[Reading], cells: np.ndarray, example: str, entry: str, names: RowNames, gather: Gather
) -> None:
    words = {"d": "the day", "m": "the month", "y": "the year"}
    choices = [
        f'time_format = "{codes_of(example, reading.order)}" if {words[reading.order[0]]} comes first'
        for reading in readings
    ]
    gather.problem(
        f"{names.file}, times",
        f"dates such as {shown(example)} can be read with day and month exchanged, and the rows "
        "follow each other either way",
        "dates that read one way only",
        f"add {', or '.join(choices)}, to {entry}",
    )


def _zone_shifts(
    apart: Apart, clock_ns: np.ndarray, log: Log, entry: str, names: RowNames, gather: Gather
) -> np.ndarray | None:
    """What each distinct time of day lies ahead of UTC by its own words [ns]; None after a problem.

    Letters such as EST are those of the declared zone.
    """
    is_time = clock_ns != NAT
    counts = apart.zones(is_time)
    # a date alone, as spreadsheets write midnight, has no place for a zone
    bare = counts[""] - int(_dateless(apart, is_time).sum())
    zoned = sum(counts.values()) - counts[""]
    if zoned and bare > 0:
        gather.problem(
            f"{names.file}, times",
            f"{count_of(zoned, 'time')} of {sum(counts.values())} carry a zone, the others do not",
            "one form throughout",
            "export the file again in one form",
        )
        return None
    letters = set(counts) - {"", "offset"}
    known = _letters_of(log.time_zone, clock_ns[is_time]) if letters else {}
    if letters - set(known):
        gather.problem(
            f"{names.file}, times",
            f"times marked {some_of(sorted(letters - set(known)))}, which the clock of {log.time_zone} never is",
            f"marks of {log.time_zone} ({some_of(sorted(known))})",
            f"correct {entry}.time_zone",
        )
        return None
    offsets = [None if parts is None else offset_of(parts.zone) for parts in apart.clocks]
    return np.array(
        [
            known.get(parts.zone, 0)
            if parts is not None and offset is None
            else 0
            if offset is None
            else int(offset.total_seconds()) * 10**9
            for parts, offset in zip(apart.clocks, offsets, strict=True)
        ],
        dtype=np.int64,
    )


def _letters_of(zone: str, clock_ns: np.ndarray) -> dict[str, int]:
    """Marks of a zone's clock (EST, EDT) and what they lie ahead of UTC [ns]."""
    year = int(str(np.datetime64(int(np.median(clock_ns)) // 10**9, "s"))[:4])
    moments = [datetime.datetime(year, month, 15, tzinfo=ZoneInfo(zone)) for month in range(1, 13)]
    return {
        str(moment.tzname()): int(offset.total_seconds()) * 10**9
        for moment in moments
        if (offset := moment.utcoffset()) is not None
    }


def _dateless(apart: Apart, is_time: np.ndarray) -> np.ndarray:
    """Times without a clock of their own."""
    return (
        is_time & np.array([parts is not None and not parts.has_clock for parts in apart.clocks], bool)[apart.clock_of]
    )


def _notes(apart: Apart, is_time: np.ndarray, two_digits: bool) -> tuple[str, ...]:
    notes = ["years of two digits in this century"] if two_digits else []
    late = np.array([parts is not None and parts.clock[0] == 24 for parts in apart.clocks], dtype=bool)[apart.clock_of]
    if (late & is_time).any():
        notes.append(f"24:00 in {count_of(int((late & is_time).sum()), 'cell')} as the end of the day")
    bare = int(_dateless(apart, is_time).sum())
    if 0 < bare < is_time.sum():
        notes.append(f"midnight where the clock is left out ({count_of(bare, 'cell')})")
    return tuple(notes)


def _own_offsets_h(cells: np.ndarray) -> frozenset[float]:
    """Offsets that cells carry [h]; those of letters such as EST are not told here."""
    sample = cells[:: max(1, len(cells) // SAMPLE)]
    offsets = {offset_of(parts.zone) for text in sample if (parts := parts_of(text)) is not None}
    return frozenset(offset.total_seconds() / 3600.0 for offset in offsets if offset is not None)


def _first_cells(cells: np.ndarray, names: RowNames) -> str:
    return some_of([f"line {names.lines[row]} {shown(cells[row])}" for row in range(min(len(cells), 3))])
