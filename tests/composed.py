"""What a printed example asks for, put together from the functions of `sprayroof.physics`.

A printed example often gives more than one of our functions at a time (a flux, a mean, an evaporation). Each function
here is that composition and no more; where a step belongs to the printed method alone (FAO-56's reduction of net
long-wave, its wind function), the docstring says which part is ours.
"""

from __future__ import annotations

import math

from scipy.optimize import brentq

from sprayroof.physics import cover, droplets, emitters, film, machines, moistair, rain, sky, tank, water
from sprayroof.physics.constants import CP_WATER, RHO_WATER, STANDARD_PRESSURE

MJ_M2_DAY = 86400.0 / 1e6


def sky_emissivity(model, t_air_C, e_hPa):
    """Clear-sky emissivity by name at sea level, 6 h solar time (diurnal term zero)."""
    e_Pa = 100.0 * e_hPa
    return sky.CLEAR_SKY[model](t_air_C, moistair.dew_point_C(e_Pa), e_Pa, STANDARD_PRESSURE, 6.0)


def sky_flux_clark_allen_W_m2(t_air_C, t_dew_C):
    """Clear-sky flux by Clark & Allen."""
    return sky.sky_emissivity_clark_allen(t_air_C, t_dew_C, 0.0, 0.0, 0.0) * sky.black_flux_W_m2(t_air_C)


def cloudy_emissivity(model, emissivity_clear, cloud_frac, base_height_m):
    """All-sky emissivity by a cloud model's name."""
    return sky.all_sky_emissivity(emissivity_clear, sky.CLOUDS[model](emissivity_clear, cloud_frac, base_height_m))


def sky_window_emissivity(emissivity, t_air_C):
    """Emissivity of the sky in the atmospheric window, of one in all: ours is the split of the flux."""
    black = sky.black_flux_W_m2(t_air_C)
    return cover.sky_bands_W_m2(emissivity * black, t_air_C)[0] / (cover.window_share(t_air_C) * black)


def planck_band(from_um, to_um, t_C):
    """Share of a black body's flux between two wavelengths."""
    return sky.planck_fraction(to_um, t_C) - sky.planck_fraction(from_um, t_C)


def black_flux_MJ_m2_day(t_C):
    """Black-body flux over a day."""
    return sky.black_flux_W_m2(t_C) * MJ_M2_DAY


def fao56_net_longwave_MJ_m2_day(t_max_C, t_min_C, e_kPa, sun_ratio):
    """FAO-56 eq. 39; ours is the black-body flux, the two reductions are FAO-56's."""
    black = 0.5 * (black_flux_MJ_m2_day(t_max_C) + black_flux_MJ_m2_day(t_min_C))
    return black * (0.34 - 0.14 * math.sqrt(e_kPa)) * (1.35 * sun_ratio - 0.35)


def mean_saturation_kPa(t_max_C, t_min_C):
    """FAO-56 eq. 12; ours is the saturation pressure."""
    return 0.5e-3 * (moistair.saturation_pressure_Pa(t_max_C) + moistair.saturation_pressure_Pa(t_min_C))


def vapour_from_humidities_kPa(t_max_C, t_min_C, humidity_at_min, humidity_at_max):
    """FAO-56 eq. 17; ours is the saturation pressure. Humidity of the cold and of the warm end of the day [1]."""
    return 0.5e-3 * (moistair.saturation_pressure_Pa(t_min_C) * humidity_at_min
                     + moistair.saturation_pressure_Pa(t_max_C) * humidity_at_max)


def saturation_slope_kPa_K(t_C):
    """Slope of the saturation pressure."""
    return 1e-3 * moistair.saturation_pressure_Pa(t_C) * moistair.saturation_slope_1_K(t_C)


