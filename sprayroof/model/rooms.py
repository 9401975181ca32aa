"""The room side of a step: the building's demand, what floors, ceilings, beams and coils take up, the machine."""

from __future__ import annotations

from sprayroof.physics.beams import beam_capacity_W, free_cooling_W, in_order_W
from sprayroof.physics.chillers import chiller_capacity_frac, chiller_eir_frac, chiller_W, inverter_W, pump_slowed_W
from sprayroof.physics.compiled import compiled, compiled_apart
from sprayroof.physics.constants import (
    BEAM_EXPONENT,
    CHILLED_WATER_C,
    COIL_OFF_C,
    CP_WATER,
    EMITTER_START_DIFFERENCE,
    FLOOR_H,
    LEAST_PART_LOAD,
    PUMP_LEAST_SHARE,
    RATING_OUTDOOR_C,
)
from sprayroof.physics.emitters import ceiling_at_flux_W_m2K, ceiling_on_water_W_m2K, coil_W_K, panel_W_K
from sprayroof.physics.machines import air_conditioner_W, capacity_factor, eir_factor
from sprayroof.physics.tank import add_top, content_kg, take_bottom

FLOOR, CEILING, COIL, BEAM = 0.0, 1.0, 2.0, 3.0
METERED = 1.0
MOST_OF_STORE = 0.9  # that may pass an emitter in one step
PACKAGED, CONSTANT, CHILLER, INVERTER = 0.0, 1.0, 2.0, 3.0
OF_THE_KIND, LINE, EN14825 = 0.0, 1.0, 2.0
SPEED_PASSES, SPEED_FOUND = 20, 1e-6  # to find a pump's speed, and how near its emitter's heat must come


@compiled
def demand_W(now, member):
    """Heat that the building's air conditioning has to remove."""
    if now.load_hours == 0.0:
        return 0.0
    if member.load_kind == METERED:
        return now.load_W * member.load_factor
    outdoor = now.t_load_C + member.air_offset_K - member.balance_point_C
    return min(member.load_max_W, member.base_W + member.load_ua_W_K * max(0.0, outdoor))


@compiled
def outdoor_air_W(load_W, sensible_W, air, member):
    """What outdoor air does of the load for nothing: all of it, or of the sensible part what a stated flow carries."""
    if air.t_C >= member.free_cooling_below_C:
        return 0.0
    if member.free_air_W_K < 0.0:
        return load_W
    return min(sensible_W, free_cooling_W(member.t_room_C, air.t_C, member.free_air_W_K))


@compiled
def heat_per_kelvin_W_K(emitter, flow_kg_s, h_W_m2K):
    """Heat of a coil, floor or ceiling per kelvin between source and supply; known beforehand where nothing varies."""
    if emitter.kind != CEILING and flow_kg_s == emitter.flow_kg_s:
        return emitter.unit_W_K
    if emitter.kind == COIL:
        return coil_W_K(flow_kg_s, emitter.ua_W_K, emitter.air_W_K)
    return panel_W_K(flow_kg_s, emitter.area_m2, emitter.resistance_m2K_W, h_W_m2K)


@compiled
def difference_K(emitter, member, air, t_store_C):
    """How much colder supply is than source [K], the source [degC], and whether the guard against dew holds supply."""
    dew_C = member.t_dew_room_C + emitter.dew_margin_K
    supply, source = max(t_store_C, emitter.minimum_supply_C), member.t_room_C
    if emitter.kind == COIL:  # a coil drains its dew away
        source += emitter.outdoor_share * (air.t_C - member.t_room_C)
        return source - supply, source, False
    return source - max(supply, dew_C), source, dew_C > supply


@compiled
def coefficient_W_m2K(emitter, colder_K):
    """From room to the surface of a floor, or of a ceiling at full flow, whose surface follows from its water."""
    if emitter.kind == CEILING:
        return ceiling_on_water_W_m2K(colder_K, emitter.h_steady_W_m2K, emitter.h_rising_W_m2K)
    return FLOOR_H


@compiled
def emitter_heat_W(emitter, source_C, flow_kg_s, colder_K, h_W_m2K):
    """Heat an emitter could take up at a flow [W], and its heat per kelvin between source and supply [W/K]."""
    if emitter.kind == BEAM:
        heat = beam_capacity_W(source_C, source_C - colder_K, flow_kg_s, emitter.rated_W, emitter.rated_K,
                               BEAM_EXPONENT)
        return heat, heat / colder_K
    unit = heat_per_kelvin_W_K(emitter, flow_kg_s, h_W_m2K)
    return min(unit * colder_K, emitter.limit_W), unit


@compiled_apart
def slowed(emitter, source_C, colder_K, wanted_W):
    """Flow [kg/s] at which an emitter just takes up what is wanted, no less than its drive allows; its share; W/K then.

    A surface that is held at its least temperature takes up no more at full flow, so that its pump is slowed too. The
    heat of a ceiling tells its surface, and with it its coefficient, whatever the flow. Found by false position, with
    the end that stays put halved (Illinois).
    """
    h_W_m2K = ceiling_at_flux_W_m2K(wanted_W / emitter.area_m2) if emitter.kind == CEILING else FLOOR_H
    full, unit_wanted = emitter.flow_kg_s, wanted_W / colder_K
    low, high = PUMP_LEAST_SHARE, 1.0
    lacks = unit_wanted - emitter_heat_W(emitter, source_C, low * full, colder_K, h_W_m2K)[1]
    spare = emitter_heat_W(emitter, source_C, full, colder_K, h_W_m2K)[1] - unit_wanted
    share, last = low if lacks <= 0.0 else 1.0, 0.0
    if lacks > 0.0 and spare > 0.0:
        for _ in range(SPEED_PASSES):
            share = (low * spare + high * lacks) / (spare + lacks)
            over = emitter_heat_W(emitter, source_C, share * full, colder_K, h_W_m2K)[1] - unit_wanted
            if abs(over) < SPEED_FOUND * unit_wanted:
                break
            if over > 0.0:
                lacks *= 0.5 if last > 0.0 else 1.0
                high, spare = share, over
            else:
                spare *= 0.5 if last < 0.0 else 1.0
                low, lacks = share, -over
            last = over
    return share * full, share, emitter_heat_W(emitter, source_C, share * full, colder_K, h_W_m2K)[1]


