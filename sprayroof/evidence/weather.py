"""Weather on the simulation step, at the site: `read_weather`.

The order: read the file, refuse what cannot be, bridge short gaps, carry the records to the step, carry the pressure to
the site's height, add the sun, choose rain and long-wave. Rules for the step are in `evidence.steps`; what each form of
file means by an hour is in `evidence.weather_files`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from sprayroof.evidence.files import read_evidence
from sprayroof.evidence.gather import Gather, count_of
from sprayroof.evidence.steps import amounts_to_steps, fill_short, instants_to_steps, means_to_steps
from sprayroof.evidence.times import standard_offset_h
from sprayroof.evidence.weather_files import plausibility
from sprayroof.evidence.weather_files.air import LAPSE_K_M, humidity_from_dew, pressure_at_height, standard_pressure_Pa
from sprayroof.evidence.weather_files.cloud_layers import BASES, COVERS, has_layers, layer_words, settle_layers
from sprayroof.evidence.weather_files.hourly import read_station_file
from sprayroof.evidence.weather_files.rain_column import rain_of_column
from sprayroof.evidence.weather_files.rain_records import lay_rain_record
from sprayroof.evidence.weather_files.station import StationRecord
from sprayroof.evidence.weather_files.sun import sun_at
from sprayroof.evidence.weather_files.table import read_weather_table
from sprayroof.results import Finding

if TYPE_CHECKING:
    import pandas as pd

    from sprayroof.evidence.site import Site

COLUMNS = (
    "t_air_C",
    "t_dew_C",
    "humidity_frac",
    "pressure_Pa",
    "wind_m_s",
    "cloud_frac",
    "long_wave_W_m2",
    "solar_W_m2",
    "rain_mm",
    "sun_elevation_deg",
    "solar_hour_h",
)
LONG_WAVE_LOW_W_m2 = 50.0
LONG_WAVE_HIGH_W_m2 = 600.0


@dataclass(frozen=True)
class Weather:
    """The weather a simulation runs through.

    Parameters
    ----------
    table : DataFrame
        Columns `COLUMNS`; regular UTC index, interval means (rain: sums) labelled at the interval's start. Wind is as
        measured at the station's height; pressure is at the site's height; `cloud_frac` and `long_wave_W_m2` are NaN
        where unknown. Where the file tells cloud by layers, also their covers as seen from the ground and their bases
        (`cloud_layers.COVERS` and `BASES`), NaN where unknown.
    names : dict
        What was used: "file", "kind", "place", "long_wave", "cloud", "rain", "pressure", "interpolation" (texts) and
        "typical_year" (bool).
    findings : list of Finding
    inputs : list of dict
        file, sha256, rows, span, use.
    """

    table: pd.DataFrame
    names: dict[str, Any]
    findings: list[Finding] = field(default_factory=list)
    inputs: list[dict[str, Any]] = field(default_factory=list)


def read_weather(site: Site) -> Weather:
    """The weather that `site.weather` names.

    Parameters
    ----------
    site : Site
        As read by `read_site`.

    Raises
    ------
    WeatherProblems
        The file is not there or cannot be read, holds impossible values or gaps longer than 6 h, or covers no year.
    """
    gather = Gather()
    inputs: list[dict[str, Any]] = []
    step_s = _step_s(site, gather)
    record = _record(site, gather, inputs)
    gather.stop_if_problems()
    assert record is not None  # a reader that gives no record has told a problem
    _settle(record, site, gather)
    names = {"file": record.where, "kind": record.kind, "place": record.place, "typical_year": record.typical}
    hourly_rain, names["rain"] = _rain_of_file(record, site, gather)
    long_wave, names["long_wave"] = _long_wave(record, site, gather)
    cloud, cloud_words = plausibility.joined_cloud(record, not np.isnan(long_wave).any(), gather)
    names["cloud"] = layer_words(record, cloud_words)
    gather.stop_if_problems()
    table = _table(record, site, step_s, cloud, long_wave, hourly_rain, names, gather)
    if site.weather.rain is not None:
        table["rain_mm"], names["rain"] = lay_rain_record(
            table.index, step_s, record.utc_offset_h, record.typical, site, gather, inputs
        )
    may_spray = in_season(table.index, site) & (table["t_air_C"].to_numpy() > site.controls.lockout_frost_C)
    plausibility.check_sky_limits(table, may_spray, site.place.elevation_m, record.where, gather)
    gather.stop_if_problems()
    return Weather(table, names, gather.findings, inputs)


def _step_s(site: Site, gather: Gather) -> int:
    step_min = site.weather.step_min
    if step_min <= 0 or 60 % step_min:
        gather.problem(
            "site file, weather.step",
            f"{step_min:g}",
            "a whole number of minutes that divides 60",
            "write 10, or one of 1, 2, 3, 4, 5, 6, 12, 15, 20, 30, 60",
        )
        return 3600
    return int(step_min * 60)


def _record(site: Site, gather: Gather, inputs: list[dict[str, Any]]) -> StationRecord | None:
    file = read_evidence(site.folder, site.weather.file, site.weather.package, "weather.file", gather)
    if file is None:
        return None
    if site.weather.format == "table":
        record, span = read_weather_table(file, site, gather)
    else:
        record = read_station_file(file, site.weather.format, gather)
        span = _span(record) if record is not None else ""
        if record is not None:
            _check_zone(record, site, gather)
    if record is not None:
        inputs.append(file.entry(int((record.lines > 0).sum()), span, "weather"))
    return record


def _check_zone(record: StationRecord, site: Site, gather: Gather) -> None:
    """Hourly weather files state their own standard time; a declared zone that differs is a problem."""
    declared = site.weather.time_zone
    if declared is None:
        return
    offset_h = standard_offset_h(declared, record.years[-1] if record.years else 2001)
    if abs(offset_h - record.utc_offset_h) > 0.01:
        gather.problem(
            "site file, weather.time_zone",
            f"{declared} is UTC{offset_h:+g} h, the header of {record.where} says UTC{record.utc_offset_h:+g} h",
            "one statement of the file's clock",
            "remove weather.time_zone",
        )


def _span(record: StationRecord) -> str:
    if record.typical:
        years = f"months of {record.years[0]} to {record.years[-1]}" if len(record.years) > 1 else "nominal year"
        return f"typical year ({years})"
    import pandas as pd

    shift = pd.Timedelta(hours=record.utc_offset_h)
    end = record.start + pd.Timedelta(seconds=record.interval_s * len(record))
    return f"{(record.start + shift):%Y-%m-%d %H:%M} to {(end + shift):%Y-%m-%d %H:%M}"


def _settle(record: StationRecord, site: Site, gather: Gather) -> None:
    """Everything about the record that can be said before it is carried to the step."""
    if record.typical:
        gather.finding(
            "weather.typical-year",
            f"{record.where} is a {_span(record)}, not the weather of any one year.",
            record.where,
            {"years": list(record.years)},
            "Results are those of a typical year; a single year may differ by more than the range shown.",
        )
    plausibility.check_ranges(record, gather)
    if gather.problems:
        return
    plausibility.check_constant(record, gather)
    plausibility.check_octas(record, gather)
    plausibility.settle_humidity(record, gather)
    plausibility.fill_gaps(record, gather)
    settle_layers(record, gather)
    plausibility.check_pressure_level(record, gather)
    place = site.place
    plausibility.check_distance(record, place.latitude_deg, place.longitude_deg, place.elevation_m, gather)


# --- rain and long-wave ------------------------------------------------------------------------------------------


def _rain_of_file(record: StationRecord, site: Site, gather: Gather) -> tuple[np.ndarray, str]:
    if site.weather.rain is not None:
        return np.zeros(len(record)), "another record"
    unit = site.weather.rain_unit
    if record.kind == "table" and unit != "none":
        unit = "mm"  # the column's own unit was declared, and it was converted when it was read
    return rain_of_column(record, unit, gather)


def _long_wave(record: StationRecord, site: Site, gather: Gather) -> tuple[np.ndarray, str]:
    """Long-wave from the sky [W/m2, NaN where it is left to the model], and what it is."""
    wanted = site.weather.long_wave
    model = "model"
    unknown = np.full(len(record), np.nan)
    values = record.channel("long_wave_W_m2").copy()
    if wanted == "model" or (wanted == "auto" and record.kind != "table") or np.isnan(values).all():
        if wanted == "column" and np.isnan(values).all():
            gather.problem(
                "site file, weather.long_wave",
                f'"column", but {record.where} has no long-wave radiation',
                "a file with that column",
                'remove the entry, or set it to "model"',
            )
        return unknown, model
    with np.errstate(invalid="ignore"):
        odd = (values < LONG_WAVE_LOW_W_m2) | (values > LONG_WAVE_HIGH_W_m2)
    if odd.any():
        values[odd] = np.nan
        gather.finding(
            "weather.long-wave-implausible",
            f"The long-wave radiation of {record.where} lies outside "
            f"{LONG_WAVE_LOW_W_m2:g} to {LONG_WAVE_HIGH_W_m2:g} W/m2 in {count_of(int(odd.sum()), 'record')} (first at "
            f"{record.when(int(odd.argmax()))}); the sky model is used there.",
            record.where,
            {"records": int(odd.sum())},
        )
        values = fill_short(values, record.interval_s, record.typical, longest_h=1.0)
    if record.kind == "table":
        return values, f"measured column of {record.where}"
    gather.finding(
        "weather.long-wave-modelled",
        f"The horizontal infrared column of {record.where} is used as asked. In files of "
        "this form it is nearly always another model's output, cloud included, not a measurement.",
        record.where,
        {},
        "The sky is as sure as that model, and no cloud correction is added.",
    )
    return values, f"column of {record.where} (most likely another model's output)"


# --- to the step -------------------------------------------------------------------------------------------------


def _table(
    record: StationRecord,
    site: Site,
    step_s: int,
    cloud: np.ndarray,
    long_wave: np.ndarray,
    rain: np.ndarray,
    names: dict[str, Any],
    gather: Gather,
) -> pd.DataFrame:
    import pandas as pd

    count = len(record) * record.interval_s // step_s
    index = pd.date_range(record.start, periods=count, freq=pd.Timedelta(seconds=step_s), name="time")
    place = site.place
    elevation_deg, solar_hour_h = sun_at(
        index + pd.Timedelta(seconds=step_s / 2), place.latitude_deg, place.longitude_deg, place.elevation_m
    )
    air = _carried(record, "t_air_C", record.channel("t_air_C"), step_s)
    dew = np.minimum(_carried(record, "t_dew_C", record.channel("t_dew_C"), step_s), air)
    sun_share = np.maximum(np.sin(np.radians(elevation_deg)), 0.0)
    solar = np.nan_to_num(record.channel("solar_W_m2"))
    if "solar_W_m2" not in record.values or np.isnan(record.channel("solar_W_m2")).all():
        gather.finding(
            "weather.solar-absent", f"{record.where} has no solar radiation; it is taken as none.", record.where
        )
    names["interpolation"] = _rule(record)
    layered = (*COVERS, *BASES) if has_layers(record) else ()
    layers = {name: _carried(record, name, record.channel(name), step_s) for name in layered}
    return pd.DataFrame(
        {
            "t_air_C": air,
            "t_dew_C": dew,
            "humidity_frac": np.clip(humidity_from_dew(air, dew), 0.0, 1.0),
            "pressure_Pa": _site_pressure(record, site, air, step_s, names, gather),
            "wind_m_s": _carried(record, "wind_m_s", record.channel("wind_m_s"), step_s),
            "cloud_frac": np.clip(_carried(record, "cloud_opaque_frac", cloud, step_s), 0.0, 1.0),
            "long_wave_W_m2": _carried(record, "long_wave_W_m2", long_wave, step_s),
            "solar_W_m2": amounts_to_steps(solar * record.interval_s, record.interval_s, step_s, sun_share) / step_s,
            "rain_mm": amounts_to_steps(rain, record.interval_s, step_s),
            "sun_elevation_deg": elevation_deg,
            "solar_hour_h": solar_hour_h,
            **layers,
        },
        index=index,
        columns=[*COLUMNS, *layers],
    )


def _carried(record: StationRecord, channel: str, values: np.ndarray, step_s: int) -> np.ndarray:
    if record.timing(channel) == "instant":
        return instants_to_steps(values, record.interval_s, step_s, record.typical)
    return means_to_steps(values, record.interval_s, step_s)


def _rule(record: StationRecord) -> str:
    if record.kind == "table":
        return "records are interval means: longer than the step a straight line between middles, shorter ones averaged"
    return (
        "readings stand at the end of the hour with a straight line between them; sun is spread over its hour by the "
        "sun's height, rain evenly"
    )


def _site_pressure(
    record: StationRecord, site: Site, t_air_C: np.ndarray, step_s: int, names: dict[str, Any], gather: Gather
) -> np.ndarray:
    """Pressure at the site's height on the step [Pa]."""
    site_m = site.place.elevation_m
    known = record.channel("pressure_Pa")
    if np.isnan(known).all():
        names["pressure"] = f"standard atmosphere at {site_m:.0f} m"
        gather.finding(
            "weather.pressure-absent",
            f"{record.where} has no pressure; that of the standard atmosphere at {site_m:.0f} m was taken.",
            record.where,
            {"pressure_Pa": standard_pressure_Pa(site_m)},
        )
        return np.full(len(t_air_C), standard_pressure_Pa(site_m))
    pressure = _carried(record, "pressure_Pa", known, step_s)
    station_m = site_m if record.elevation_m is None else record.elevation_m
    if plausibility.pressure_is_of_sea_level(record):
        names["pressure"] = f"reduced to sea level in the file, carried to {site_m:.0f} m"
        gather.finding(
            "weather.pressure-sea-level",
            f"The pressure of {record.where} averages {np.mean(pressure) / 100:.0f} hPa at "
            f"{station_m:.0f} m: it is reduced to sea level, and was carried to the site's height from there.",
            record.where,
            {"mean_Pa": float(np.mean(pressure))},
        )
        return pressure_at_height(pressure, t_air_C + LAPSE_K_M * station_m, site_m)
    if record.elevation_m is None:
        names["pressure"] = "as in the file (its station taken to be at the site's height)"
        return pressure
    names["pressure"] = f"station at {station_m:.0f} m, carried to {site_m:.0f} m"
    return pressure_at_height(pressure, t_air_C, site_m - station_m)


def in_season(index: pd.DatetimeIndex, site: Site) -> np.ndarray:
    """True for steps between `controls.season_from` and `season_to` (both days included), by the site's calendar."""
    local = index.tz_convert(site.place.time_zone)
    day = local.month.to_numpy() * 100 + local.day.to_numpy()
    first, last = (_month_day(when) for when in (site.controls.season_from, site.controls.season_to))
    return (day >= first) & (day <= last) if first <= last else (day >= first) | (day <= last)


def _month_day(when: Any) -> int:
    month, day = (int(part) for part in str(when).split("-"))
    return month * 100 + day
