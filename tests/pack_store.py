"""The store of the invented truth: ten layers of equal mass that share one plan area."""

from __future__ import annotations

import numpy as np
from numba import njit
from pack_config import LAYERS, STEP_S, CP_J_kgK, RHO_kg_m3

SPREAD_FRAC = 0.9  # of an inflow, mixed by its plume into the layers that it passes


@njit
def pour(mass, heat, kg, t_C):
    """Let water in at the top: it sinks to the first layer that is no warmer, mixing on the way."""
    place = LAYERS - 1
    while place > 0 and heat[place - 1] > mass[place - 1] * CP_J_kgK * t_C:
        place -= 1
    passed = LAYERS - place
    for layer in range(place, LAYERS):
        part = kg * SPREAD_FRAC / passed
        mass[layer] += part
        heat[layer] += part * CP_J_kgK * t_C
    mass[place] += kg * (1.0 - SPREAD_FRAC)
    heat[place] += kg * (1.0 - SPREAD_FRAC) * CP_J_kgK * t_C


@njit
def even_out(mass, heat):
    """Move water between neighbours until all layers are equal in mass."""
    wanted = mass.sum() / LAYERS
    for layer in range(LAYERS - 1):
        over = mass[layer] - wanted
        giver = layer if over > 0.0 else layer + 1
        carried = over * heat[giver] / mass[giver]
        mass[layer] -= over
        heat[layer] -= carried
        mass[layer + 1] += over
        heat[layer + 1] += carried


@njit
def turn_over(mass, heat):
    """Mix layers that lie under colder ones (all have one mass)."""
    sums, counts, blocks = np.empty(LAYERS), np.empty(LAYERS, np.int64), 0
    for layer in range(LAYERS):
        sums[blocks], counts[blocks] = heat[layer], 1
        blocks += 1
        while blocks > 1 and sums[blocks - 2] / counts[blocks - 2] > sums[blocks - 1] / counts[blocks - 1]:
            sums[blocks - 2] += sums[blocks - 1]
            counts[blocks - 2] += counts[blocks - 1]
            blocks -= 1
    layer = 0
    for block in range(blocks):
        for _ in range(counts[block]):
            heat[layer] = sums[block] / counts[block]
            layer += 1


@njit
def walls_and_mixing(mass, heat, plant, air_C):
    """Heat from soil and air through the walls, returned [J]; conduction between layers."""
    plan_m2 = plant.store_m3 / plant.store_height_m
    thick_m = mass[0] / RHO_kg_m3 / plan_m2
    between = plant.store_mix_W_mK * plan_m2 / thick_m * STEP_S
    around_C = 0.7 * plant.ground_C + 0.3 * air_C
    gained = 0.0
    before_C = heat / (mass * CP_J_kgK)
    for layer in range(LAYERS):
        into = plant.store_wall_W_K / LAYERS * (around_C - before_C[layer]) * STEP_S
        heat[layer] += into
        gained += into
        if layer < LAYERS - 1:
            up = between * (before_C[layer] - before_C[layer + 1])
            heat[layer] -= up
            heat[layer + 1] += up
    return gained


@njit
def at_height_C(mass, heat, plant, height_m):
    """Temperature at a height, straight between the middles of the layers."""
    plan_m2 = plant.store_m3 / plant.store_height_m
    place = height_m * plan_m2 * RHO_kg_m3 / mass[0] - 0.5
    low = min(max(int(np.floor(place)), 0), LAYERS - 2)
    into = min(max(place - low, 0.0), 1.0)
    low_C, high_C = heat[low] / (mass[low] * CP_J_kgK), heat[low + 1] / (mass[low + 1] * CP_J_kgK)
    return low_C + into * (high_C - low_C)
