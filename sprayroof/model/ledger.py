"""The water side of a step beside the roof: rain, mains, users, leaks, salts, overflow, and the closing balance."""

from __future__ import annotations

from sprayroof.model.roof import deck_heat_J, rain_on_decks, sky_of
from sprayroof.physics.compiled import compiled
from sprayroof.physics.constants import CP_WATER
from sprayroof.physics.cover import open_store
from sprayroof.physics.ground import wall_outdoors_W_m2K
from sprayroof.physics.rain import bleed_kg, first_flush, runoff_mm
from sprayroof.physics.tank import add_top, content_J, content_kg, take_bottom, take_top

TOP_UP, BYPASS = 0.0, 1.0
BURIED, OUTDOORS = 0.0, 1.0


@compiled
def catch_rain(now, air, member, planes, catchments, memory, mass, temp, flow, flush_left, dt_s):
    """Rain on the catchments into the store; returns the room left in the first-flush diverter.

    Rain takes on part of the decks' temperature; while the sheet runs, deck and sheet have met already and rain joins
    what runs. Panels keep rain off the deck.
    """
    depth, loss_left, t_fallen = now.rain_mm * member.rain_factor, memory.loss_left_mm, max(0.0, air.t_wetbulb_C)
    meets = depth > 0.0 and flow.spray_s == 0.0 and member.panel_m2 == 0.0
    if meets:
        rain_on_decks(planes, memory, t_fallen, depth, flow, dt_s)
    water = warmth = 0.0
    for c in range(catchments.size):
        if flow.spray_s > 0.0 and catchments[c].sprayed > 0.0:
            loss_left[c] = 0.0  # the running sheet has filled what rain would have to fill
        runoff, loss_left[c] = runoff_mm(depth, catchments[c].runoff, loss_left[c])
        water += runoff * catchments[c].area_m2
        if meets and catchments[c].open_plane >= 0.0:
            t_off = memory.rain_C[int(catchments[c].open_plane)]
            warmth += runoff * catchments[c].area_m2 * catchments[c].open_share * (t_off - t_fallen)
        flow.rain_fallen_kg += depth * catchments[c].area_m2
    passed, left = first_flush(water, flush_left)
    flow.rain_kg = passed * member.filter_efficiency
    t_rain = t_fallen + (warmth / water if water > 0.0 else 0.0)
    add_top(mass, temp, flow.rain_kg, t_rain)
    flow.water_in_J += flow.rain_kg * CP_WATER * t_rain
    return left


@compiled
def top_up(now, member, filling, mass, temp, flow, dt_s):
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
def draw_off(now, member, uses, mass, temp, flow, dt_s):
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
    if member.leak_kg_s > 0.0:
        flow.leak_kg = min(member.leak_kg_s * dt_s, content_kg(mass))
        flow.water_out_J += flow.leak_kg * CP_WATER * take_bottom(mass, temp, flow.leak_kg)


@compiled
def overflow_and_bleed(member, mass, temp, salt_kg, flow):
    """What the full store sheds, and what is let go for the sake of its salts."""
    excess = content_kg(mass) - member.full_kg
    if excess > 0.0:
        flow.overflow_kg = excess
        flow.water_out_J += excess * CP_WATER * take_top(mass, temp, excess)
    if member.bleed_on > 0.0:
        wanted = bleed_kg(content_kg(mass), salt_kg, member.salt_limit_kg_kg, member.salt_mains_kg_kg)
        flow.bleed_kg = min(wanted, max(0.0, content_kg(mass) - member.dead_kg))
        flow.water_out_J += flow.bleed_kg * CP_WATER * take_bottom(mass, temp, flow.bleed_kg)


@compiled
def walls_W_K(air, member):
    """Heat that the store's walls pass [W/K]: as stated, or outdoors by this step's wind where their resistance is."""
    if member.wall_m2K_W < 0.0:
        return member.ua_store_W_K
    return member.wall_m2 * wall_outdoors_W_m2K(member.wall_m2K_W, air.wind_m_s * member.wall_wind_ratio)


