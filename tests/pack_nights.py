"""The invented truth by night, noon to noon in standard time: what a ledger should find."""

from __future__ import annotations

import numpy as np
from pack_config import STEP_S, CP_J_kgK, RHO_kg_m3
from pack_truth import Truth

NIGHT = 86400 // STEP_S
LITRES_kg = 1000.0 / RHO_kg_m3
kWh_J = 1.0 / 3.6e6

MEANINGS = {
    "date": "day on which the night began; nights run from noon to noon of standard time",
    "sprayed_h": "time with the pump spraying on the roof",
    "sprayed_L": "true volume sprayed (998.2 kg/m3)",
    "pipe_kWh": "true pump flow x 4186 J/kgK x (supply less return temperature of the water), summed while spraying",
    "roof_kWh": "heat that water gave to sky, air, deck and pipes outside the store, noon to noon: supplied and rain "
                "water less what came back and what was lost, each with its own heat above 0 degC",
    "radiation_kWh": "net long-wave loss of the film while spraying",
    "evaporation_heat_kWh": "latent heat of drops and film while spraying",
    "convection_kWh": "heat of drops and film to the air while spraying, without latent heat",
    "building_kWh": "heat from the room into the film while spraying",
    "pipes_kWh": "heat from the surroundings into supply and return pipe while spraying",
    "roof_fall_kWh": "fall of the heat kept in deck and film while spraying",
    "evaporation_L": "evaporated from drops and film while spraying and within two hours after, less dew",
    "evaporation_other_L": "evaporated from the roof at other times (rain, dew), less dew",
    "drift_L": "blown off the roof as drops",
    "leak_L": "lost by the store's leak",
    "draw_L": "drawn by the toilets",
    "makeup_L": "mains water let in",
    "rain_caught_L": "rain and dew from the roof that reached the store",
    "flushed_L": "diverted by the first flush", "filter_L": "lost at the filter", "waste_L": "pumped to the drain in a "
                                                                                           "test",
    "overflow_L": "over the brim",
    "rain_mm": "rain",
    "pump_kWh": "spray pump's electricity, tests included",
    "pump_heat_kWh": "its part that warms the water",
    "floor_kWh": "heat from floors and their pump into the store",
    "walls_kWh": "heat through the store's walls into it",
    "ac_kWh": "air conditioner's electricity",
    "start_m3": "content of the store at the noon before", "start_C": "its mean temperature",
    "end_m3": "content at the noon after", "end_C": "its mean temperature",
    "spray_start_m3": "content when spraying began", "spray_start_C": "mean temperature then",
    "spray_end_m3": "content 60 min after spraying ended", "spray_end_C": "mean temperature then",
    "air_C": "mean outdoor temperature while spraying (21:00 to 06:00 standard time where it did not spray)",
    "humidity_frac": "mean relative humidity of the same hours", "wind_m_s": "mean wind on the mast of the same hours",
    "cloud_frac": "mean cloud of the same hours",
}
_LITRES = {"sprayed_L": "supply_kg", "drift_L": "drift_kg", "leak_L": "leak_kg", "draw_L": "draw_kg",
           "makeup_L": "makeup_kg", "rain_caught_L": "rain_caught_kg", "flushed_L": "flushed_kg",
           "filter_L": "filter_kg", "waste_L": "waste_kg", "overflow_L": "overflow_kg"}
_HEATS = {"pump_kWh": ("pump_J",), "pump_heat_kWh": ("pump_heat_J",), "floor_kWh": ("floor_J", "floor_pump_J"),
          "walls_kWh": ("walls_J",), "ac_kWh": ("ac_J",)}
_HEATS_ON = {"radiation_kWh": ("radiated_J",), "evaporation_heat_kWh": ("film_latent_J", "drop_latent_J"),
             "convection_kWh": ("film_sensible_J", "drop_sensible_J"), "building_kWh": ("inside_J",),
             "pipes_kWh": ("supply_pipe_J", "return_pipe_J")}


def water_C(rows: np.ndarray, where: str) -> np.ndarray:
    """Temperature of the water in supply or return; 0 where none flows."""
    kg = rows[f"{where}_kg"]
    return np.divide(rows[f"{where}_J"], kg * CP_J_kgK, out=np.zeros(len(rows)), where=kg > 0.0)


