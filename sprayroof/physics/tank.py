"""A store of water in equal layers, top first: taking, adding, mixing. Works on the arrays it is given."""

from __future__ import annotations

import math

from sprayroof.physics.compiled import compiled, elementwise
from sprayroof.physics.constants import CP_WATER


@compiled
def content_kg(mass_kg):
    """Water in the store.

    Parameters
    ----------
    mass_kg : (n,) array
        Layers [kg].

    Returns
    -------
    float
        Mass [kg].
    """
    total = 0.0
    for layer in range(mass_kg.size):
        total += mass_kg[layer]
    return total


@compiled
def content_J(mass_kg, temp_C):
    """Heat in the store above 0 degC.

    Parameters
    ----------
    mass_kg, temp_C : (n,) array
        Layers.

    Returns
    -------
    float
        Heat [J].
    """
    total = 0.0
    for layer in range(mass_kg.size):
        total += mass_kg[layer] * temp_C[layer]
    return total * CP_WATER


@compiled
def outlet_mean_C(mass_kg, temp_C, wanted_kg):
    """Temperature at which `take_bottom` would take water, without taking it (same arguments)."""
    last = mass_kg.size - 1
    if wanted_kg <= mass_kg[last]:
        return temp_C[last]  # mostly so: spares the division
    left, heat = wanted_kg, 0.0
    for layer in range(mass_kg.size - 1, -1, -1):
        part = min(left, mass_kg[layer])
        heat += part * temp_C[layer]
        left -= part
        if left <= 0.0:
            break
    return heat / wanted_kg if wanted_kg > 0.0 else temp_C[mass_kg.size - 1]


@compiled
def take_bottom(mass_kg, temp_C, wanted_kg):
    """Take water from the bottom upwards.

    Parameters
    ----------
    mass_kg, temp_C : (n,) array
        Layers, top first; changed in place.
    wanted_kg : float
        Not more than the store holds.

    Returns
    -------
    float
        Mean temperature of the water taken [degC].
    """
    last = mass_kg.size - 1
    if wanted_kg <= mass_kg[last]:
        mass_kg[last] -= wanted_kg
        return temp_C[last]  # mostly so: spares the division
    left, heat = wanted_kg, 0.0
    for layer in range(mass_kg.size - 1, -1, -1):
        part = min(left, mass_kg[layer])
        mass_kg[layer] -= part
        heat += part * temp_C[layer]
        left -= part
        if left <= 0.0:
            break
    return heat / wanted_kg if wanted_kg > 0.0 else temp_C[mass_kg.size - 1]


@compiled
def take_top(mass_kg, temp_C, wanted_kg):
    """Take water from the top downwards, as an overflow does.

    Parameters
    ----------
    mass_kg, temp_C : (n,) array
        Layers, top first; changed in place.
    wanted_kg : float
        Not more than the store holds.

    Returns
    -------
    float
        Mean temperature of the water taken [degC].
    """
    left, heat = wanted_kg, 0.0
    for layer in range(mass_kg.size):
        part = min(left, mass_kg[layer])
        mass_kg[layer] -= part
        heat += part * temp_C[layer]
        left -= part
        if left <= 0.0:
            break
    return heat / wanted_kg if wanted_kg > 0.0 else temp_C[0]


@compiled
def add_top(mass_kg, temp_C, added_kg, t_added_C):
    """Add water to the top layer, where it mixes.

    Parameters
    ----------
    mass_kg, temp_C : (n,) array
        Layers, top first; changed in place.
    added_kg, t_added_C : float
        Water added [kg, degC].
    """
    total = mass_kg[0] + added_kg
    if total > 0.0:
        temp_C[0] += added_kg / total * (t_added_C - temp_C[0])
        mass_kg[0] = total


