"""The air conditioner: its electricity at a load, so that the load taken off it can be priced at the margin."""

from __future__ import annotations

from sprayroof.physics.chillers import part_load_frac
from sprayroof.physics.compiled import compiled, elementwise
from sprayroof.physics.constants import (
    CUTLER_CAPACITY,
    CUTLER_EIR,
    CUTLER_OUTDOOR_RANGE_F,
    CUTLER_WET_BULB_RANGE_F,
    RATING_OUTDOOR,
    RATING_WET_BULB,
)

_CAP_0, _CAP_1, _CAP_2, _CAP_3, _CAP_4, _CAP_5 = CUTLER_CAPACITY
_EIR_0, _EIR_1, _EIR_2, _EIR_3, _EIR_4, _EIR_5 = CUTLER_EIR
_WET_LOW, _WET_HIGH = CUTLER_WET_BULB_RANGE_F
_OUT_LOW, _OUT_HIGH = CUTLER_OUTDOOR_RANGE_F


@elementwise
def cutler_capacity_raw(wet_bulb_F, outdoor_F):
    """Capacity factor as printed (not 1 at rating), temperatures in degF.

    Parameters
    ----------
    wet_bulb_F, outdoor_F : float or array
        Wet bulb of the room air on the coil and outdoor air [degF].

    Returns
    -------
    float or array
        Factor [1].

    References
    ----------
    Cutler et al. 2013, NREL/TP-5500-56354.
    """
    return (_CAP_0 + _CAP_1 * wet_bulb_F + _CAP_2 * wet_bulb_F**2 + _CAP_3 * outdoor_F + _CAP_4 * outdoor_F**2
            + _CAP_5 * wet_bulb_F * outdoor_F)


@elementwise
def cutler_eir_raw(wet_bulb_F, outdoor_F):
    """Electricity per cooling as printed, not 1 at rating (arguments as `cutler_capacity_raw`).

    References
    ----------
    Cutler et al. 2013, NREL/TP-5500-56354.
    """
    return (_EIR_0 + _EIR_1 * wet_bulb_F + _EIR_2 * wet_bulb_F**2 + _EIR_3 * outdoor_F + _EIR_4 * outdoor_F**2
            + _EIR_5 * wet_bulb_F * outdoor_F)


@elementwise
def capacity_factor(t_wet_bulb_C, t_outdoor_C):
    """Capacity relative to rating, 1 at 67 degF wet bulb indoors and 95 degF outdoors.

    Parameters
    ----------
    t_wet_bulb_C : float or array
        Wet bulb of the room air on the coil [degC]; held within 57 to 72 degF.
    t_outdoor_C : float or array
        Outdoor air [degC]; held within 65 to 125 degF.

    Returns
    -------
    float or array
        Factor [1].
    """
    wet = min(max(1.8 * t_wet_bulb_C + 32.0, _WET_LOW), _WET_HIGH)
    out = min(max(1.8 * t_outdoor_C + 32.0, _OUT_LOW), _OUT_HIGH)
    return cutler_capacity_raw(wet, out) / cutler_capacity_raw(RATING_WET_BULB, RATING_OUTDOOR)


@elementwise
def eir_factor(t_wet_bulb_C, t_outdoor_C):
    """Electricity per cooling relative to rating (arguments as `capacity_factor`)."""
    wet = min(max(1.8 * t_wet_bulb_C + 32.0, _WET_LOW), _WET_HIGH)
    out = min(max(1.8 * t_outdoor_C + 32.0, _OUT_LOW), _OUT_HIGH)
    return cutler_eir_raw(wet, out) / cutler_eir_raw(RATING_WET_BULB, RATING_OUTDOOR)


@compiled
def air_conditioner_W(load_W, capacity_W, eir, degradation, by_en14825=0.0):
    """Electric power of an air conditioner at a load.

    Parameters
    ----------
    load_W : float
        Heat to remove [W].
    capacity_W : float
        Capacity at the present conditions [W].
    eir : float
        Electricity per cooling at full load and present conditions [1].
    degradation, by_en14825 : float
        Of the part-load factor [1], see `chillers.part_load_frac`.

    Returns
    -------
    float
        Power [W]; load beyond capacity goes unmet and costs nothing.

    References
    ----------
    AHRI 210/240 cyclic degradation (from memory); EN 14825.
    """
    if load_W <= 0.0:
        return 0.0
    part = min(1.0, load_W / capacity_W)
    return capacity_W * part * eir / part_load_frac(part, degradation, by_en14825)
