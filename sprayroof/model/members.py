"""From the site file and the draws to the members of the ensemble: SI numbers for the loop."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sprayroof.evidence.site_file.facts import sectors_of
from sprayroof.evidence.site_file.system import COOLED_SURFACES
from sprayroof.evidence.weather_files.air import standard_pressure_Pa
from sprayroof.model.drivers import uses_in_order
from sprayroof.model.records import (
    AC_KINDS,
    DROP_AIR_C,
    EMITTER_KINDS,
    LOAD_KINDS,
    MAINS_RULES,
    MEMBER,
    PART_LOADS,
    PLACEMENTS,
    SENSES,
)
from sprayroof.model.uncertainty import Z_90, Doubt, Draws, draw, model_doubts
from sprayroof.physics import chillers, convection, cover, ground, jet, moistair, panels, sky, tank, water, wetting
from sprayroof.physics.constants import (
    AIR_VOLUME_J_M3K,
    BEADED_SHARE,
    CONSTANTS,
    CONTACT_ANGLE_DEG,
    COVER_AGEING,
    COVER_LEAK_SPREAD,
    COVER_SOILED_SHARE,
    COVER_SOILING_TIME,
    CP_WATER,
    FLOOR_H,
    INDOOR_SIDE_H,
    PANEL_BOND,
    PANEL_BORE_RATIO,
    PANEL_EMISSIVITY,
    PANEL_FACTOR,
    PANEL_LOSS_BARE,
    PANEL_LOSS_COVERED,
    PANEL_SELECTIVE_REST,
    PANEL_SELECTIVE_WINDOW,
    PANEL_WATER_H,
    PRIOR_F_H,
    RHO_WATER,
    ROUGHNESS,
    SKY_RESIDUAL_RATIO,
    WATER_SIDE_H,
)
from sprayroof.physics.convection_rivals import CONVECTION
from sprayroof.physics.emitters import (
    ceiling_coefficient_W_m2K,
    ceiling_rising_W_m2K,
    ceiling_steady_W_m2K,
    ceiling_surface_share,
    coil_W_K,
    panel_limit_W,
    panel_W_K,
)

KG_S_PER_L_MIN = RHO_WATER / 1000.0 / 60.0
SECONDS_A_DAY = 86400.0
DROP_AIR_KG_KG = 0.008  # vapour in the air in which drops are worked out
NEVER_C = -999.0
NOT_STATED = -1.0
LONG = 5.0  # lengths over diameters from which a lying cylinder's own shape factor holds
LEAST_BURIED = 1.05  # depth of the axis over half the diameter
LOW_ROOF_M = 2.0  # the wind's profile holds no lower
NO_PLANE = -1
NO_LIMIT_W = 1e12
ALL_RIDGE = 1.0 - 1e-6
MOST_COVERED = 0.999  # of a roof that some members cover in part: no plane is without water
MOST_UNREFLECTED = 0.99  # no cover takes up nothing at all
SMOOTH = 1.0  # roughness factor of open water
LEAST_SLOPE_DEG = 0.5  # a flat roof drains too
NIGHT_SKIES = ("berdahl_martin", "berdahl_fromberg", "brunt", "brutsaert", "prata", "dilley_obrien")
CLOUD_RIVALS = ("martin_berdahl", "unsworth_monteith")  # Crawford & Duchon wants cover from sunshine
CONVECTION_RIVALS = ("plate", "clear_et_al", "emmel_oblique")
COVER_OF = {"clear film": "film", "vented mesh": "mesh", "opaque sheet": "sheet"}


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

    def start_as(self, trace: Any) -> None:
        """Start every member as a year before ended: same share of its store filled, same temperature."""
        end = trace.ends[0, -1]
        self.members["start_kg"] = end["store_kg"] / self.members["full_kg"][0] * self.members["full_kg"]
        self.members["t_start_C"] = end["store_heat_J"] / max(end["store_kg"], 1.0) / CP_WATER

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
    all_doubts = [*site_doubts(site), *surface_doubts(site), *cover_doubts(site)]
    doubts = [doubt for doubt in all_doubts if doubt.entry != "weather.cloud_error"]
    cloud = site.weather.cloud_error_frac
    draws = draw(doubts, runs, int(drivers["night"].max()) + 1, (cloud.high - cloud.low) / (2.0 * Z_90), seed)
    values = draws.values
    members = np.zeros(runs + 1, MEMBER)
    _weather(members, values)
    _formulas(members, site, seed, bool((drivers["has_longwave"] > 0.0).all()))
    open_planes = _planes(members, site, values)
    _spray(members, site, values)
    _store(members, site, values)
    _water(members, site, values)
    _building(members, site, values, drivers)
    _electric(members, site, values)
    _catchments(members, site, values, open_planes)
    _uses(members, site, values)
    _emitters(members, site, values)
    return Ensemble(members, draws)


def surface_doubts(site: Any) -> list[Doubt]:
    """Water that stays on each kind of sprayed surface after draining."""
    rows = {}
    for roof in site.roof:
        constant = CONSTANTS[f"RETAINED_{roof.surface.upper().replace(' ', '_')}"]
        entry = f"model.retained_{roof.surface.replace(' ', '_')}"
        rows[entry] = Doubt(entry, constant.value, max(0.0, constant.value - Z_90 * constant.sd),
                            constant.value + Z_90 * constant.sd, "mm",
                            f"Water left on {roof.surface} after draining", "prior of the model")
    return list(rows.values())


def cover_doubts(site: Any) -> list[Doubt]:
    """What is not known of covers, kind by kind, and of panels, where there are any."""
    kinds = dict.fromkeys(COVER_OF[roof.cover] for roof in site.roof if roof.cover != "none" and roof.sprayed)
    rows = [row for kind in kinds for row in _doubts_of_cover(kind)]
    if site.panels is not None:
        for name, label, unit in (("PANEL_FACTOR", "Efficiency factor of the panels' plates", "1"),
                                  ("PANEL_BACK", "Heat transfer through the panels' backs", "W/(m2 K)")):
            constant = CONSTANTS[name]
            rows.append(Doubt(f"model.{name.lower()}", constant.value, max(0.0, constant.value - Z_90 * constant.sd),
                              constant.value + Z_90 * constant.sd, unit, label, "prior of the model"))
    return rows


def _doubts_of_cover(kind: str) -> list[Doubt]:
    """Doubts of one kind of cover, which all roofs under that kind share."""
    def factor(name: str, property_: str, label: str) -> list[Doubt]:
        constant = CONSTANTS[f"COVER_{kind.upper()}_{property_}"]
        if constant.sd == 0.0:
            return []
        off = Z_90 * constant.sd / constant.value
        return [Doubt(f"model.cover_{name}_{kind}", 1.0, 1.0 - off, 1.0 + off, "1", label, "prior of the model")]

    cover_of = {short: words for words, short in COVER_OF.items()}[kind]
    return [
        *factor("transmittance", "TRANSMITTANCE_WINDOW", f"Factor on the long-wave transmittance of the {cover_of}"),
        *factor("sun", "SUN_TRANSMITTANCE", f"Factor on the sun that the {cover_of} passes"),
        *factor("warmed", "SUN_ABSORPTANCE", f"Factor on the sun that the {cover_of} takes up"),
        Doubt(f"model.cover_leak_{kind}", 1.0, 1.0 / COVER_LEAK_SPREAD, COVER_LEAK_SPREAD, "1",
              f"Factor on the air that leaks through the gap of the {cover_of}", "prior of the model", True),
        Doubt(f"model.cover_flutter_{kind}", 1.0, 0.2, 2.6, "1", f"Factor on the wind beneath the {cover_of}",
              "prior of the model"),
    ]


def _sprayed(site: Any) -> list[int]:
    return [number for number, roof in enumerate(site.roof, start=1) if roof.sprayed]


def _weather(members: np.ndarray, values: dict[str, np.ndarray]) -> None:
    members["air_offset_K"] = values["weather.air_offset"]
    members["humidity_offset"] = values["weather.humidity_offset"]
    members["sky_offset"] = values["weather.sky_emissivity_offset"]
    members["rain_factor"] = values["weather.rain_factor"]


def rivals(site: Any) -> dict[str, list[str]]:
    """Formulas of each kind, that of the best estimate first; rivals only where the site file leaves the choice open.

    Small-plate convection formulas are no rivals on a roof: they would double its evaporation.
    """
    stated = site.record.get("weather", {})
    offered = {"sky_model": NIGHT_SKIES, "cloud_model": CLOUD_RIVALS, "convection_model": CONVECTION_RIVALS}
    chosen = {kind: getattr(site.weather, kind) for kind in offered}
    return {kind: [chosen[kind]] if kind in stated else
            [chosen[kind], *(name for name in names if name != chosen[kind])] for kind, names in offered.items()}


def _formulas(members: np.ndarray, site: Any, seed: int, sky_measured: bool) -> None:
    """Which formulas each member has: the first for the best estimate, drawn evenly for the others."""
    random = np.random.default_rng([seed, 3])
    for kind, column in (("sky_model", "sky_column"), ("cloud_model", "cloud_column"),
                         ("convection_model", "convection_column")):
        names = rivals(site)[kind]
        members[column][1:] = random.integers(0, len(names), members.size - 1)
        if kind == "sky_model" and len(names) > 1 and not sky_measured:
            # the offset's prior holds the spread of the formulas; drawn formulas carry that part themselves
            members["sky_offset"] *= SKY_RESIDUAL_RATIO


def _profile(site: Any, height_m: np.ndarray | float) -> np.ndarray:
    return convection.wind_profile_ratio(
        height_m, *convection.TERRAINS[site.place.terrain], site.weather.wind_height_m,
        *convection.TERRAINS[site.weather.terrain])


def _wind_ratio(site: Any, values: dict[str, np.ndarray], roof: str) -> np.ndarray:
    screen = cover.screened_roof_wind_ratio(
        values[f"{roof}.length"], values[f"{roof}.screen_height"], np.clip(values[f"{roof}.screen_porosity"], 0.0, 1.0))
    return (_profile(site, values[f"{roof}.height"]) * values[f"{roof}.shelter"] * values["weather.wind_factor"]
            * screen)


def _forced(members: np.ndarray, plane: np.ndarray, site: Any, values: dict[str, np.ndarray], number: int) -> None:
    """How each member's convection formula carries over from the station's wind and one metre to this roof."""
    for column, name in enumerate(rivals(site)["convection_model"]):
        rival, own = CONVECTION[name], members["convection_column"] == column
        plane["forced_constant_W_m2K"][own] = rival.constant_W_m2K
        plane["buoyant"][own] = not rival.whole
    plane["forced_factor"] = _forced_factor(members, site, values, plane["wind_ratio"], values[f"roof.{number}.length"],
                                            ROUGHNESS[site.roof[number - 1].surface])


def _forced_factor(members: np.ndarray, site: Any, values: dict[str, np.ndarray], wind_ratio: np.ndarray,
                   length_m: np.ndarray, roughness: float) -> np.ndarray:
    """What each member's formula makes of a surface's wind, length and roughness beside the station's wind and 1 m."""
    spread, found = values["model.wind_cooling_factor"] / PRIOR_F_H, np.ones(members.size)
    undisturbed = _profile(site, 10.0) * values["weather.wind_factor"]
    for column, name in enumerate(rivals(site)["convection_model"]):
        rival, own = CONVECTION[name], members["convection_column"] == column
        wind = wind_ratio if rival.wind == "roof" else undisturbed
        factor = (wind**rival.wind_exponent * length_m**rival.length_exponent * roughness**rival.roughness_exponent
                  * rival.factor_median * spread)
        found[own] = factor[own]
    return found


