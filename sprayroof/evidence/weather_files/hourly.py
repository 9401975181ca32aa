"""Hourly weather files of three open forms: EPW, TMY3, TMY2.

The values are read by `pvlib.iotools`. Here stands what it leaves open: which form a file has, where it is broken (by
line and cell), which numbers stand for missing, what each column is in our channels and units, and which hour each row
belongs to.

All three label an hour by its end (hour 1 is 00:00 to 01:00 local standard time). Temperature, dew point, humidity,
pressure, wind and sky cover are readings at that end; sun and rain are sums over the hour before it.

References
----------
EPW: data dictionary of the EPW weather format. TMY3: Wilcox & Marion 2008, NREL/TP-581-43156, table 1-1.
TMY2: Marion & Urban 1995, NREL, table 3-2.
"""

from __future__ import annotations

import csv
import re
import tempfile
import warnings
from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from sprayroof.evidence.files import EvidenceFile
from sprayroof.evidence.gather import Gather, count_of, some_of
from sprayroof.evidence.text import decode, lines_of, numbers
from sprayroof.evidence.weather_files.station import LABELS, StationRecord

if TYPE_CHECKING:
    import pandas as pd

HOURS = 8760
NOMINAL_YEAR = 2001  # not a leap year; months of a typical year come from several years
STAMP = ["year", "month", "day", "hour"]
GET_AGAIN = "get the file again from its source"


@dataclass(frozen=True)
class Column:
    """A channel in a file: pvlib's name for it, the place of its text, the factor to its unit, codes for missing.

    `place` picks the text out of a row: the number of the cell, or the characters of a line without cells.
    """

    channel: str
    name: str
    place: int | slice
    factor: float = 1.0
    missing: tuple[float, ...] = ()


# Codes for missing beyond those of the documents are ones met in files converted from other forms.
GONE = (-9900.0, -9999.0, 9999.0)
EPW_CELLS = 35  # pvlib shifts the cells of rows that have more
EPW_LEAST_CELLS = 24  # up to sky cover; some writers leave snow and rain off
EPW_COLUMNS = (
    Column("year", "year", 0),
    Column("month", "month", 1),
    Column("day", "day", 2),
    Column("hour", "hour", 3),
    Column("t_air_C", "temp_air", 6, 1.0, (99.9, 999.0)),
    Column("t_dew_C", "temp_dew", 7, 1.0, (99.9, 999.0)),
    Column("humidity_frac", "relative_humidity", 8, 0.01, (999.0,)),
    Column("pressure_Pa", "atmospheric_pressure", 9, 1.0, (999999.0,)),
    Column("long_wave_W_m2", "ghi_infrared", 12, 1.0, (99999.0,)),
    Column("solar_W_m2", "ghi", 13, 1.0, (99999.0,)),
    Column("wind_m_s", "wind_speed", 21, 1.0, (999.0, 99.9)),
    Column("cloud_total_frac", "total_sky_cover", 22, 0.1, (99.0, 999.0)),
    Column("cloud_opaque_frac", "opaque_sky_cover", 23, 0.1, (99.0, 999.0)),
    Column("rain_mm", "liquid_precipitation_depth", 33, 1.0, (999.0,)),
    Column("rain_hours", "liquid_precipitation_quantity", 34, 1.0, (99.0, 999.0)),
)
# places are found by the names in the file
TMY3_COLUMNS = (
    Column("t_air_C", "Dry-bulb (C)", -1),
    Column("t_dew_C", "Dew-point (C)", -1),
    Column("humidity_frac", "RHum (%)", -1, 0.01),
    Column("pressure_Pa", "Pressure (mbar)", -1, 100.0),
    Column("solar_W_m2", "GHI (W/m^2)", -1),
    Column("wind_m_s", "Wspd (m/s)", -1),
    Column("cloud_total_frac", "TotCld (tenths)", -1, 0.1, (99.0,)),
    Column("cloud_opaque_frac", "OpqCld (tenths)", -1, 0.1, (99.0,)),
    Column("rain_mm", "Lprecip depth (mm)", -1, 1.0, (999.0,)),
    Column("rain_hours", "Lprecip quantity (hr)", -1, 1.0, (99.0,)),
)
TMY3_OPTIONAL = ("rain_mm", "rain_hours", "solar_W_m2")
TMY2_LEAST = 98  # characters, up to wind speed
TMY2_COLUMNS = (
    Column("year", "year", slice(1, 3)),
    Column("month", "month", slice(3, 5)),
    Column("day", "day", slice(5, 7)),
    Column("hour", "hour", slice(7, 9)),
    Column("solar_W_m2", "GHI", slice(17, 21)),
    Column("cloud_total_frac", "TotCld", slice(59, 61), 0.1, (99.0,)),
    Column("cloud_opaque_frac", "OpqCld", slice(63, 65), 0.1, (99.0,)),
    Column("t_air_C", "DryBulb", slice(67, 71), 0.1),
    Column("t_dew_C", "DewPoint", slice(73, 77), 0.1),
    Column("humidity_frac", "RHum", slice(79, 82), 0.01, (999.0,)),
    Column("pressure_Pa", "Pressure", slice(84, 88), 100.0),
    Column("wind_m_s", "Wspd", slice(95, 98), 0.1, (999.0,)),
)
TMY2_HEADER = re.compile(
    r"\s*(\d{5})\s+(.+?)\s+([A-Z]{2})\s+(-?\d{1,2}(?:\.\d+)?)\s+([NS])\s*(\d{1,2})\s+(\d{1,2})\s+"
    r"([EW])\s*(\d{1,3})\s+(\d{1,2})\s+(-?\d{1,4})\s*"
)
STATION_LIMITS = (
    ("latitude", "latitude_deg", -90.0, 90.0, "deg"),
    ("longitude", "longitude_deg", -180.0, 180.0, "deg"),
    ("elevation", "elevation_m", -500.0, 6000.0, "m"),
    ("time zone", "utc_offset_h", -14.0, 14.0, "h"),
)


