"""Water chillers, inverter-driven machines and pumps away from their rating."""

from __future__ import annotations

from sprayroof.physics.compiled import compiled, elementwise
from sprayroof.physics.constants import (
    CHILLER_RATING_LEAVING,
    INVERTER_CONDENSER_K,
    INVERTER_EVAPORATOR_K,
    INVERTER_LEAST_SHARE,
    INVERTER_SLIP_K,
    KELVIN,
    RATING_OUTDOOR,
    SCROLL_CAPACITY,
    SCROLL_EIR,
    SCROLL_LEAVING_RANGE_F,
    SCROLL_OUTDOOR_RANGE_F,
    SCROLL_PART_LOAD,
)

_CAP_0, _CAP_1, _CAP_2, _CAP_3, _CAP_4, _CAP_5 = SCROLL_CAPACITY
_EIR_0, _EIR_1, _EIR_2, _EIR_3, _EIR_4, _EIR_5 = SCROLL_EIR
_PART_0, _PART_1, _PART_2 = SCROLL_PART_LOAD
_LEAVING_LOW, _LEAVING_HIGH = SCROLL_LEAVING_RANGE_F
_OUT_LOW, _OUT_HIGH = SCROLL_OUTDOOR_RANGE_F


@elementwise
def part_load_cyclic_frac(load_share, degradation):
    """Part-load factor of a machine that switches on and off.

    Parameters
    ----------
    load_share : float or array
        Load over capacity [1], 0 to 1.
    degradation : float or array
        C_D [1], 0.25 where not tested.

    Returns
    -------
    float or array
        Factor on the efficiency [1].

    References
    ----------
    AHRI 210/240, EN 14825 for air conditioners: 1 - C_D (1 - PLR).
    """
    return 1.0 - degradation * (1.0 - load_share)


@elementwise
def part_load_en14825_frac(load_share, degradation_share):
    """Part-load factor of a chiller that switches on and off.

    Parameters
    ----------
    load_share : float or array
        Load over capacity [1], above 0 to 1.
    degradation_share : float or array
        Cc [1], 0.9 where not tested.

    Returns
    -------
    float or array
        Factor on the efficiency [1].

    References
    ----------
    EN 14825, chillers: CR / (Cc CR + 1 - Cc).
    """
    return load_share / (degradation_share * load_share + 1.0 - degradation_share)


@elementwise
def part_load_frac(load_share, degradation, by_en14825):
    """Part-load factor by one of the two rules.

    Parameters
    ----------
    load_share : float or array
        Load over capacity [1], above 0 to 1.
    degradation : float or array
        Loss by starting and stopping [1]: C_D of the line, 1 - Cc of EN 14825.
    by_en14825 : float or array
        Above 0: `part_load_en14825_frac`, else `part_load_cyclic_frac`.

    Returns
    -------
    float or array
        Factor on the efficiency [1].
    """
    if by_en14825 > 0.0:
        return part_load_en14825_frac(load_share, 1.0 - degradation)
    return part_load_cyclic_frac(load_share, degradation)


@elementwise
def scroll_capacity_raw_frac(leaving_F, outdoor_F):
    """Capacity as printed, temperatures in degF.

    Parameters
    ----------
    leaving_F, outdoor_F : float or array
        Chilled water leaving and outdoor air [degF].

    Returns
    -------
    float or array
        Factor [1].

    References
    ----------
    Curve set of an air-cooled scroll chiller published for modelling under energy codes.
    """
    return (_CAP_0 + _CAP_1 * leaving_F + _CAP_2 * leaving_F**2 + _CAP_3 * outdoor_F + _CAP_4 * outdoor_F**2
            + _CAP_5 * leaving_F * outdoor_F)


@elementwise
def scroll_eir_raw_frac(leaving_F, outdoor_F):
    """Electricity per cooling as printed (arguments as `scroll_capacity_raw_frac`)."""
    return (_EIR_0 + _EIR_1 * leaving_F + _EIR_2 * leaving_F**2 + _EIR_3 * outdoor_F + _EIR_4 * outdoor_F**2
            + _EIR_5 * leaving_F * outdoor_F)


@elementwise
def scroll_part_load_frac(load_share):
    """Power over full-load power at the same temperatures.

    Parameters
    ----------
    load_share : float or array
        Load over capacity at the same temperatures [1], 0.25 to 1.

    Returns
    -------
    float or array
        Share [1], 1 at full load (the printed curve gives 1.0014 there).

    References
    ----------
    As `scroll_capacity_raw_frac`.
    """
    return ((_PART_0 + _PART_1 * load_share + _PART_2 * load_share**2)
            / (_PART_0 + _PART_1 + _PART_2))


@elementwise
def chiller_capacity_frac(t_leaving_C, t_outdoor_C):
    """Capacity of a chiller relative to rating, 1 at 44 degF leaving and 95 degF outdoors.

    Parameters
    ----------
    t_leaving_C : float or array
        Chilled water leaving [degC]; held within 39 to 65 degF.
    t_outdoor_C : float or array
        Outdoor air [degC]; held within 65 to 115 degF.

    Returns
    -------
    float or array
        Factor [1].
    """
    leaving = min(max(1.8 * t_leaving_C + 32.0, _LEAVING_LOW), _LEAVING_HIGH)
    outdoor = min(max(1.8 * t_outdoor_C + 32.0, _OUT_LOW), _OUT_HIGH)
    return (scroll_capacity_raw_frac(leaving, outdoor)
            / scroll_capacity_raw_frac(CHILLER_RATING_LEAVING, RATING_OUTDOOR))


