"""Level readings to content: per cent, height, current, empty height, tables of a store of uneven plan."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.gather import Gather
from sprayroof.evidence.units import NotAQuantity, scale_to

if TYPE_CHECKING:
    from sprayroof.evidence.site import Site
    from sprayroof.evidence.site_file.logged import LogColumn

OVER_FULL = 0.02  # of the full content: readings outside by more are not levels
MOST_OUTSIDE = 0.01  # of the readings; more cannot be stray ones
ELECTRIC = ("mA", "V", "mV", "ohm", "counts", "bit", "bits")


@dataclass(frozen=True)
class LevelScale:
    """How readings become content.

    Parameters
    ----------
    content_m3 : callable
        Array of readings in the file's unit -> content [m3].
    slope_m3 : float
        Mean rise of the content for one unit of the reading [m3]; negative for empty heights.
    words : str
        The rule in words.
    """

    content_m3: Callable[[np.ndarray], np.ndarray]
    slope_m3: float
    words: str


def level_scale(column: LogColumn, site: Site, entry: str, gather: Gather) -> LevelScale | None:
    """The rule for a level's readings; None after a problem.

    Parameters
    ----------
    column : LogColumn
        Its `unit`, `table` and `ullage` say what a reading is.
    site : Site
        Its store's volume and height stand in where there is no table.
    entry : str
        Entry of the channel ("log.1.columns.level").
    gather : Gather
        Receives the problem.
    """
    if column.table:
        return _by_table(column, entry, gather)
    full_m3, height_m = site.store.volume_m3.value, site.store.height_m.value
    for unit, full_reading, what in (("m3", full_m3, "content"), ("1", 1.0, "share of the full store"),
                                     ("m", height_m, "height of the water, over an even plan")):
        try:
            scale = scale_to(column.unit, unit)
        except NotAQuantity:
            continue
        slope = scale.factor * full_m3 / full_reading
        if column.ullage:
            return LevelScale(lambda readings, s=slope: full_m3 - s * readings, -slope, f"empty {what}")
        return LevelScale(lambda readings, s=slope: s * readings, slope, what)
    _ask_table(column, site, entry, gather)
    return None


def _ask_table(column: LogColumn, site: Site, entry: str, gather: Gather) -> None:
    low, high = ("4", "20") if column.unit == "mA" else ("0", "100")
    full = f"{site.store.volume_m3.value:g}"
    found = f'"{column.unit}", which tells no content by itself'
    if column.unit not in ELECTRIC:
        try:
            scale_to(column.unit, "m3")
        except NotAQuantity as error:
            found = f'"{column.unit}"{error.why}'
    gather.problem(f"site file, {entry}.unit", found, "a unit of content, of height or per cent, or a table",
                   f"add table = [[{low}, 0], [{high}, {full}]] to {entry} with true readings and contents in m3")


def _by_table(column: LogColumn, entry: str, gather: Gather) -> LevelScale | None:
    readings, contents = (np.array(side) for side in zip(*column.table, strict=True))
    rises = np.diff(contents)
    if not (np.all(rises > 0.0) or np.all(rises < 0.0)):
        gather.problem(f"site file, {entry}.table", "contents that rise and fall",
                       "contents that rise with the reading, or fall with it", "correct the table")
        return None
    if column.ullage and contents[-1] > contents[0]:
        gather.problem(f"site file, {entry}.table", "contents that rise with the empty height",
                       "contents that fall as the empty height grows",
                       "correct the table, or take ullage out if the reading is the height of the water")
        return None
    slope = (contents[-1] - contents[0]) / (readings[-1] - readings[0])

    def content_m3(given: np.ndarray) -> np.ndarray:
        inside = np.interp(given, readings, contents)
        # beyond its ends the table goes on as it ends, so that readings outside are seen to be outside
        first, last = (rises / np.diff(readings))[[0, -1]]
        below, above = np.minimum(given - readings[0], 0.0), np.maximum(given - readings[-1], 0.0)
        return inside + first * below + last * above

    return LevelScale(content_m3, float(slope), "by the table")


def outside(content_m3: np.ndarray, full_m3: float) -> np.ndarray:
    """Where a content lies below empty or above full by more than 2 % of the full content."""
    with np.errstate(invalid="ignore"):
        return (content_m3 < -OVER_FULL * full_m3) | (content_m3 > (1.0 + OVER_FULL) * full_m3)


def level_advice(column: LogColumn, readings: np.ndarray, site: Site, entry: str) -> str:
    """What to add for readings that lie outside the store, guessed from their range."""
    known = readings[np.isfinite(readings)]
    low, high = (float(np.quantile(known, share)) for share in (0.02, 0.98))
    height_m = site.store.height_m.value
    if column.table is None and not column.ullage and low >= 0.0 and 1.02 < high <= 102.0 and column.unit == "1":
        return f'write unit = "%" at {entry} if the readings are per cent'
    for unit, per_m in (("mm", 1000.0), ("cm", 100.0), ("m", 1.0)):
        if column.table is None and column.unit != unit and 0.1 < high / per_m <= 1.02 * height_m:
            return f'write unit = "{unit}" at {entry} if the readings are heights in {unit}'
    return f"correct unit, table or ullage at {entry}, or volume and height of [store]"