def pipe_J(rows: np.ndarray) -> np.ndarray:
    """What perfect instruments in the two pipes give in every step: flow times difference, while spraying."""
    difference_K = water_C(rows, "supply") - water_C(rows, "return")
    both = (rows["spraying"] > 0.5) & (rows["return_kg"] > 0.0)
    return np.where(both, rows["supply_kg"] * CP_J_kgK * difference_K, 0.0)


def roof_J(rows: np.ndarray) -> np.ndarray:
    """Heat that the water loses outside the store: to sky, air, deck and pipes, whatever becomes of its mass."""
    lost_J = rows["drift_J"] + rows["film_carried_J"] + rows["drop_carried_J"] + rows["flushed_J"] + rows["filter_J"]
    sprayed_J = rows["supply_J"] - rows["bypass_J"] - rows["waste_J"]
    return sprayed_J + rows["rain_J"] - rows["return_J"] - lost_J


def night_table(truth: Truth) -> list[dict[str, float | str]]:
    """One row a night, as told in MEANINGS."""
    return [_night(truth, number, date.isoformat()) for number, date in enumerate(truth.config.dates())]


def _night(truth: Truth, number: int, date: str) -> dict[str, float | str]:
    part = slice(number * NIGHT, (number + 1) * NIGHT)
    rows = truth.rows[part]
    on = rows["spraying"] > 0.5
    told: dict[str, float | str] = {"date": date, "sprayed_h": on.sum() * STEP_S / 3600.0}
    told |= {name: rows[field].sum() * LITRES_kg for name, field in _LITRES.items()}
    told["sprayed_L"] = rows["supply_kg"][on].sum() * LITRES_kg
    late = np.convolve(on, np.ones(7200 // STEP_S + 1))[:NIGHT] > 0.5
    wet = (rows["film_evaporated_kg"] + rows["drop_evaporated_kg"]) * LITRES_kg
    told |= {"evaporation_L": wet[late].sum(), "evaporation_other_L": wet[~late].sum()}
    told |= {name: sum(rows[field].sum() for field in fields) * kWh_J for name, fields in _HEATS.items()}
    told |= {name: sum(rows[field][on].sum() for field in fields) * kWh_J for name, fields in _HEATS_ON.items()}
    told |= {"pipe_kWh": pipe_J(rows).sum() * kWh_J, "roof_kWh": roof_J(rows).sum() * kWh_J}
    told["roof_fall_kWh"] = -np.diff(truth.states("roof_J"))[part][on].sum() * kWh_J
    told |= _store_states(truth, part, on) | _weather_means(truth, part, on)
    return {name: told[name] for name in MEANINGS}


def _store_states(truth: Truth, part: slice, on: np.ndarray) -> dict[str, float]:
    """Content and mean temperature at both noons and around the spraying (the noons again where there was none)."""
    kg, heat = truth.states("store_kg"), truth.states("store_J")
    places = {"start": part.start, "end": part.stop, "spray_start": part.start, "spray_end": part.stop}
    if on.any():
        where = np.flatnonzero(on) + part.start
        places |= {"spray_start": where[0], "spray_end": min(where[-1] + 1 + 3600 // STEP_S, part.stop)}
    told = {}
    for name, place in places.items():
        told |= {f"{name}_m3": kg[place] / RHO_kg_m3, f"{name}_C": heat[place] / (kg[place] * CP_J_kgK)}
    return told


def _weather_means(truth: Truth, part: slice, on: np.ndarray) -> dict[str, float]:
    weather, hour = truth.weather, (12.0 + np.arange(NIGHT) * STEP_S / 3600.0) % 24.0
    hours = on if on.any() else (hour >= 21.0) | (hour < 6.0)
    return {"air_C": weather.air_C[part][hours].mean(), "humidity_frac": weather.humidity_frac()[part][hours].mean(),
            "wind_m_s": weather.wind_m_s[part][hours].mean(), "cloud_frac": weather.cloud_frac[part][hours].mean(),
            "rain_mm": weather.rain_mm[part].sum()}
