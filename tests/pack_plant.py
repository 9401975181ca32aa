"""The invented plant carried through the weeks in steps of 30 s: pump, roof, gutter, store, floors, room, machine."""

from __future__ import annotations

import numpy as np
from numba import njit
from pack_config import BYPASS, CELLS, LAYERS, SPRAY, STEP_S, CP_J_kgK, RHO_kg_m3
from pack_roof import film, film_heat_capacity_J_K, spray
from pack_store import at_height_C, even_out, pour, turn_over, walls_and_mixing

# Amounts of a step: *_kg and *_J, heat above 0 degC; rain_J is of rain that does not splash off, film_carried_J and
# drop_carried_J the liquid's heat in what evaporates. At its end: store_kg, store_J, film_kg, roof_J and the rest.
ROW = np.dtype([(name, "f8") for name in (
    "supply_kg", "supply_J", "pump_J", "pump_heat_J", "supply_pipe_J", "return_pipe_J", "drift_kg", "drift_J",
    "drop_evaporated_kg", "drop_sensible_J", "drop_latent_J", "drop_carried_J", "landed_kg", "film_evaporated_kg",
    "film_latent_J", "film_carried_J", "film_sensible_J", "radiated_J", "sun_J", "inside_J", "rain_kg", "rain_J",
    "splashed_kg", "gutter_kg", "gutter_J", "flushed_kg", "flushed_J", "filter_kg", "filter_J", "return_kg",
    "return_J", "rain_caught_kg", "bypass_kg", "bypass_J", "waste_kg", "waste_J", "makeup_kg", "makeup_J", "draw_kg",
    "draw_J", "leak_kg", "leak_J", "overflow_kg", "overflow_J", "floor_J", "floor_pump_J", "walls_J", "ac_J",
    "ac_cooling_J", "store_kg", "store_J", "film_kg", "roof_J", "spraying", "supply_C", "return_C", "low_C", "mid_C",
    "high_C", "room_C", "ac_on", "roof_C")])
HEIGHTS_M = (0.2, 0.6, 1.0)  # of the temperature sensors in the store

# Places in the arrays of drivers
MODE, PUMP, DRAW, ALLOWED, WORKING = range(5)
AIR, VAPOUR, WIND, SKY, SUN, RAIN, RAIN_C = range(7)


@njit
def _gutter(out_kg, out_J, mixed, flush, rain_kg, landed_kg, plant, row):
    """What of the roof's outflow goes on to the store [kg, J]; first flush and filter act on its rain only.

    `mixed` remembers rain and spray that entered the roof lately; `flush`: kg still to divert, dry seconds.
    """
    fade = np.exp(-STEP_S / 120.0)
    mixed[0] = mixed[0] * fade + rain_kg
    mixed[1] = mixed[1] * fade + landed_kg
    of_rain = mixed[0] / (mixed[0] + mixed[1]) if mixed[0] + mixed[1] > 0.0 else 1.0
    if rain_kg > 0.0:
        flush[1] = 0.0
    else:
        flush[1] += STEP_S
        if flush[1] > 3600.0 * plant.flush_dry_h:
            flush[0] = plant.first_flush_kg
    diverted = min(flush[0], out_kg * of_rain)
    flush[0] -= diverted
    filtered = (out_kg * of_rain - diverted) * plant.filter_lost_frac
    per_kg = out_J / out_kg if out_kg > 0.0 else 0.0
    row["gutter_kg"], row["gutter_J"] = out_kg, out_J
    row["flushed_kg"], row["flushed_J"] = diverted, diverted * per_kg
    row["filter_kg"], row["filter_J"] = filtered, filtered * per_kg
    row["rain_caught_kg"] = out_kg * of_rain - diverted - filtered
    return out_kg - diverted - filtered, out_J - (diverted + filtered) * per_kg


@njit
def _through_pipe_J(kg, t_C, around_C, plant):
    """Heat that water takes up in a pipe."""
    if kg <= 0.0:
        return 0.0
    return kg * CP_J_kgK * (around_C - t_C) * (1.0 - np.exp(-plant.pipe_W_K * STEP_S / (kg * CP_J_kgK)))


@njit
def _take(mass, heat, layer, kg):
    """Take water out of a layer; its heat."""
    carried = kg * heat[layer] / mass[layer]
    mass[layer] -= kg
    heat[layer] -= carried
    return carried