def fao56_reference_mm_day(t_max_C, t_min_C, e_kPa, net_MJ_m2, soil_MJ_m2, wind_m_s, pressure_kPa):
    """FAO-56 eq. 6; ours are saturation pressure and slope, the rest is FAO-56's."""
    t_C = 0.5 * (t_max_C + t_min_C)
    slope, gamma = saturation_slope_kPa_K(t_C), 0.665e-3 * pressure_kPa
    wind = gamma * 900.0 / (t_C + 273.0) * wind_m_s * (mean_saturation_kPa(t_max_C, t_min_C) - e_kPa)
    return (0.408 * slope * (net_MJ_m2 - soil_MJ_m2) + wind) / (slope + gamma * (1.0 + 0.34 * wind_m_s))


def priestley_taylor_mm_day(t_C, net_MJ_m2, pressure_kPa):
    """Priestley & Taylor with FAO-56's psychrometer constant and 2.45 MJ/kg; ours is the slope of saturation."""
    slope, gamma = saturation_slope_kPa_K(t_C), 0.665e-3 * pressure_kPa
    return 1.26 * slope / (slope + gamma) * net_MJ_m2 / 2.45


def saturated_humidity_ratio(t_C, pressure_Pa):
    """Humidity ratio at saturation."""
    return moistair.humidity_ratio(moistair.saturation_pressure_Pa(t_C), pressure_Pa)


def wet_bulb_of_humidity_C(t_C, humidity, pressure_Pa):
    """Wet bulb of a relative humidity [1]."""
    e_Pa = humidity * moistair.saturation_pressure_Pa(t_C)
    return moistair.wet_bulb_C(t_C, moistair.humidity_ratio(e_Pa, pressure_Pa), pressure_Pa)


def wet_bulb_of_vapour_C(t_C, e_kPa, pressure_kPa):
    """Wet bulb of a vapour pressure."""
    return moistair.wet_bulb_C(t_C, moistair.humidity_ratio(1e3 * e_kPa, 1e3 * pressure_kPa), 1e3 * pressure_kPa)


def dew_point_of_wet_bulb_C(t_C, t_wetbulb_C, pressure_Pa):
    """Dew point of air of a dry and a wet bulb, from `wet_bulb_C` turned round."""
    ratio = brentq(lambda w: moistair.wet_bulb_C(t_C, w, pressure_Pa) - t_wetbulb_C, 1e-5, 0.1)
    return moistair.dew_point_C(pressure_Pa * ratio / (0.621945 + ratio))


def volume_per_dry_air_m3_kg(t_C, ratio, pressure_Pa):
    """Moist-air volume per kg of dry air; ours is the density."""
    return (1.0 + ratio) / moistair.air_density_kg_m3(t_C, ratio / (1.0 + ratio), pressure_Pa)


def virtual_temperature_of_ratio_K(t_K, ratio):
    """Virtual temperature of a mixing ratio."""
    return moistair.virtual_temperature_K(t_K - 273.15, ratio / (1.0 + ratio))


def vapour_diffusivity_cm2_s(t_K):
    """Diffusivity at one standard atmosphere."""
    return 1e4 * moistair.vapour_diffusivity_m2_s(t_K - 273.15, STANDARD_PRESSURE)


def dry_air_viscosity_e7(t_K):
    """Viscosity in 1e-7 Pa s, as tables print it."""
    return 1e7 * moistair.air_viscosity_Pa_s(t_K - 273.15)


def dry_air_conductivity_e3(t_K):
    """Conductivity in 1e-3 W/(m K), as tables print it."""
    return 1e3 * moistair.air_conductivity_W_mK(t_K - 273.15)


def water_per_kWh_L(t_C):
    """Water that takes 1 kWh with it as it evaporates."""
    return 3.6e6 / water.latent_heat_J_kg(t_C) / RHO_WATER * 1000.0


