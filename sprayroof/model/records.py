"""The records that the time loop reads and writes: one field a quantity, each with its unit.

Numpy structured types, so that compiled code reads `member.ua_store_W_K` and a reader sees what travels.
"""

from __future__ import annotations

import numpy as np

MAX_PARTS = 8
MAX_PLANES = 2 * MAX_PARTS  # a roof covered in part counts twice
MAX_USES = MAX_PARTS
MAX_LAYERS = 8


def _record(*names: str) -> np.dtype:
    return np.dtype([(name, np.float64) for name in names], align=True)


# What the weather and the clock give at a step, the same for all members
DRIVER = np.dtype(
    [(name, np.float64) for name in (
        "t_air_C", "w_air", "dw_dt_1_K", "dw_dhumidity", "tv_air_K", "pressure_Pa", "t_wetbulb_C",
        "unstable_cubed", "density_kg_m3", "conductivity_W_mK",
        "viscosity_m2_s", "lewis_per_cp", "black_air_W_m2", "black_slope_W_m2K",
        "cloud_doubt", "longwave_W_m2", "has_longwave",
        "wind_station_m_s", "solar_W_m2", "rain_mm", "t_mains_C", "t_load_C", "load_W", "load_hours",
        "ground_wave", "spray_clock", "spray_season", "booster_clock", "night", "day",
    )] + [("use_share", np.float64, (MAX_USES,))],
    align=True,
)

# One sprayed roof plane of one member
PLANE = _record(
    "wetted_m2", "flow_share", "wind_ratio", "forced_constant_W_m2K", "forced_factor", "buoyant", "stable_cubed",
    "emissivity", "sky_view", "slope_deg", "slope_cos_frac",
    "tilt_factor", "deck_capacity_J_m2K", "deck_u_W_m2K", "t_beneath_C", "absorptance",
    "holdup_kg", "retained_kg",
    # a cover over it; the names of its optics and gap are those of `physics.cover`
    "covered", "sun_passed_share", "sun_taken_share", "gap_m", "leak_calm_m_s", "leak_wind_share", "inner_wind_share",
    "inner_forced_share",
    "transmittance_window", "transmittance_rest", "reflectance_window", "reflectance_rest",
    "wet_transmittance_window", "wet_transmittance_rest", "wet_reflectance_window", "wet_reflectance_rest",
)

# `open_plane` is the place of the roof's plane without a cover (below 0: none), `open_share` its share of the roof
CATCHMENT = _record("area_m2", "runoff", "initial_loss_mm", "sprayed", "open_plane", "open_share")

USE = _record("draw_kg_day")

# `unit_W_K`: what floors and coils take up per kelvin between source and supply, the same in every step; `limit_W`:
# what floors and ceilings take up at their least surface temperature; `h_steady_W_m2K` and `h_rising_W_m2K`:
# a ceiling's coefficient at full flow, see `emitters.ceiling_on_water_W_m2K`
EMITTER = _record(
    "kind", "rated_W", "rated_K", "area_m2", "resistance_m2K_W", "ua_W_K", "air_W_K", "unit_W_K", "outdoor_share",
    "flow_kg_s", "minimum_supply_C", "limit_W", "h_steady_W_m2K", "h_rising_W_m2K", "dew_margin_K", "pump_W",
    "variable",
)

# Air in which a member's drops are worked out [degC]: between and beyond, straight
DROP_AIR_C = (15.0, 35.0)