@compiled
def outside_store_C(now, air, member):
    """Temperature that the store's walls meet."""
    if member.store_outside == BURIED:
        return member.t_ground_C + member.ground_swing_K * now.ground_wave
    return air.t_C if member.store_outside == OUTDOORS else member.t_room_C


@compiled
def salts_after(member, before, flow):
    """Salts in and out: evaporation leaves them behind, everything liquid takes its share."""
    out_kg = flow.drift_kg + flow.flush_lost_kg + flow.uses_kg + flow.leak_kg + flow.bleed_kg + flow.overflow_kg
    flow.salt_in_kg = flow.rain_kg * member.salt_rain_kg_kg + flow.mains_kg * member.salt_mains_kg_kg
    if out_kg > 0.0:
        flow.salt_out_kg = min(out_kg * before[2] / max(before[0], 1.0), before[2])
    return before[2] - flow.salt_out_kg + flow.salt_in_kg


@compiled
def close_balance(mass, temp, salt_kg, before, planes, deck_C, flow, state, residual):
    """Hold what the store now contains against what the flows of the step say it should."""
    state.store_kg, state.store_heat_J, state.salt_kg = content_kg(mass), content_J(mass, temp), salt_kg
    state.deck_heat_J = deck_heat_J(planes, deck_C)
    store, heat = state.store_kg + state.roof_kg, state.store_heat_J + state.roof_heat_J + state.deck_heat_J
    water_in = flow.rain_kg + flow.mains_kg + flow.condensation_kg
    water_out = (flow.evaporation_kg + flow.drift_kg + flow.flush_lost_kg + flow.dried_kg + flow.surface_kg
                 + flow.uses_kg + flow.leak_kg + flow.bleed_kg + flow.overflow_kg)
    water = abs(before[0] + water_in - water_out - store)
    # what the water gives to the deck stays inside
    gains = flow.pump_heat_J + flow.cooling_side_J + flow.water_in_J + flow.deck_J + flow.deck_gain_J
    losses = (flow.roof_J + flow.walls_J + flow.surface_J + flow.booster_J + flow.water_out_J + flow.dried_J
              + flow.rain_deck_J)
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
    state.t_outlet_C, state.t_top_C = temp[mass.size - 1], temp[0]
    return store, heat, salt_kg


@compiled
def flush_volume_kg(member, catchments):
    """Room in the first-flush diverter when it has emptied."""
    area = 0.0
    for c in range(catchments.size):
        area += catchments[c].area_m2
    return area * member.first_flush_mm


@compiled
def surface_of_store(air, member, mass, temp, flow, dt_s):
    """Heat and water that an open store's surface gives off, bare and through a cover, from its top layer."""
    if member.open_m2 <= 0.0 or mass[0] <= 0.0:
        return
    plane = member.planes[0]
    constant = plane.forced_constant_W_m2K  # of the member's formula, whatever the surface
    forced = constant + member.store_forced_factor * (air.forced_1m_W_m2K - constant)
    heat_W, vapour, _slope = open_store(
        temp[0], air.t_C, air.w, air.tv_K, air.pressure_Pa, forced, air.unstable_cubed * plane.buoyant,
        member.store_stable_cubed * plane.buoyant, air.lewis_per_cp, plane.emissivity, sky_of(plane, air),
        member.store_cover_share, member.store_cover_u_W_m2K)
    vapour_kg = min(vapour * member.open_m2 * dt_s, 0.5 * mass[0])
    # no colder than 0 degC: ice would form there, and ice is not followed
    most_J = mass[0] * CP_WATER * max(0.0, temp[0])
    flow.surface_kg, flow.surface_J = vapour_kg, min(heat_W * member.open_m2 * dt_s, most_J)
    flow.water_out_J += vapour_kg * CP_WATER * temp[0]
    left = mass[0] - vapour_kg
    temp[0] = (mass[0] * temp[0] - vapour_kg * temp[0] - flow.surface_J / CP_WATER) / left
    mass[0] = left
