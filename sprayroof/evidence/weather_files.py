"""Hourly weather files of three open forms: EPW, TMY3, TMY2.

All three label an hour by its end (hour 1 is 00:00 to 01:00 local standard time). Temperature, dew point, humidity,
pressure, wind and sky cover are readings at that end; sun and rain are sums over the hour before it.

They are read here cell by cell, so that a message can name the line; the tests hold the result against the readers
of `pvlib.iotools`.

References
----------
EPW: data dictionary of the EPW weather format. TMY3: Wilcox & Marion 2008, NREL/TP-581-43156, table 1-1.
TMY2: Marion & Urban 1995, NREL, table 3-2.
"""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass

import numpy as np

from sprayroof.evidence.files import EvidenceFile
from sprayroof.evidence.gather import Gather, count_of, some_of
from sprayroof.evidence.station import LABELS, StationRecord
from sprayroof.evidence.text import decode, lines_of, numbers

HOURS = 8760
NOMINAL_YEAR = 2001  # not a leap year; months of a typical year come from several years
MONTH_START_DAY = (0, 0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334)
MONTH_DAYS = (0, 31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


@dataclass(frozen=True)
class Column:
    """Where a channel stands in a file, what turns it into the channel's unit, and its codes for missing."""

    channel: str
    place: int | str
    factor: float
    missing: tuple[float, ...]


# Codes for missing beyond those of the documents are ones met in files converted from other forms.
EPW_COLUMNS = (
    Column("t_air_C", 6, 1.0, (99.9, 999.0, 9999.0, -9900.0, -9999.0)),
    Column("t_dew_C", 7, 1.0, (99.9, 999.0, 9999.0, -9900.0, -9999.0)),
    Column("humidity_frac", 8, 0.01, (999.0, 9999.0, -9900.0, -9999.0)),
    Column("pressure_Pa", 9, 1.0, (999999.0, 9999.0, -9900.0, -9999.0)),
    Column("long_wave_W_m2", 12, 1.0, (9999.0, 99999.0, -9900.0, -9999.0)),
    Column("solar_W_m2", 13, 1.0, (9999.0, 99999.0, -9900.0, -9999.0)),
    Column("wind_m_s", 21, 1.0, (999.0, 99.9, 9999.0, -9900.0, -9999.0)),
    Column("cloud_total_frac", 22, 0.1, (99.0, 999.0, -9900.0, -9999.0)),
    Column("cloud_opaque_frac", 23, 0.1, (99.0, 999.0, -9900.0, -9999.0)),
    Column("rain_mm", 33, 1.0, (999.0, 9999.0, -9900.0, -9999.0)),
    Column("rain_hours", 34, 1.0, (99.0, 999.0, -9900.0, -9999.0)),
)
EPW_LEAST_CELLS = 24

_GONE = (-9900.0, -9999.0, 9999.0)
TMY3_COLUMNS = (
    Column("t_air_C", "Dry-bulb (C)", 1.0, _GONE),
    Column("t_dew_C", "Dew-point (C)", 1.0, _GONE),
    Column("humidity_frac", "RHum (%)", 0.01, _GONE),
    Column("pressure_Pa", "Pressure (mbar)", 100.0, _GONE),
    Column("solar_W_m2", "GHI (W/m^2)", 1.0, _GONE),
    Column("wind_m_s", "Wspd (m/s)", 1.0, _GONE),
    Column("cloud_total_frac", "TotCld (tenths)", 0.1, (99.0, *_GONE)),
    Column("cloud_opaque_frac", "OpqCld (tenths)", 0.1, (99.0, *_GONE)),
    Column("rain_mm", "Lprecip depth (mm)", 1.0, (999.0, *_GONE)),
    Column("rain_hours", "Lprecip quantity (hr)", 1.0, (99.0, *_GONE)),
)
TMY3_OPTIONAL = ("rain_mm", "rain_hours", "solar_W_m2")

# first and last character of each field, counted from 1 as in the manual's table 3-2
TMY2_FIELDS = {
    "solar_W_m2": (18, 21, 1.0, 9999.0),
    "cloud_total_frac": (60, 61, 0.1, 99.0),
    "cloud_opaque_frac": (64, 65, 0.1, 99.0),
    "t_air_C": (68, 71, 0.1, 9999.0),
    "t_dew_C": (74, 77, 0.1, 9999.0),
    "humidity_frac": (80, 82, 0.01, 999.0),
    "pressure_Pa": (85, 88, 100.0, 9999.0),
    "wind_m_s": (96, 98, 0.1, 999.0),
}
TMY2_HEADER = re.compile(
    r"\s*(\d{5})\s+(.+?)\s+([A-Z]{2})\s+(-?\d{1,2}(?:\.\d+)?)\s+([NS])\s*(\d{1,2})\s+(\d{1,2})\s+"
    r"([EW])\s*(\d{1,3})\s+(\d{1,2})\s+(-?\d{1,4})\s*"
)


def guess_format(text: str) -> str | None:
    """ "epw", "tmy3" or "tmy2" by the first two lines; None if neither."""
    lines = lines_of(text[:20_000])[:2]
    if lines[0].upper().startswith("LOCATION,"):
        return "epw"
    if len(lines) == 2 and lines[1].startswith("Date (MM/DD/YYYY)"):
        return "tmy3"
    return "tmy2" if TMY2_HEADER.fullmatch(lines[0]) else None


def read_station_file(file: EvidenceFile, form: str, gather: Gather) -> StationRecord | None:
    """The records of an hourly weather file.

    Parameters
    ----------
    file : EvidenceFile
        As read.
    form : str
        "auto", "epw", "tmy3" or "tmy2".
    gather : Gather
        Receives problems and findings.

    Returns
    -------
    StationRecord or None
        None after a problem.
    """
    text = decode(file.raw, file.where, gather)
    if text is None:
        return None
    guessed = guess_format(text)
    if guessed is None or form not in ("auto", guessed):
        wanted = "an EPW, TMY3 or TMY2 file" if form == "auto" else f"a file of the form {form}"
        found = (
            "the first lines are of no known weather file" if guessed is None else f"the first lines are of {guessed}"
        )
        gather.problem(
            file.where,
            found,
            wanted,
            'name another file, or set `format` under [weather] ("table" for delimited text with declared columns)',
        )
        return None
    reader = {"epw": _read_epw, "tmy3": _read_tmy3, "tmy2": _read_tmy2}[guessed]
    return reader(lines_of(text), file.where, gather)


# --- EPW ---------------------------------------------------------------------------------------------------------


def _read_epw(lines: list[str], where: str, gather: Gather) -> StationRecord | None:
    head = next(csv.reader([lines[0]]))
    first = next((number for number, line in enumerate(lines[:30]) if line.upper().startswith("DATA PERIODS")), None)
    if first is None or len(head) < 10:
        gather.problem(
            f"{where}, lines 1 to 8",
            "the header is not complete",
            "eight header lines, LOCATION to DATA PERIODS",
            "get the file again from its source",
        )
        return None
    period = [cell.strip() for cell in lines[first].split(",")]
    if len(period) > 2 and period[2] not in ("", "1"):
        gather.problem(
            f"{where}, line {first + 1}", f"{period[2]} records an hour", "one record an hour", "use an hourly file"
        )
        return None
    facts = _header_facts(head[6], head[7], head[9], head[8], f"{where}, line 1", gather)
    rows, numbers_of_lines = _rows(lines, first + 1, EPW_LEAST_CELLS, where, gather)
    if facts is None or not rows:
        return _no_rows(where, gather)
    stamps = [
        numbers([row[place] for row in rows], numbers_of_lines, name, where, gather)
        for place, name in enumerate(("year", "month", "day", "hour"))
    ]
    values = _values(
        rows, numbers_of_lines, EPW_COLUMNS, {column.place: column.place for column in EPW_COLUMNS}, where, gather
    )
    place = ", ".join(part.strip() for part in head[1:4] if part.strip() not in ("", "-"))
    return _placed("EPW", place, facts, stamps, values, numbers_of_lines, where, gather, declared_type=head[4].strip())


# --- TMY3 --------------------------------------------------------------------------------------------------------


def _read_tmy3(lines: list[str], where: str, gather: Gather) -> StationRecord | None:
    head = next(csv.reader([lines[0]]))
    names = [name.strip() for name in next(csv.reader([lines[1]]))]
    columns = [column for column in TMY3_COLUMNS if column.place in names]
    absent = [
        str(column.place)
        for column in TMY3_COLUMNS
        if column.place not in names and column.channel not in TMY3_OPTIONAL
    ]
    if absent:
        gather.problem(
            f"{where}, line 2",
            f"no column {some_of(absent)}",
            "the column names of the TMY3 form",
            "get the file again from its source",
        )
    if len(head) < 7:
        gather.problem(
            f"{where}, line 1",
            f"{count_of(len(head), 'cell')}",
            "seven: number, name, state, time zone, latitude, longitude, elevation",
            "get the file again from its source",
        )
        return None
    facts = _header_facts(head[4], head[5], head[6], head[3], f"{where}, line 1", gather)
    where_of = {column.place: names.index(column.place) for column in columns}
    rows, numbers_of_lines = _rows(lines, 2, max([*where_of.values(), 1]) + 1, where, gather)
    if facts is None or absent or not rows:
        return _no_rows(where, gather)
    stamps = _tmy3_stamps(rows, numbers_of_lines, where, gather)
    values = _values(rows, numbers_of_lines, columns, where_of, where, gather)
    place = ", ".join(part.strip() for part in head[1:3] if part.strip())
    return _placed("TMY3", place, facts, stamps, values, numbers_of_lines, where, gather, always_typical=True)


def _tmy3_stamps(rows: list[list[str]], lines: np.ndarray, where: str, gather: Gather) -> list[np.ndarray]:
    stamps = np.full((4, len(rows)), np.nan)
    bad: list[str] = []
    for position, row in enumerate(rows):
        match = re.fullmatch(r"(\d{1,2})/(\d{1,2})/(\d{4})", row[0].strip())
        hour = re.fullmatch(r"(\d{1,2}):00", row[1].strip())
        if match and hour:
            stamps[:, position] = (int(match[3]), int(match[1]), int(match[2]), int(hour[1]))
        else:
            bad.append(f"line {lines[position]} {(row[0] + ' ' + row[1])[:40]!r}")
    if bad:
        gather.problem(
            f"{where}, date and time",
            f"not readable: {some_of(bad)}",
            "MM/DD/YYYY and HH:00, hours 01 to 24",
            "get the file again from its source",
        )
    return list(stamps)


# --- TMY2 --------------------------------------------------------------------------------------------------------


def _read_tmy2(lines: list[str], where: str, gather: Gather) -> StationRecord | None:
    head = TMY2_HEADER.fullmatch(lines[0])
    assert head is not None  # guess_format matched it
    latitude = (int(head[6]) + int(head[7]) / 60.0) * (1 if head[5] == "N" else -1)
    longitude = (int(head[9]) + int(head[10]) / 60.0) * (1 if head[8] == "E" else -1)
    facts = _header_facts(str(latitude), str(longitude), head[11], head[4], f"{where}, line 1", gather)
    kept = [(number, line) for number, line in enumerate(lines[1:], 2) if line.strip(" \x1a\x0c")]
    last = max(field[1] for field in TMY2_FIELDS.values())
    short = [f"line {number}" for number, line in kept if len(line) < last]
    if short:
        gather.problem(
            where,
            f"cut off: {some_of(short)}",
            f"at least {last} characters a line",
            "get the file again from its source",
        )
    kept = [(number, line) for number, line in kept if len(line) >= last]
    if facts is None or not kept:
        return _no_rows(where, gather)
    numbers_of_lines = np.array([number for number, _ in kept])
    stamps = [
        numbers([line[first : first + 2] for _, line in kept], numbers_of_lines, name, where, gather)
        for first, name in ((1, "year"), (3, "month"), (5, "day"), (7, "hour"))
    ]
    stamps[0] = stamps[0] + 1900
    values = {}
    for channel, (begin, end, factor, gone) in TMY2_FIELDS.items():
        cells = numbers(
            [line[begin - 1 : end] for _, line in kept],
            numbers_of_lines,
            f"{begin} to {end} ({LABELS[channel]})",
            where,
            gather,
        )
        values[channel] = np.where(cells == gone, np.nan, cells * factor)
    return _placed(
        "TMY2",
        f"{head[2].strip()}, {head[3]}",
        facts,
        stamps,
        values,
        numbers_of_lines,
        where,
        gather,
        always_typical=True,
    )


# --- shared ------------------------------------------------------------------------------------------------------


def _no_rows(where: str, gather: Gather) -> None:
    if not gather.problems:
        gather.problem(
            where, "no data rows after the header", f"{HOURS} hourly rows", "get the file again from its source"
        )


def _header_facts(
    latitude: str, longitude: str, elevation: str, zone: str, where: str, gather: Gather
) -> tuple[float, float, float, float] | None:
    limits = (
        ("latitude", latitude, -90.0, 90.0, "deg"),
        ("longitude", longitude, -180.0, 180.0, "deg"),
        ("elevation", elevation, -500.0, 6000.0, "m"),
        ("time zone", zone, -14.0, 14.0, "h"),
    )
    facts = []
    for name, cell, low, high, unit in limits:
        try:
            value = float(cell)
        except ValueError:
            value = np.nan
        if not low <= value <= high:
            gather.problem(
                where,
                f"{name} {cell.strip()[:40]!r}",
                f"a number from {low:g} to {high:g} {unit}",
                "correct the header or get the file again from its source",
            )
        facts.append(value)
    return None if gather.problems else (facts[0], facts[1], facts[2], facts[3])


def _rows(lines: list[str], first: int, least: int, where: str, gather: Gather) -> tuple[list[list[str]], np.ndarray]:
    rows, places, short = [], [], []
    for number, line in enumerate(lines[first:], first + 1):
        if not line.strip(" ,\x1a"):
            continue
        cells = line.split(",")
        if len(cells) < least:
            short.append(f"line {number} ({count_of(len(cells), 'cell')})")
        else:
            rows.append(cells)
            places.append(number)
    if short:
        gather.problem(
            where, f"cut off: {some_of(short)}", f"at least {least} cells a line", "get the file again from its source"
        )
    return rows, np.array(places, dtype=int)


def _values(
    rows: list[list[str]],
    lines: np.ndarray,
    columns: tuple[Column, ...] | list[Column],
    where_of: dict[int | str, int],
    where: str,
    gather: Gather,
) -> dict[str, np.ndarray]:
    values = {}
    for column in columns:
        place = where_of[column.place]
        cells = [row[place] if place < len(row) else "" for row in rows]
        name = column.place if isinstance(column.place, str) else f"{place + 1} ({LABELS[column.channel]})"
        found = numbers(cells, lines, name, where, gather)
        values[column.channel] = np.where(np.isin(found, column.missing), np.nan, found * column.factor)
    return values


def _placed(
    kind: str,
    place: str,
    facts: tuple[float, float, float, float],
    stamps: list[np.ndarray],
    values: dict[str, np.ndarray],
    lines: np.ndarray,
    where: str,
    gather: Gather,
    declared_type: str = "",
    always_typical: bool = False,
) -> StationRecord | None:
    import pandas as pd

    if gather.problems or not _stamps_are_sound(stamps, lines, where, gather):
        return None
    year, month, day, hour = (stamp.astype(int) for stamp in stamps)
    years = tuple(int(one) for one in np.unique(year))
    leap_day = (month == 2) & (day == 29)
    leap_year = len(years) == 1 and years[0] % 4 == 0 and (years[0] % 100 != 0 or years[0] % 400 == 0)
    typical = always_typical or _is_typical(year, month, leap_day.any(), leap_year)
    keep = ~leap_day if typical else np.ones(len(year), dtype=bool)
    if typical and leap_day.any():
        gather.finding(
            "weather.leap-day",
            f"{count_of(int(leap_day.sum()), 'hour')} of 29 February were left out: a typical year has 365 days.",
            where,
            {"rows": int(leap_day.sum())},
        )
    if typical:
        positions = _hour_of_year(month, day, hour)[keep]
        start, count = pd.Timestamp(NOMINAL_YEAR, 1, 1), HOURS
    else:
        ends = pd.to_datetime({"year": year, "month": month, "day": day}) + pd.to_timedelta(hour, unit="h")
        start = ends.iloc[0] - pd.Timedelta(hours=1)
        positions = ((ends - start) // pd.Timedelta(hours=1)).to_numpy() - 1
        count = int(positions.max()) + 1
    if not _order_is_sound(positions, lines[keep], year[keep], month[keep], day[keep], hour[keep], where, gather):
        return None
    spread = {channel: _spread(cells[keep], positions, count, np.nan) for channel, cells in values.items()}
    latitude, longitude, elevation, offset = facts
    return StationRecord(
        where=where,
        kind=kind,
        place=place,
        latitude_deg=latitude,
        longitude_deg=longitude,
        elevation_m=elevation,
        utc_offset_h=offset,
        start=(start - pd.Timedelta(hours=offset)).tz_localize("UTC"),
        interval_s=3600,
        rain_hours=spread.pop("rain_hours", None),
        values=spread,
        lines=_spread(lines[keep], positions, count, 0),
        years=years,
        typical=typical,
        declared_type=declared_type,
    )


def _spread(cells: np.ndarray, positions: np.ndarray, count: int, empty: float) -> np.ndarray:
    grid = np.full(count, empty, dtype=cells.dtype)
    grid[positions] = cells
    return grid


def _is_typical(year: np.ndarray, month: np.ndarray, has_leap_day: bool, leap_year: bool) -> bool:
    # Months in calendar order from years out of order, or a leap year without its leap day: no real year.
    # A real record may run over a new year, but then its years never fall back.
    if (np.diff(year) < 0).any():
        return True
    months_whole_year = len(np.unique(month)) == 12 and month[0] == 1 and month[-1] == 12
    if len(np.unique(year)) > 1:
        return bool(months_whole_year and (np.diff(month) >= 0).all())
    return bool(months_whole_year and leap_year and not has_leap_day)


def _hour_of_year(month: np.ndarray, day: np.ndarray, hour: np.ndarray) -> np.ndarray:
    return (np.array(MONTH_START_DAY)[month] + day - 1) * 24 + hour - 1


def _stamps_are_sound(stamps: list[np.ndarray], lines: np.ndarray, where: str, gather: Gather) -> bool:
    year, month, day, hour = stamps
    with np.errstate(invalid="ignore"):
        good = (year >= 1800) & (year <= 2200) & (month >= 1) & (month <= 12) & (hour >= 1) & (hour <= 24)
        longest = np.array(MONTH_DAYS)[np.where(good, month, 1).astype(int)]
        good &= (day >= 1) & (day <= longest)
        leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
        good &= ~((month == 2) & (day == 29) & ~leap)
    if good.all():
        return True
    bad = [
        f"line {lines[place]} (year {year[place]:g}, month {month[place]:g}, day {day[place]:g}, hour {hour[place]:g})"
        for place in np.flatnonzero(~good)
    ]
    gather.problem(
        where,
        f"no such hour: {some_of(bad)}",
        "years, months, days and hours 1 to 24 of the calendar",
        "correct these lines or get the file again from its source",
    )
    return False


def _order_is_sound(
    positions: np.ndarray,
    lines: np.ndarray,
    year: np.ndarray,
    month: np.ndarray,
    day: np.ndarray,
    hour: np.ndarray,
    where: str,
    gather: Gather,
) -> bool:
    steps = np.diff(positions)

    def named(places: np.ndarray) -> str:
        return some_of([f"line {lines[at]} ({month[at]:02d}-{day[at]:02d} hour {hour[at]})" for at in places])

    counts = np.bincount(positions[positions >= 0]) if len(positions) else np.zeros(0, int)
    repeated = np.flatnonzero(counts[positions] > 1) if (positions >= 0).all() else np.zeros(0, int)
    repeated = np.array([at for at in repeated if (positions[:at] == positions[at]).any()], dtype=int)
    backward = np.setdiff1d(np.flatnonzero(steps < 0) + 1, repeated)
    if len(repeated):
        gather.problem(
            where,
            f"the same hour twice: {named(repeated)}",
            "every hour once",
            "remove the surplus lines or get the file again from its source",
        )
    if len(backward):
        gather.problem(
            where,
            f"out of time order: {named(backward)}",
            "hours in rising order",
            "sort the lines or get the file again from its source",
        )
    return not len(repeated) and not len(backward)
