"""Weather and clock on the step, made ready for the loop: all that is the same for every member.

Roof-height wind, emissivities and schedules are worked out here once, with the functions of `physics`.
"""

from __future__ import annotations

from collections import namedtuple
from typing import Any

import numpy as np
import pandas as pd

from sprayroof.evidence.weather_files.cloud_layers import BASES, COVERS
from sprayroof.model.records import DRIVER, MAX_USES
from sprayroof.physics import convection, moistair, sky
from sprayroof.physics.clouds import (
    clear_sun_kasten_czeplak_W_m2,
    cloud_effect_layers_frac,
    cloud_kasten_czeplak_frac,
    night_cloud_frac,
)
from sprayroof.physics.constants import (
    CLOUD_BASE_HIGH,
    CLOUD_BASE_LOW,
    CLOUD_BASE_MIDDLE,
    CLOUD_BASE_PRIOR,
    CLOUD_OPAQUE_EMISSIVITY,
    CLOUD_THIN_EMISSIVITY,
    KELVIN,
    LEWIS_EXPONENT,
    SOIL_DIFFUSIVITY,
)
from sprayroof.physics.convection_rivals import CONVECTION
from sprayroof.physics.ground import ground_temperature_between_C

LAYERED = "martin_berdahl"  # the one cloud formula that knows of heights
CLOUD_UNKNOWN = 0.5
SMOOTH = 1.0  # each roof's roughness comes in `members`
LEAST_SUN_DEG = 10.0  # lower sun tells little of the clouds
LEAST_CLOUD_DOUBT = 0.3  # of a report of clear or overcast, beside one of half cover


def drivers(site: Any, weather: Any, load_W: np.ndarray | None = None) -> np.ndarray:
    """One `DRIVER` record a step.

    Parameters
    ----------
    site : Site
        The site file.
    weather : Weather
        Its `.table` on the simulation step.
    load_W : (steps,) array, optional
        Metered building load [W].

    Returns
    -------
    (steps,) structured array
    """
    table = weather.table
    record = np.zeros(len(table), DRIVER)
    _air(record, table)
    _sky(record, table)
    local = table.index.tz_convert(site.place.time_zone)
    _clock(record, site, local)
    _load(record, site, table, local, load_W)
    record["t_mains_C"] = _mains_temperature(site, local)
    seconds = ((local.day_of_year - 1) * 86400.0 + hours_of_day(local) * 3600.0).to_numpy(dtype=float)
    depth, half = site.store.depth_m.value, 0.5 * site.store.height_m.value
    record["ground_wave"] = ground_temperature_between_C(
        max(0.0, depth - half), depth + half, seconds, 0.0, 1.0, site.store.coldest_day * 86400.0, SOIL_DIFFUSIVITY)
    return record


Formulas = namedtuple("Formulas", "clear cloud forced_1m_W_m2K")


def formulas_of(site: Any, weather: Any, rivals: dict[str, list[str]]) -> Formulas:
    """What each formula makes of every step.

    Parameters
    ----------
    site, weather
        Site file and weather.
    rivals : dict of str to list of str
        Names by kind ("sky_model", "cloud_model", "convection_model"), see `members.rivals`.

    Returns
    -------
    Formulas
        Clear-sky emissivity [1], cloud effect [1], forced convection over one metre [W/(m2 K)]: (steps, formulas) each.
    """
    return Formulas(clear_sky(site, weather, rivals["sky_model"]), cloud_effects(site, weather, rivals["cloud_model"]),
                    forced_one_metre(site, weather, rivals["convection_model"]))


def clear_sky(site: Any, weather: Any, models: list[str]) -> np.ndarray:
    """Clear-sky emissivity of each model, (steps, models)."""
    table = weather.table
    t_air, t_dew = table["t_air_C"].to_numpy(), table["t_dew_C"].to_numpy()
    e_Pa = moistair.saturation_pressure_Pa(t_dew)
    return np.ascontiguousarray(np.stack([
        sky.CLEAR_SKY[model](t_air, t_dew, e_Pa, table["pressure_Pa"].to_numpy(), table["solar_hour_h"].to_numpy())
        for model in models
    ], axis=1))


def forced_one_metre(site: Any, weather: Any, models: list[str]) -> np.ndarray:
    """Forced convection of each model for the station's wind over one smooth metre [W/(m2 K)], (steps, models)."""
    table = weather.table
    t, p = table["t_air_C"].to_numpy(), table["pressure_Pa"].to_numpy()
    w = moistair.vapour_mass_fraction(moistair.saturation_pressure_Pa(table["t_dew_C"].to_numpy()), p)
    viscosity = moistair.air_viscosity_Pa_s(t) / moistair.air_density_kg_m3(t, w, p)
    conductivity, wind = moistair.air_conductivity_W_mK(t), table["wind_m_s"].to_numpy()
    return np.ascontiguousarray(np.stack([
        CONVECTION[model].function(wind, 1.0, conductivity, viscosity, SMOOTH) for model in models], axis=1))


