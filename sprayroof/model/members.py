"""From the site file and the draws to the members of the ensemble: SI numbers for the loop."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sprayroof.model.drivers import uses_in_order
from sprayroof.model.records import (
    AC_KINDS,
    EMITTER_KINDS,
    LOAD_KINDS,
    MAINS_RULES,
    MEMBER,
    PLACEMENTS,
    SENSES,
)
from sprayroof.model.uncertainty import Z_90, Doubt, Draws, draw, model_doubts
from sprayroof.physics import convection, droplets, moistair, sky, tank
from sprayroof.physics.constants import PLATE_RE_EXPONENT, RHO_WATER, STANDARD_PRESSURE

KG_S_PER_L_MIN = RHO_WATER / 1000.0 / 60.0
SECONDS_A_DAY = 86400.0
NEVER_C = -999.0
NO_LIMIT_W = 1e12


@dataclass(frozen=True)
class Ensemble:
    """Members and their parts, all with the members along the first axis.

    Parameters
    ----------
    members : (members,) structured array of MEMBER
    draws : Draws
    """

    members: np.ndarray
    draws: Draws

    def without_spray(self) -> Ensemble:
        """The same members on the same draws, never spraying: what the roof caused is the difference to it."""
        members = self.members.copy()
        members["spray_allowed"] = 0.0
        return Ensemble(members, self.draws)

    def only(self, member: int) -> Ensemble:
        """One member alone."""
        return Ensemble(self.members[member : member + 1], self.draws)


def site_doubts(site: Any) -> list[Doubt]:
    """Every fact of the site with its range, and the model's own coefficients."""
    labels = {row["entry"]: row["label"] for row in site.fact_table()}
    rows = [Doubt(path, fact.value, fact.low, fact.high, fact.unit, labels.get(path, path), fact.source)
            for path, fact in site.facts().items()]
    return rows + model_doubts()


def ensemble(site: Any, drivers: np.ndarray, runs: int, seed: int) -> Ensemble:
    """Draw members and bring them into the loop's records.

    Parameters
    ----------
    site : Site
    drivers : (steps,) structured array of DRIVER
    runs : int
        Members beside the best estimate.
    seed : int

    Returns
    -------
    Ensemble
    """
    doubts = [doubt for doubt in site_doubts(site) if doubt.entry != "weather.cloud_error"]
    cloud = site.weather.cloud_error_frac
    draws = draw(doubts, runs, int(drivers["night"].max()) + 1, (cloud.high - cloud.low) / (2.0 * Z_90), seed)
    values = draws.values
    members = np.zeros(runs + 1, MEMBER)
    _weather(members, values)
    _planes(members, site, values)
    _spray(members, site, values)
    _store(members, site, values)
    _water(members, site, values)
    _building(members, site, values, drivers)
    _electric(members, site, values)
    _catchments(members, site, values)
    _uses(members, site, values)
    _emitters(members, site, values)
    return Ensemble(members, draws)


def _sprayed(site: Any) -> list[int]:
    return [number for number, roof in enumerate(site.roof, start=1) if roof.sprayed]


def _weather(members: np.ndarray, values: dict[str, np.ndarray]) -> None:
    members["air_offset_K"] = values["weather.air_offset"]
    members["humidity_offset"] = values["weather.humidity_offset"]
    members["sky_offset"] = values["weather.sky_emissivity_offset"]
    members["rain_factor"] = values["weather.rain_factor"]


def _wind_ratio(site: Any, values: dict[str, np.ndarray], roof: str) -> np.ndarray:
    profile = convection.wind_profile_ratio(
        values[f"{roof}.height"], *convection.TERRAINS[site.place.terrain], site.weather.wind_height_m,
        *convection.TERRAINS[site.weather.terrain])
    return profile * values[f"{roof}.shelter"] * values["weather.wind_factor"]


def _planes(members: np.ndarray, site: Any, values: dict[str, np.ndarray]) -> None:
    numbers = _sprayed(site)
    members["planes_n"] = len(numbers)
    whole = sum(values[f"roof.{number}.area"] for number in numbers)
    for place, number in enumerate(numbers):
        roof, plane = f"roof.{number}", members["planes"][:, place]
        slope, area = values[f"{roof}.slope"], values[f"{roof}.area"]
        plane["wind_ratio"] = _wind_ratio(site, values, roof)
        plane["wetted_m2"] = area * np.clip(values[f"{roof}.wetted_share"], 0.02, 1.0)
        plane["flow_share"] = area / whole
        plane["forced_factor"] = (values["model.wind_cooling_factor"] * plane["wind_ratio"] ** PLATE_RE_EXPONENT
                                  * values[f"{roof}.length"] ** (PLATE_RE_EXPONENT - 1.0))
        plane["stable_cubed"] = convection.natural_stable_cubed(slope)
        plane["emissivity"] = values[f"{roof}.emissivity"]
        plane["sky_view"] = sky.sky_view_walton(slope) * sky.sky_view_horizon(values[f"{roof}.horizon"])
        plane["deck_capacity_J_m2K"] = 1000.0 * values[f"{roof}.deck_capacity"]
        plane["deck_u_W_m2K"] = values[f"{roof}.deck_u"]
        plane["t_beneath_C"] = values[f"{roof}.beneath_temperature"]
        plane["absorptance"] = values[f"{roof}.solar_absorptance"]