@dataclass(frozen=True)
class Source:
    """A file taken apart.

    `head` are header lines to hand to pvlib, without the station (it would split the name at blanks and commas);
    `station` are fields of `StationRecord`; `rows` are cells, or whole lines of TMY2, and `lines` their line numbers.
    """

    kind: str
    where: str
    head: list[str]
    station: dict[str, Any]
    columns: tuple[Column, ...]
    rows: list[Any]
    lines: np.ndarray

    def shown(self, column: Column) -> str:
        """The name of a column in messages."""
        if column.channel in STAMP or self.kind == "TMY3":
            return column.name
        place = column.place
        span = f"{place.start + 1} to {place.stop}" if isinstance(place, slice) else f"{place + 1}"
        return f"{span} ({LABELS[column.channel]})"


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
        gather.problem(
            file.where,
            f"the first lines are of {guessed or 'no known weather file'}",
            "an EPW, TMY3 or TMY2 file" if form == "auto" else f"a file of the form {form}",
            'name another file, or set `format` under [weather] ("table" for delimited text with declared columns)',
        )
        return None
    source = {"epw": _epw, "tmy3": _tmy3, "tmy2": _tmy2}[guessed](lines_of(text), file.where, gather)
    if source is None:
        return None
    if not source.rows and not gather.problems:
        gather.problem(file.where, "no data rows after the header", f"{HOURS} hourly rows", GET_AGAIN)
    table = _read(source, gather) if source.rows else None
    return None if table is None else _placed(table, source, gather)


# --- taking a file apart -------------------------------------------------------------------------------------------


