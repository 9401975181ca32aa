"""The roof side of a step: may it spray, does the controller want it, what does the roof do to the water."""

from __future__ import annotations

import math
from collections import namedtuple

import numpy as np

from sprayroof.model.records import DROP_AIR_C
from sprayroof.physics.compiled import compiled
from sprayroof.physics.constants import (
    AIR_VOLUME_J_M3K,
    CP_WATER,
    DECK_DRY_H,
    DECK_WATER_H,
    FREEZING_GUARD_C,
    FROST_AIR_C,
    KELVIN,
    SATURATION_BEND_1_K,
    VIRTUAL_FACTOR,
    WARM_MIST_FROM_C,
    WARM_MIST_TO_C,
)
from sprayroof.physics.convection import mixed_convection_W_m2K
from sprayroof.physics.cover import LOOP_RESIDUAL_W_M2, covered_deck, covered_surface, gap_in_air, leakage_kg_m2s
from sprayroof.physics.covered_sheet import covered_sheet
from sprayroof.physics.droplets import drift_share, flight_from
from sprayroof.physics.film import spalding_number
from sprayroof.physics.moistair import air_heat_capacity_J_kgK, saturation_pressure_Pa, vapour_mass_fraction
from sprayroof.physics.panels import bare_panel, covered_panel
from sprayroof.physics.rain import first_flush
from sprayroof.physics.scarce_sheet import running_sheet
from sprayroof.physics.sky import black_flux_W_m2
from sprayroof.physics.tank import add_top, content_kg, outlet_mean_C, take_bottom
from sprayroof.physics.throw import fresh_air_frac
from sprayroof.physics.water import latent_heat_J_kg

RETURN_WATER, WET_BULB, AIR, CLOCK = 0.0, 1.0, 2.0, 3.0
UNKNOWN_C = -90.0
STEADY_MOVE_K = 0.5
LEAST_LEAN_K = 0.01
# Bounds of `most_fall_K`: no air colder above than below stirs more than this on water 20 K under it (any slope), and
# no more than this share of the water evaporates
CALM_COOLED_W_M2K = 3.6
LESS_WATER = 1.05
SECANT_RISE_1_K = 1.5 / 293.15  # how the mean slope of the black flux rises with the deck above the air

Roof = namedtuple("Roof", "ok t_in_C t_out_C out_kg drift_kg vapour_heat_J heat_J longwave_J convection_J "
                          "latent_J deck_J evaporation_kg condensation_kg pump_heat_J sheet_C")
