"""Nights metered above what their own weather allows are refused: flow, area or a sensor must be wrong (`refused`).

Everything not known is taken on the side that allows more: clear sky unless long-wave was logged, the stated flow and
area at the upper ends of their ranges, the warmest of the store's sensors, a cold building beneath. Drops come first
and the sheet takes the water from them, so what one gave off is not given off again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.weather_files.air import standard_pressure_Pa
from sprayroof.model.measured_amounts import Amount
from sprayroof.model.measured_heat import Heat
from sprayroof.model.measured_nights import Night, nights_of, weather_of
from sprayroof.model.measured_readings import Readings, SECOND_ns, sprayed
from sprayroof.model.measured_store import beside
from sprayroof.model.measured_totals import NightHeat, both_of
from sprayroof.model.site_tests import read_site_tests
from sprayroof.physics import bounds, convection, jet, moistair
from sprayroof.physics.constants import BOUND_EMISSIVITY_SD, CP_WATER, KELVIN, LEWIS_EXPONENT, VIRTUAL_FACTOR
from sprayroof.physics.sky import black_flux_W_m2

if TYPE_CHECKING:
    from sprayroof.evidence.logs import Logs
    from sprayroof.evidence.site import Site
    from sprayroof.evidence.weather import Weather

SLICE_S = 600.0
LEAST_KNOWN_FRAC = 0.9  # of the slices of a night must have their weather
MOST_RAIN_MM = 1.0  # more of it cools the water that comes off the roof, which no bound of the roof holds
KG_S_PER_L_MIN = 1.0 / 60.0
WHY = "more than the night's weather allows"


@dataclass(frozen=True)
class Refusal:
    """What was refused of a night.

    Parameters
    ----------
    date : str
        Of the night (ISO).
    cooling_kWh, bound_kWh : float
        The largest that was refused, and the most that the weather allows.
    by : str
        Way or ways that were refused, in words.
    counted_kWh : float or None
        What the other way told and now stands for the night; None where the night leaves the sum.
    refused_kWh : float
        By how much the night's part of the sum fell.
    """

    date: str
    cooling_kWh: float
    bound_kWh: float
    by: str
    counted_kWh: float | None
    refused_kWh: float


def refused(readings: Readings, nights: Sequence[Night],
            heats: Sequence[NightHeat]) -> tuple[list[NightHeat], list[Refusal]]:
    """The nights without the heat that their weather rules out, and what was refused.

    Parameters
    ----------
    readings : Readings
    nights : sequence of Night
    heats : sequence of NightHeat
        Of these nights, as metered.

    Returns
    -------
    list of NightHeat, list of Refusal
        A way of measuring is refused where its cooling, less its half-width, passes the bound; both are where only
        their mean does. The night counts by what is left, and leaves the sum where nothing is.
    """
    kept, found = [], []
    for night, heat in zip(nights, heats, strict=True):
        bound = None if heat.both is None else bound_judged_kWh(readings, night)
        left = heat if bound is None else possible(heat, bound)
        kept.append(left)
        if left is not heat:
            found.append(_refusal(night, heat, left, bound))
    return kept, found


def bound_judged_kWh(readings: Readings, night: Night) -> float | None:
    """Bound of a night; None where it cannot be judged."""
    if not night.sprays or (weather_of(readings, night)["rain_mm"] or 0.0) > MOST_RAIN_MM:
        return None
    return _bound_kWh(readings, night)


def possible(heat: NightHeat, bound_kWh: float) -> NightHeat:
    """A night's heat without what passes its bound; the same object where nothing does."""
    ways = (heat.pipe, heat.tank)
    gone = [_passes(one.kWh, bound_kWh) for one in ways]
    if not any(gone):
        if not _passes(heat.both, bound_kWh):
            return heat
        gone = [True, True]
    pipe, tank = (_without(one, bound_kWh) if above else one for one, above in zip(ways, gone, strict=True))
    return replace(heat, pipe=pipe, tank=tank, **both_of(pipe, tank))