def _epw(lines: list[str], where: str, gather: Gather) -> Source | None:
    head = _cells(lines[0])
    last = next((number for number, line in enumerate(lines[:30], 1) if line.upper().startswith("DATA PERIODS")), None)
    if last is None or len(head) < 10:
        wanted = "eight header lines, LOCATION to DATA PERIODS"
        gather.problem(f"{where}, lines 1 to 8", "the header is not complete", wanted, GET_AGAIN)
        return None
    per_hour = (*lines[last - 1].split(","), "", "")[2].strip()
    if per_hour not in ("", "1"):
        found = f"{per_hour} records an hour"
        gather.problem(f"{where}, line {last}", found, "one record an hour", "use an hourly file")
        return None
    station = _station([part for part in head[1:4] if part.strip() != "-"], *head[6:8], head[9], head[8], where, gather)
    rows, places = _rows(lines, last, EPW_LEAST_CELLS, "cell", where, gather)
    if station is None:
        return None
    station["declared_type"] = head[4].strip()
    rows = [(row + [""] * EPW_CELLS)[:EPW_CELLS] for row in rows]
    return Source("EPW", where, ["LOCATION,,,,,,0,0,0,0", *["-"] * 7], station, EPW_COLUMNS, rows, places)


def _tmy3(lines: list[str], where: str, gather: Gather) -> Source | None:
    head = [*_cells(lines[0]), *[""] * 7]
    names = [name.strip() for name in _cells(lines[1])]
    absent = [one.name for one in TMY3_COLUMNS if one.name not in names and one.channel not in TMY3_OPTIONAL]
    if absent:
        found = f"no column {some_of(absent)}"
        gather.problem(f"{where}, line 2", found, "the column names of the TMY3 form", GET_AGAIN)
    station = _station(head[1:3], *head[4:7], head[3], where, gather)
    columns = tuple(replace(one, place=names.index(one.name)) for one in TMY3_COLUMNS if one.name in names)
    least = 1 + max(names.index(name) for name in ["Date (MM/DD/YYYY)", *(one.name for one in columns)])
    rows, places = _rows(lines, 2, least, "cell", where, gather)
    if station is None or absent:
        return None
    rows = [(row + [""] * len(names))[: len(names)] for row in rows]
    return Source("TMY3", where, ["0,,,0,0,0,0", ",".join(names)], station, columns, rows, places)


def _tmy2(lines: list[str], where: str, gather: Gather) -> Source | None:
    head = TMY2_HEADER.fullmatch(lines[0])
    assert head is not None  # guess_format matched it
    latitude, longitude = (
        f"{'-' if side in 'SW' else ''}{int(degrees) + int(minutes) / 60}"
        for side, degrees, minutes in (head.group(5, 6, 7), head.group(8, 9, 10))
    )
    station = _station(head.group(2, 3), latitude, longitude, head[11], head[4], where, gather)
    rows, places = _rows(lines, 1, TMY2_LEAST, "character", where, gather)
    if station is None:
        return None
    # what follows the wind speed is not used here, but pvlib wants numbers there, to the end of the line
    rows = [f"{row[:TMY2_LEAST]:9<142}" for row in rows]
    return Source("TMY2", where, [" 00000 X XX 0 N 0 0 E 0 0 0"], station, TMY2_COLUMNS, rows, places)


def _cells(line: str) -> list[str]:
    return next(csv.reader([line[:10_000]]))  # the csv module raises at endless cells


def _station(
    name: Iterable[str], latitude: str, longitude: str, elevation: str, zone: str, where: str, gather: Gather
) -> dict[str, Any] | None:
    """Fields of `StationRecord` from the header; None after a problem."""
    station: dict[str, Any] = {"place": ", ".join(part.strip() for part in name if part.strip())}
    cells = (latitude, longitude, elevation, zone)
    for (label, field, low, high, unit), cell in zip(STATION_LIMITS, cells, strict=True):
        try:
            value = float(cell)
        except ValueError:
            value = np.nan
        if low <= value <= high:
            station[field] = value
        else:
            found, wanted = f"{label} {cell.strip()[:40]!r}", f"a number from {low:g} to {high:g} {unit}"
            gather.problem(f"{where}, line 1", found, wanted, f"correct the header or {GET_AGAIN}")
    return station if len(station) == 1 + len(STATION_LIMITS) else None