def cloud_cover(table: pd.DataFrame) -> np.ndarray:
    """Cloud cover of every step: as reported, else from the day's sun carried into the night, else half."""
    reported = table["cloud_frac"].to_numpy(dtype=float)
    if np.isfinite(reported).all():
        return reported
    height = table["sun_elevation_deg"].to_numpy()
    clear_sun = clear_sun_kasten_czeplak_W_m2(height)
    high = (height > LEAST_SUN_DEG) & (clear_sun > 0.0)
    clearness = table["solar_W_m2"].to_numpy() / np.where(high, clear_sun, 1.0)
    by_sun = np.full(reported.size, np.nan)
    if table["solar_W_m2"].max() > 0.0:
        by_sun[high] = cloud_kasten_czeplak_frac(clearness[high])
    carried = night_cloud_frac(by_sun, height, LEAST_SUN_DEG)
    known = np.where(np.isfinite(reported), reported, carried)
    return np.where(np.isfinite(known), known, CLOUD_UNKNOWN)


def cloud_effects(site: Any, weather: Any, models: list[str]) -> np.ndarray:
    """Cloud effect of each cloud model, (steps, models), on the site's clear-sky formula."""
    clear = clear_sky(site, weather, [site.weather.sky_model])[:, 0]
    cloud, layered = cloud_cover(weather.table), layered_effect(weather.table)
    effects = {model: sky.CLOUDS[model](clear, cloud, CLOUD_BASE_PRIOR) for model in models}
    if LAYERED in effects:
        effects[LAYERED] = np.where(np.isfinite(layered), layered, effects[LAYERED])
    return np.ascontiguousarray(np.stack(list(effects.values()), axis=1))


def layered_effect(table: pd.DataFrame) -> np.ndarray:
    """Cloud effect [1] by layers and their heights, (steps,); NaN where the weather does not tell all layers."""
    if not set(COVERS) <= set(table.columns):
        return np.full(len(table), np.nan)
    standard = np.array([[CLOUD_BASE_LOW], [CLOUD_BASE_MIDDLE], [CLOUD_BASE_HIGH]])
    emissivity = np.array([[CLOUD_OPAQUE_EMISSIVITY], [CLOUD_OPAQUE_EMISSIVITY], [CLOUD_THIN_EMISSIVITY]])
    covers, bases = (np.stack([table[name].to_numpy(dtype=float) for name in names]) for names in (COVERS, BASES))
    return cloud_effect_layers_frac(covers, emissivity, np.where(np.isfinite(bases), bases, standard))


def _air(record: np.ndarray, table: pd.DataFrame) -> None:
    t, p = table["t_air_C"].to_numpy(), table["pressure_Pa"].to_numpy()
    e_Pa = moistair.saturation_pressure_Pa(table["t_dew_C"].to_numpy())
    w = moistair.vapour_mass_fraction(e_Pa, p)
    record["t_air_C"], record["w_air"], record["pressure_Pa"] = t, w, p
    p_sat = moistair.saturation_pressure_Pa(t)
    record["dw_dt_1_K"] = moistair.saturation_slope_1_K(t)
    record["dw_dhumidity"] = moistair.vapour_mass_fraction(p_sat, p)
    record["tv_air_K"] = moistair.virtual_temperature_K(t, w)
    record["t_wetbulb_C"] = moistair.wet_bulb_C(t, moistair.humidity_ratio(e_Pa, p), p)
    density = moistair.air_density_kg_m3(t, w, p)
    viscosity = moistair.air_viscosity_Pa_s(t) / density
    conductivity = moistair.air_conductivity_W_mK(t)
    wind = table["wind_m_s"].to_numpy()
    record["wind_station_m_s"] = wind
    record["density_kg_m3"], record["conductivity_W_mK"], record["viscosity_m2_s"] = density, conductivity, viscosity
    record["unstable_cubed"] = convection.natural_unstable_cubed(conductivity, viscosity, record["tv_air_K"])
    record["lewis_per_cp"] = moistair.lewis_number(t, w, p) ** -LEWIS_EXPONENT / moistair.air_heat_capacity_J_kgK(w)
    record["rain_mm"], record["solar_W_m2"] = table["rain_mm"], table["solar_W_m2"]