@compiled
def cooling_side(now, air, member, emitters, mass, temp, flow, dt_s):
    """Floors, ceilings and coils take heat from the rooms into the store; the air conditioner does the rest."""
    load = demand_W(now, member)
    if load <= 0.0:
        return
    sensible, delivered = load * member.sensible_share, 0.0
    by_air = outdoor_air_W(load, sensible, air, member)
    wanted = max(0.0, sensible - by_air) if member.air_first > 0.0 else sensible
    for e in range(emitters.size):
        emitter, t_store = emitters[e], temp[mass.size - 1]
        pumped, pump_W = emitter.flow_kg_s, emitter.pump_W
        colder_K, source, held = difference_K(emitter, member, air, t_store)
        if held:
            flow.dew_limited_s = dt_s
        if colder_K < EMITTER_START_DIFFERENCE:
            continue
        heat, unit = emitter_heat_W(emitter, source, pumped, colder_K, coefficient_W_m2K(emitter, colder_K))
        heat = min(heat, wanted - delivered)
        if heat <= 0.0:
            continue
        if emitter.variable > 0.0:
            pumped, share, unit = slowed(emitter, source, colder_K, heat)
            pump_W = pump_slowed_W(emitter.pump_W, share, 0.0)
        # a mixing valve raises the supply until the emitter takes up just what is wanted
        t_return = source - heat / unit + heat / (pumped * CP_WATER)
        through = heat * dt_s / (CP_WATER * (t_return - t_store))
        if through > MOST_OF_STORE * content_kg(mass):
            heat *= MOST_OF_STORE * content_kg(mass) / through
            through = MOST_OF_STORE * content_kg(mass)
        pump_J = pump_W * member.pump_heat_share * dt_s
        t_taken = take_bottom(mass, temp, through)
        add_top(mass, temp, through, t_taken + (heat * dt_s + pump_J) / (through * CP_WATER))
        flow.cooling_side_J += heat * dt_s + pump_J
        delivered += heat
        flow.circulator_J += pump_W * dt_s
    _, useful, _ = in_order_W(sensible, by_air, delivered)
    flow.load_J, flow.sensible_load_J, flow.free_J = load * dt_s, sensible * dt_s, by_air * dt_s
    flow.delivered_J, flow.useful_J = delivered * dt_s, useful * dt_s
    left = load - by_air
    if left > 0.0:
        capacity, eir = machine_of(air, member)
        flow.ac_without_J = flow.ac_with_J = machine_W(left, capacity, eir, air, member) * dt_s
        if useful > 0.0:
            flow.ac_with_J = machine_W(left - useful, capacity, eir, air, member) * dt_s


@compiled
def machine_of(air, member):
    """Capacity [W] and electricity per cooling at full load [1] of the air conditioner in this step's weather."""
    if member.ac_kind == PACKAGED:
        return (member.ac_capacity_W * capacity_factor(member.t_wetbulb_room_C, air.t_C),
                member.ac_eir * eir_factor(member.t_wetbulb_room_C, air.t_C))
    if member.ac_kind == CHILLER:
        return (member.ac_capacity_W * chiller_capacity_frac(CHILLED_WATER_C, air.t_C),
                member.ac_eir * chiller_eir_frac(CHILLED_WATER_C, air.t_C))
    return member.ac_capacity_W, member.ac_eir


@compiled
def machine_W(load_W, capacity_W, eir, air, member):
    """Electric power of the air conditioner at a load, with capacity and efficiency from `machine_of`."""
    by_en14825 = 1.0 if member.part_load == EN14825 else 0.0
    if member.ac_kind == PACKAGED or (member.ac_kind == CHILLER and member.part_load != OF_THE_KIND):
        return air_conditioner_W(load_W, capacity_W, eir, member.ac_degradation, by_en14825)
    if member.ac_kind == CHILLER:
        return chiller_W(load_W, capacity_W, eir, LEAST_PART_LOAD)
    if member.ac_kind == INVERTER:
        return inverter_W(load_W, capacity_W, eir, member.ac_degradation, COIL_OFF_C, air.t_C, COIL_OFF_C,
                          RATING_OUTDOOR_C, by_en14825)
    return min(load_W, capacity_W) * eir


@compiled
def boost(now, member, mass, temp, flow, dt_s):
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
def standing(now, member, flow, dt_s):
    """Electric loads of the system beside its pumps."""
    power = member.standing_always_W + member.standing_season_W * now.spray_season
    flow.standing_J = power * dt_s + member.standing_spraying_W * flow.spray_s
    flow.standing_cooling_J = member.standing_cooling_W * dt_s if flow.delivered_J > 0.0 else 0.0