def _slowed(values: dict[str, np.ndarray]) -> np.ndarray:
    return np.clip(values["spray.slowed_to"], 0.05, 1.0)


def _flow_kg_s(values: dict[str, np.ndarray]) -> np.ndarray:
    """What the pump gives, slowed or not."""
    return values["spray.flow"] * KG_S_PER_L_MIN * _slowed(values)


def _wetted_share(site: Any, values: dict[str, np.ndarray], number: int, slope: np.ndarray) -> np.ndarray:
    """Wetted share as stated, else from the least flow that keeps a sheet closed and what drops wet beside it."""
    roof, stated = site.roof[number - 1], values[f"roof.{number}.wetted_share"]
    if roof.wetted_share_frac.given:
        return stated
    width = values[f"roof.{number}.area"] / values[f"roof.{number}.length"]
    whole = sum(values[f"roof.{other}.area"] for other in _sprayed(site))
    flow = _flow_kg_s(values) * values[f"roof.{number}.area"] / whole / width
    viscosity, tension = water.water_viscosity_Pa_s(15.0), water.water_tension_N_m(15.0)
    least = wetting.minimum_wetting_kg_ms(slope, CONTACT_ANGLE_DEG[roof.surface], viscosity, RHO_WATER, tension)
    film = wetting.wetted_film_frac(flow, np.clip(values["spray.ridge_share"], 0.0, ALL_RIDGE), least)
    found = wetting.wetted_sprayed_frac(film, BEADED_SHARE[roof.surface])
    return found + stated - roof.wetted_share_frac.value