@compiled
def settle(mass_kg, temp_C, spare_mass, spare_temp):
    """Mix layers that lie colder above warmer, then cut the store into equal layers again.

    Parameters
    ----------
    mass_kg, temp_C : (n,) array
        Layers, top first; changed in place.
    spare_mass, spare_temp : (n,) array
        Scratch space.

    Notes
    -----
    Mass and heat are kept: pools of mixed layers are formed from the top (a stack), then cut again.
    """
    n = mass_kg.size
    if n == 1:
        return
    pools = 0
    for layer in range(n):
        if mass_kg[layer] <= 0.0:
            continue
        spare_mass[pools], spare_temp[pools] = mass_kg[layer], temp_C[layer]
        pools += 1
        while pools > 1 and spare_temp[pools - 1] > spare_temp[pools - 2]:
            upper, lower = spare_mass[pools - 2], spare_mass[pools - 1]
            total = upper + lower
            spare_temp[pools - 2] += lower / total * (spare_temp[pools - 1] - spare_temp[pools - 2])
            spare_mass[pools - 2] = total
            pools -= 1
    total = 0.0
    for pool in range(pools):
        total += spare_mass[pool]
    pool, size = 0, total / n
    for layer in range(n):
        need, heat = size, 0.0
        while need > 0.0 and pool < pools:
            part = min(need, spare_mass[pool])
            heat += part * spare_temp[pool]
            spare_mass[pool] -= part
            need -= part
            if spare_mass[pool] <= 0.0:
                pool += 1
        mass_kg[layer] = size - need
        if mass_kg[layer] > 0.0:
            temp_C[layer] = heat / mass_kg[layer]
    # rounding in `size` may leave a crumb in the last pool: it belongs to the last layer
    while pool < pools:
        part = spare_mass[pool]
        if part > 0.0:
            whole = mass_kg[n - 1] + part
            temp_C[n - 1] += part / whole * (spare_temp[pool] - temp_C[n - 1])
            mass_kg[n - 1] = whole
        pool += 1


@compiled
def lose_heat(mass_kg, temp_C, ua_W_K, t_outside_C, dt_s):
    """Heat lost through the walls, each layer by its share of the wall.

    Parameters
    ----------
    mass_kg, temp_C : (n,) array
        Layers; temperatures changed in place.
    ua_W_K : float
        Of the whole store [W/K].
    t_outside_C, dt_s : float
        Surroundings [degC], step [s].

    Returns
    -------
    float
        Heat lost [J].

    Notes
    -----
    Exact exponential approach over the step, so that a small store and a long step stay sound. Walls never bring
    water below 0 degC: ice would form at that temperature, and ice is not followed.
    """
    n, heat = mass_kg.size, 0.0
    for layer in range(n):
        capacity = mass_kg[layer] * CP_WATER
        if capacity <= 0.0:
            continue
        x = ua_W_K * dt_s / (n * capacity)
        # 1 - exp(-x), the exponential spared for small x (to 1e-10 of it)
        gone = x * (1.0 - 0.5 * x * (1.0 - x * (1.0 / 3.0) * (1.0 - 0.25 * x))) if x < 0.01 else -math.expm1(-x)
        drop = (temp_C[layer] - t_outside_C) * gone
        drop = min(drop, max(0.0, temp_C[layer]))
        temp_C[layer] -= drop
        heat += capacity * drop
    return heat


@elementwise
def wall_area_box_m2(volume_m3, height_m):
    """Outer area of a square box, all six sides.

    Parameters
    ----------
    volume_m3, height_m : float or array
        Content [m3] and height [m].

    Returns
    -------
    float or array
        Area [m2].
    """
    plan = volume_m3 / height_m
    return 2.0 * plan + 4.0 * math.sqrt(plan) * height_m


@elementwise
def wall_area_cylinder_m2(volume_m3, height_m):
    """Outer area of an upright cylinder, ends included.

    Parameters
    ----------
    volume_m3, height_m : float or array
        Content [m3] and height [m].

    Returns
    -------
    float or array
        Area [m2].
    """
    plan = volume_m3 / height_m
    return 2.0 * plan + 2.0 * math.sqrt(math.pi * plan) * height_m


@elementwise
def wall_area_lying_m2(volume_m3, diameter_m):
    """Outer area of a cylinder lying level, ends included.

    Parameters
    ----------
    volume_m3, diameter_m : float or array
        Content [m3] and diameter [m].

    Returns
    -------
    float or array
        Area [m2].
    """
    return 4.0 * volume_m3 / diameter_m + 0.5 * math.pi * diameter_m * diameter_m


# Outer area by the words of the site file
WALL_AREA_M2 = {"box": wall_area_box_m2, "cylinder": wall_area_cylinder_m2, "lying cylinder": wall_area_lying_m2}