def _passes(kWh: Amount | None, bound_kWh: float) -> bool:
    return kWh is not None and kWh.value - kWh.half_width > bound_kWh


def _without(heat: Heat, bound_kWh: float) -> Heat:
    if heat.kWh is None:
        return heat
    return Heat(None, (f"{WHY}: {heat.kWh.value:.0f} kWh of at most {bound_kWh:.0f}",))


def _refusal(night: Night, heat: NightHeat, left: NightHeat, bound_kWh: float) -> Refusal:
    gone = {way: before.kWh.value for way, before, after in (("flow and temperatures", heat.pipe, left.pipe),
                                                             ("the store's temperatures", heat.tank, left.tank))
            if before.kWh is not None and after.kWh is None}
    counted = None if left.both is None else left.both.value
    return Refusal(night.date.isoformat(), max(gone.values()), bound_kWh, " and by ".join(gone), counted,
                   heat.both.value - (counted or 0.0))


def bounds_of(site: Site, logs: Logs, weather: Weather | None = None) -> dict[str, float]:
    """The largest possible cooling of each night that sprayed and whose weather is known [kWh], by its date."""
    tests = read_site_tests(site, logs)
    readings = Readings(site, logs, tests, *sprayed(logs, tests.aside), weather)
    found = {night.date.isoformat(): _bound_kWh(readings, night) for night in nights_of(readings) if night.sprays}
    return {date: bound for date, bound in found.items() if bound is not None}


def _bound_kWh(readings: Readings, night: Night) -> float | None:
    t_water_C = _warmest_C(readings, night)
    air = _slices(readings, night)
    air["t_water_C"] = np.fmin(air["t_water_C"], np.inf if t_water_C is None else t_water_C)
    known = np.isfinite(air["t_C"] + air["humidity_frac"] + air["wind_m_s"])
    if t_water_C is None or known.mean() < LEAST_KNOWN_FRAC:
        return None
    area_m2 = sum(roof.area_m2.high for roof in readings.site.roof if roof.sprayed)
    flux = _flux_W_m2(readings.site, {name: values[known] for name, values in air.items()}, area_m2)
    ran = air["ran_frac"]
    # slices without weather are put at the mean of the others
    return bounds.night_bound_kWh(flux * ran[known], area_m2, SLICE_S) * float(ran.sum() / ran[known].sum())


def _warmest_C(readings: Readings, night: Night) -> float | None:
    """Warmest of the store's sensors before it sprayed, else the supply's first hour; its constant error on top.

    During the night the water is taken no warmer than this, and as the store's sensors follow it where they do.
    """
    before = beside(readings, night.spray.start, before=True)
    first_hour = slice(night.spray.start, night.spray.start + readings.steps_in(3600.0))
    for columns, steps in ((readings.columns_like("store_C"), before), (["supply_C"], first_hour)):
        means = [(readings.mean_of(column, steps), readings.offset(column)) for column in columns]
        known = [mean[0] + offset for mean, offset in means if mean is not None]
        if known:
            return max(known)
    return None


def _warmest_of_store_C(readings: Readings) -> np.ndarray:
    """The warmest sensor of the store in each step, its constant error on top; NaN where none was read."""
    warmest = np.full(len(readings.times_ns), np.nan)
    for column in readings.columns_like("store_C"):
        warmest = np.fmax(warmest, readings.column(column) + readings.offset(column))
    return warmest


def _slices(readings: Readings, night: Night) -> dict[str, np.ndarray]:
    """Weather of the night's slices in which it sprayed, and the share of each that it did."""
    steps = night.spray
    slices = (readings.times_ns[steps] - readings.times_ns[steps.start]) // round(SLICE_S * SECOND_ns)
    ran = np.bincount(slices, readings.running_frac[steps]) * readings.step_s / SLICE_S
    wet = ran > 0.0
    columns = {"t_C": ("air_C", "t_air_C"), "humidity_frac": ("humidity_frac", "humidity_frac"),
               "wind_m_s": ("wind_m_s", "wind_m_s")}
    read = {name: readings.weather_column(*both)[steps] for name, both in columns.items()}
    read["t_water_C"] = _warmest_of_store_C(readings)[steps]
    read["longwave_W_m2"] = readings.column("long_wave_W_m2")[steps]
    hours_h = (readings.times_ns[steps] / (3600.0 * SECOND_ns) + readings.site.place.longitude_deg / 15.0) % 24.0
    first = np.searchsorted(slices, np.arange(len(ran)))
    return {"ran_frac": ran[wet], "solar_hour_h": hours_h[np.minimum(first, len(hours_h) - 1)][wet],
            **{name: _means(slices, values, len(ran))[wet] for name, values in read.items()}}


