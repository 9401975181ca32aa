"""The roof side of a step: may it spray, does the controller want it, what does the roof do to the water."""

from __future__ import annotations

import math
from collections import namedtuple

import numpy as np

from sprayroof.physics.compiled import compiled
from sprayroof.physics.constants import (
    AIR_VOLUME_J_M3K,
    CP_WATER,
    DECK_WATER_H,
    FREEZING_GUARD_C,
    FROST_AIR_C,
    MASS_RATIO,
    WARM_MIST_FROM_C,
    WARM_MIST_TO_C,
)
from sprayroof.physics.cover import gap_in_air
from sprayroof.physics.covered_sheet import covered_sheet
from sprayroof.physics.droplets import drift_share, flight_from
from sprayroof.physics.film import sheet, spalding_number
from sprayroof.physics.moistair import saturation_pressure_Pa
from sprayroof.physics.panels import bare_panel, covered_panel
from sprayroof.physics.rain import first_flush
from sprayroof.physics.tank import add_top, content_kg, outlet_mean_C, take_bottom
from sprayroof.physics.throw import fresh_air_frac

RETURN_WATER, WET_BULB, AIR, CLOCK = 0.0, 1.0, 2.0, 3.0
UNKNOWN_C = -90.0

Roof = namedtuple("Roof", "ok t_in_C t_out_C drop_fall_K out_kg drift_kg vapour_heat_J heat_J longwave_J convection_J "
                          "latent_J deck_J evaporation_kg condensation_kg pump_heat_J sheet_C")
