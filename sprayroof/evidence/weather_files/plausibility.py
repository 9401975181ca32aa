"""Is a weather record believable? Ranges stop, doubts are told."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.gather import Gather, count_of, some_of
from sprayroof.evidence.steps import fill_short, runs
from sprayroof.evidence.weather_files.air import SEA_LEVEL_PA, standard_pressure_Pa
from sprayroof.evidence.weather_files.cloud_layers import BASES, COVERS
from sprayroof.evidence.weather_files.station import LABELS, StationRecord

if TYPE_CHECKING:
    import pandas as pd

# channel -> lowest and highest believable value in the channel's unit, unit for print
LIMITS = {
    "t_air_C": (-60.0, 60.0, "degC"),
    "t_dew_C": (-80.0, 40.0, "degC"),
    "humidity_frac": (0.0, 1.05, "as a fraction"),
    "pressure_Pa": (50000.0, 110000.0, "Pa"),
    "wind_m_s": (0.0, 60.0, "m/s"),
    "cloud_opaque_frac": (0.0, 1.0, "as a fraction"),
    "cloud_total_frac": (0.0, 1.0, "as a fraction"),
    **{name: (0.0, 1.0, "as a fraction") for name in COVERS},
    **{name: (0.0, 20000.0, "m") for name in BASES},
    "solar_W_m2": (-20.0, 1600.0, "W/m2"),
}
# what hourly weather files print instead of a fraction, so that messages show what the auditor sees
IN_FILE = {"humidity_frac": (100.0, "%"), "cloud_opaque_frac": (10.0, "tenths"), "cloud_total_frac": (10.0, "tenths")}
NEEDED = ("t_air_C", "t_dew_C", "wind_m_s")
MANY_FILLED_FRAC = 0.05
FAR_KM = 30.0
ELSEWHERE_KM = 1000.0  # no weather file stands for a place so far away
FAR_M = 200.0
HIGH_M = 1500.0
FROST_NIGHT_FRAC = 0.05
EARTH_RADIUS_KM = 6371.0


def check_ranges(record: StationRecord, gather: Gather) -> None:
    """A problem for each channel with values outside `LIMITS`, naming the lines."""
    for channel, (low, high, unit) in LIMITS.items():
        values = record.channel(channel)
        with np.errstate(invalid="ignore"):
            outside = np.flatnonzero((values < low - 1e-9) | (values > high + 1e-9))
        if len(outside):
            factor, shown_unit = (1.0, unit) if record.kind == "table" else IN_FILE.get(channel, (1.0, unit))
            seen = some_of([f"{values[at] * factor:g} at {record.when(at)}" for at in outside])
            gather.problem(
                f"{record.where}, {LABELS[channel]}",
                seen,
                f"values from {low * factor:g} to {high * factor:g} {shown_unit}",
                "correct or empty these cells, or correct the declared unit",
            )


def check_constant(record: StationRecord, gather: Gather) -> None:
    """A doubt for each channel that never changes although weather does."""
    for channel in (
        "t_air_C",
        "t_dew_C",
        "humidity_frac",
        "pressure_Pa",
        "wind_m_s",
        "cloud_opaque_frac",
        "cloud_total_frac",
        *COVERS,
    ):
        values = record.channel(channel)
        known = values[np.isfinite(values)]
        if len(known) > 48 and np.ptp(known) == 0.0:
            gather.finding(
                "weather.constant-column",
                f"The {LABELS[channel]} of {record.where} is {known[0]:g} {LIMITS[channel][2]} throughout: a filled-in "
                "value, not a reading.",
                record.where,
                {"channel": channel, "value": float(known[0])},
            )


def check_octas(record: StationRecord, gather: Gather) -> None:
    """A doubt where sky cover in tenths reaches exactly 8 and never more: it may be octas."""
    if record.kind == "table":
        return
    for channel in ("cloud_opaque_frac", "cloud_total_frac"):
        values = record.channel(channel)
        known = values[np.isfinite(values)]
        if len(known) > 1000 and abs(known.max() - 0.8) < 1e-9 and np.mean(known > 0.79) > 0.02:
            gather.finding(
                "weather.cloud-octas",
                f"The {LABELS[channel]} of {record.where} never exceeds 8 tenths but stands at "
                "8 often: it may be in eighths.",
                record.where,
                {"channel": channel},
                "Cloud read a fifth too thin lets the model cool too much.",
            )


def settle_humidity(record: StationRecord, gather: Gather) -> None:
    """Give the record one dew point, never above air temperature.

    The dew point of the file stands; where it is missing it is found from the humidity.
    """
    from sprayroof.evidence.weather_files.air import dew_from_humidity

    air, dew, humidity = (record.channel(name) for name in ("t_air_C", "t_dew_C", "humidity_frac"))
    over = np.flatnonzero(humidity > 1.0)
    if len(over):
        gather.finding(
            "weather.humidity-over-100",
            f"{record.where} gives a humidity above 100 % in "
            f"{count_of(len(over), 'record')} (up to {100 * humidity[over].max():.1f} %); it was read as 100 %.",
            record.where,
            {"records": len(over)},
        )
    from_humidity = dew_from_humidity(air, np.clip(humidity, 0.0, 1.0))
    dew = np.where(np.isnan(dew), from_humidity, dew)
    above = np.flatnonzero(dew > air + 0.5)
    if len(above):
        gather.finding(
            "weather.dew-above-air",
            f"The dew point of {record.where} lies above the air temperature in "
            f"{count_of(len(above), 'record')} (by up to {np.max((dew - air)[above]):.1f} K, first at "
            f"{record.when(above[0])}); it was set to the air temperature.",
            record.where,
            {"records": len(above)},
        )
    record.values["t_dew_C"] = np.where(np.isnan(air), dew, np.minimum(dew, air))
    record.values.pop("humidity_frac", None)


def fill_gaps(record: StationRecord, gather: Gather) -> None:
    """Bridge short gaps, tell them, and name longer ones: problems for what the model needs, missing for cloud."""
    left: dict[str, list[str]] = {}
    for channel in list(record.values):
        if channel == "rain_mm" or channel in BASES:  # where there is no cloud there is no base
            continue
        values = record.values[channel]
        if channel not in NEEDED and np.isnan(values).all():
            continue
        filled = fill_short(values, record.interval_s, record.typical)
        record.values[channel] = filled
        _tell_filled(record, LABELS[channel], channel, values, filled, gather)
        if not channel.startswith("cloud") and channel != "long_wave_W_m2":  # those are told where they are chosen
            left.setdefault(_gaps_left(record, filled), []).append(LABELS[channel])
    for gaps, channels in left.items():
        if gaps:
            gather.problem(
                f"{record.where}, {', '.join(channels)}",
                f"missing {gaps}",
                "no gap longer than 6 h",
                "fill the gap from a neighbouring station, or use another file",
            )


def _tell_filled(
    record: StationRecord, label: str, channel: str, before: np.ndarray, after: np.ndarray, gather: Gather
) -> None:
    filled = np.flatnonzero(np.isnan(before) & ~np.isnan(after))
    if not len(filled):
        return
    share = len(filled) / len(before)
    code = "weather.many-gaps" if share > MANY_FILLED_FRAC else "weather.gaps-filled"
    gather.finding(
        code,
        f"The {label} of {record.where} is missing in {count_of(len(filled), 'record')} ({100 * share:.1f} %), "
        f"first at {record.when(filled[0])}; gaps of up to 6 hours were bridged by a straight line.",
        record.where,
        {"channel": channel, "records": len(filled), "first": record.when(filled[0]), "last": record.when(filled[-1])},
    )


def _gaps_left(record: StationRecord, values: np.ndarray) -> str:
    hours = record.interval_s / 3600.0
    return some_of(
        [
            f"{(stop - start) * hours:g} h from {record.when(start)} to {record.when(stop - 1)}"
            for start, stop in runs(np.isnan(values))
        ]
    )


def joined_cloud(record: StationRecord, sky_is_measured: bool, gather: Gather) -> tuple[np.ndarray, str]:
    """Sky cover [0..1, NaN where unknown] and what it was taken from: opaque where given, else total.

    Missing cover is told unless `sky_is_measured`: measured long-wave radiation needs no cloud.
    """
    opaque, total = record.channel("cloud_opaque_frac"), record.channel("cloud_total_frac")
    cloud = np.where(np.isnan(opaque), total, opaque)
    unknown = int(np.isnan(cloud).sum())
    if unknown and not sky_is_measured:
        gather.finding(
            "weather.cloud-missing",
            f"The sky cover of {record.where} is missing in {count_of(unknown, 'record')} of {len(cloud)}.",
            record.where,
            {"records": unknown, "of": len(cloud)},
            "There the cloud has to be assumed; the range of the cooling widens.",
        )
    if np.isnan(cloud).all():
        return cloud, "unknown"
    if np.isnan(opaque).all():
        return cloud, "total sky cover"
    from_total = int((np.isnan(opaque) & ~np.isnan(total)).sum())
    return cloud, "opaque sky cover" + (f", total in {count_of(from_total, 'record')}" if from_total else "")


def pressure_is_of_sea_level(record: StationRecord) -> bool:
    """True where a high station reports what only a place at the sea could."""
    known = record.channel("pressure_Pa")
    if record.elevation_m is None or record.elevation_m < 250.0 or np.isnan(known).all():
        return False
    mean = float(np.nanmean(known))
    return abs(mean - SEA_LEVEL_PA) < 1500.0 and mean - standard_pressure_Pa(record.elevation_m) > 1500.0


def check_pressure_level(record: StationRecord, gather: Gather) -> None:
    """A doubt where the mean pressure fits neither the station's height nor the sea."""
    known = record.channel("pressure_Pa")
    if record.elevation_m is None or np.isnan(known).all() or pressure_is_of_sea_level(record):
        return
    mean, expected = float(np.nanmean(known)), standard_pressure_Pa(record.elevation_m)
    if abs(mean - expected) > 3000.0:
        gather.finding(
            "weather.pressure-odd",
            f"The mean pressure of {record.where} is {mean / 100:.0f} hPa; at the station's "
            f"{record.elevation_m:.0f} m it should be near {expected / 100:.0f} hPa.",
            record.where,
            {"mean_Pa": mean, "expected_Pa": expected},
            "Evaporation changes by about as many percent as the pressure.",
        )


