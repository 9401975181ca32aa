"""The register of assumptions: every doubtful number, its range, and how far it moves the headline."""

from __future__ import annotations

from typing import Any

import numpy as np

from sprayroof.model.uncertainty import Draws, effects


def assumptions(draws: Draws, useful_kWh: np.ndarray, net: np.ndarray, net_unit: str) -> tuple[dict[str, Any], ...]:
    """A row a doubt, largest effect on useful cooling first.

    Parameters
    ----------
    draws : Draws
    useful_kWh : (members,) array
        Useful cooling of the year, all members.
    net : (members,) array
        What decides the verdict: net money where there are prices, else net electricity.
    net_unit : str
        Its unit.

    Returns
    -------
    tuple of dict
        label, entry, value, low, high, unit, source, effect (None where it cannot be told from noise),
        effect_unit, effect_net, effect_net_unit.
    """
    moves, net_moves = effects(draws.z, useful_kWh), effects(draws.z, net)
    rows = [
        {"label": doubt.label, "entry": doubt.entry, "value": doubt.value, "low": doubt.low, "high": doubt.high,
         "unit": doubt.unit, "source": doubt.source, "effect": None if np.isnan(move) else float(move),
         "effect_unit": "kWh useful cooling", "effect_net": None if np.isnan(net_move) else float(net_move),
         "effect_net_unit": net_unit}
        for doubt, move, net_move in zip(draws.doubts, moves, net_moves, strict=True)
    ]
    return tuple(sorted(rows, key=lambda row: (-abs(row["effect"] or 0.0), -abs(row["effect_net"] or 0.0))))