def _standing_water(plane: np.ndarray, site: Any, values: dict[str, np.ndarray], number: int) -> None:
    """Water on the roof while it runs, and what stays after draining [kg]."""
    surface = site.roof[number - 1].surface
    share = plane["wetted_m2"] / values[f"roof.{number}.area"]
    width = values[f"roof.{number}.area"] / values[f"roof.{number}.length"] * share
    flow = _flow_kg_s(values) * plane["flow_share"] / width
    running = wetting.holdup_film_mm(flow, np.clip(values["spray.ridge_share"], 0.0, 1.0), plane["slope_deg"],
                                     water.water_viscosity_Pa_s(15.0), RHO_WATER)
    plane["retained_kg"] = values[f"model.retained_{surface.replace(' ', '_')}"] * plane["wetted_m2"]
    plane["holdup_kg"] = running * plane["wetted_m2"] + plane["retained_kg"]


def _cover(planes: np.ndarray, place: int, site: Any, values: dict[str, np.ndarray], number: int) -> int:
    """Put a cover over a plane, or over part of it (which makes two planes of it); returns the next free place."""
    roof, plane = site.roof[number - 1], planes[:, place]
    share = np.clip(values[f"roof.{number}.cover_share"], 0.0, 1.0)
    if (share < 1.0).any():
        share = np.clip(share, 1.0 - MOST_COVERED, MOST_COVERED)
    if roof.cover == "none" or not (share > 0.0).any():
        return place + 1
    kind = cover.COVER_KINDS[COVER_OF[roof.cover]]
    clean = cover.aged_transmittance_factor(values[f"roof.{number}.cover_age"], values[f"roof.{number}.cover_unwashed"],
                                            COVER_AGEING, COVER_SOILED_SHARE, COVER_SOILING_TIME)
    last = place + 1
    if (share < 1.0).any():
        planes[:, last] = plane
        for name in ("wetted_m2", "flow_share", "holdup_kg", "retained_kg"):
            planes[name][:, last] = plane[name] * (1.0 - share)
            plane[name] = plane[name] * share
        last += 1
    short = COVER_OF[roof.cover]
    drawn = {name: values.get(f"model.cover_{name}_{short}", 1.0)
             for name in ("transmittance", "sun", "warmed", "leak", "flutter")}
    factors = {"sun_passed_share": clean * drawn["sun"], "transmittance": clean * drawn["transmittance"],
               "sun_taken_share": drawn["warmed"], "leak": drawn["leak"], "inner": drawn["flutter"]}
    for name in kind._fields:
        factor = next((value for part, value in factors.items() if part in name), 1.0)
        plane[name] = np.clip(getattr(kind, name) * factor, 0.0, 1.0)
    for band in ("window", "rest"):
        plane[f"transmittance_{band}"] = np.minimum(plane[f"transmittance_{band}"],
                                                    MOST_UNREFLECTED * (1.0 - plane[f"reflectance_{band}"]))
    plane["inner_forced_share"] = cover.inner_forced_share(plane["inner_wind_share"])
    # the sun that age and dust keep from passing is taken up
    lost_sun = np.maximum(0.0, kind.sun_passed_share * drawn["sun"] - plane["sun_passed_share"])
    plane["sun_taken_share"] = np.minimum(plane["sun_taken_share"] + lost_sun, 1.0 - plane["sun_passed_share"])
    if f"roof.{number}.cover_gap" in values:
        plane["gap_m"] = values[f"roof.{number}.cover_gap"]
    plane["covered"] = 1.0
    return last