NO_ROOF = Roof(False, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


@compiled
def forced_of(plane, air):
    """Forced convection on a plane [W/(m2 K)], by the member's formula."""
    return plane.forced_constant_W_m2K + plane.forced_factor * (air.forced_1m_W_m2K - plane.forced_constant_W_m2K)


@compiled
def gap_over(plane, air, forced_W_m2K):
    """The gap beneath a plane's cover in this step's air."""
    return gap_in_air(plane.gap_m, plane.slope_cos_frac, plane.tilt_factor, air.t_C, air.density_kg_m3,
                      air.conductivity_W_mK, air.viscosity_m2_s, air.wind_m_s * plane.wind_ratio, plane.leak_calm_m_s,
                      plane.leak_wind_share, forced_W_m2K * plane.inner_forced_share)


@compiled
def sun_of(plane, solar_W_m2):
    """Sun that a plane's deck takes up [W/m2], through its cover where there is one."""
    return plane.absorptance * plane.sun_passed_share * solar_W_m2


@compiled
def sky_of(plane, air):
    """Long-wave flux on a plane [W/m2]: sky, and surroundings at air temperature."""
    return plane.sky_view * air.longwave_W_m2 + (1.0 - plane.sky_view) * air.black_W_m2


@compiled
def sheet_on(plane, air, solar_W_m2, t_land_C, feed_kg_m2s, ridge_share, start_C, cover_C, deck_W_m2K, t_deck_C,
             deck_profile_frac):
    """The running sheet of a plane, bare or under its cover (see `running_sheet`; cover's temperature comes last)."""
    forced = forced_of(plane, air)
    unstable, stable = air.unstable_cubed * plane.buoyant, plane.stable_cubed * plane.buoyant
    if plane.covered > 0.0:
        gap = gap_over(plane, air, forced)
        mean, convection, lost, longwave, latent, deck, cover = covered_sheet(
            t_land_C, feed_kg_m2s, ridge_share, start_C, cover_C, deck_W_m2K, t_deck_C, air.t_C, air.w, air.tv_K,
            air.pressure_Pa, forced, unstable, stable, air.lewis_per_cp, plane.emissivity, sky_of(plane, air), gap,
            plane, plane.sun_taken_share * solar_W_m2, deck_profile_frac)
        return mean, convection, lost, longwave, latent, deck, CP_WATER * lost * mean, cover
    mean, convection, evaporation, longwave, latent, deck, vapour_heat = running_sheet(
        t_land_C, feed_kg_m2s, ridge_share, start_C, deck_W_m2K, t_deck_C, air.t_C, air.w, air.tv_K, air.pressure_Pa,
        forced, unstable, stable, air.lewis_per_cp, plane.emissivity, sky_of(plane, air), deck_profile_frac)
    return mean, convection, evaporation, longwave, latent, deck, vapour_heat, cover_C


@compiled
def steady(move_K):
    """How far a temperature will move again: as far as last time, nothing after a pause."""
    return move_K if abs(move_K) < STEADY_MOVE_K else 0.0


@compiled
def sheet_guess_C(memory, p, t_land_C):
    """First guess of a plane's sheet: it moves on as it did last, which mostly saves its second pass."""
    return memory.sheet_C[p] + memory.sheet_move_K[p] if memory.sheet_C[p] > UNKNOWN_C else t_land_C


@compiled
def deck_follows(memory, p):
    """How far a plane's deck has taken on the profile of its sheet [1]: a light one soon, concrete within a night.

    A deck that leans the other way, as after a warm evening, counts as alike everywhere.
    """
    lean_K = memory.sheet_lean_K[p]
    return max(0.0, min(1.0, memory.deck_lean_K[p] / lean_K)) if abs(lean_K) > LEAST_LEAN_K else 1.0


@compiled
def remember_sheet(memory, p, t_sheet_C, t_fed_C):
    """Keep a sheet's temperature, how far it moved, and how far it falls from where it is fed to its mean."""
    memory.sheet_lean_K[p] = t_fed_C - t_sheet_C
    memory.sheet_move_K[p] = steady(t_sheet_C - memory.sheet_C[p])
    memory.sheet_C[p] = t_sheet_C


@compiled
def drifting(air, member):
    """Share of all sprayed water that wind carries off as drops: of what flies."""
    return member.flying_share * drift_share(air.wind_m_s * member.wind_ratio, member.drift_base,
                                             member.drift_wind_s2_m2)


@compiled
def drop_exchange(air, member):
    """Exchange of the drops on their way in this air [J/(kg K)]: all but even with its temperature."""
    return member.drop_exchange_J_kgK + member.drop_exchange_J_kgK2 * (air.t_C - DROP_AIR_C[0])


@compiled
def fly(air, member, memory, t_nozzle_C, flown_kg):
    """What the drops give off on their way [J, kg]: convection, latent heat, evaporation, and heat in that vapour."""
    exchange = drop_exchange(air, member)
    exchange *= fresh_air_frac(
        member.feed_kg_m2s, exchange, air.wind_m_s * member.wind_ratio, member.spray_height_m,
        member.roof_length_m, AIR_VOLUME_J_M3K)
    sensible, vapour, latent, t_drop = flight_from(
        t_nozzle_C, t_nozzle_C - memory.drop_fall_K - memory.drop_move_K, exchange, air.t_C, air.w, air.pressure_Pa,
        air.lewis_per_cp)
    memory.drop_move_K = steady(t_nozzle_C - t_drop - memory.drop_fall_K)
    memory.drop_fall_K = t_nozzle_C - t_drop
    return flown_kg * sensible, flown_kg * latent, flown_kg * vapour, flown_kg * vapour * CP_WATER * t_drop


@compiled
def spray_roof(air, solar_W_m2, member, planes, memory, t_store_C, shift_K, dt_s):
    """What the roof would do to the water of one step; changes nothing but the temperatures it found.

    The exchange is taken at the water's temperature in the middle of the step, `shift_K` below that at its start.
    Water fed along the ridge or under a cover does not fly; what flies lands on the planes in the open alone.
    """
    sprayed = member.flow_kg_s * dt_s
    pump_heat = member.pump_W * member.pump_heat_share * dt_s
    t_in = t_store_C + pump_heat / (sprayed * CP_WATER)
    drift = sprayed * drifting(air, member)
    t_nozzle, in_open = t_in - shift_K, sprayed * member.open_share - drift
    convection = latent_total = vapour = vapour_heat = 0.0
    t_land, landing = t_nozzle, 0.0
    if in_open > 0.0:
        convection, latent_total, vapour, vapour_heat = fly(
            air, member, memory, t_nozzle, sprayed * member.flying_share - drift)
        landing = in_open - vapour
        t_land = (in_open * CP_WATER * t_nozzle - convection - latent_total - vapour_heat) / (landing * CP_WATER)
        landing /= member.open_share
    evaporated, condensed = max(vapour, 0.0), max(-vapour, 0.0)
    longwave = deck = mean_sheet = 0.0
    for p in range(planes.size):
        plane = planes[p]
        deck_W_m2K, t_deck = deck_seen(plane, memory.deck_C[p], solar_W_m2, dt_s)
        t_fed, fed = (t_nozzle, sprayed) if plane.covered > 0.0 else (t_land, landing)
        t_sheet, c, e, lw, lat, dk, vh, memory.cover_C[p] = sheet_on(
            plane, air, solar_W_m2, t_fed, fed * plane.flow_share / (plane.wetted_m2 * dt_s), member.ridge_share,
            sheet_guess_C(memory, p, t_fed), memory.cover_C[p], deck_W_m2K, t_deck, deck_follows(memory, p))
        remember_sheet(memory, p, t_sheet, t_fed)
        amount = plane.wetted_m2 * dt_s
        convection += c * amount
        longwave += lw * amount
        latent_total += lat * amount
        deck += dk * amount
        evaporated += max(e, 0.0) * amount
        condensed += max(-e, 0.0) * amount
        vapour_heat += vh * amount
        mean_sheet += plane.flow_share * t_sheet
    heat = convection + longwave + latent_total + deck
    kept = sprayed - drift
    out = kept - evaporated + condensed
    t_out = (kept * CP_WATER * t_in - heat - vapour_heat) / (out * CP_WATER) if out > 0.0 else t_in
    return Roof(out > 0.0, t_in, t_out, out, drift, vapour_heat, heat, longwave, convection,
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
    return Roof(True, t_in, t_in - heat / (pumped * CP_WATER), pumped, 0.0, 0.0, heat, longwave, heat - longwave,
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
def wet_decks(planes, memory, solar_W_m2, flow, dt_s):
    """Decks under the running sheet after the step, in step with the heat that `sheet` found."""
    for p in range(planes.size):
        plane, before_C = planes[p], memory.deck_C[p]
        store_W, u, sun = plane.deck_capacity_J_m2K / dt_s, plane.deck_u_W_m2K, sun_of(plane, solar_W_m2)
        moves_W = 1.0 / (store_W + u + DECK_WATER_H)
        deck_C = (store_W * before_C + u * plane.t_beneath_C + sun + DECK_WATER_H * memory.sheet_C[p]) * moves_W
        memory.deck_C[p] = deck_C
        memory.deck_lean_K[p] = (store_W * memory.deck_lean_K[p] + DECK_WATER_H * memory.sheet_lean_K[p]) * moves_W
        flow.deck_gain_J += (u * (plane.t_beneath_C - deck_C) + sun) * plane.wetted_m2 * dt_s


@compiled
def taken_by_drying(gain_W_m2, lost_W_m2K, dried_kg_m2s, slope_kg_m2sK, latent_J_kg, most_kg_m2s):
    """What dries off a deck over a step, no more than is there: its rate [kg/(m2 s)], along the slopes.

    `gain_W_m2` is what the deck would get at the step's start if nothing dried, `lost_W_m2K` how fast it gives that
    up, heat store and all. Dew on a drying roof is left out.
    """
    change_K = (gain_W_m2 - latent_J_kg * dried_kg_m2s) / (lost_W_m2K + latent_J_kg * slope_kg_m2sK)
    return min(max(0.0, dried_kg_m2s + slope_kg_m2sK * change_K), most_kg_m2s)


@compiled
def open_deck(now, air, plane, deck_C, store_W, most_kg_m2s):
    """A deck in the open without running water over a step, with so much water on it that may dry.

    Rise [K], heat it gets beside drying [W/m2], what dries [kg/(m2 s)] and the heat that takes [W/m2]. Implicit: sun,
    sky and air above, building beneath; moisture at saturation is carried over from the air's temperature.
    """
    warmer_K, w_sat = deck_C - air.t_C, air.w
    lightness_K = warmer_K * (1.0 + VIRTUAL_FACTOR * air.w)
    if most_kg_m2s > 0.0:
        above_K = deck_C - now.t_air_C
        w_sat = now.dw_dhumidity * math.exp(now.dw_dt_1_K * above_K * (1.0 - 0.5 * SATURATION_BEND_1_K * above_K))
        w_sat *= 1.0 + VIRTUAL_FACTOR * (w_sat - now.dw_dhumidity)  # vapour displaces air
        lightness_K += VIRTUAL_FACTOR * (deck_C + KELVIN) * (w_sat - air.w)
    h = mixed_convection_W_m2K(forced_of(plane, air), air.unstable_cubed * plane.buoyant,
                               plane.stable_cubed * plane.buoyant, lightness_K)
    outside = h + plane.emissivity * now.black_slope_W_m2K * (1.0 + SECANT_RISE_1_K * warmer_K)
    gain = (plane.deck_u_W_m2K * (plane.t_beneath_C - deck_C) + sun_of(plane, now.solar_W_m2) - outside * warmer_K
            - plane.emissivity * plane.sky_view * (air.black_W_m2 - air.longwave_W_m2))
    lost, dried, taken = plane.deck_u_W_m2K + outside, 0.0, 0.0
    if most_kg_m2s > 0.0:
        carried, latent = h * air.lewis_per_cp, latent_heat_J_kg(deck_C)
        dried = taken_by_drying(gain, store_W + lost, carried * (w_sat - air.w) * (1.0 + 0.5 * (w_sat + air.w)),
                                carried * now.dw_dt_1_K * w_sat * (1.0 + w_sat), latent, most_kg_m2s)
        taken = dried * latent
    change = (gain - taken) / (store_W + lost)
    return change, gain - lost * change, dried, taken


@compiled
def deck_under_cover(now, air, plane, deck_C, cover_C, store_W, most_kg_m2s):
    """As `open_deck` under a cover, whose temperature comes last."""
    forced, unstable = forced_of(plane, air), air.unstable_cubed * plane.buoyant
    stable, gap = plane.stable_cubed * plane.buoyant, gap_over(plane, air, forced)
    on_cover, dried, taken = plane.sun_taken_share * now.solar_W_m2, 0.0, 0.0
    if most_kg_m2s > 0.0:
        convection, off, longwave, latent, slope, cover_C, _dew, _wet = covered_surface(
            deck_C, cover_C, air.t_C, air.w, air.tv_K, air.pressure_Pa, forced, unstable, stable, air.lewis_per_cp,
            plane.emissivity, sky_of(plane, air), gap, plane, on_cover, LOOP_RESIDUAL_W_M2)
        # vapour that drips back carries heat to the cover all the same
        heat = convection + longwave + latent - off * latent_heat_J_kg(deck_C)
        dried = min(max(0.0, off), most_kg_m2s)
        taken = dried * latent_heat_J_kg(deck_C)
    else:
        heat, slope, cover_C = covered_deck(deck_C, cover_C, air.t_C, air.w, air.tv_K, forced, unstable, stable,
                                            plane.emissivity, sky_of(plane, air), gap, plane, on_cover)
    gain = plane.deck_u_W_m2K * (plane.t_beneath_C - deck_C) + sun_of(plane, now.solar_W_m2) - heat
    lost = plane.deck_u_W_m2K + slope
    change = (gain - taken) / (store_W + lost)
    return change, gain - lost * change, dried, taken, cover_C


@compiled
def dry_decks(now, air, planes, memory, flow, rain_mm, dt_s, drying):
    """Decks without running water; what is left on them dries and cools them. Returns what dried [kg].

    Rain wets an open deck too, and cools it by what of the rain dries at once: that is part of what never runs off.
    """
    all_dried = 0.0
    for p in range(planes.size):
        plane, deck_C, there = planes[p], memory.deck_C[p], 0.0
        store_W, amount = plane.deck_capacity_J_m2K / dt_s, plane.wetted_m2 * dt_s
        if drying and memory.roof_kg[p] > 0.0:
            there = memory.roof_kg[p] / amount
        if plane.covered > 0.0:
            change, got_W, dried, taken_W, memory.cover_C[p] = deck_under_cover(
                now, air, plane, deck_C, memory.cover_C[p], store_W, there)
        else:
            rained = rain_mm * plane.slope_cos_frac / dt_s
            change, got_W, dried, taken_W = open_deck(now, air, plane, deck_C, store_W, there + rained)
            dried = max(0.0, dried - rained)
        if dried > 0.0:
            memory.roof_kg[p] = max(0.0, memory.roof_kg[p] - dried * amount)
            all_dried += dried * amount
        memory.deck_C[p] = deck_C + change
        memory.deck_lean_K[p] *= store_W / (store_W + DECK_DRY_H)
        flow.deck_gain_J += got_W * amount
        flow.dried_J += taken_W * amount
    return all_dried


@compiled
def rain_on_decks(planes, memory, t_rain_C, rain_mm, flow, dt_s):
    """Rain that runs over decks without a cover takes on part of their temperature, and they of its.

    Each square metre's rain is a mixed exchanger on the deck's heat; rain is never cooled below freezing.
    """
    for p in range(planes.size):
        plane = planes[p]
        memory.rain_C[p] = t_rain_C
        if plane.covered > 0.0:
            continue
        carried_W, store_W = rain_mm * plane.slope_cos_frac * CP_WATER / dt_s, plane.deck_capacity_J_m2K / dt_s
        through_W = 1.0 / (1.0 / DECK_WATER_H + 1.0 / carried_W + 1.0 / store_W)
        heat = max(through_W * (memory.deck_C[p] - t_rain_C), -carried_W * t_rain_C)
        memory.rain_C[p] += heat / carried_W
        memory.deck_C[p] -= heat / store_W
        flow.rain_deck_J += heat * plane.wetted_m2 * dt_s


@compiled
def deck_heat_J(planes, deck_C):
    """Heat in the decks beneath the wetted roofs, above 0 degC [J]."""
    heat = 0.0
    for p in range(planes.size):
        heat += planes[p].deck_capacity_J_m2K * planes[p].wetted_m2 * deck_C[p]
    return heat


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
def most_flux_W_m2(plane, air, t_in_C, warmer_K, evaporative_K, lightness_K):
    """No less than air and sky could take from a plane's sheet of at most this temperature [W/m2].

    `warmer_K` and `evaporative_K` are heat and vapour that the air would take at t_in_C, per coefficient [K].
    """
    forced = forced_of(plane, air)
    h = max(CALM_COOLED_W_M2K, mixed_convection_W_m2K(forced, air.unstable_cubed * plane.buoyant, 0.0, lightness_K))
    warm_K, moist_K = max(0.0, warmer_K), max(0.0, evaporative_K)
    if plane.covered > 0.0:
        # a cover is no warmer than water or air, but for the sun on it; vapour leaves by the leaks alone
        leak = leakage_kg_m2s(air.wind_m_s * plane.wind_ratio, plane.leak_calm_m_s, plane.leak_wind_share,
                              air.density_kg_m3)
        leaked = leak * (air_heat_capacity_J_kgK(air.w) * warm_K + moist_K / air.lewis_per_cp)
        return h * warm_K + leaked + max(0.0, black_flux_W_m2(max(t_in_C, air.t_C)) - sky_of(plane, air))
    given = forced * (warmer_K - warm_K + evaporative_K - moist_K)
    return h * (warm_K + moist_K) + given + plane.emissivity * (black_flux_W_m2(t_in_C) - sky_of(plane, air))


@compiled
def most_fall_K(air, solar_W_m2, member, planes, deck_C, t_in_C, dt_s):
    """No less than the water could cool on its way over the roof [K], without solving for drops and sheet.

    Every flux grows with the water's temperature, so none is above that of water as warm as it comes.
    """
    w_sat = vapour_mass_fraction(saturation_pressure_Pa(t_in_C), air.pressure_Pa)
    warmer_K = t_in_C - air.t_C
    # B itself instead of ln(1 + B), which is less
    evaporative_K = latent_heat_J_kg(t_in_C) * air.lewis_per_cp * spalding_number(w_sat, air.w)
    lightness_K = (t_in_C + KELVIN) * (1.0 + VIRTUAL_FACTOR * w_sat) - air.tv_K
    roof_W = 0.0
    for p in range(planes.size):
        plane = planes[p]
        deck_W_m2K, t_deck = deck_seen(plane, deck_C[p], solar_W_m2, dt_s)
        flux = most_flux_W_m2(plane, air, t_in_C, warmer_K, evaporative_K, lightness_K)
        roof_W += plane.wetted_m2 * max(0.0, flux + deck_W_m2K * (t_in_C - t_deck))
    drops_J_kg = member.flying_share * drop_exchange(air, member) * (max(0.0, warmer_K) + max(0.0, evaporative_K))
    flying_kg_s = member.flow_kg_s * (1.0 - drifting(air, member))
    return LESS_WATER * (drops_J_kg + roof_W / flying_kg_s) / CP_WATER


@compiled
def could_want(air, solar_W_m2, member, planes, deck_C, t_store_C, running, dt_s):
    """False where the controller cannot want the spray, whatever the roof would do: then it need not be worked out."""
    if t_store_C <= member.stop_store_C:
        return False
    if member.sense != RETURN_WATER:
        return wants_spray(air, member, t_store_C, t_store_C, running)
    if member.panel_m2 > 0.0 or running:
        return True
    pump_K = member.pump_W * member.pump_heat_share / (member.flow_kg_s * CP_WATER)
    return most_fall_K(air, solar_W_m2, member, planes, deck_C, t_store_C + pump_K, dt_s) - pump_K >= member.start_K


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
        if could_want(air, now.solar_W_m2, member, planes, memory.deck_C, t_store, was_running, dt_s):
            roof = ask_roof(air, now.solar_W_m2, member, planes, memory, mass, t_store, state, dt_s)
            liquid = roof.ok and roof.t_out_C > FREEZING_GUARD_C
            runs = liquid and wants_spray(air, member, t_store, roof.t_out_C, was_running)
    if runs:
        flush_left = let_run(air, member, planes, memory, mass, temp, state, flow, roof, sprayed, flush_left, dt_s)
    else:
        drain(planes, memory, mass, temp, state)
    if runs and member.panel_m2 == 0.0:
        wet_decks(planes, memory, now.solar_W_m2, flow, dt_s)
    else:
        dried = dry_decks(now, air, planes, memory, flow, now.rain_mm * member.rain_factor, dt_s, not was_running)
        if dried > 0.0 and state.roof_kg > 0.0:
            lose_dried(state, flow, min(dried, state.roof_kg))
    return flush_left


@compiled
def ask_roof(air, solar_W_m2, member, planes, memory, mass, t_store_C, state, dt_s):
    """What roof or panels would do to the water of the step."""
    if member.panel_m2 > 0.0:
        return run_panels(air, member, planes, memory.cover_C, t_store_C, dt_s)
    # a mixed store cools within the step: half of what the last step's fall makes of it
    mixed = state.running > 0.0 and mass.size == 1
    shift = 0.5 * member.flow_kg_s * dt_s / content_kg(mass) * state.fall_K if mixed else 0.0
    return spray_roof(air, solar_W_m2, member, planes, memory, t_store_C, shift, dt_s)


@compiled
def let_run(air, member, planes, memory, mass, temp, state, flow, roof, sprayed, flush_left, dt_s):
    """Take the water of a step from the store, and give back what the roof does not keep."""
    take_bottom(mass, temp, sprayed)
    filled = 0.0 if member.panel_m2 > 0.0 else fill_roof(planes, memory.roof_kg, roof.out_kg)
    state.roof_kg += filled
    state.roof_heat_J += filled * CP_WATER * roof.t_out_C
    back, left = roof.out_kg - filled, flush_left
    if member.flush_takes_spray > 0.0 and member.panel_m2 == 0.0:
        back, left = first_flush(roof.out_kg - filled, flush_left)
    add_top(mass, temp, back, roof.t_out_C)
    state.running, state.t_return_C, state.sheet_C = 1.0, roof.t_out_C, roof.sheet_C
    state.fall_K = roof.t_in_C - roof.t_out_C
    note_spray(member, air, roof, sprayed, roof.out_kg - filled - back, flow, dt_s)
    return left


@compiled
def drain(planes, memory, mass, temp, state):
    """A step without spray: the roof drains once."""
    if state.running > 0.0:
        drained = drain_roof(planes, memory.roof_kg)
        if drained > 0.0:
            t_roof = state.roof_heat_J / (state.roof_kg * CP_WATER)
            add_top(mass, temp, drained, t_roof)
            state.roof_kg -= drained
            state.roof_heat_J -= drained * CP_WATER * t_roof
    state.running, state.t_return_C, state.sheet_C, state.fall_K = 0.0, np.nan, np.nan, 0.0


@compiled
def lose_dried(state, flow, dried_kg):
    """Take dried water, and the heat it was left with, off what stands on the roof."""
    heat = state.roof_heat_J * (dried_kg / state.roof_kg)
    flow.dried_kg = dried_kg
    flow.water_out_J += heat
    state.roof_kg -= dried_kg
    state.roof_heat_J -= heat


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