NO_ROOF = Roof(False, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


@compiled
def forced_of(plane, air):
    """Forced convection on a plane [W/(m2 K)], by the member's formula."""
    return plane.forced_constant_W_m2K + plane.forced_factor * (air.forced_1m_W_m2K - plane.forced_constant_W_m2K)


@compiled
def gap_over(plane, air, forced_W_m2K):
    """The gap beneath a plane's cover in this step's air."""
    return gap_in_air(plane.gap_m, plane.slope_cos_frac, plane.tilt_factor, air.t_C, air.density_kg_m3,
                      air.conductivity_W_mK, air.viscosity_m2_s, air.wind_m_s * plane.wind_ratio, plane.leak_calm_m_s,
                      plane.leak_wind_share, forced_W_m2K, plane.inner_wind_share)


@compiled
def sun_of(plane, solar_W_m2):
    """Sun that a plane takes up [W/m2]; a cover keeps it off."""
    return plane.absorptance * solar_W_m2 * (1.0 - plane.covered)


@compiled
def sky_of(plane, air):
    """Long-wave flux on a plane [W/m2]: sky, and surroundings at air temperature."""
    return plane.sky_view * air.longwave_W_m2 + (1.0 - plane.sky_view) * air.black_W_m2


@compiled
def sheet_on(plane, air, t_land_C, feed_kg_m2s, ridge_share, start_C, cover_C, deck_W_m2K, t_deck_C):
    """The running sheet of a plane, bare or under its cover (see `film.sheet`; the cover's temperature comes last)."""
    forced = forced_of(plane, air)
    unstable, stable = air.unstable_cubed * plane.buoyant, plane.stable_cubed * plane.buoyant
    if plane.covered > 0.0:
        gap = gap_over(plane, air, forced)
        return covered_sheet(
            t_land_C, feed_kg_m2s, ridge_share, start_C, cover_C, deck_W_m2K, t_deck_C, air.t_C, air.w, air.tv_K,
            air.pressure_Pa, forced, unstable, stable, air.lewis_per_cp, plane.emissivity, sky_of(plane, air), gap,
            plane)
    mean, convection, evaporation, longwave, latent, deck = sheet(
        t_land_C, feed_kg_m2s, ridge_share, start_C, deck_W_m2K, t_deck_C, air.t_C, air.w, air.tv_K, air.pressure_Pa,
        forced, unstable, stable, air.lewis_per_cp, plane.emissivity, sky_of(plane, air))
    return mean, convection, evaporation, longwave, latent, deck, cover_C


@compiled
def spray_roof(air, solar_W_m2, member, planes, deck_C, sheet_C, cover_C, t_store_C, shift_K, drop_fall_K, dt_s):
    """What the roof would do to the water of one step; changes nothing but the temperatures it found.

    The exchange is taken at the water's temperature in the middle of the step, `shift_K` below that at its start.
    """
    sprayed = member.flow_kg_s * dt_s
    pump_heat = member.pump_W * member.pump_heat_share * dt_s
    t_in = t_store_C + pump_heat / (sprayed * CP_WATER)
    drift = sprayed * drift_share(air.wind_m_s * member.wind_ratio, member.drift_base, member.drift_wind_s2_m2)
    flying, t_nozzle = sprayed - drift, t_in - shift_K
    exchange = member.drop_exchange_J_kgK * fresh_air_frac(
        member.feed_kg_m2s, member.drop_exchange_J_kgK, air.wind_m_s * member.wind_ratio, member.spray_height_m,
        member.roof_length_m, AIR_VOLUME_J_M3K)
    sensible, vapour, latent, t_drop = flight_from(
        t_nozzle, t_nozzle - drop_fall_K, exchange, air.t_C, air.w, air.pressure_Pa, air.lewis_per_cp)
    convection, latent_total = flying * sensible, flying * latent
    evaporated, condensed = flying * max(vapour, 0.0), flying * max(-vapour, 0.0)
    vapour_heat = flying * vapour * CP_WATER * t_drop
    landing = flying * (1.0 - vapour)
    t_land = (flying * CP_WATER * t_nozzle - convection - latent_total - vapour_heat) / (landing * CP_WATER)
    longwave = deck = mean_sheet = 0.0
    for p in range(planes.size):
        plane = planes[p]
        deck_W_m2K, t_deck = deck_seen(plane, deck_C[p], solar_W_m2, dt_s)
        start = sheet_C[p] if sheet_C[p] > UNKNOWN_C else t_land
        sheet_C[p], c, e, lw, lat, dk, cover_C[p] = sheet_on(
            plane, air, t_land, landing * plane.flow_share / (plane.wetted_m2 * dt_s), member.ridge_share, start,
            cover_C[p], deck_W_m2K, t_deck)
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
    return Roof(out > 0.0, t_in, t_out, t_nozzle - t_drop, out, drift, vapour_heat, heat, longwave, convection,
                latent_total, deck, evaporated, condensed, pump_heat, mean_sheet)


@compiled
def run_panels(air, member, planes, cover_C, t_store_C, dt_s):
    """What closed panels would do to the water of one step."""
    plane, pumped = planes[0], member.flow_kg_s * dt_s
    pump_heat = member.pump_W * member.pump_heat_share * dt_s
    t_in = t_store_C + pump_heat / (pumped * CP_WATER)
    forced = forced_of(plane, air)
    unstable, stable = air.unstable_cubed * plane.buoyant, plane.stable_cubed * plane.buoyant
    if member.panel_covered > 0.0:
        gap = gap_over(plane, air, forced)
        _, heat_W, longwave_W, mean, cover_C[0] = covered_panel(
            t_in, cover_C[0], member.flow_kg_s, member.panel_m2, member.panel_factor, member.panel_back_W_m2K, air.t_C,
            air.w, air.tv_K, air.pressure_Pa, forced, unstable, stable, air.lewis_per_cp, member.panel_window,
            member.panel_rest, sky_of(plane, air), gap, plane)
    else:
        _, heat_W, longwave_W, mean = bare_panel(
            t_in, member.flow_kg_s, member.panel_m2, member.panel_factor, member.panel_back_W_m2K, air.t_C, air.w,
            air.tv_K, air.pressure_Pa, forced, unstable, stable, air.lewis_per_cp, member.panel_window,
            member.panel_rest, sky_of(plane, air))
    heat, longwave = heat_W * dt_s, longwave_W * dt_s
    return Roof(True, t_in, t_in - heat / (pumped * CP_WATER), 0.0, pumped, 0.0, 0.0, heat, longwave, heat - longwave,
                0.0, 0.0, 0.0, 0.0, pump_heat, mean)


@compiled
def deck_seen(plane, deck_C, solar_W_m2, dt_s):
    """Conductance from the sheet to the deck over a step and the temperature it works against (implicit deck).

    Sun passes the thin sheet and is taken up by the deck.
    """
    store_W = plane.deck_capacity_J_m2K / dt_s
    beneath_W = store_W + plane.deck_u_W_m2K
    gains = plane.deck_u_W_m2K * plane.t_beneath_C + sun_of(plane, solar_W_m2)
    t_deck = (store_W * deck_C + gains) / beneath_W
    return DECK_WATER_H * beneath_W / (DECK_WATER_H + beneath_W), t_deck


@compiled
def wet_decks(planes, deck_C, sheet_C, solar_W_m2, dt_s):
    """Decks under the running sheet after the step, in step with the heat that `sheet` found."""
    for p in range(planes.size):
        store_W, u = planes[p].deck_capacity_J_m2K / dt_s, planes[p].deck_u_W_m2K
        sun = sun_of(planes[p], solar_W_m2)
        deck_C[p] = ((store_W * deck_C[p] + u * planes[p].t_beneath_C + sun + DECK_WATER_H * sheet_C[p])
                     / (store_W + u + DECK_WATER_H))


@compiled
def dry_decks(now, air, planes, deck_C, dt_s):
    """Decks without water: sun, sky and wind above, building beneath."""
    for p in range(planes.size):
        plane = planes[p]
        radiative = plane.emissivity * now.black_slope_W_m2K
        outside = forced_of(plane, air) + radiative
        gain = (sun_of(plane, now.solar_W_m2)
                - plane.emissivity * plane.sky_view * (air.black_W_m2 - air.longwave_W_m2))
        store_W = plane.deck_capacity_J_m2K / dt_s
        deck_C[p] = ((store_W * deck_C[p] + plane.deck_u_W_m2K * plane.t_beneath_C + outside * air.t_C + gain)
                     / (store_W + plane.deck_u_W_m2K + outside))


@compiled
def dry_up(air, planes, deck_C, roof_kg, dt_s):
    """Water left on the roof dries at the rate of its deck's temperature; returns what dried [kg]."""
    dried = 0.0
    for p in range(planes.size):
        if roof_kg[p] <= 0.0:
            continue
        p_sat = saturation_pressure_Pa(deck_C[p])
        w_sat = MASS_RATIO * p_sat / (air.pressure_Pa - (1.0 - MASS_RATIO) * p_sat)
        if planes[p].covered > 0.0:
            leak_m_s = planes[p].leak_calm_m_s + planes[p].leak_wind_share * air.wind_m_s * planes[p].wind_ratio
            rate = leak_m_s * air.density_kg_m3 * (w_sat - air.w)
        else:
            rate = forced_of(planes[p], air) * air.lewis_per_cp * math.log1p(spalding_number(w_sat, air.w))
        gone = min(roof_kg[p], max(0.0, rate) * planes[p].wetted_m2 * dt_s)
        roof_kg[p] -= gone
        dried += gone
    return dried


@compiled
def fill_roof(planes, roof_kg, out_kg):
    """Water that stays on the roof as the sheet builds up [kg], at most half of what runs off."""
    filled = 0.0
    for p in range(planes.size):
        part = min(max(0.0, planes[p].holdup_kg - roof_kg[p]), 0.5 * out_kg * planes[p].flow_share)
        roof_kg[p] += part
        filled += part
    return filled


@compiled
def drain_roof(planes, roof_kg):
    """Water that runs off when the spray stops [kg]; what the surface retains stays."""
    drained = 0.0
    for p in range(planes.size):
        part = max(0.0, roof_kg[p] - planes[p].retained_kg)
        roof_kg[p] -= part
        drained += part
    return drained


@compiled
def may_spray(now, air, member, store_kg, dt_s):
    """Clock, season, lock-outs and reserve."""
    if member.spray_allowed == 0.0 or now.spray_clock == 0.0:
        return False
    if now.rain_mm * 3600.0 / dt_s >= member.lockout_rain_mm_h or air.t_C <= member.lockout_frost_C:
        return False
    if air.wind_m_s * member.wind_ratio >= member.lockout_wind_m_s:
        return False
    return store_kg >= max(member.reserve_kg, member.dead_kg + member.flow_kg_s * dt_s)


@compiled
def wants_spray(air, member, t_store_C, t_out_C, running):
    """The controller: start and stop differences on the sensed temperature."""
    if t_store_C <= member.stop_store_C:
        return False
    if member.sense == CLOCK:
        return True
    sensed = t_out_C if member.sense == RETURN_WATER else (air.t_wetbulb_C if member.sense == WET_BULB else air.t_C)
    return t_store_C - sensed >= (member.stop_K if running else member.start_K)


@compiled
def spray(now, air, member, planes, memory, mass, temp, state, flow, flush_left, dt_s):
    """Spray (or run the panels) for a step if allowed and wanted; returns the room left in the first-flush diverter."""
    sprayed, was_running, runs, roof = member.flow_kg_s * dt_s, state.running > 0.0, False, NO_ROOF
    if may_spray(now, air, member, content_kg(mass), dt_s):
        t_store = outlet_mean_C(mass, temp, sprayed)
        if member.panel_m2 > 0.0:
            roof = run_panels(air, member, planes, memory.cover_C, t_store, dt_s)
        else:
            # a mixed store cools within the step: half of what the last step's fall makes of it
            shift = 0.5 * sprayed / content_kg(mass) * state.fall_K if was_running and mass.size == 1 else 0.0
            roof = spray_roof(air, now.solar_W_m2, member, planes, memory.deck_C, memory.sheet_C, memory.cover_C,
                              t_store, shift, state.drop_fall_K, dt_s)
            state.drop_fall_K = roof.drop_fall_K
        liquid = roof.ok and roof.t_out_C > FREEZING_GUARD_C
        runs = liquid and wants_spray(air, member, t_store, roof.t_out_C, was_running)
    if not runs:
        stop_spray(now, air, member, planes, memory, mass, temp, state, flow, dt_s)
        return flush_left
    take_bottom(mass, temp, sprayed)
    filled = 0.0 if member.panel_m2 > 0.0 else fill_roof(planes, memory.roof_kg, roof.out_kg)
    state.roof_kg += filled
    state.roof_heat_J += filled * CP_WATER * roof.t_out_C
    back, left = roof.out_kg - filled, flush_left
    if member.flush_takes_spray > 0.0 and member.panel_m2 == 0.0:
        back, left = first_flush(roof.out_kg - filled, flush_left)
    add_top(mass, temp, back, roof.t_out_C)
    if member.panel_m2 > 0.0:
        dry_decks(now, air, planes, memory.deck_C, dt_s)
    else:
        wet_decks(planes, memory.deck_C, memory.sheet_C, now.solar_W_m2, dt_s)
    state.running, state.t_return_C, state.sheet_C = 1.0, roof.t_out_C, roof.sheet_C
    state.fall_K = roof.t_in_C - roof.t_out_C
    note_spray(member, air, roof, sprayed, roof.out_kg - filled - back, flow, dt_s)
    return left


@compiled
def stop_spray(now, air, member, planes, memory, mass, temp, state, flow, dt_s):
    """A step without spray: the roof drains once, then what it retained dries."""
    if state.running > 0.0:
        drained = drain_roof(planes, memory.roof_kg)
        if drained > 0.0:
            t_roof = state.roof_heat_J / (state.roof_kg * CP_WATER)
            add_top(mass, temp, drained, t_roof)
            state.roof_kg -= drained
            state.roof_heat_J -= drained * CP_WATER * t_roof
    elif state.roof_kg > 0.0:
        gone = min(dry_up(air, planes, memory.deck_C, memory.roof_kg, dt_s), state.roof_kg)
        heat = state.roof_heat_J * (gone / state.roof_kg)
        flow.dried_kg = gone
        flow.water_out_J += heat
        state.roof_kg -= gone
        state.roof_heat_J -= heat
    state.running, state.t_return_C, state.sheet_C, state.fall_K = 0.0, np.nan, np.nan, 0.0
    dry_decks(now, air, planes, memory.deck_C, dt_s)


@compiled
def note_spray(member, air, roof, sprayed_kg, flushed_kg, flow, dt_s):
    """Write down what a step of spraying did."""
    flow.sprayed_kg, flow.drift_kg, flow.flush_lost_kg = sprayed_kg, roof.drift_kg, flushed_kg
    flow.evaporation_kg, flow.condensation_kg = roof.evaporation_kg, roof.condensation_kg
    flow.roof_J, flow.longwave_J, flow.convection_J = roof.heat_J, roof.longwave_J, roof.convection_J
    flow.latent_J, flow.deck_J, flow.pump_heat_J = roof.latent_J, roof.deck_J, roof.pump_heat_J
    flow.water_out_J += (roof.drift_kg * CP_WATER * roof.t_in_C + roof.vapour_heat_J
                         + flushed_kg * CP_WATER * roof.t_out_C)
    flow.spray_s, flow.spray_pump_J = dt_s, member.pump_W * dt_s
    mist = member.panel_m2 == 0.0 and WARM_MIST_FROM_C <= roof.t_in_C <= WARM_MIST_TO_C
    flow.warm_mist_s = dt_s if mist else 0.0
    flow.frost_s = dt_s if air.t_C < FROST_AIR_C else 0.0