# One member of the ensemble: every fact and coefficient of one possible site
_MEMBER_FACTS = (
    # weather errors
    "air_offset_K", "humidity_offset", "sky_offset", "sky_column", "cloud_column", "convection_column", "rain_factor",
    # spray and control
    "spray_allowed", "flow_kg_s", "ridge_share", "open_share", "flying_share",
    "drop_exchange_J_kgK", "drop_exchange_J_kgK2",
    "feed_kg_m2s", "spray_height_m", "roof_length_m", "drift_base", "drift_wind_s2_m2",
    "pump_W", "pump_heat_share", "wind_ratio", "sense", "start_K", "stop_K", "stop_store_C",
    "lockout_rain_mm_h", "lockout_wind_m_s", "lockout_frost_C",
    # closed panels instead of the spray
    "panel_m2", "panel_covered", "panel_factor", "panel_back_W_m2K", "panel_window", "panel_rest",
    # store
    "full_kg", "dead_kg", "reserve_kg", "ua_store_W_K", "wall_m2", "wall_m2K_W", "wall_wind_ratio",
    "store_outside", "t_ground_C", "ground_swing_K", "open_m2",
    "store_forced_factor",
    "store_cover_share", "store_cover_u_W_m2K", "leak_kg_s",
    "start_kg", "t_start_C", "layers",
    # rain, mains, salts
    "filter_efficiency", "first_flush_mm", "dry_spell_h", "flush_takes_spray",
    "mains_rule", "top_up_below_kg", "top_up_to_kg", "mains_kg_s",
    "salt_rain_kg_kg", "salt_mains_kg_kg", "bleed_on", "salt_limit_kg_kg",
    # building and machines
    "t_room_C", "t_dew_room_C", "t_wetbulb_room_C",
    "load_kind", "load_ua_W_K", "balance_point_C", "base_W", "sensible_share", "load_max_W", "load_factor",
    "ac_kind", "ac_eir", "ac_capacity_W", "ac_degradation", "part_load", "free_cooling_below_C", "free_air_W_K",
    "air_first",
    "booster_W", "booster_cop", "booster_setpoint_C",
    "standing_always_W", "standing_spraying_W", "standing_cooling_W", "standing_season_W",
    # how many of each part
    "planes_n", "catchments_n", "uses_n", "emitters_n",
)
MEMBER = np.dtype(
    [(name, np.float64) for name in _MEMBER_FACTS]
    + [("planes", PLANE, (MAX_PLANES,)), ("catchments", CATCHMENT, (MAX_PARTS,)), ("uses", USE, (MAX_PARTS,)),
       ("emitters", EMITTER, (MAX_PARTS,))],
    align=True,
)

# What a member remembers from step to step, layers and parts as fixed rows (compiled code then needs no counting of
# references, which would cost more than the physics)
MEMORY = np.dtype(
    [(name, np.float64, (MAX_LAYERS,)) for name in ("mass_kg", "temp_C", "spare_mass_kg", "spare_temp_C")]
    + [(name, np.float64, (MAX_PLANES,)) for name in (
        "deck_C", "deck_lean_K", "sheet_C", "sheet_lean_K", "sheet_move_K", "cover_C", "roof_kg", "loss_left_mm",
        "rain_C")]
    + [(name, np.float64) for name in ("drop_fall_K", "drop_move_K")],
    align=True,
)

# What happened in a step (amounts over the step); summed to days for every member
FLOW = _record(
    # heat out of the water at the roof [J]
    "roof_J", "longwave_J", "convection_J", "latent_J", "deck_J",
    # the rest of the store's heat balance [J], positive into the store
    "pump_heat_J", "walls_J", "surface_J", "booster_J", "cooling_side_J", "water_in_J", "water_out_J",
    # heat that the decks get from sun, building and air (less what they give) [J]; what drying and rain take from them
    "deck_gain_J", "dried_J", "rain_deck_J",
    # cooling side
    "delivered_J", "useful_J", "load_J", "sensible_load_J", "free_J",
    # electricity [J]
    "ac_without_J", "ac_with_J", "spray_pump_J", "circulator_J", "standing_J", "standing_cooling_J",
    "booster_electric_J",
    # water [kg]
    "sprayed_kg", "evaporation_kg", "condensation_kg", "drift_kg", "flush_lost_kg", "dried_kg", "surface_kg",
    "rain_kg", "rain_fallen_kg",
    "mains_kg", "bypass_kg", "uses_kg", "unmet_kg", "leak_kg", "bleed_kg", "overflow_kg",
    # salts [kg]
    "salt_in_kg", "salt_out_kg",
    # time [s]
    "spray_s", "warm_mist_s", "frost_s", "dew_limited_s",
)

# State of the store at the end of a step, and the largest residual so far
STATE = _record("store_kg", "store_heat_J", "roof_kg", "roof_heat_J", "deck_heat_J", "salt_kg", "t_outlet_C", "t_top_C",
                "t_return_C", "running", "sheet_C", "fall_K")
RESIDUAL = _record("water_step_kg", "heat_step_J", "salt_step_kg", "water_step_rel", "heat_step_rel", "salt_step_rel",
                   "coldest_C", "saltiest_kg_kg")

SENSES = ("return water", "wet bulb", "air", "clock")
MAINS_RULES = ("top up", "bypass", "none")
PLACEMENTS = ("buried", "outdoors", "indoors")
EMITTER_KINDS = ("floor", "ceiling", "coil", "beam")
LOAD_KINDS = ("balance point", "metered")
PART_LOADS = ("of the kind", "line", "EN 14825")
AC_KINDS = ("packaged", "constant", "chiller", "inverter")


def as_numbers(records: np.ndarray) -> np.ndarray:
    """The same memory seen as plain numbers, fields along the last axis (for records of float64 only)."""
    return records.view(np.float64).reshape((*records.shape, records.dtype.itemsize // 8))