@elementwise
def chiller_eir_frac(t_leaving_C, t_outdoor_C):
    """Electricity per cooling relative to rating (arguments as `chiller_capacity_frac`)."""
    leaving = min(max(1.8 * t_leaving_C + 32.0, _LEAVING_LOW), _LEAVING_HIGH)
    outdoor = min(max(1.8 * t_outdoor_C + 32.0, _OUT_LOW), _OUT_HIGH)
    return scroll_eir_raw_frac(leaving, outdoor) / scroll_eir_raw_frac(CHILLER_RATING_LEAVING, RATING_OUTDOOR)


@compiled
def chiller_W(load_W, capacity_W, eir, least_share):
    """Electric power of a chiller at a load.

    Parameters
    ----------
    load_W, capacity_W : float
        Heat to remove and capacity at the present temperatures [W].
    eir : float
        Electricity per cooling at full load and the present temperatures [1].
    least_share : float
        Load over capacity below which it switches on and off [1].

    Returns
    -------
    float
        Power [W]; load beyond capacity goes unmet and costs nothing.
    """
    if load_W <= 0.0:
        return 0.0
    share = min(1.0, load_W / capacity_W)
    running = max(share, least_share)
    return capacity_W * eir * scroll_part_load_frac(running) * share / running


@elementwise
def carnot_eer_frac(load_share, t_leaving_C, t_outdoor_C):
    """Ideal efficiency between evaporation and condensation, whose distances shrink with load.

    Parameters
    ----------
    load_share : float or array
        Load over capacity [1], above 0 to 1.
    t_leaving_C : float or array
        Water leaving, or air off, the evaporator [degC].
    t_outdoor_C : float or array
        Outdoor air [degC].

    Returns
    -------
    float or array
        Cooling over work [1]; the condensation stays at least 10 K over the evaporation, as valves need.

    References
    ----------
    Carnot; distances of this project, see `INVERTER_CONDENSER_K`.
    """
    cold_K = t_leaving_C + KELVIN - INVERTER_EVAPORATOR_K * load_share
    hot_K = t_outdoor_C + KELVIN + INVERTER_SLIP_K + INVERTER_CONDENSER_K * load_share
    return cold_K / max(10.0, hot_K - cold_K)


@elementwise
def inverter_eir_frac(load_share, t_leaving_C, t_outdoor_C, t_leaving_rated_C, t_outdoor_rated_C):
    """Electricity per cooling of an inverter-driven machine, relative to its rating.

    Parameters
    ----------
    load_share : float or array
        Load over capacity [1]; held at 0.25 or more, below which the machine cycles.
    t_leaving_C, t_outdoor_C : float or array
        See `carnot_eer_frac`; 13 degC for air off a coil.
    t_leaving_rated_C, t_outdoor_rated_C : float or array
        The same at rating, where the load share is 1 [degC].

    Returns
    -------
    float or array
        Factor [1]; 1 at rating. Cycling below the least share is `part_load_cyclic_frac`.
    """
    share = max(INVERTER_LEAST_SHARE, min(1.0, load_share))
    return (carnot_eer_frac(1.0, t_leaving_rated_C, t_outdoor_rated_C)
            / carnot_eer_frac(share, t_leaving_C, t_outdoor_C))


@compiled
def inverter_W(load_W, capacity_W, eir, degradation, t_leaving_C, t_outdoor_C, t_leaving_rated_C, t_outdoor_rated_C,
               by_en14825=0.0):
    """Electric power of an inverter-driven machine at a load.

    Parameters
    ----------
    load_W, capacity_W : float
        Heat to remove and capacity [W].
    eir : float
        Electricity per cooling at rating [1].
    degradation, by_en14825 : float
        Of the cycling below the least share [1], see `part_load_frac`.
    others
        See `inverter_eir_frac`.

    Returns
    -------
    float
        Power [W]; load beyond capacity goes unmet and costs nothing.
    """
    if load_W <= 0.0:
        return 0.0
    share = min(1.0, load_W / capacity_W)
    factor = inverter_eir_frac(share, t_leaving_C, t_outdoor_C, t_leaving_rated_C, t_outdoor_rated_C)
    cycling = part_load_frac(min(1.0, share / INVERTER_LEAST_SHARE), degradation, by_en14825)
    return capacity_W * share * eir * factor / cycling


@elementwise
def pump_slowed_W(rated_W, flow_share, static_share):
    """Electric power of a pump slowed down.

    Parameters
    ----------
    rated_W : float or array
        Power at full flow [W].
    flow_share : float or array
        Flow over full flow [1].
    static_share : float or array
        Share of the head at full flow that is lift and nozzle pressure held constant [1]; 0 in a closed loop.

    Returns
    -------
    float or array
        Power [W], efficiency taken as constant.

    References
    ----------
    Affinity laws: flow as speed, head as its square, power as its cube, where nothing is static.
    """
    return rated_W * flow_share * (static_share + (1.0 - static_share) * flow_share**2)