def _panels(members: np.ndarray, site: Any, values: dict[str, np.ndarray]) -> None:
    """Closed panels instead of the spray."""
    if site.panels is None:
        return
    selective = site.panels.plate == "selective"
    members["panel_m2"], members["panel_covered"] = values["panels.area"], site.panels.kind == "covered"
    members["panel_factor"] = np.clip(_plate_factor(site.panels, values), 0.05, 1.0)
    members["panel_back_W_m2K"] = values["model.panel_back"]
    members["panel_window"] = PANEL_SELECTIVE_WINDOW if selective else PANEL_EMISSIVITY
    members["panel_rest"] = PANEL_SELECTIVE_REST if selective else PANEL_EMISSIVITY
    if site.panels.kind == "covered":
        for name, value in cover.COVER_KINDS["film"]._asdict().items():
            members["planes"][name][:, 0] = value
        members["planes"]["inner_forced_share"][:, 0] = cover.inner_forced_share(
            cover.COVER_KINDS["film"].inner_wind_share)


def _plate_factor(panels_of_site: Any, values: dict[str, np.ndarray]) -> np.ndarray:
    """Plate efficiency factor: the prior, or of the panels' make with as much doubt about the rest of it."""
    drawn = values["model.panel_factor"]
    if panels_of_site.tube_pitch_m is None:
        return drawn
    tube = values["panels.tube_diameter"]
    loss = PANEL_LOSS_COVERED if panels_of_site.kind == "covered" else PANEL_LOSS_BARE
    made = panels.plate_factor(loss, values["panels.plate_conduction"], np.maximum(values["panels.tube_pitch"], tube),
                               tube, PANEL_BOND, PANEL_WATER_H, PANEL_BORE_RATIO * tube)
    return made * drawn / PANEL_FACTOR