def _means(slices: np.ndarray, values: np.ndarray, count: int) -> np.ndarray:
    """Mean of the known readings of each slice; NaN where there is none."""
    known = np.isfinite(values)
    number = np.bincount(slices[known], minlength=count)
    total = np.bincount(slices[known], values[known], minlength=count)
    return np.where(number > 0, total / np.maximum(number, 1), np.nan)


def _flux_W_m2(site: Site, air: dict[str, np.ndarray], area_m2: float) -> np.ndarray:
    """Largest flux of roof, drops and deck in each slice [W/m2]."""
    t_C, pressure_Pa = air["t_C"], standard_pressure_Pa(site.place.elevation_m)
    vapour_Pa = np.clip(air["humidity_frac"], 0.01, 1.0) * moistair.saturation_pressure_Pa(t_C)
    ratio = moistair.humidity_ratio(vapour_Pa, pressure_Pa)
    w_air = ratio / (1.0 + ratio)
    density = moistair.air_density_kg_m3(t_C, w_air, pressure_Pa)
    conductivity, viscosity = moistair.air_conductivity_W_mK(t_C), moistair.air_viscosity_Pa_s(t_C) / density
    lewis = moistair.lewis_number(t_C, w_air, pressure_Pa) ** -LEWIS_EXPONENT / moistair.air_heat_capacity_J_kgK(w_air)
    unstable = convection.natural_unstable_cubed(conductivity, viscosity,
                                                 (t_C + KELVIN) * (1.0 + VIRTUAL_FACTOR * w_air))
    roofs = [roof for roof in site.roof if roof.sprayed]
    forced = np.maximum.reduce([bounds.largest_forced_W_m2K(
        air["wind_m_s"], air["wind_m_s"], roof.length_m.low, conductivity, viscosity, 1.5) for roof in roofs])
    stable = max(float(convection.natural_stable_cubed(roof.slope_deg.high)) for roof in roofs)
    clear = bounds.coldest_sky_frac(t_C, moistair.dew_point_C(vapour_Pa), vapour_Pa, pressure_Pa, air["solar_hour_h"])
    logged = air["longwave_W_m2"] / black_flux_W_m2(t_C)
    sky = np.where(np.isfinite(logged), np.clip(logged - 2.0 * BOUND_EMISSIVITY_SD, 0.0, None), clear)
    feed = site.spray.flow_L_min.high * KG_S_PER_L_MIN / area_m2
    exchange = jet.jet_exchange_J_kgK(
        site.spray.drop_size_mm.value / 1000.0, site.spray.fall_height_m.value, site.spray.nozzle_angle_deg.value,
        density, viscosity, conductivity)
    warmed_K = site.spray.pump_power_W.high / (site.spray.flow_L_min.low * KG_S_PER_L_MIN * CP_WATER)
    flux = np.zeros(len(t_C))
    for place, t_water_C in enumerate(air["t_water_C"] + warmed_K):
        now = t_C[place], w_air[place], pressure_Pa
        drops = bounds.drops_bound_W_m2(feed, t_water_C, exchange[place], *now, lewis[place])
        flux[place] = drops + bounds.sheet_bound_W_m2(
            feed, t_water_C - drops / (feed * CP_WATER), *now, forced[place], unstable[place], stable, lewis[place],
            sky[place])
        flux[place] += max(roof.deck_u_W_m2K.high * max(0.0, t_water_C - roof.beneath_temperature_C.low)
                           for roof in roofs)
    return flux