def check_distance(
    record: StationRecord, latitude_deg: float, longitude_deg: float, elevation_m: float, gather: Gather
) -> None:
    """A doubt where the station is more than 30 km or 200 m of height from the site."""
    if record.latitude_deg is None or record.longitude_deg is None or record.elevation_m is None:
        return
    away_km = distance_km(record.latitude_deg, record.longitude_deg, latitude_deg, longitude_deg)
    higher_m = record.elevation_m - elevation_m
    if away_km > FAR_KM or abs(higher_m) > FAR_M:
        gather.finding(
            "weather.station-far",
            f"The station of {record.where} ({record.place}) is {away_km:.0f} km from the site "
            f"and {abs(higher_m):.0f} m {'above' if higher_m >= 0 else 'below'} it."
            + _wrong_sign(record, latitude_deg, longitude_deg, away_km),
            record.where,
            {"distance_km": round(away_km, 1), "height_difference_m": round(higher_m, 1)},
            "Night temperature, humidity, wind and rain of the site may differ from the file's.",
        )


def _wrong_sign(record: StationRecord, latitude_deg: float, longitude_deg: float, away_km: float) -> str:
    """What to look at where the station lies in another part of the world ("" where it does not)."""
    if away_km <= ELSEWHERE_KM:
        return ""
    signs = {"longitude": (latitude_deg, -longitude_deg), "latitude": (-latitude_deg, longitude_deg)}
    for name, place in signs.items():
        turned_km = distance_km(record.latitude_deg, record.longitude_deg, *place)
        if turned_km <= ELSEWHERE_KM:
            return f" Check the sign of {name}: with the other sign it would be {turned_km:.0f} km."
    return " This is another part of the world: check the sign of longitude, the latitude, and the weather file."