@njit
def _small_flows(mass, heat, plan, makeup_on, plant, row):
    """Users, leak, make-up by its valve, overflow."""
    row["draw_kg"] = plan[DRAW]
    row["draw_J"] = _take(mass, heat, 0, plan[DRAW])
    row["leak_kg"] = plant.leak_L_day * RHO_kg_m3 / 1000.0 * STEP_S / 86400.0
    row["leak_J"] = _take(mass, heat, 0, row["leak_kg"])
    held_m3 = mass.sum() / RHO_kg_m3
    if held_m3 < plant.top_up_below_m3:
        makeup_on = 1.0
    elif held_m3 > plant.top_up_to_m3:
        makeup_on = 0.0
    if makeup_on > 0.5 and plan[ALLOWED] > 0.5:
        row["makeup_kg"] = plant.makeup_L_min * RHO_kg_m3 / 1000.0 * STEP_S / 60.0
        row["makeup_J"] = row["makeup_kg"] * CP_J_kgK * plant.mains_C
        pour(mass, heat, row["makeup_kg"], plant.mains_C)
    over = mass.sum() - plant.store_m3 * RHO_kg_m3
    if over > 0.0:
        row["overflow_kg"] = over
        row["overflow_J"] = _take(mass, heat, LAYERS - 1, over)
    return makeup_on


@njit
def _floors(mass, heat, floor_kg, effectiveness, room_C, plant, row):
    """Heat from the room into the store by the floors, and their pump's."""
    bottom_C = heat[0] / (mass[0] * CP_J_kgK)
    taken = floor_kg * CP_J_kgK * effectiveness * (room_C - bottom_C)
    row["floor_pump_J"] = plant.floor_pump_W * STEP_S
    carried = _take(mass, heat, 0, floor_kg) + taken + row["floor_pump_J"]
    pour(mass, heat, floor_kg, carried / (floor_kg * CP_J_kgK))
    row["floor_J"] = taken
    return taken


@njit
def _room(room_C, ac_on, air_C, sun, working, into_floor_J, into_roof_J, plant, row):
    """Room and air conditioner; their new state."""
    if working < 0.5 or room_C < plant.ac_off_C:
        ac_on = 0.0
    elif room_C > plant.ac_on_C:
        ac_on = 1.0
    cooling = ac_on * plant.ac_W * STEP_S
    cop = max(plant.ac_cop_25 - plant.ac_cop_slope * (air_C - 25.0), 1.5)
    row["ac_cooling_J"] = cooling
    row["ac_J"] = cooling / cop + (plant.ac_fan_W * STEP_S if working > 0.5 else 0.0)
    gains = (plant.room_gain_W if working > 0.5 else plant.room_night_W) + plant.room_sun_m2 * sun
    gained = (gains + plant.room_W_K * (air_C - room_C)) * STEP_S - into_floor_J - into_roof_J - cooling
    return room_C + gained / plant.room_J_K, ac_on


@njit
def _pump(mode, moves_kg, mass, heat, plant, row):
    """Take a step's water out of the store, warm it by the pump; kg and temperature behind the pump."""
    kg = moves_kg if mode > 0.5 and mass.sum() > plant.reserve_m3 * RHO_kg_m3 else 0.0
    if kg <= 0.0:
        return 0.0, heat[0] / (mass[0] * CP_J_kgK)
    row["pump_J"] = plant.pump_W * STEP_S
    row["pump_heat_J"] = plant.pump_heat_frac * row["pump_J"]
    row["supply_kg"] = kg
    row["supply_J"] = _take(mass, heat, 0, kg) + row["pump_heat_J"]
    return kg, row["supply_J"] / (kg * CP_J_kgK)


@njit
def _sensor(before_C, water_C, flowing, around_C):
    """A sensor in a pipe: follows the water, or the surroundings where the water stands."""
    lag_s = 20.0 if flowing else 1500.0
    aim_C = water_C if flowing else around_C
    return aim_C + (before_C - aim_C) * np.exp(-STEP_S / lag_s)


