"""The register of assumptions: every doubtful number, its range, and how far it moves the headline."""

from __future__ import annotations

from typing import Any

import numpy as np

from sprayroof.model.uncertainty import Draws, effects


def assumptions(draws: Draws, useful_kWh: np.ndarray) -> tuple[dict[str, Any], ...]:
    """A row a doubt, largest effect on useful cooling first.

    Parameters
    ----------
    draws : Draws
    useful_kWh : (members,) array
        Useful cooling of the year, all members.

    Returns
    -------
    tuple of dict
        label, entry, value, low, high, unit, source, effect (None where there are too few members to tell),
        effect_unit.
    """
    moves = effects(draws.z, useful_kWh)
    rows = [
        {"label": doubt.label, "entry": doubt.entry, "value": doubt.value, "low": doubt.low, "high": doubt.high,
         "unit": doubt.unit, "source": doubt.source, "effect": None if np.isnan(move) else float(move),
         "effect_unit": "kWh useful cooling"}
        for doubt, move in zip(draws.doubts, moves, strict=True)
    ]
    return tuple(sorted(rows, key=lambda row: -abs(row["effect"] or 0.0)))
