"""Rain on roofs: initial loss, runoff, first flush, salts and bleed."""

from __future__ import annotations

from sprayroof.physics.compiled import compiled, elementwise


@compiled
def runoff_mm(rain_mm, runoff_coefficient, loss_left_mm):
    """Depth that runs off a roof in a step, and the initial loss still to be filled.

    Parameters
    ----------
    rain_mm : float
        Depth in the step [mm].
    runoff_coefficient : float
        Share of the rain beyond the initial loss that runs off [1].
    loss_left_mm : float
        Initial loss of this wet spell not yet filled [mm].

    Returns
    -------
    tuple of float
        Runoff [mm], loss left [mm].

    References
    ----------
    Initial loss and runoff coefficient as in EN 16941-1 and Fewkes 1999.
    """
    lost = min(rain_mm, loss_left_mm)
    return runoff_coefficient * (rain_mm - lost), loss_left_mm - lost


@compiled
def first_flush(water_kg, left_kg):
    """Water that passes a first-flush diverter.

    Parameters
    ----------
    water_kg : float
        Water arriving [kg].
    left_kg : float
        Room left in the diverter [kg].

    Returns
    -------
    tuple of float
        Water passed on [kg], room left [kg].
    """
    held = min(water_kg, left_kg)
    return water_kg - held, left_kg - held


@elementwise
def bleed_kg(store_kg, salt_kg, limit_kg_kg, refill_kg_kg):
    """Water to let go so that the store, refilled with fresh water, is back at its salt limit.

    Parameters
    ----------
    store_kg, salt_kg : float or array
        Water and salt in the store [kg].
    limit_kg_kg, refill_kg_kg : float or array
        Salt limit, and salts of the water that refills [kg/kg]; limit above refill.

    Returns
    -------
    float or array
        Water [kg], 0 while below the limit.

    Notes
    -----
    (M C - B C + B C_refill)/M = C_limit solved for B. In the long run this is E/(cycles - 1) less drift and leak.
    """
    excess = salt_kg - store_kg * limit_kg_kg
    if excess <= 0.0:
        return 0.0
    return min(store_kg, excess / (salt_kg / store_kg - refill_kg_kg))