@njit
def run(plan, air, floor_kg, effectiveness, plant, heights_m, rows, layers_J):
    """Carry the plant through all steps. `plan` and `air`: drivers, one row a step; fills `rows` and `layers_J`."""
    mass = np.full(LAYERS, plant.store_start_m3 * RHO_kg_m3 / LAYERS)
    heat = mass * CP_J_kgK * (plant.store_start_C + 0.05 * (np.arange(LAYERS) - 0.5 * (LAYERS - 1.0)))
    wet, deck = np.zeros(CELLS), np.full(CELLS, plant.deck_J_m2K * plant.roof_m2 * plant.wetted_frac / CELLS * 25.0)
    mixed, flush = np.zeros(2), np.array([plant.first_flush_kg, 1e9])
    room_C, ac_on, makeup_on, supply_C, return_C = 24.0, 0.0, 0.0, 22.0, 22.0
    for step in range(len(rows)):
        row, now = rows[step], air[step]
        mode, around_C = plan[step, MODE], 0.6 * room_C + 0.4 * now[AIR]
        kg, t_C = _pump(mode, plan[step, PUMP], mass, heat, plant, row)
        sprayed, landed, landed_C = 0.0, 0.0, t_C
        if mode == SPRAY and kg > 0.0:
            sprayed = kg
            row["supply_pipe_J"] = _through_pipe_J(kg, t_C, around_C, plant)
            landed, landed_C = spray(kg, t_C + row["supply_pipe_J"] / (kg * CP_J_kgK), now[AIR], now[VAPOUR],
                                     now[WIND], plant, row)
            row["spraying"] = 1.0
        splashed = now[RAIN] * plant.roof_m2 * plant.runoff_splash_frac
        rain = now[RAIN] * plant.roof_m2 - splashed
        row["rain_kg"], row["splashed_kg"], row["rain_J"] = rain + splashed, splashed, rain * CP_J_kgK * now[RAIN_C]
        out_kg, out_J = film(wet, deck, landed, landed_C, rain, now[RAIN_C], now[AIR], now[VAPOUR], now[WIND],
                             now[SKY], now[SUN], room_C, plant, row)
        back_kg, back_J = _gutter(out_kg, out_J, mixed, flush, rain, landed, plant, row)
        if back_kg > 0.0:
            row["return_pipe_J"] = _through_pipe_J(back_kg, back_J / (back_kg * CP_J_kgK), around_C, plant)
            row["return_kg"], row["return_J"] = back_kg, back_J + row["return_pipe_J"]
            pour(mass, heat, back_kg, row["return_J"] / (back_kg * CP_J_kgK))
        if mode == BYPASS:
            row["bypass_kg"], row["bypass_J"] = kg, row["supply_J"]
            pour(mass, heat, kg, t_C)
        elif sprayed == 0.0:
            row["waste_kg"], row["waste_J"] = kg, row["supply_J"]
        even_out(mass, heat)
        makeup_on = _small_flows(mass, heat, plan[step], makeup_on, plant, row)
        taken = 0.0
        if plan[step, WORKING] > 0.5:
            taken = _floors(mass, heat, floor_kg, effectiveness, room_C, plant, row)
        even_out(mass, heat)
        row["walls_J"] = walls_and_mixing(mass, heat, plant, now[AIR])
        turn_over(mass, heat)
        room_C, ac_on = _room(room_C, ac_on, now[AIR], now[SUN], plan[step, WORKING], taken, row["inside_J"], plant,
                              row)
        seen_C = t_C if mode == BYPASS or back_kg <= 0.0 else row["return_J"] / (back_kg * CP_J_kgK)
        supply_C = _sensor(supply_C, t_C, kg > 0.0, around_C)
        return_C = _sensor(return_C, seen_C, mode == BYPASS or back_kg > 0.1 * STEP_S, around_C)
        row["supply_C"], row["return_C"], row["room_C"], row["ac_on"] = supply_C, return_C, room_C, ac_on
        row["store_kg"], row["store_J"], row["film_kg"], row["roof_J"] = mass.sum(), heat.sum(), wet.sum(), deck.sum()
        row["roof_C"] = row["roof_J"] / film_heat_capacity_J_K(wet, plant)
        row["low_C"] = at_height_C(mass, heat, plant, heights_m[0])
        row["mid_C"] = at_height_C(mass, heat, plant, heights_m[1])
        row["high_C"] = at_height_C(mass, heat, plant, heights_m[2])
        layers_J[step] = heat
