"""The wet roof of the invented truth: a film that runs through cells down the slope, one temperature with its deck."""

from __future__ import annotations

from numba import njit
from pack_air import (
    CP_AIR_J_kgK,
    SIGMA_W_m2K4,
    convection_W_m2K,
    flight,
    latent_J_kg,
    mixing_kg_kg,
    vapour_Pa,
)
from pack_config import CELLS, ROOF_STEPS, STEP_S, CP_J_kgK


@njit
def spray(kg, t_C, air_C, vapour, wind_m_s, plant, row):
    """Drift and flight of a step's water; what lands [kg] and its temperature. Writes into `row`."""
    drift = kg * min(plant.drift_base + plant.drift_wind * wind_m_s ** 1.6, 0.2)
    landed_C, left, sensible, latent = flight(t_C, air_C, vapour, plant)
    flying = kg - drift
    row["drift_kg"] = drift
    row["drift_J"] = drift * CP_J_kgK * t_C
    row["drop_evaporated_kg"] = flying * (1.0 - left)
    row["drop_sensible_J"] = flying * sensible
    row["drop_latent_J"] = flying * latent
    row["drop_carried_J"] = flying * (CP_J_kgK * t_C - left * CP_J_kgK * landed_C - sensible - latent)
    row["landed_kg"] = flying * left
    return flying * left, landed_C


@njit
def film(mass, heat, landed_kg, landed_C, rain_kg, rain_C, air_C, vapour, wind_m_s, sky, sun, room_C, plant, row):
    """A step of the film in finer steps; outflow [kg] and its heat [J]. Changes `mass`, `heat`, writes into `row`."""
    step_s, cell_m2 = STEP_S / ROOF_STEPS, plant.roof_m2 * plant.wetted_frac / CELLS
    w_air = mixing_kg_kg(vapour, plant.air_Pa)
    share = 1.0 / (ROOF_STEPS * CELLS)
    fed_kg = (landed_kg + rain_kg) * share
    fed_J = (landed_kg * landed_C + rain_kg * rain_C) * CP_J_kgK * share
    out_kg, out_J = 0.0, 0.0
    for _ in range(ROOF_STEPS):
        above_kg, above_J = 0.0, 0.0
        for cell in range(CELLS):
            t_C = heat[cell] / (plant.deck_J_m2K * cell_m2 + mass[cell] * CP_J_kgK)
            held = plant.retained_kg_m2 * cell_m2
            h = convection_W_m2K(plant.wind_scale, wind_m_s * plant.roof_wind_frac, t_C - air_C)
            wet = min(1.0, mass[cell] / (0.5 * held))
            evaporated = h / CP_AIR_J_kgK * (mixing_kg_kg(vapour_Pa(t_C), plant.air_Pa) - w_air) * cell_m2 * step_s
            if evaporated > 0.0:
                evaporated = min(evaporated * wet, mass[cell])
            latent, sensible = evaporated * latent_J_kg(t_C), h * (t_C - air_C) * cell_m2 * step_s
            radiated = plant.emissivity * (SIGMA_W_m2K4 * (t_C + 273.15) ** 4 - sky) * cell_m2 * step_s
            lit = plant.absorptance * sun * cell_m2 * step_s
            inside = plant.deck_u_W_m2K * (room_C - t_C) * cell_m2 * step_s
            runs = max(mass[cell] - held, 0.0) * step_s / plant.film_lag_s
            runs_J, carried = runs * CP_J_kgK * t_C, evaporated * CP_J_kgK * t_C
            mass[cell] += fed_kg + above_kg - evaporated - runs
            heat[cell] += fed_J + above_J - latent - carried - sensible - radiated + lit + inside - runs_J
            above_kg, above_J = runs, runs_J
            row["film_evaporated_kg"] += evaporated
            row["film_latent_J"] += latent
            row["film_carried_J"] += carried
            row["film_sensible_J"] += sensible
            row["radiated_J"] += radiated
            row["sun_J"] += lit
            row["inside_J"] += inside
        out_kg += above_kg
        out_J += above_J
    return out_kg, out_J


@njit
def film_heat_capacity_J_K(mass, plant):
    """Deck and film of all cells."""
    return plant.deck_J_m2K * plant.roof_m2 * plant.wetted_frac + mass.sum() * CP_J_kgK