def _sky(record: np.ndarray, table: pd.DataFrame) -> None:
    cloud = cloud_cover(table)
    # a report of clear or overcast is surer than one of half cover
    record["cloud_doubt"] = np.maximum(LEAST_CLOUD_DOUBT, 2.0 * np.sqrt(np.clip(cloud * (1.0 - cloud), 0.0, 0.25)))
    t_air = table["t_air_C"].to_numpy()
    record["black_air_W_m2"] = sky.black_flux_W_m2(t_air)
    record["black_slope_W_m2K"] = 4.0 * record["black_air_W_m2"] / (t_air + KELVIN)
    longwave = table["long_wave_W_m2"].to_numpy()
    record["has_longwave"] = np.isfinite(longwave)
    record["longwave_W_m2"] = np.nan_to_num(longwave)


def hours_of_day(local: pd.DatetimeIndex) -> np.ndarray:
    """Local clock time of the intervals' starts [h]."""
    return (local.hour + local.minute / 60.0).to_numpy(dtype=float)


def in_window(hours: np.ndarray, start_h: float, end_h: float) -> np.ndarray:
    """Whether clock times lie in a window that may pass midnight."""
    if start_h < end_h:
        return (hours >= start_h) & (hours < end_h)
    return (hours >= start_h) | (hours < end_h)


def in_season(local: pd.DatetimeIndex, first: Any, last: Any) -> np.ndarray:
    """Whether dates lie in a season, both days included, that may pass the year's end."""
    day = (local.month * 100 + local.day).to_numpy()
    start, end = first.month * 100 + first.day, last.month * 100 + last.day
    return (day >= start) & (day <= end) if start <= end else (day >= start) | (day <= end)


def on_days(local: pd.DatetimeIndex, days: str) -> np.ndarray:
    """Whether dates belong to "all", "weekdays" or "weekends"."""
    weekend = (local.day_of_week >= 5)
    return {"all": np.ones(len(local), bool), "weekdays": ~weekend, "weekends": weekend}[days]


def night_dates(site: Any, index: pd.DatetimeIndex) -> np.ndarray:
    """The night each interval belongs to: the date on which it began, noon to noon of local mean solar time."""
    solar = index.tz_convert("UTC") + pd.Timedelta(hours=site.place.longitude_deg / 15.0 - 12.0)
    return np.asarray(solar.date)


def uses_in_order(site: Any) -> list[Any]:
    """The other users of the water, first served first."""
    return sorted(site.use, key=lambda use: use.priority)[:MAX_USES]


def _window_of(entry: Any, local: pd.DatetimeIndex) -> np.ndarray:
    return in_window(hours_of_day(local), entry.from_h, entry.to_h) & on_days(local, entry.days)


def _clock(record: np.ndarray, site: Any, local: pd.DatetimeIndex) -> None:
    controls = site.controls
    hours = hours_of_day(local)
    record["spray_season"] = in_season(local, controls.season_from, controls.season_to)
    record["spray_clock"] = record["spray_season"] * in_window(hours, controls.window_from_h,
                                                               controls.window_to_h)
    for number, use in enumerate(uses_in_order(site)):
        open_now = _window_of(use, local)
        a_day = pd.Series(open_now).groupby(np.asarray(local.date)).transform("sum").to_numpy(dtype=float)
        record["use_share"][:, number] = np.where(open_now, 1.0 / np.maximum(a_day, 1.0), 0.0)
    if site.booster is not None:
        record["booster_clock"] = in_window(hours, site.booster.from_h, site.booster.to_h)
    dates = pd.Index(local.date)
    record["day"] = pd.factorize(dates)[0]
    record["night"] = pd.factorize(pd.Index(night_dates(site, local)))[0]


def _load(record: np.ndarray, site: Any, table: pd.DataFrame, local: pd.DatetimeIndex,
          load_W: np.ndarray | None) -> None:
    load = site.load
    lag_steps = max(1, round(load.lag_h.value * 60.0 / site.weather.step_min))
    record["t_load_C"] = table["t_air_C"].rolling(lag_steps, min_periods=1).mean().to_numpy()
    record["load_hours"] = _window_of(load, local) & in_season(local, load.season_from, load.season_to)
    if load_W is not None:
        record["load_W"], record["load_hours"] = load_W, 1.0


def _mains_temperature(site: Any, local: pd.DatetimeIndex) -> np.ndarray:
    months = np.asarray([float(value) for value in site.mains.temperature_C], dtype=float)
    middle = local.month.to_numpy() - 0.5 + (local.day.to_numpy() - 15.0) / 30.4
    positions = np.arange(-0.5, 13.0, 1.0) + 0.0
    return np.interp(middle, positions, np.concatenate([months[-1:], months, months[:1]]))