def _horizon(site: Any, values: dict[str, np.ndarray], number: int) -> np.ndarray:
    """Horizon round a roof by sectors (one: the same all round) [deg], (members, sectors); an error is all round."""
    stated = site.roof[number - 1].horizon_deg
    error = values[f"roof.{number}.horizon"] - stated.value
    return np.clip(np.asarray(sectors_of(stated)) + error[:, np.newaxis], 0.0, 90.0)


def _planes(members: np.ndarray, site: Any, values: dict[str, np.ndarray]) -> dict[str, tuple[int, np.ndarray]]:
    """Lay the sprayed roofs into planes; returns by roof the plane without a cover and its share of the roof."""
    numbers, place, open_planes = _sprayed(site), 0, {}
    whole = sum(values[f"roof.{number}.area"] for number in numbers)
    for number in numbers:
        roof, plane = f"roof.{number}", members["planes"][:, place]
        slope, area = values[f"{roof}.slope"], values[f"{roof}.area"]
        plane["wind_ratio"] = _wind_ratio(site, values, roof)
        plane["slope_cos_frac"], plane["tilt_factor"] = np.cos(np.radians(slope)), cover.tilt_factor(slope)
        plane["flow_share"], plane["slope_deg"] = area / whole, np.maximum(slope, LEAST_SLOPE_DEG)
        plane["wetted_m2"] = area * np.clip(_wetted_share(site, values, number, plane["slope_deg"]), 0.02, 1.0)
        wetted_m2 = plane["wetted_m2"].copy()
        _standing_water(plane, site, values, number)
        _forced(members, plane, site, values, number)
        plane["stable_cubed"] = convection.natural_stable_cubed(slope)
        plane["emissivity"] = values[f"{roof}.emissivity"]
        plane["sky_view"] = sky.sky_view_roof(_horizon(site, values, number), slope, values[f"{roof}.facing"])
        plane["deck_capacity_J_m2K"] = 1000.0 * values[f"{roof}.deck_capacity"]
        plane["deck_u_W_m2K"] = values[f"{roof}.deck_u"]
        plane["t_beneath_C"] = values[f"{roof}.beneath_temperature"]
        plane["absorptance"], plane["sun_passed_share"] = values[f"{roof}.solar_absorptance"], 1.0
        place = _cover(members["planes"], place, site, values, number)
        last = members["planes"][:, place - 1]
        if not last["covered"].any():
            open_planes[roof] = (place - 1, last["wetted_m2"] / wetted_m2)
    members["planes_n"] = place
    _panels(members, site, values)
    return open_planes