def _rows(
    lines: list[str], first: int, least: int, unit: str, where: str, gather: Gather
) -> tuple[list[Any], np.ndarray]:
    """Data rows, as cells where `unit` is "cell", and their line numbers; rows cut off are told and left out."""
    kept = [
        (number, line.split(",") if unit == "cell" else line)
        for number, line in enumerate(lines[first:], first + 1)
        if line.strip(" ,\x1a\x0c")
    ]
    cut = [f"line {number} ({count_of(len(row), unit)})" for number, row in kept if len(row) < least]
    if cut:
        gather.problem(where, f"cut off: {some_of(cut)}", f"at least {least} {unit}s a line", GET_AGAIN)
    kept = [(number, row) for number, row in kept if len(row) >= least]
    return [row for _, row in kept], np.array([number for number, _ in kept], dtype=int)


# --- reading the values --------------------------------------------------------------------------------------------


def _read(source: Source, gather: Gather) -> pd.DataFrame | None:
    """Channels, `STAMP` and "line" of each row; None after a problem.

    Columns in which pvlib found more than numbers are looked through cell by cell, so that the message can name the
    lines; all of them if it refused the file.
    """
    import pandas as pd

    data, refusal = _by_pvlib(source)
    table = pd.DataFrame({"line": source.lines})
    for column in source.columns:
        if data is not None and data[column.name].dtype.kind in "iuf" and not np.isinf(data[column.name]).any():
            found = data[column.name].to_numpy(dtype=float)
        else:
            cells = [row[column.place] for row in source.rows]
            found = numbers(cells, source.lines, source.shown(column), source.where, gather)
        table[column.channel] = np.where(np.isin(found, (*column.missing, *GONE)), np.nan, found * column.factor)
    if source.kind == "TMY3":
        table[STAMP] = _tmy3_stamps(source, gather)
    elif source.kind == "TMY2":
        table["year"] += 1900
    if gather.problems or not _stamps_are_sound(table, source.where, gather):
        return None
    if refusal:
        _tell_refusal(source, gather)
        return None
    return table.astype(dict.fromkeys(STAMP, int))


def _by_pvlib(source: Source) -> tuple[pd.DataFrame | None, str]:
    """The table pvlib reads, or None and why there is none."""
    from pandas.errors import DtypeWarning
    from pvlib import iotools

    rows = [row if isinstance(row, str) else ",".join(row) for row in source.rows]
    reader = {"EPW": iotools.read_epw, "TMY2": iotools.read_tmy2, "TMY3": iotools.read_tmy3}[source.kind]
    options = {"map_variables": False} if source.kind == "TMY3" else {}
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("ignore", DtypeWarning)  # a column that holds text: it is told with its lines
        path = Path(folder) / "weather.txt"  # pvlib reads TMY2, and in 0.11 TMY3 too, from files only
        path.write_text("\n".join([*source.head, *rows, ""]), encoding="ascii", errors="replace")
        try:
            data = reader(path, **options)[0][[column.name for column in source.columns]]
        except (ValueError, TypeError, LookupError, AttributeError, OverflowError) as error:
            return None, " ".join(str(error).replace(str(path), source.where).split())
    if len(data) != len(rows):
        return None, f"{len(data)} rows found in {len(rows)} lines"
    return data, ""


def _tell_refusal(source: Source, gather: Gather) -> None:
    """Name the first line with which pvlib refuses a file whose fault lies outside the columns used here."""

    def upto(count: int) -> str:
        return _by_pvlib(replace(source, rows=source.rows[:count]))[1]

    first = bisect_left(range(len(source.rows)), True, lo=1, key=lambda count: bool(upto(count)))
    found = f"not readable ({upto(first)[:200]})"
    where = f"{source.where}, line {source.lines[first - 1]}"
    gather.problem(where, found, f"a line of the {source.kind} form", f"correct it or {GET_AGAIN}")


def _tmy3_stamps(source: Source, gather: Gather) -> pd.DataFrame:
    import pandas as pd

    texts = pd.Series([f"{row[0].strip()} {row[1].strip()}" for row in source.rows])
    stamps = texts.str.extract(r"^(?P<month>\d\d?)/(?P<day>\d\d?)/(?P<year>\d{4}) (?P<hour>\d\d?):00$").astype(float)
    bad = [f"line {source.lines[at]} {texts[at][:40]!r}" for at in np.flatnonzero(stamps["hour"].isna())]
    if bad:
        wanted = "MM/DD/YYYY and HH:00, hours 01 to 24"
        gather.problem(f"{source.where}, date and time", f"not readable: {some_of(bad)}", wanted, GET_AGAIN)
    return stamps[STAMP]


