"""Chilled beams, and who cools first: outdoor air, the stored water, the machine."""

from __future__ import annotations

from sprayroof.physics.compiled import compiled, elementwise
from sprayroof.physics.constants import CP_WATER

BEAM_PASSES = 30


@elementwise
def beam_capacity_W(t_room_C, t_supply_C, flow_kg_s, rated_W, rated_K, beam_exponent):
    """Heat that a chilled beam takes up at the flow it has.

    Parameters
    ----------
    t_room_C, t_supply_C : float or array
        Room and supply water [degC].
    flow_kg_s : float or array
        Water flow [kg/s], above 0.
    rated_W, rated_K : float or array
        Output [W] at a stated difference between room and mean water [K].
    beam_exponent : float or array
        Of the output over that difference [1]: about 1.3 passive, 1 to 1.1 active.

    Returns
    -------
    float or array
        Heat [W], 0 or more.

    Notes
    -----
    P = P_rated (dT/dT_rated)^n with dT from the room to the mean of supply and return, which P itself raises: Newton
    steps on a function that only rises.

    References
    ----------
    Form of EN 14518 (passive) and EN 15116 (active).
    """
    difference = t_room_C - t_supply_C
    if difference <= 0.0:
        return 0.0
    half_W_K = 2.0 * flow_kg_s * CP_WATER
    mean_K = difference
    for _ in range(BEAM_PASSES):
        heat = rated_W * (mean_K / rated_K) ** beam_exponent
        step = (mean_K + heat / half_W_K - difference) / (1.0 + beam_exponent * heat / (mean_K * half_W_K))
        mean_K = max(mean_K - step, 0.1 * mean_K)
        if abs(step) < 1e-9 * difference:
            break
    return rated_W * (mean_K / rated_K) ** beam_exponent


@elementwise
def free_cooling_W(t_room_C, t_outdoor_C, air_W_K):
    """Sensible heat that outdoor air blown in takes up.

    Parameters
    ----------
    t_room_C, t_outdoor_C : float or array
        Room and outdoor air [degC].
    air_W_K : float or array
        Capacity flow of the air [W/K].

    Returns
    -------
    float or array
        Heat [W], 0 or more.
    """
    return max(0.0, air_W_K * (t_room_C - t_outdoor_C))


@compiled
def in_order_W(load_W, free_W, roof_W):
    """Who removes a load: outdoor air first, then the stored water, the machine last.

    Parameters
    ----------
    load_W : float
        Sensible heat to remove [W], 0 or more.
    free_W, roof_W : float
        What outdoor air and the stored water could remove, or did [W].

    Returns
    -------
    tuple of float
        Removed by outdoor air, by the stored water, by the machine [W]; they add up to the load. Only the second
        may be counted as useful: what outdoor air would have done anyway saves nothing, in whichever order the two
        really run: with f and d what each can do of a load S, the machine has S - min(f, S) without the roof and
        S - d - min(f, S - d) with it, and the difference is min(d, S - min(f, S)).
    """
    free = min(load_W, max(0.0, free_W))
    roof = min(load_W - free, max(0.0, roof_W))
    return free, roof, load_W - free - roof