def distance_km(latitude_a_deg: float, longitude_a_deg: float, latitude_b_deg: float, longitude_b_deg: float) -> float:
    """Great-circle distance [km] of two places [deg] on a sphere of 6371 km."""
    a, b = math.radians(latitude_a_deg), math.radians(latitude_b_deg)
    half_chord = (
        math.sin((b - a) / 2) ** 2
        + math.cos(a) * math.cos(b) * math.sin(math.radians(longitude_b_deg - longitude_a_deg) / 2) ** 2
    )
    return 2.0 * EARTH_RADIUS_KM * math.asin(min(1.0, math.sqrt(half_chord)))


def check_sky_limits(
    table: pd.DataFrame, may_spray: np.ndarray, elevation_m: float, where: str, gather: Gather
) -> None:
    """A doubt where the sky formulas are outside the conditions they were fitted to; none where long-wave was measured.

    Parameters
    ----------
    table : DataFrame
        The finished weather table.
    may_spray : ndarray of bool
        Steps inside the spraying season with air above the frost lock-out: frost at other times does no harm.
    elevation_m : float
        Of the site.
    """
    by_formula = np.isnan(table["long_wave_W_m2"].to_numpy())
    if not by_formula.any():
        return
    nights = may_spray & by_formula & (table["sun_elevation_deg"].to_numpy() < 0.0)
    frost = float(np.mean(table["t_air_C"].to_numpy()[nights] < 0.0)) if nights.any() else 0.0
    reasons = []
    if elevation_m > HIGH_M:
        reasons.append(f"the site lies at {elevation_m:.0f} m")
    if frost > FROST_NIGHT_FRAC:
        reasons.append(f"the air is below 0 degC in {100 * frost:.0f} % of the night hours fit for spraying")
    if reasons:
        gather.finding(
            "weather.sky-formula-limits",
            f"Here the sky formulas are less sure: {' and '.join(reasons)}.",
            where,
            {"elevation_m": elevation_m, "frost_night_frac": round(frost, 3)},
            "At high, cold places under an inversion measured long-wave radiation was 26 to 35 W/m2 above most "
            "formulas: cooling to the sky is then overstated.",
        )
