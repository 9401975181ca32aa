"""The one time loop: roof, store, rain, uses and cooling side carried through the weather for every member.

Read `_run_member` first: a step is spray, rain, mains, uses, cooling side, walls, salts, overflow, balance.
Each part takes its water from and gives it back to the store, and writes what it did into `flow`.
"""

from __future__ import annotations

from collections import namedtuple
from dataclasses import dataclass

import numba
import numpy as np

from sprayroof.model.records import FLOW, MEMORY, RESIDUAL, STATE, as_numbers
from sprayroof.physics.compiled import compiled
from sprayroof.physics.constants import (
    CP_WATER,
    DECK_WATER_H,
    EMITTER_START_DIFFERENCE,
    FLOOR_H,
    FREEZING_GUARD_C,
    FROST_AIR_C,
    KELVIN,
    MEASURED_SKY_RATIO,
    RAIN_EVENT_GAP_H,
    VIRTUAL_FACTOR,
    WARM_MIST_FROM_C,
    WARM_MIST_TO_C,
)
from sprayroof.physics.droplets import drift_share, flight
from sprayroof.physics.emitters import ceiling_coefficient_W_m2K, coil_capacity_W, panel_capacity_W
from sprayroof.physics.film import sheet
from sprayroof.physics.machines import air_conditioner_W, capacity_factor, eir_factor
from sprayroof.physics.rain import bleed_kg, first_flush, runoff_mm
from sprayroof.physics.tank import (
    add_top,
    content_J,
    content_kg,
    lose_heat,
    outlet_mean_C,
    settle,
    take_bottom,
    take_top,
)

RETURN_WATER, WET_BULB, AIR, CLOCK = 0.0, 1.0, 2.0, 3.0
TOP_UP, BYPASS = 0.0, 1.0
BURIED, OUTDOORS = 0.0, 1.0
FLOOR, CEILING, COIL = 0.0, 1.0, 2.0
METERED = 1.0
PACKAGED = 0.0

Air = namedtuple("Air", "t_C w tv_K pressure_Pa t_wetbulb_C wind_m_s lewis_per_cp black_W_m2 longwave_W_m2")
Roof = namedtuple("Roof", "ok t_in_C t_out_C out_kg drift_kg vapour_heat_J heat_J longwave_J convection_J latent_J "
                          "deck_J evaporation_kg condensation_kg pump_heat_J sheet_C")
