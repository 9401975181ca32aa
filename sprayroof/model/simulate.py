"""The one time loop: roof, store, rain, uses and cooling side carried through the weather for every member.

Read `_run_member` first: a step is spray, rain, mains, uses, cooling side, walls, salts, overflow, balance.
Each part takes its water from and gives it back to the store, and writes what it did into `flow`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numba
import numpy as np

from sprayroof.model.air import air_of
from sprayroof.model.drivers import Formulas
from sprayroof.model.ledger import (
    catch_rain,
    close_balance,
    draw_off,
    flush_volume_kg,
    outside_store_C,
    overflow_and_bleed,
    salts_after,
    surface_of_store,
    top_up,
    walls_W_K,
)
from sprayroof.model.records import FLOW, MEMORY, RESIDUAL, STATE, as_numbers
from sprayroof.model.roof import UNKNOWN_C, deck_heat_J, spray
from sprayroof.model.rooms import boost, cooling_side, standing
from sprayroof.physics.compiled import SAME_MEANING, compiled
from sprayroof.physics.constants import RAIN_EVENT_GAP_H
from sprayroof.physics.tank import content_J, content_kg, lose_heat, settle

FLOWS = len(FLOW.names)


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
def _run_member(drivers, formulas, cloud_error, member, memory, dt_s, flows, flow_numbers, state, residual, start, days,
                ends, steps, states):
    """One member through all steps."""
    layers = int(member.layers)
    mass, temp = memory.mass_kg[:layers], memory.temp_C[:layers]
    spare_mass, spare_temp = memory.spare_mass_kg[:layers], memory.spare_temp_C[:layers]
    planes, catchments = member.planes[: int(member.planes_n)], member.catchments[: int(member.catchments_n)]
    uses, emitters = member.uses[: int(member.uses_n)], member.emitters[: int(member.emitters_n)]
    loss_left, deck_C = memory.loss_left_mm, memory.deck_C
    mass[:], temp[:] = member.start_kg / layers, member.t_start_C
    deck_C[:], memory.sheet_C[:], memory.cover_C[:] = member.t_start_C, UNKNOWN_C - 1.0, np.nan
    flush_full = flush_volume_kg(member, catchments)
    flush_left, dry_h, filling = flush_full, 1e3, False
    salt_kg = member.start_kg * member.salt_rain_kg_kg
    start.store_kg, start.store_heat_J, start.salt_kg = content_kg(mass), content_J(mass, temp), salt_kg
    start.deck_heat_J, start.t_outlet_C = deck_heat_J(planes, deck_C), temp[0]
    before = (start.store_kg, start.store_heat_J + start.deck_heat_J, salt_kg)
    residual.coldest_C = 1e3
    clear, cloud = formulas.clear[int(member.sky_column)], formulas.cloud[int(member.cloud_column)]
    forced = formulas.forced_1m_W_m2K[int(member.convection_column)]
    day = 0
    for i in range(drivers.size):
        now, flow = drivers[i], flows[i % 2]
        # summed a step late, in turns of two records: reading numbers at once after writing them would make both wait
        for k in range(FLOWS):
            days[day, k] += flow_numbers[(i + 1) % 2, k]
            flow_numbers[i % 2, k] = 0.0
        day = int(now.day)
        air = air_of(now, clear[i], cloud[i], forced[i], cloud_error[int(now.night)], member)
        if dry_h >= member.dry_spell_h:
            flush_left = flush_full
        flush_left = spray(now, air, member, planes, memory, mass, temp, state, flow, flush_left, dt_s)
        if now.rain_mm > 0.0:
            if dry_h >= RAIN_EVENT_GAP_H:
                for c in range(catchments.size):
                    loss_left[c] = catchments[c].initial_loss_mm
            flush_left = catch_rain(now, air, member, planes, catchments, memory, mass, temp, flow, flush_left, dt_s)
        wet = now.rain_mm > 0.0 or (flow.spray_s > 0.0 and member.flush_takes_spray > 0.0)
        dry_h = 0.0 if wet else dry_h + dt_s / 3600.0
        filling = top_up(now, member, filling, mass, temp, flow, dt_s)
        settle(mass, temp, spare_mass, spare_temp)
        draw_off(now, member, uses, mass, temp, flow, dt_s)
        cooling_side(now, air, member, emitters, mass, temp, flow, dt_s)
        settle(mass, temp, spare_mass, spare_temp)
        flow.walls_J = lose_heat(mass, temp, walls_W_K(air, member), outside_store_C(now, air, member), dt_s)
        surface_of_store(air, member, mass, temp, flow, dt_s)
        boost(now, member, mass, temp, flow, dt_s)
        overflow_and_bleed(member, mass, temp, salt_kg, flow)
        salt_kg = salts_after(member, before, flow)
        settle(mass, temp, spare_mass, spare_temp)
        standing(now, member, flow, dt_s)
        before = close_balance(mass, temp, salt_kg, before, planes, deck_C, flow, state, residual)
        if i + 1 == drivers.size or int(drivers[i + 1].day) != day:
            ends[day] = state
        if steps.size > 0:
            steps[i] = flow
            states[i] = state
    for k in range(FLOWS):
        days[day, k] += flow_numbers[(drivers.size + 1) % 2, k]


@numba.njit(parallel=True, cache=True, error_model="numpy", fastmath=SAME_MEANING)
def _run_all(drivers, formulas, cloud_error, members, memory, dt_s, flows, flow_numbers, state, residual, start, days,
             ends, steps, states):
    """All members, side by side; member 0 leaves its steps."""
    for m in numba.prange(members.size):
        kept = steps.size if m == 0 else 0
        _run_member(drivers, formulas, cloud_error[m], members[m], memory[m], dt_s, flows[m], flow_numbers[m], state[m],
                    residual[m], start[m], days[m], ends[m], steps[:kept], states[:kept])


def simulate(drivers, formulas, cloud_error, ensemble, dt_s: float, keep_steps: bool = True) -> Trace:
    """Carry all members through the weather.

    Parameters
    ----------
    drivers : (steps,) structured array of DRIVER
    formulas : Formulas
        What each formula of sky, cloud and convection makes of every step, see `drivers.formulas_of`.
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
    flows = np.zeros((n, 2), FLOW)
    days = np.zeros((n, n_days), FLOW)
    kept = drivers.size if keep_steps else 0
    trace = Trace(days, np.zeros((n, n_days), STATE), np.zeros(n, RESIDUAL), np.zeros(n, STATE),
                  np.zeros(kept, FLOW), np.zeros(kept, STATE), dt_s)
    by_formula = Formulas(*(np.ascontiguousarray(table.T) for table in formulas))  # a member reads along its formulas
    _run_all(drivers, by_formula, cloud_error, ensemble.members, np.zeros(n, MEMORY), dt_s, flows, as_numbers(flows),
             np.zeros(n, STATE), trace.residual, trace.start, as_numbers(days), trace.ends, trace.steps, trace.states)
    return trace
