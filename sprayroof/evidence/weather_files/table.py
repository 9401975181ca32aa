"""Weather from delimited text with declared columns and units: a station log of at least a year.

Records are means over their interval (rain: sums; sun: means kept as energy). The log is cut to whole hours and to its
last full year; up to six hours may be missing at its ends.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.files import EvidenceFile
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.grid import Grid, on_grid
from sprayroof.evidence.steps import MAX_FILL_H
from sprayroof.evidence.tables import Wanted, read_table, span_of
from sprayroof.evidence.times import standard_offset_h
from sprayroof.evidence.weather_files.air import dew_from_wet_bulb, standard_pressure_Pa
from sprayroof.evidence.weather_files.cloud_layers import LAYERS
from sprayroof.evidence.weather_files.station import StationRecord

if TYPE_CHECKING:
    from sprayroof.evidence.site import Site

# channel of the site file -> channel of the record and the unit it is read in
CHANNEL_OF = {
    "air_temperature": ("t_air_C", "degC"),
    "dew_point": ("t_dew_C", "degC"),
    "wet_bulb": ("t_wet_C", "degC"),
    "humidity": ("humidity_frac", "1"),
    "pressure": ("pressure_Pa", "Pa"),
    "wind": ("wind_m_s", "m/s"),
    "cloud": ("cloud_total_frac", "1"),
    "cloud_low": ("cloud_low_frac", "1"),
    "cloud_middle": ("cloud_middle_frac", "1"),
    "cloud_high": ("cloud_high_frac", "1"),
    "cloud_low_base": ("cloud_low_base_m", "m"),
    "cloud_middle_base": ("cloud_middle_base_m", "m"),
    "cloud_high_base": ("cloud_high_base_m", "m"),
    "long_wave": ("long_wave_W_m2", "W/m2"),
    "solar": ("solar_W_m2", "W/m2"),
    "rain": ("rain_mm", "mm"),
}


def read_weather_table(file: EvidenceFile, site: Site, gather: Gather) -> tuple[StationRecord | None, str]:
    """The last full year of a station log, and the span of the whole file.

    Parameters
    ----------
    file : EvidenceFile
        As read.
    site : Site
        Its `weather` declares columns, units, time column, zone and stamp.
    gather : Gather
        Receives problems and findings.
    """
    declared = site.weather.columns or {}
    if not _declaration_suffices(declared, site.weather.time_column, gather):
        return None, ""
    wanted = {
        CHANNEL_OF[channel][0]: Wanted(column.column, column.unit, CHANNEL_OF[channel][1], f"weather.columns.{channel}")
        for channel, column in declared.items()
    }
    table = read_table(
        file, wanted, site.weather.time_column, site.weather.time_format, site.weather.time_zone, "weather", gather
    )
    if table is None:
        return None, ""
    grid = on_grid(table, site.weather.stamp, file.where, gather)
    record = None if grid is None else _record(grid, file.where, site, gather)
    return record, span_of(table.times)


def _declaration_suffices(declared: dict, time_column: str | None, gather: Gather) -> bool:
    missing = [f"weather.columns.{channel}" for channel in ("air_temperature", "wind") if channel not in declared]
    if not {"dew_point", "humidity", "wet_bulb"} & set(declared):
        missing.append("weather.columns.humidity (or dew_point, or wet_bulb)")
    if time_column is None:
        missing.append("weather.time_column")
    layers = [f"cloud_{layer}" for layer in LAYERS]
    # a layer left out is not a layer without cloud
    if any(channel.removesuffix("_base") in layers for channel in declared):
        missing += [f"weather.columns.{channel}" for channel in layers if channel not in declared]
    for entry in missing:
        gather.problem(f"site file, {entry.split()[0]}", "missing", "a column of the weather table", f"declare {entry}")
    return not missing


def _record(grid: Grid, where: str, site: Site, gather: Gather) -> StationRecord | None:
    import pandas as pd

    first = grid.start.ceil("h") if grid.start.ceil("h") - grid.start < pd.Timedelta(hours=MAX_FILL_H) else grid.start
    last = grid.end.floor("h")
    year_before = last - pd.DateOffset(years=1)
    allowed = pd.Timedelta(hours=MAX_FILL_H)
    if grid.start.floor("h") - allowed > year_before:
        gather.problem(
            where,
            f"the record runs from {grid.start:%Y-%m-%d %H:%M} to {grid.end:%Y-%m-%d %H:%M} UTC",
            "at least one full year",
            "name a longer record, or a typical year",
        )
        return None
    begin = year_before
    if first > year_before:  # a few hours short: the year begins with the record and is padded at its end
        begin = grid.start.floor("h")
        last = begin + pd.DateOffset(years=1)
    elif year_before - first >= pd.Timedelta(hours=1):
        gather.finding(
            "weather.span-cut",
            f"{where} is longer than a year; {begin:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M} UTC is used.",
            where,
            {"from": f"{begin:%Y-%m-%d}", "to": f"{last:%Y-%m-%d}"},
        )
    values = {name: _cut(cells, grid, begin, last, np.nan) for name, cells in grid.values.items()}
    lines = _cut(grid.lines, grid, begin, last, 0)
    _settle_wet_bulb(values, site.place.elevation_m)
    if "rain_mm" in values and site.weather.rain_unit == "none":
        values.pop("rain_mm")
    return StationRecord(
        where=where,
        kind="table",
        place="",
        latitude_deg=None,
        longitude_deg=None,
        elevation_m=None,
        utc_offset_h=standard_offset_h(site.place.time_zone, last.year),
        start=begin,
        interval_s=grid.interval_s,
        values=values,
        lines=lines,
        years=tuple(sorted({begin.year, last.year})),
        typical=False,
    )


def _cut(cells: np.ndarray, grid: Grid, begin, end, empty: float) -> np.ndarray:
    count = int((end - begin).total_seconds()) // grid.interval_s
    shift = int((begin - grid.start).total_seconds()) // grid.interval_s
    out = np.full(count, empty, dtype=cells.dtype)
    low, high = max(shift, 0), min(shift + count, len(cells))
    out[low - shift : high - shift] = cells[low:high]
    return out


def _settle_wet_bulb(values: dict[str, np.ndarray], elevation_m: float) -> None:
    """Turn a wet bulb column into a dew point where there is no better one."""
    wet = values.pop("t_wet_C", None)
    if wet is None or "t_dew_C" in values:
        return
    standard = standard_pressure_Pa(elevation_m)
    pressure = np.where(
        np.isnan(values.get("pressure_Pa", np.full(len(wet), np.nan))), standard, values.get("pressure_Pa", standard)
    )
    values["t_dew_C"] = dew_from_wet_bulb(values["t_air_C"], wet, pressure)