def terminal_speed_m_s(diameter_mm):
    """Speed of a drop after a fall of 100 m through air of 20 degC, 1013 hPa."""
    density = moistair.air_density_kg_m3(20.0, 0.0, STANDARD_PRESSURE)
    return droplets.fall(1e-3 * diameter_mm, 100.0, density, moistair.air_viscosity_Pa_s(20.0) / density,
                         moistair.air_conductivity_W_mK(20.0))[1]


def sheet_mean_C(t_in_C, t_equilibrium_C, ntu, ridge_share):
    """Mean temperature of a linear sheet of a number of transfer units."""
    return film.sheet_profile(t_in_C, t_equilibrium_C, ntu, 1.0, ridge_share)[0]


def ceiling_flux_W_m2(t_room_C, t_surface_C):
    """Heat flux of a cooled ceiling."""
    return emitters.ceiling_coefficient_W_m2K(t_room_C, t_surface_C) * (t_room_C - t_surface_C)


def air_conditioner_kW(load_kW, capacity_kW, cop, degradation):
    """Electric power of an air conditioner."""
    return 1e-3 * machines.air_conditioner_W(1e3 * load_kW, 1e3 * capacity_kW, 1.0 / cop, degradation)


def eir_factor_F(wet_bulb_F, outdoor_F):
    """Electricity per cooling relative to rating, degF."""
    return machines.eir_factor((wet_bulb_F - 32.0) / 1.8, (outdoor_F - 32.0) / 1.8)


def capacity_factor_F(wet_bulb_F, outdoor_F):
    """Capacity relative to rating, degF."""
    return machines.capacity_factor((wet_bulb_F - 32.0) / 1.8, (outdoor_F - 32.0) / 1.8)


def runoff_depth_mm(rain_mm, runoff_coefficient, loss_left_mm):
    """Runoff alone."""
    return rain.runoff_mm(rain_mm, runoff_coefficient, loss_left_mm)[0]


def flush_passed_kg(water_kg, left_kg):
    """Water that passes the first-flush diverter."""
    return rain.first_flush(water_kg, left_kg)[0]


def long_run_bleed(evaporation, windage, cycles):
    """Bleed in the unit of `evaporation` per day, from 20 000 hours of evaporating, bleeding and refilling.

    Ours is `rain.bleed_kg`; the store holds five days' evaporation, the refill has concentration 1, the limit is
    `cycles`.
    """
    store = 5.0 * evaporation
    salt, bled, hours, counted = store, 0.0, 20_000, 10_000
    for hour in range(hours):
        lost, blown = evaporation / 24.0, windage / 24.0
        salt -= blown * salt / store
        left = store - lost - blown
        bleed = rain.bleed_kg(left, salt, cycles, 1.0)
        salt += (lost + blown + bleed) * 1.0 - bleed * salt / left
        bled += bleed if hour >= hours - counted else 0.0
    return bled / counted * 24.0


def cooled_store_C(t_start_C, t_outside_C, mass_kg, ua_W_K, hours, steps):
    """Temperature of a store left alone, in `steps` steps."""
    import numpy as np
    mass, temp = np.array([mass_kg]), np.array([t_start_C])
    for _ in range(int(steps)):
        tank.lose_heat(mass, temp, ua_W_K, t_outside_C, hours * 3600.0 / steps)
    return temp[0]


def panel_W_m2(t_room_C, t_supply_C, flow_kg_s, area_m2, resistance_m2K_W, h_W_m2K):
    """Heat per area of a cooled floor without a limit of surface temperature."""
    heat = emitters.panel_capacity_W(t_room_C, t_supply_C, flow_kg_s, area_m2, resistance_m2K_W, h_W_m2K, -99.0)
    return heat / area_m2


def coil_kW(t_air_C, t_supply_C, water_kW_K, ua_kW_K, air_kW_K):
    """Heat of a coil, capacity flows in kW/K."""
    return 1e-3 * emitters.coil_capacity_W(t_air_C, t_supply_C, 1e3 * water_kW_K / CP_WATER, 1e3 * ua_kW_K,
                                           1e3 * air_kW_K)
