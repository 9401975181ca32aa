"""Readings that can hardly be in the unit declared: which other unit would make sense of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.gather import Gather
from sprayroof.evidence.site_file.channel_table import ChannelMeaning
from sprayroof.evidence.units import scale_to

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.logged import LogColumn

MOST_OUTSIDE = 0.5  # of the readings outside what can be true: the unit or the column is wrong

# Where the middle of a channel's readings lies anywhere on earth that sprays roofs, in its unit. Own judgement.
_WATER, _ROOM = (1.0, 45.0), (5.0, 40.0)
USUAL_MIDDLE: dict[str, tuple[float, float]] = {
    "supply_temperature": _WATER, "return_temperature": _WATER, "store_temperature": _WATER,
    "cooling_supply_temperature": _WATER, "cooling_return_temperature": _WATER, "air_temperature": (-30.0, 42.0),
    "room_temperature": _ROOM, "surface_temperature": (-15.0, 60.0), "humidity": (0.04, 1.05),
    "room_humidity": (0.04, 1.05), "pressure": (60000.0, 107000.0), "wind": (0.0, 9.0),
    "conductivity": (5.0, 20000.0),
}
# Units that instruments of such a channel use.
OTHER_UNITS: dict[str, tuple[str, ...]] = {
    "degC": ("degF", "K", "degC"), "1": ("%", "1"), "Pa": ("hPa", "kPa", "Pa", "inHg", "mmHg"),
    "m/s": ("m/s", "km/h", "knots", "mph"), "uS/cm": ("uS/cm", "mS/cm", "mS/m"),
}


def unit_is_plausible(column: LogColumn, meaning: ChannelMeaning, readings: np.ndarray, values: np.ndarray, entry: str,
                      where: str, gather: Gather) -> bool:
    """False, with a problem, where the readings can hardly be in the unit declared.

    Parameters
    ----------
    column : LogColumn
    meaning : ChannelMeaning
    readings, values : ndarray, shape (n,)
        As in the file, and in the channel's unit.
    entry, where : str
        Entry of the channel; shown name of the file.
    """
    known = np.isfinite(values)
    if not known.any():
        return True
    middle, outside = float(np.median(values[known])), _outside_share(values[known], meaning)
    usual = USUAL_MIDDLE.get(meaning.name)
    if outside <= MOST_OUTSIDE and (usual is None or usual[0] <= middle <= usual[1]):
        return True
    other = _other_unit(column, meaning, readings[known])
    if other is None and outside <= MOST_OUTSIDE:
        return True  # unusual, but no unit explains it
    unit = "" if meaning.unit == "1" else f" {meaning.unit}"
    raw = float(np.median(readings[known]))
    if other:
        also = "" if raw == middle else f' in "{column.unit}", that is {middle:.4g}{unit}'
        found = f"the middle of the readings is {raw:.4g}{also}"
    else:
        found = f"{outside:.0%} of the readings lie outside {meaning.low:g} to {meaning.high:g}{unit}"
    low, high = usual or (meaning.low, meaning.high)
    gather.problem(f"{where}, column {column.column}", found, f"{meaning.meaning}: {low:g} to {high:g}{unit}",
                   f'write unit = "{other}" at {entry} if that is the unit' if other
                   else f"correct column or unit at {entry}")
    return False


def _other_unit(column: LogColumn, meaning: ChannelMeaning, readings: np.ndarray) -> str | None:
    """The first other unit that brings the readings where they usually lie."""
    if meaning.unit not in OTHER_UNITS:
        return None
    usual = USUAL_MIDDLE.get(meaning.name, (meaning.low, meaning.high))
    declared = scale_to(column.unit, meaning.unit)
    for unit in OTHER_UNITS[meaning.unit]:
        scale = scale_to(unit, meaning.unit)
        values = scale(readings)
        if not np.allclose(scale, declared, rtol=1e-6) and usual[0] <= np.median(values) <= usual[1] and (
                _outside_share(values, meaning) < 0.01):
            return unit
    return None


def _outside_share(values: np.ndarray, meaning: ChannelMeaning) -> float:
    return float(((values < meaning.low) | (values > meaning.high)).mean())