# --- rows to hours -------------------------------------------------------------------------------------------------


def _placed(table: pd.DataFrame, source: Source, gather: Gather) -> StationRecord | None:
    import pandas as pd

    typical = source.kind != "EPW" or _is_typical(table)
    leap_day = (table["month"] == 2) & (table["day"] == 29) & typical
    if leap_day.any():
        found = f"{count_of(int(leap_day.sum()), 'hour')} of 29 February were left out"
        text = f"{found}: a typical year has 365 days."
        gather.finding("weather.leap-day", text, source.where, {"rows": int(leap_day.sum())})
    years = tuple(int(year) for year in np.unique(table["year"]))
    table = table[~leap_day]
    ends = _days(table.assign(year=NOMINAL_YEAR) if typical else table) + pd.to_timedelta(table["hour"], unit="h")
    start = pd.Timestamp(NOMINAL_YEAR, 1, 1) if typical else ends.iloc[0] - pd.Timedelta(hours=1)
    table.index = (ends - start) // pd.Timedelta(hours=1) - 1
    if not _order_is_sound(table, source.where, gather):
        return None
    table = table.reindex(range(HOURS if typical else table.index[-1] + 1))
    channels = [column.channel for column in source.columns if column.channel not in STAMP]
    values = {channel: table[channel].to_numpy(copy=True) for channel in channels}
    return StationRecord(
        where=source.where,
        kind=source.kind,
        **source.station,
        start=(start - pd.Timedelta(hours=source.station["utc_offset_h"])).tz_localize("UTC"),
        interval_s=3600,
        rain_hours=values.pop("rain_hours", None),
        values=values,
        lines=table["line"].fillna(0).to_numpy(dtype=int),
        years=years,
        typical=typical,
    )


def _days(table: pd.DataFrame) -> pd.Series:
    import pandas as pd

    return pd.to_datetime(table[["year", "month", "day"]], errors="coerce")


def _is_typical(table: pd.DataFrame) -> bool:
    # Months in calendar order from years out of order, or a leap year without its leap day: no real year.
    # A real record may run over a new year, but then its years never fall back.
    year, month = table["year"], table["month"]
    if not year.is_monotonic_increasing:
        return True
    if month.nunique() < 12 or not month.is_monotonic_increasing:
        return False
    has_leap_day = ((month == 2) & (table["day"] == 29)).any()
    return year.nunique() > 1 or bool(_days(table[:1]).dt.is_leap_year.all() and not has_leap_day)


def _stamps_are_sound(table: pd.DataFrame, where: str, gather: Gather) -> bool:
    bad = ~(_days(table).notna() & table["year"].between(1800, 2200) & table["hour"].isin(range(1, 25)))
    if bad.any():
        named = _named(table[bad], "year {year:g}, month {month:g}, day {day:g}, hour {hour:g}")
        wanted = "years, months, days and hours 1 to 24 of the calendar"
        gather.problem(where, f"no such hour: {named}", wanted, f"correct these lines or {GET_AGAIN}")
    return not bad.any()


def _order_is_sound(table: pd.DataFrame, where: str, gather: Gather) -> bool:
    repeated = table.index.duplicated()
    backward = (np.diff(table.index, prepend=table.index[0]) < 0) & ~repeated
    for wrong, found, wanted, do in (
        (repeated, "the same hour twice", "every hour once", "remove the surplus lines"),
        (backward, "out of time order", "hours in rising order", "sort the lines"),
    ):
        if wrong.any():
            named = _named(table[wrong], "{month:02d}-{day:02d} hour {hour}")
            gather.problem(where, f"{found}: {named}", wanted, f"{do} or {GET_AGAIN}")
    return not (repeated | backward).any()


def _named(rows: pd.DataFrame, form: str) -> str:
    return some_of([f"line {row['line']} ({form.format(**row)})" for row in rows.to_dict("records")])