NO_ROOF = Roof(False, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Trace:
    """What a run leaves behind.

    Parameters
    ----------
    days : (members, days) structured array of FLOW
        Sums of every day, all members.
    ends : (members, days) structured array of STATE
        State at the end of every day.
    residual : (members,) structured array of RESIDUAL
        Largest residuals and extremes.
    start : (members,) structured array of STATE
        State before the first step.
    steps, states : (steps,) structured arrays of FLOW and STATE
        Every step of member 0.
    dt_s : float
        Step [s].
    """

    days: np.ndarray
    ends: np.ndarray
    residual: np.ndarray
    start: np.ndarray
    steps: np.ndarray
    states: np.ndarray
    dt_s: float


@compiled
def _air_of(now, clear, cloud_error, member):
    """The air and sky of a step as this member has them: the weather file with its errors drawn."""
    offset = member.air_offset_K
    t = now.t_air_C + offset
    w = max(1e-6, now.w_air + now.dw_dt_1_K * offset + now.dw_dhumidity * member.humidity_offset)
    black = now.black_air_W_m2 * (1.0 + 4.0 * offset / (now.t_air_C + KELVIN))
    if now.has_longwave > 0.0:
        longwave = now.longwave_W_m2 + MEASURED_SKY_RATIO * member.sky_offset * black
    else:
        emissivity = clear + member.sky_offset
        cloud = min(1.0, max(0.0, now.cloud_effect + cloud_error * now.cloud_doubt))
        longwave = black * (emissivity + (1.0 - emissivity) * cloud)
    return Air(t, w, (t + KELVIN) * (1.0 + VIRTUAL_FACTOR * w), now.pressure_Pa, now.t_wetbulb_C + offset,
               now.wind_station_m_s, now.lewis_per_cp, black, longwave)


@compiled
def _spray_roof(now, air, member, planes, deck_C, sheet_C, t_store_C, dt_s):
    """What the roof would do to the water of one step; changes nothing but the sheet temperatures it found."""
    sprayed = member.flow_kg_s * dt_s
    pump_heat = member.pump_W * member.pump_heat_share * dt_s
    t_in = t_store_C + pump_heat / (sprayed * CP_WATER)
    drift = sprayed * drift_share(air.wind_m_s * member.wind_ratio, member.drift_base, member.drift_wind_s2_m2)
    flying = sprayed - drift
    sensible, vapour, latent, t_drop = flight(t_in, member.drop_exchange_J_kgK, air.t_C, air.w, air.pressure_Pa,
                                              air.lewis_per_cp)
    convection, latent_total = flying * sensible, flying * latent
    evaporated, condensed = flying * max(vapour, 0.0), flying * max(-vapour, 0.0)
    vapour_heat = flying * vapour * CP_WATER * t_drop
    landing = flying * (1.0 - vapour)
    t_land = (flying * CP_WATER * t_in - convection - latent_total - vapour_heat) / (landing * CP_WATER)
    longwave = deck = mean_sheet = 0.0
    for p in range(planes.size):
        plane = planes[p]
        incoming = plane.sky_view * air.longwave_W_m2 + (1.0 - plane.sky_view) * air.black_W_m2
        deck_W_m2K, t_deck = _deck_seen(plane, deck_C[p], dt_s)
        start = sheet_C[p] if sheet_C[p] > -90.0 else t_land
        sheet_C[p], c, e, lw, lat, dk = sheet(
            t_land, landing * plane.flow_share / (plane.wetted_m2 * dt_s), member.ridge_share, start, deck_W_m2K,
            t_deck, air.t_C, air.w, air.tv_K, air.pressure_Pa, plane.forced_factor * now.plate_1m_W_m2K,
            now.unstable_cubed, plane.stable_cubed, air.lewis_per_cp, plane.emissivity, incoming)
        amount = plane.wetted_m2 * dt_s
        convection += c * amount
        longwave += lw * amount
        latent_total += lat * amount
        deck += dk * amount
        evaporated += max(e, 0.0) * amount
        condensed += max(-e, 0.0) * amount
        vapour_heat += e * amount * CP_WATER * sheet_C[p]
        mean_sheet += plane.flow_share * sheet_C[p]
    heat = convection + longwave + latent_total + deck
    out = flying - evaporated + condensed
    t_out = (flying * CP_WATER * t_in - heat - vapour_heat) / (out * CP_WATER) if out > 0.0 else t_in
    return Roof(out > 0.0, t_in, t_out, out, drift, vapour_heat, heat, longwave, convection, latent_total, deck,
                evaporated, condensed, pump_heat, mean_sheet)


@compiled
def _deck_seen(plane, deck_C, dt_s):
    """Conductance from the sheet to the deck over a step and the temperature it works against (implicit deck)."""
    store_W = plane.deck_capacity_J_m2K / dt_s
    beneath_W = store_W + plane.deck_u_W_m2K
    t_deck = (store_W * deck_C + plane.deck_u_W_m2K * plane.t_beneath_C) / beneath_W
    return DECK_WATER_H * beneath_W / (DECK_WATER_H + beneath_W), t_deck


@compiled
def _wet_decks(planes, deck_C, sheet_C, dt_s):
    """Decks under the running sheet after the step, in step with the heat that `sheet` found."""
    for p in range(planes.size):
        store_W, u = planes[p].deck_capacity_J_m2K / dt_s, planes[p].deck_u_W_m2K
        deck_C[p] = ((store_W * deck_C[p] + u * planes[p].t_beneath_C + DECK_WATER_H * sheet_C[p])
                     / (store_W + u + DECK_WATER_H))


@compiled
def _dry_decks(now, air, planes, deck_C, dt_s):
    """Decks without water: sun, sky and wind above, building beneath."""
    for p in range(planes.size):
        plane = planes[p]
        radiative = 4.0 * plane.emissivity * air.black_W_m2 / (air.t_C + KELVIN)
        outside = plane.forced_factor * now.plate_1m_W_m2K + radiative
        gain = (plane.absorptance * now.solar_W_m2
                - plane.emissivity * plane.sky_view * (air.black_W_m2 - air.longwave_W_m2))
        store_W = plane.deck_capacity_J_m2K / dt_s
        deck_C[p] = ((store_W * deck_C[p] + plane.deck_u_W_m2K * plane.t_beneath_C + outside * air.t_C + gain)
                     / (store_W + plane.deck_u_W_m2K + outside))


@compiled
def _may_spray(now, air, member, store_kg, dt_s):
    """Clock, season, lock-outs and reserve."""
    if member.spray_allowed == 0.0 or now.spray_clock == 0.0:
        return False
    if now.rain_mm * 3600.0 / dt_s >= member.lockout_rain_mm_h or air.t_C <= member.lockout_frost_C:
        return False
    if air.wind_m_s * member.wind_ratio >= member.lockout_wind_m_s:
        return False
    return store_kg >= max(member.reserve_kg, member.dead_kg + member.flow_kg_s * dt_s)


@compiled
def _wants_spray(air, member, t_store_C, t_out_C, running):
    """The controller: start and stop differences on the sensed temperature."""
    if t_store_C <= member.stop_store_C:
        return False
    if member.sense == CLOCK:
        return True
    sensed = t_out_C if member.sense == RETURN_WATER else (air.t_wetbulb_C if member.sense == WET_BULB else air.t_C)
    return t_store_C - sensed >= (member.stop_K if running else member.start_K)


@compiled
def _spray(now, air, member, planes, deck_C, sheet_C, mass, temp, state, flow, flush_left, dt_s):
    """Spray for a step if allowed and wanted; returns the room left in the first-flush diverter."""
    sprayed, was_running = member.flow_kg_s * dt_s, state.running > 0.0
    runs, roof = False, NO_ROOF
    if _may_spray(now, air, member, content_kg(mass), dt_s):
        t_store = outlet_mean_C(mass, temp, sprayed)
        roof = _spray_roof(now, air, member, planes, deck_C, sheet_C, t_store, dt_s)
        liquid = roof.ok and roof.t_out_C > FREEZING_GUARD_C
        runs = liquid and _wants_spray(air, member, t_store, roof.t_out_C, was_running)
    if not runs:
        state.running, state.t_return_C, state.sheet_C = 0.0, np.nan, np.nan
        _dry_decks(now, air, planes, deck_C, dt_s)
        return flush_left
    take_bottom(mass, temp, sprayed)
    back, left = roof.out_kg, flush_left
    if member.flush_takes_spray > 0.0:
        back, left = first_flush(roof.out_kg, flush_left)
    add_top(mass, temp, back, roof.t_out_C)
    _wet_decks(planes, deck_C, sheet_C, dt_s)
    state.running, state.t_return_C, state.sheet_C = 1.0, roof.t_out_C, roof.sheet_C
    flow.sprayed_kg, flow.drift_kg, flow.flush_lost_kg = sprayed, roof.drift_kg, roof.out_kg - back
    flow.evaporation_kg, flow.condensation_kg = roof.evaporation_kg, roof.condensation_kg
    flow.roof_J, flow.longwave_J, flow.convection_J = roof.heat_J, roof.longwave_J, roof.convection_J
    flow.latent_J, flow.deck_J, flow.pump_heat_J = roof.latent_J, roof.deck_J, roof.pump_heat_J
    flow.water_out_J += (roof.drift_kg * CP_WATER * roof.t_in_C + roof.vapour_heat_J
                         + flow.flush_lost_kg * CP_WATER * roof.t_out_C)
    flow.spray_s, flow.spray_pump_J = dt_s, member.pump_W * dt_s
    flow.warm_mist_s = dt_s if WARM_MIST_FROM_C <= roof.t_in_C <= WARM_MIST_TO_C else 0.0
    flow.frost_s = dt_s if air.t_C < FROST_AIR_C else 0.0
    return left


@compiled
def _rain(now, air, member, catchments, loss_left, mass, temp, flow, flush_left):
    """Rain on the catchments into the store; returns the room left in the first-flush diverter."""
    depth = now.rain_mm * member.rain_factor
    water = 0.0
    for c in range(catchments.size):
        runoff, loss_left[c] = runoff_mm(depth, catchments[c].runoff, loss_left[c])
        water += runoff * catchments[c].area_m2
        flow.rain_fallen_kg += depth * catchments[c].area_m2
    passed, left = first_flush(water, flush_left)
    flow.rain_kg = passed * member.filter_efficiency
    t_rain = max(0.0, air.t_wetbulb_C)
    add_top(mass, temp, flow.rain_kg, t_rain)
    flow.water_in_J += flow.rain_kg * CP_WATER * t_rain
    return left


@compiled
def _mains(now, member, filling, mass, temp, flow, dt_s):
    """Top up from the mains; returns whether the valve stays open."""
    total = content_kg(mass)
    if member.mains_rule != TOP_UP:
        return False
    filling = total < member.top_up_below_kg or (filling and total < member.top_up_to_kg)
    if filling:
        flow.mains_kg = min(member.mains_kg_s * dt_s, max(0.0, member.top_up_to_kg - total))
        add_top(mass, temp, flow.mains_kg, now.t_mains_C)
        flow.water_in_J += flow.mains_kg * CP_WATER * now.t_mains_C
    return filling


@compiled
def _draw(now, member, uses, mass, temp, flow, dt_s):
    """Other uses in order of priority, then leaks."""
    for u in range(uses.size):
        wanted = uses[u].draw_kg_day * now.use_share[u]
        if wanted <= 0.0:
            continue
        taken = min(wanted, max(0.0, content_kg(mass) - member.dead_kg))
        flow.water_out_J += taken * CP_WATER * take_bottom(mass, temp, taken)
        flow.uses_kg += taken
        if member.mains_rule == BYPASS:
            flow.bypass_kg += wanted - taken
        else:
            flow.unmet_kg += wanted - taken
    flow.leak_kg = min(member.leak_kg_s * dt_s, content_kg(mass))
    flow.water_out_J += flow.leak_kg * CP_WATER * take_bottom(mass, temp, flow.leak_kg)


@compiled
def _load_W(now, member):
    """Heat that the building's air conditioning has to remove."""
    if now.load_hours == 0.0:
        return 0.0
    if member.load_kind == METERED:
        return now.load_W * member.load_factor
    outdoor = now.t_load_C + member.air_offset_K - member.balance_point_C
    return min(member.load_max_W, member.base_W + member.load_ua_W_K * max(0.0, outdoor))


@compiled
def _emitter_heat_W(emitter, member, air, t_store_C):
    """Heat an emitter could take up, the capacity flow that answers for it, and what holds it back.

    Returns heat [W], heat per kelvin between source and supply [W/K], source temperature [degC], whether the dew
    guard or the minimum supply keeps the water warmer than the store's.
    """
    if emitter.kind == COIL:
        source = member.t_room_C + emitter.outdoor_share * (air.t_C - member.t_room_C)
        supply = max(t_store_C, emitter.minimum_supply_C)
        heat = coil_capacity_W(source, supply, emitter.flow_kg_s, emitter.ua_W_K, emitter.air_W_K)
        unit = coil_capacity_W(1.0, 0.0, emitter.flow_kg_s, emitter.ua_W_K, emitter.air_W_K)
    else:
        source = member.t_room_C
        supply = max(t_store_C, emitter.minimum_supply_C, member.t_dew_room_C + emitter.dew_margin_K)
        h = FLOOR_H
        if emitter.kind == CEILING:
            h = ceiling_coefficient_W_m2K(source, 0.5 * (source + supply))
        heat = panel_capacity_W(source, supply, emitter.flow_kg_s, emitter.area_m2, emitter.resistance_m2K_W, h,
                                emitter.minimum_surface_C)
        unit = panel_capacity_W(1.0, 0.0, emitter.flow_kg_s, emitter.area_m2, emitter.resistance_m2K_W, h, -1e9)
    if source - supply < EMITTER_START_DIFFERENCE:
        heat = 0.0
    return heat, unit, source, supply > t_store_C


@compiled
def _cooling_side(now, air, member, emitters, mass, temp, flow, dt_s):
    """Floors, ceilings and coils take heat from the rooms into the store; the air conditioner does the rest."""
    load = _load_W(now, member)
    if load <= 0.0:
        return
    sensible, delivered = load * member.sensible_share, 0.0
    for e in range(emitters.size):
        emitter, t_store = emitters[e], temp[mass.size - 1]
        heat, unit, source, held = _emitter_heat_W(emitter, member, air, t_store)
        heat = min(heat, sensible - delivered)
        if heat <= 0.0:
            if held:
                flow.dew_limited_s = dt_s
            continue
        # a mixing valve raises the supply until the emitter takes up just what is wanted
        t_return = source - heat / unit + heat / (emitter.flow_kg_s * CP_WATER)
        through = heat * dt_s / (CP_WATER * (t_return - t_store))
        if through > 0.9 * content_kg(mass):
            continue
        t_taken = take_bottom(mass, temp, through)
        add_top(mass, temp, through, t_taken + heat * dt_s / (through * CP_WATER))
        delivered += heat
        flow.circulator_J += emitter.pump_W * dt_s
        if held:
            flow.dew_limited_s = dt_s
    free = air.t_C < member.free_cooling_below_C
    useful = 0.0 if free else delivered
    flow.load_J, flow.sensible_load_J = load * dt_s, sensible * dt_s
    flow.delivered_J, flow.useful_J, flow.cooling_side_J = delivered * dt_s, useful * dt_s, delivered * dt_s
    if not free:
        flow.ac_without_J = _air_conditioner_W(load, air, member) * dt_s
        flow.ac_with_J = _air_conditioner_W(load - useful, air, member) * dt_s


@compiled
def _air_conditioner_W(load_W, air, member):
    """Electric power of the air conditioner at a load in this step's weather."""
    if member.ac_kind == PACKAGED:
        capacity = member.ac_capacity_W * capacity_factor(member.t_wetbulb_room_C, air.t_C)
        return air_conditioner_W(load_W, capacity, member.ac_eir * eir_factor(member.t_wetbulb_room_C, air.t_C),
                                 member.ac_degradation)
    return min(load_W, member.ac_capacity_W) * member.ac_eir


@compiled
def _boost(now, member, mass, temp, flow, dt_s):
    """A booster chiller on the store, kept apart from the roof."""
    excess = temp[mass.size - 1] - member.booster_setpoint_C
    if member.booster_W <= 0.0 or now.booster_clock == 0.0 or excess <= 0.0:
        return
    capacity = content_kg(mass) * CP_WATER
    heat = min(member.booster_W * dt_s, excess * capacity)
    for layer in range(temp.size):
        temp[layer] -= heat / capacity
    flow.booster_J, flow.booster_electric_J = heat, heat / member.booster_cop


@compiled
def _overflow_and_bleed(member, mass, temp, salt_kg, flow):
    """What the full store sheds, and what is let go for the sake of its salts."""
    flow.overflow_kg = max(0.0, content_kg(mass) - member.full_kg)
    flow.water_out_J += flow.overflow_kg * CP_WATER * take_top(mass, temp, flow.overflow_kg)
    if member.bleed_on > 0.0:
        wanted = bleed_kg(content_kg(mass), salt_kg, member.salt_limit_kg_kg, member.salt_mains_kg_kg)
        flow.bleed_kg = min(wanted, max(0.0, content_kg(mass) - member.dead_kg))
        flow.water_out_J += flow.bleed_kg * CP_WATER * take_bottom(mass, temp, flow.bleed_kg)


@compiled
def _standing(now, member, flow, dt_s):
    """Electric loads of the system beside its pumps."""
    power = member.standing_always_W + member.standing_season_W * now.spray_season
    cooling_s = dt_s if flow.delivered_J > 0.0 else 0.0
    flow.standing_J = power * dt_s + member.standing_spraying_W * flow.spray_s + member.standing_cooling_W * cooling_s


@compiled
def _outside_store_C(air, member):
    """Temperature that the store's walls meet."""
    if member.store_outside == BURIED:
        return member.t_ground_C
    return air.t_C if member.store_outside == OUTDOORS else member.t_room_C


@compiled
def _close(mass, temp, salt_kg, before, flow, state, residual):
    """Hold what the store now contains against what the flows of the step say it should."""
    store, heat = content_kg(mass), content_J(mass, temp)
    water_in = flow.rain_kg + flow.mains_kg + flow.condensation_kg
    water_out = (flow.evaporation_kg + flow.drift_kg + flow.flush_lost_kg + flow.uses_kg + flow.leak_kg
                 + flow.bleed_kg + flow.overflow_kg)
    water = abs(before[0] + water_in - water_out - store)
    gains = flow.pump_heat_J + flow.cooling_side_J + flow.water_in_J
    losses = flow.roof_J + flow.walls_J + flow.booster_J + flow.water_out_J
    energy = abs(before[1] + gains - losses - heat)
    salt = abs(before[2] + flow.salt_in_kg - flow.salt_out_kg - salt_kg)
    residual.water_step_kg = max(residual.water_step_kg, water)
    residual.heat_step_J = max(residual.heat_step_J, energy)
    residual.salt_step_kg = max(residual.salt_step_kg, salt)
    # divided only where a new largest residual shows up
    scale = before[0] + water_in + 1.0
    if water > residual.water_step_rel * scale:
        residual.water_step_rel = water / scale
    scale = abs(before[1]) + abs(gains) + abs(losses) + 1.0
    if energy > residual.heat_step_rel * scale:
        residual.heat_step_rel = energy / scale
    scale = before[2] + flow.salt_in_kg + 1e-3
    if salt > residual.salt_step_rel * scale:
        residual.salt_step_rel = salt / scale
    residual.coldest_C = min(residual.coldest_C, temp[mass.size - 1])
    if salt_kg > residual.saltiest_kg_kg * max(store, 1.0):
        residual.saltiest_kg_kg = salt_kg / max(store, 1.0)
    state.store_kg, state.store_heat_J, state.salt_kg = store, heat, salt_kg
    state.t_outlet_C, state.t_top_C = temp[mass.size - 1], temp[0]
    return store, heat, salt_kg


@compiled
def _salts(member, before, flow):
    """Salts in and out: evaporation leaves them behind, everything liquid takes its share."""
    concentration = before[2] / max(before[0], 1.0)
    out = (flow.drift_kg + flow.flush_lost_kg + flow.uses_kg + flow.leak_kg + flow.bleed_kg
           + flow.overflow_kg) * concentration
    flow.salt_in_kg = flow.rain_kg * member.salt_rain_kg_kg + flow.mains_kg * member.salt_mains_kg_kg
    flow.salt_out_kg = min(out, before[2])
    return before[2] - flow.salt_out_kg + flow.salt_in_kg


@compiled
def _run_member(drivers, clear, cloud_error, member, memory, dt_s, flow, flow_numbers, state, residual, start, days,
                ends, steps, states):
    """One member through all steps."""
    layers = int(member.layers)
    mass, temp = memory.mass_kg[:layers], memory.temp_C[:layers]
    spare_mass, spare_temp = memory.spare_mass_kg[:layers], memory.spare_temp_C[:layers]
    planes, catchments = member.planes[: int(member.planes_n)], member.catchments[: int(member.catchments_n)]
    uses, emitters = member.uses[: int(member.uses_n)], member.emitters[: int(member.emitters_n)]
    deck_C, sheet_C, loss_left = memory.deck_C, memory.sheet_C, memory.loss_left_mm
    mass[:], temp[:] = member.start_kg / layers, member.t_start_C
    deck_C[:], sheet_C[:] = member.t_start_C, -99.0
    flush_full = _flush_volume_kg(member, catchments)
    flush_left, dry_h, filling = flush_full, 1e3, False
    salt_kg = member.start_kg * member.salt_rain_kg_kg
    before = (content_kg(mass), content_J(mass, temp), salt_kg)
    start.store_kg, start.store_heat_J, start.salt_kg, start.t_outlet_C = before[0], before[1], salt_kg, temp[0]
    residual.coldest_C = 1e3
    for i in range(drivers.size):
        now = drivers[i]
        flow_numbers[:] = 0.0
        air = _air_of(now, clear[i, int(member.sky_column)], cloud_error[int(now.night)], member)
        if dry_h >= member.dry_spell_h:
            flush_left = flush_full
        flush_left = _spray(now, air, member, planes, deck_C, sheet_C, mass, temp, state, flow, flush_left, dt_s)
        if now.rain_mm > 0.0:
            if dry_h >= RAIN_EVENT_GAP_H:
                for c in range(catchments.size):
                    loss_left[c] = catchments[c].initial_loss_mm
            flush_left = _rain(now, air, member, catchments, loss_left, mass, temp, flow, flush_left)
        wet = now.rain_mm > 0.0 or (flow.spray_s > 0.0 and member.flush_takes_spray > 0.0)
        dry_h = 0.0 if wet else dry_h + dt_s / 3600.0
        filling = _mains(now, member, filling, mass, temp, flow, dt_s)
        settle(mass, temp, spare_mass, spare_temp)
        _draw(now, member, uses, mass, temp, flow, dt_s)
        _cooling_side(now, air, member, emitters, mass, temp, flow, dt_s)
        settle(mass, temp, spare_mass, spare_temp)
        flow.walls_J = lose_heat(mass, temp, member.ua_store_W_K, _outside_store_C(air, member), dt_s)
        _boost(now, member, mass, temp, flow, dt_s)
        _overflow_and_bleed(member, mass, temp, salt_kg, flow)
        salt_kg = _salts(member, before, flow)
        settle(mass, temp, spare_mass, spare_temp)
        _standing(now, member, flow, dt_s)
        before = _close(mass, temp, salt_kg, before, flow, state, residual)
        day = int(now.day)
        for k in range(flow_numbers.size):
            days[day, k] += flow_numbers[k]
        if i + 1 == drivers.size or int(drivers[i + 1].day) != day:
            ends[day] = state
        if steps.size > 0:
            steps[i] = flow
            states[i] = state


@compiled
def _flush_volume_kg(member, catchments):
    """Room in the first-flush diverter when it has emptied."""
    area = 0.0
    for c in range(catchments.size):
        area += catchments[c].area_m2
    return area * member.first_flush_mm


@numba.njit(parallel=True, cache=True, error_model="numpy")
def _run_all(drivers, clear, cloud_error, members, memory, dt_s, flow, flow_numbers, state, residual, start, days, ends,
             steps, states):
    """All members, side by side; member 0 leaves its steps."""
    for m in numba.prange(members.size):
        kept = steps.size if m == 0 else 0
        _run_member(drivers, clear, cloud_error[m], members[m], memory[m], dt_s, flow[m], flow_numbers[m], state[m],
                    residual[m], start[m], days[m], ends[m], steps[:kept], states[:kept])


def simulate(drivers, clear, cloud_error, ensemble, dt_s: float, keep_steps: bool = True) -> Trace:
    """Carry all members through the weather.

    Parameters
    ----------
    drivers : (steps,) structured array of DRIVER
    clear : (steps, sky models) array
        Clear-sky emissivities [1].
    cloud_error : (members, nights) array
        Error of the cloud effect each night [1].
    ensemble : Ensemble
        Members with their parts.
    dt_s : float
        Step [s].
    keep_steps : bool
        Whether member 0 leaves every step (else the arrays are empty).

    Returns
    -------
    Trace
    """
    n, n_days = ensemble.members.size, int(drivers["day"].max()) + 1
    flow = np.zeros(n, FLOW)
    days = np.zeros((n, n_days), FLOW)
    kept = drivers.size if keep_steps else 0
    trace = Trace(days, np.zeros((n, n_days), STATE), np.zeros(n, RESIDUAL), np.zeros(n, STATE),
                  np.zeros(kept, FLOW), np.zeros(kept, STATE), dt_s)
    _run_all(drivers, clear, cloud_error, ensemble.members, np.zeros(n, MEMORY), dt_s, flow, as_numbers(flow),
             np.zeros(n, STATE), trace.residual, trace.start, as_numbers(days), trace.ends, trace.steps, trace.states)
    return trace