def _spray(members: np.ndarray, site: Any, values: dict[str, np.ndarray]) -> None:
    controls = site.controls
    members["spray_allowed"] = 1.0
    members["flow_kg_s"] = _flow_kg_s(values)
    members["ridge_share"] = np.clip(values["spray.ridge_share"], 0.0, 1.0)
    # under a cover the drops meet air that is in balance with them, and drift stays inside; water let out along the
    # ridge does not fly
    planes = members["planes"]
    members["open_share"] = (planes["flow_share"] * (1.0 - planes["covered"])).sum(axis=1)
    members["flying_share"] = members["open_share"] * (1.0 - members["ridge_share"])
    still, warmer = (values["model.drop_factor"] * _drop_exchange(values, site, t_C) for t_C in DROP_AIR_C)
    members["drop_exchange_J_kgK"] = still
    members["drop_exchange_J_kgK2"] = (warmer - still) / (DROP_AIR_C[1] - DROP_AIR_C[0])
    areas = [values[f"roof.{number}.area"] for number in _sprayed(site)]
    members["feed_kg_m2s"] = members["flow_kg_s"] / sum(areas)
    members["spray_height_m"] = np.maximum(values["spray.fall_height"], 0.05)
    members["roof_length_m"] = values[f"roof.{_sprayed(site)[0]}.length"]
    members["drift_base"], members["drift_wind_s2_m2"] = values["spray.drift_base"], values["spray.drift_wind"]
    members["pump_W"] = chillers.pump_slowed_W(values["spray.pump_power"], _slowed(values),
                                               np.clip(values.get("spray.static_share", 0.0), 0.0, 1.0))
    members["pump_heat_share"] = values["spray.pump_heat_share"]
    members["wind_ratio"] = (members["planes"]["flow_share"] * members["planes"]["wind_ratio"]).sum(axis=1)
    members["sense"] = SENSES.index(controls.sense)
    members["start_K"], members["stop_K"] = controls.start_difference_K, controls.stop_difference_K
    members["stop_store_C"] = controls.stop_store_C
    members["lockout_rain_mm_h"] = controls.lockout_rain_mm_h
    members["lockout_wind_m_s"] = controls.lockout_wind_m_s
    members["lockout_frost_C"] = controls.lockout_frost_C


def _drop_exchange(values: dict[str, np.ndarray], site: Any, t_air_C: float) -> np.ndarray:
    """Exchange of the drops on their way up and down, in still air at the site's height over the sea.

    Wind across, along and against the throw changes it by a few per cent either way up to 4 m/s at the roof, which
    leaves its mean within 4 %: far inside the spread of the drop factor.
    """
    pressure = standard_pressure_Pa(site.place.elevation_m)
    density = moistair.air_density_kg_m3(t_air_C, DROP_AIR_KG_KG, pressure)
    return jet.jet_exchange_J_kgK(
        values["spray.drop_size"] / 1000.0, values["spray.fall_height"],
        np.clip(values["spray.nozzle_angle"], 5.0, 90.0), density, moistair.air_viscosity_Pa_s(t_air_C) / density,
        moistair.air_conductivity_W_mK(t_air_C))