def _spray(members: np.ndarray, site: Any, values: dict[str, np.ndarray]) -> None:
    controls = site.controls
    members["spray_allowed"] = 1.0
    members["flow_kg_s"] = values["spray.flow"] * KG_S_PER_L_MIN
    members["ridge_share"] = np.clip(values["spray.ridge_share"], 0.0, 1.0)
    members["drop_exchange_J_kgK"] = values["model.drop_factor"] * _drop_exchange(values) * (
        1.0 - members["ridge_share"])
    members["drift_base"], members["drift_wind_s2_m2"] = values["spray.drift_base"], values["spray.drift_wind"]
    members["pump_W"] = values["spray.pump_power"]
    members["pump_heat_share"] = values["spray.pump_heat_share"]
    members["wind_ratio"] = (members["planes"]["flow_share"] * members["planes"]["wind_ratio"]).sum(axis=1)
    members["sense"] = SENSES.index(controls.sense)
    members["start_K"], members["stop_K"] = controls.start_difference_K, controls.stop_difference_K
    members["stop_store_C"] = controls.stop_store_C
    members["lockout_rain_mm_h"] = controls.lockout_rain_mm_h
    members["lockout_wind_m_s"] = controls.lockout_wind_m_s
    members["lockout_frost_C"] = controls.lockout_frost_C


def _drop_exchange(values: dict[str, np.ndarray]) -> np.ndarray:
    """Exchange of the drops on their way, in still air of 15 degC: its spread lies in the drop factor."""
    density = moistair.air_density_kg_m3(15.0, 0.008, STANDARD_PRESSURE)
    viscosity = moistair.air_viscosity_Pa_s(15.0) / density
    conductivity = moistair.air_conductivity_W_mK(15.0)
    sizes, heights = values["spray.drop_size"] / 1000.0, values["spray.fall_height"]
    return np.array([droplets.fall(size, height, density, viscosity, conductivity)[2] if height > 0.0 else 0.0
                     for size, height in zip(sizes, heights, strict=True)])


def _store(members: np.ndarray, site: Any, values: dict[str, np.ndarray]) -> None:
    volume = values["store.volume"]
    wall = tank.wall_area_box_m2 if site.store.shape == "box" else tank.wall_area_cylinder_m2
    members["full_kg"] = volume * RHO_WATER
    # content marks move with the store's size, so that a member with a smaller store keeps them in order
    scale = volume / site.store.volume_m3.value * RHO_WATER
    members["dead_kg"] = values["store.dead"] * scale
    members["reserve_kg"] = np.maximum(values["store.reserve"] * scale, members["dead_kg"])
    members["ua_store_W_K"] = values["store.u"] * wall(volume, values["store.height"])
    members["store_outside"] = PLACEMENTS.index(site.store.placement)
    members["t_ground_C"] = values["store.ground_temperature"]
    members["leak_kg_s"] = values["store.leak"] * RHO_WATER / 1000.0 / SECONDS_A_DAY
    members["start_kg"] = np.clip(values["store.initial_share"], 0.05, 1.0) * members["full_kg"]
    members["t_start_C"] = values["store.initial_temperature"]
    members["layers"] = site.store.nodes
    members["top_up_below_kg"] = site.mains.top_up_below_m3 * scale
    members["top_up_to_kg"] = site.mains.top_up_to_m3 * scale


def _water(members: np.ndarray, site: Any, values: dict[str, np.ndarray]) -> None:
    members["filter_efficiency"] = np.clip(values["rain.filter_efficiency"], 0.0, 1.0)
    members["first_flush_mm"] = values["rain.first_flush"]
    members["dry_spell_h"] = values["rain.dry_spell"]
    members["flush_takes_spray"] = site.rain.flush_takes_spray
    members["mains_rule"] = MAINS_RULES.index(site.mains.rule)
    members["mains_kg_s"] = values["mains.flow"] * KG_S_PER_L_MIN
    members["salt_rain_kg_kg"] = values["rain.salts"] * 1e-6
    members["salt_mains_kg_kg"] = values["mains.salts"] * 1e-6
    members["bleed_on"] = site.bleed.rule == "salts"
    members["salt_limit_kg_kg"] = np.maximum(site.bleed.salt_limit_mg_L * 1e-6, 1.1 * members["salt_mains_kg_kg"])