def _store(members: np.ndarray, site: Any, values: dict[str, np.ndarray]) -> None:
    volume = values["store.volume"]
    members["full_kg"] = volume * RHO_WATER
    # content marks move with the store's size, so that a member with a smaller store keeps them in order
    scale = volume / site.store.volume_m3.value * RHO_WATER
    members["dead_kg"] = values["store.dead"] * scale
    members["reserve_kg"] = np.maximum(values["store.reserve"] * scale, members["dead_kg"])
    area = tank.WALL_AREA_M2[site.store.shape](volume, values["store.height"])
    _open_surface(members, site, values, volume / values["store.height"])
    _walls(members, site, values, area - members["open_m2"])
    members["ground_swing_K"] = values["store.ground_swing"]
    members["store_outside"] = PLACEMENTS.index(site.store.placement)
    members["t_ground_C"] = values["store.ground_temperature"]
    members["leak_kg_s"] = values["store.leak"] * RHO_WATER / 1000.0 / SECONDS_A_DAY
    members["start_kg"] = np.clip(values["store.initial_share"], 0.05, 1.0) * members["full_kg"]
    members["t_start_C"] = values["store.initial_temperature"]
    members["layers"] = site.store.nodes
    members["top_up_below_kg"] = site.mains.top_up_below_m3 * scale
    members["top_up_to_kg"] = site.mains.top_up_to_m3 * scale


def _open_surface(members: np.ndarray, site: Any, values: dict[str, np.ndarray], plan_m2: np.ndarray) -> None:
    """The free surface of an open store: level, in the first sprayed roof's wind over the store's own length."""
    members["open_m2"] = values["store.open_share"] * plan_m2
    members["store_cover_share"] = np.clip(values["store.cover_share"], 0.0, 1.0)
    members["store_cover_u_W_m2K"] = values.get("store.cover_u", 0.0)
    members["store_forced_factor"] = _forced_factor(members, site, values, members["planes"]["wind_ratio"][:, 0],
                                                    np.sqrt(plan_m2), SMOOTH)


def _walls(members: np.ndarray, site: Any, values: dict[str, np.ndarray], area: np.ndarray) -> None:
    """What the walls pass: as stated, or by their resistance; outdoors then by the wind, in the loop."""
    placement, u = site.store.placement, values["store.u"]
    members["wall_m2"], members["wall_m2K_W"] = area, NOT_STATED
    if site.store.wall_resistance_m2K_W is not None:
        resistance = np.maximum(0.0, values["store.wall_resistance"])
        u = 1.0 / (1.0 / WATER_SIDE_H + resistance + (1.0 / INDOOR_SIDE_H if placement == "indoors" else 0.0))
        if placement == "outdoors":
            members["wall_m2K_W"] = resistance
            members["wall_wind_ratio"] = (_profile(site, np.maximum(values["store.height"], LOW_ROOF_M))
                                          * values["weather.wind_factor"])
    members["ua_store_W_K"] = u * area
    if placement == "buried":
        members["ua_store_W_K"] = ground.buried_ua_W_K(
            _shape_m(site, values, area), values["store.soil_conductivity"], u, area)


def _shape_m(site: Any, values: dict[str, np.ndarray], area: np.ndarray) -> np.ndarray:
    """Shape factor of a buried store: a long lying cylinder's own, else that of any compact body."""
    store, diameter, depth = site.store, values["store.height"], values["store.depth"]
    long_m3 = LONG * 0.25 * np.pi * store.height_m.value**3
    if store.shape == "lying cylinder" and store.volume_m3.value >= long_m3:
        length = values["store.volume"] / (0.25 * np.pi * diameter**2)
        return ground.shape_cylinder_lying_m(diameter, np.maximum(depth, LEAST_BURIED * 0.5 * diameter), length)
    return ground.shape_compact_m(area, np.maximum(depth, 0.5 * np.sqrt(area / np.pi)))


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
    pressure = standard_pressure_Pa(site.place.elevation_m)
    members["t_wetbulb_room_C"] = moistair.wet_bulb_C(t_room, moistair.humidity_ratio(vapour, pressure), pressure)
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
    blown = values.get("air_conditioner.free_cooling_flow")
    members["free_air_W_K"] = NOT_STATED if blown is None else blown / 3600.0 * AIR_VOLUME_J_M3K
    members["air_first"] = site.air_conditioner.free_cooling_order == "air first"
    members["part_load"] = PART_LOADS.index(site.air_conditioner.part_load)
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


def _catchments(members: np.ndarray, site: Any, values: dict[str, np.ndarray],
                open_planes: dict[str, tuple[int, np.ndarray]]) -> None:
    roofs = [f"roof.{number}" for number, roof in enumerate(site.roof, start=1) if roof.catches_rain]
    others = [f"catchment.{number}" for number in range(1, len(site.catchment) + 1)]
    members["catchments_n"], catchments = len(roofs) + len(others), members["catchments"]
    for place, path in enumerate(roofs + others):
        plan = np.cos(np.radians(values[f"{path}.slope"])) if path in roofs else 1.0
        catchments["area_m2"][:, place] = values[f"{path}.area"] * plan
        catchments["runoff"][:, place] = np.clip(values[f"{path}.runoff_coefficient"], 0.0, 1.0)
        catchments["initial_loss_mm"][:, place] = values[f"{path}.initial_loss"]
        wetted = path in roofs and site.panels is None  # closed panels wet no roof
        catchments["sprayed"][:, place] = wetted and site.roof[int(path.split(".")[1]) - 1].sprayed
        catchments["open_plane"][:, place], catchments["open_share"][:, place] = open_planes.get(path, (NO_PLANE, 0.0))


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
        out["pump_W"], out["variable"] = values[f"{path}.pump_power"], emitter.pump_drive == "variable"
        out["resistance_m2K_W"] = values[f"{path}.resistance"]
        out["outdoor_share"] = values[f"{path}.outdoor_air_share"]
        out["minimum_supply_C"], out["dew_margin_K"] = emitter.minimum_supply_C, emitter.dew_margin_K
        out["area_m2"] = values.get(f"{path}.area", 0.0)
        out["rated_W"], out["rated_K"] = values.get(f"{path}.rated", 0.0), values[f"{path}.rated_difference"]
        out["ua_W_K"] = values.get(f"{path}.ua", 0.0)
        if f"{path}.air_flow" in values:
            out["air_W_K"] = values[f"{path}.air_flow"] / 3600.0 * AIR_VOLUME_J_M3K
        if emitter.kind == "coil":
            out["unit_W_K"] = coil_W_K(out["flow_kg_s"], out["ua_W_K"], out["air_W_K"])
        elif emitter.kind == "floor":
            out["unit_W_K"] = panel_W_K(out["flow_kg_s"], out["area_m2"], out["resistance_m2K_W"], FLOOR_H)
        elif emitter.kind == "ceiling":
            share = ceiling_surface_share(out["flow_kg_s"], out["area_m2"], out["resistance_m2K_W"])
            out["h_steady_W_m2K"], out["h_rising_W_m2K"] = ceiling_steady_W_m2K(share), ceiling_rising_W_m2K(share)
        out["limit_W"] = _limit_W(members["t_room_C"], emitter, out["area_m2"])


def _limit_W(t_room_C: np.ndarray, emitter: Any, area_m2: np.ndarray) -> np.ndarray:
    """What a floor or ceiling takes up at the least temperature of its surface; no limit to others."""
    least_C = emitter.minimum_surface_C
    if emitter.kind not in COOLED_SURFACES or least_C is None:
        return np.full(t_room_C.size, NO_LIMIT_W)
    h_W_m2K = FLOOR_H if emitter.kind == "floor" else ceiling_coefficient_W_m2K(t_room_C, least_C)
    return panel_limit_W(t_room_C, area_m2, h_W_m2K, least_C)