def _building(members: np.ndarray, site: Any, values: dict[str, np.ndarray], drivers: np.ndarray) -> None:
    t_room, humidity = values["room.temperature"], np.clip(values["room.humidity"], 0.05, 1.0)
    vapour = humidity * moistair.saturation_pressure_Pa(t_room)
    members["t_room_C"], members["t_dew_room_C"] = t_room, moistair.dew_point_C(vapour)
    members["t_wetbulb_room_C"] = moistair.wet_bulb_C(
        t_room, moistair.humidity_ratio(vapour, STANDARD_PRESSURE), STANDARD_PRESSURE)
    members["load_kind"] = LOAD_KINDS.index(site.load.kind)
    members["sensible_share"] = np.clip(values["load.sensible_share"], 0.0, 1.0)
    members["load_ua_W_K"] = 1000.0 * values.get("load.ua", 0.0)
    members["balance_point_C"] = values.get("load.balance_point", 99.0)
    members["base_W"] = 1000.0 * values["load.base"]
    members["load_max_W"] = 1000.0 * values["load.maximum"] if "load.maximum" in values else NO_LIMIT_W
    members["load_factor"] = 1.0
    members["ac_kind"] = AC_KINDS.index(site.air_conditioner.kind)
    members["ac_eir"] = 1.0 / values["air_conditioner.rated_cop"]
    members["ac_degradation"] = values["air_conditioner.part_load_degradation"]
    limit = site.air_conditioner.free_cooling_below_C
    members["free_cooling_below_C"] = NEVER_C if limit is None else limit
    if "air_conditioner.rated_capacity" in values:
        members["ac_capacity_W"] = 1000.0 * values["air_conditioner.rated_capacity"]
    else:
        members["ac_capacity_W"] = _largest_load_W(members, drivers)


def _largest_load_W(members: np.ndarray, drivers: np.ndarray) -> np.ndarray:
    """Largest demand of the year, the capacity taken where none is stated."""
    occupied = drivers["load_hours"] > 0.0
    if not occupied.any():
        return np.full(members.size, 1.0)
    if members["load_kind"][0] == LOAD_KINDS.index("metered"):
        return np.full(members.size, max(1.0, float(drivers["load_W"].max())))
    hottest = drivers["t_load_C"][occupied].max() + members["air_offset_K"]
    load = members["base_W"] + members["load_ua_W_K"] * np.maximum(0.0, hottest - members["balance_point_C"])
    return np.maximum(1.0, np.minimum(load, members["load_max_W"]))


def _electric(members: np.ndarray, site: Any, values: dict[str, np.ndarray]) -> None:
    for number, load in enumerate(site.standing, start=1):
        members[f"standing_{load.when}_W"] += values[f"standing.{number}.power"]
    members["booster_cop"], members["booster_setpoint_C"] = 1.0, 99.0
    if site.booster is not None:
        members["booster_W"] = 1000.0 * values["booster.capacity"]
        members["booster_cop"] = values["booster.cop"]
        members["booster_setpoint_C"] = site.booster.setpoint_C


def _catchments(members: np.ndarray, site: Any, values: dict[str, np.ndarray]) -> None:
    roofs = [f"roof.{number}" for number, roof in enumerate(site.roof, start=1) if roof.catches_rain]
    others = [f"catchment.{number}" for number in range(1, len(site.catchment) + 1)]
    members["catchments_n"], catchments = len(roofs) + len(others), members["catchments"]
    for place, path in enumerate(roofs + others):
        plan = np.cos(np.radians(values[f"{path}.slope"])) if path in roofs else 1.0
        catchments["area_m2"][:, place] = values[f"{path}.area"] * plan
        catchments["runoff"][:, place] = np.clip(values[f"{path}.runoff_coefficient"], 0.0, 1.0)
        catchments["initial_loss_mm"][:, place] = values[f"{path}.initial_loss"]


def _uses(members: np.ndarray, site: Any, values: dict[str, np.ndarray]) -> None:
    ordered = uses_in_order(site)
    members["uses_n"] = len(ordered)
    for place, use in enumerate(ordered):
        draw_L = values[f"use.{site.use.index(use) + 1}.draw"]
        members["uses"]["draw_kg_day"][:, place] = draw_L * RHO_WATER / 1000.0


def _emitters(members: np.ndarray, site: Any, values: dict[str, np.ndarray]) -> None:
    members["emitters_n"] = len(site.emitter)
    for place, emitter in enumerate(site.emitter):
        path, out = f"emitter.{place + 1}", members["emitters"][:, place]
        out["kind"] = EMITTER_KINDS.index(emitter.kind)
        out["flow_kg_s"] = values[f"{path}.flow"] * KG_S_PER_L_MIN
        out["pump_W"] = values[f"{path}.pump_power"]
        out["resistance_m2K_W"] = values[f"{path}.resistance"]
        out["outdoor_share"] = values[f"{path}.outdoor_air_share"]
        out["minimum_supply_C"], out["dew_margin_K"] = emitter.minimum_supply_C, emitter.dew_margin_K
        out["minimum_surface_C"] = NEVER_C if emitter.minimum_surface_C is None else emitter.minimum_surface_C
        out["area_m2"] = values.get(f"{path}.area", 0.0)
        out["ua_W_K"] = values.get(f"{path}.ua", 0.0)
        if f"{path}.air_flow" in values:
            out["air_W_K"] = values[f"{path}.air_flow"] / 3600.0 * 1.2 * 1006.0
