"""The level: sensors that feel the barometer, and water that is on the roof and not lost.

A pressure sensor whose cable is not vented reads water and air together: a hectopascal more of air is 10.2 mm more of
water. Water that runs over the roof is missing from the store while spraying and is back an hour after.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sprayroof.evidence.channels.spray_times import widened
from sprayroof.evidence.quality.work import LogWork
from sprayroof.evidence.steps import runs

M_PER_PA = 1.0 / (998.0 * 9.81)  # water column of a pascal: 10.2 mm per hPa
LAG_H = 3  # changes are compared over so many hours
LEAST_PAIRS = 48
LEAST_SWING_PA = 100.0  # 90 % half-width of the pressure changes; less shows nothing
LIKENESS = 0.7  # correlation of level and pressure changes
SLOPE_LOW, SLOPE_HIGH = 0.6, 1.4  # times the water column of the pressure
DRAINED_MIN = 60.0
LEAST_HELD_FRAC = 0.002  # of the full store
LEAST_TIMES = 3


def check_barometer(work: LogWork) -> None:
    """Find a level that follows the air pressure; correct it by a logged pressure, else widen its instrument."""
    level = work.values("store_m3")
    if level is None:
        return
    logged = work.values("pressure_Pa")
    pressure = logged if logged is not None else work.pressure_elsewhere_Pa
    if pressure is None:
        return
    m2 = work.site.store.volume_m3.value / work.site.store.height_m.value
    found = _follows(level / m2, pressure, work)
    if found is None:
        return
    slope, likeness, pairs = found
    swing_Pa = float(np.nanquantile(pressure, 0.95) - np.nanquantile(pressure, 0.05)) / 2.0
    swing_m3 = swing_Pa * M_PER_PA * m2
    told = (f"The level of {work.records['store_m3'].where} follows the air pressure: {1e5 * slope:.1f} mm for 1 hPa "
            f"over {pairs} still spans of {LAG_H} h (10.2 mm for a sensor without vent, correlation {likeness:.2f})")
    data = work.evidence("repair" if logged is not None else "warn", "store_m3", np.zeros(0, dtype=int),
                         "level changes against pressure changes while nothing else moves it", slope_mm_hPa=1e5 * slope)
    if logged is not None:
        laid, mean = work.laid["store_m3"], float(np.nanmean(pressure))
        corrected = laid.values - (pressure - mean) * M_PER_PA * m2
        work.laid["store_m3"] = replace(laid, values=np.where(np.isfinite(pressure), corrected, np.nan))
        work.gather.finding(
            "channel.level-barometer", f"{told}; the logged pressure was taken off, about its mean of "
            f"{mean / 100.0:.1f} hPa.", work.records["store_m3"].rows.where, data,
            f"Contents change by up to {swing_m3:.2g} m3.")
        return
    old = work.instruments["store_m3"]
    work.instruments["store_m3"] = replace(old, offset=float(np.hypot(old.offset, swing_m3)))
    work.gather.finding(
        "channel.level-unvented", f"{told}. No pressure was logged at the store, so the level was left and its error "
        f"widened by {swing_m3:.2g} m3.", work.records["store_m3"].rows.where, data,
        f"Each night's water balance is unsure by up to {swing_m3:.2g} m3.")


def _follows(height_m: np.ndarray, pressure_Pa: np.ndarray, work: LogWork) -> tuple[float, float, int] | None:
    """Slope [m/Pa], correlation and number of pairs of changes of level and pressure, where they go together."""
    per_hour = max(1, 3600 // work.grid.step_s)
    hours = len(height_m) // per_hour
    series = (height_m, pressure_Pa, np.where(_still(work), 0.0, np.nan))
    with np.errstate(invalid="ignore"):
        height, pressure, still = (part[:hours * per_hour].reshape(hours, per_hour).mean(axis=1) for part in series)
    if hours <= LAG_H:
        return None
    undisturbed = np.array([np.isfinite(still[at:at + LAG_H + 1]).all() for at in range(hours - LAG_H)])
    rises, changes = height[LAG_H:] - height[:-LAG_H], pressure[LAG_H:] - pressure[:-LAG_H]
    good = undisturbed & np.isfinite(rises) & np.isfinite(changes)
    if good.sum() < LEAST_PAIRS:
        return None
    rises, changes = rises[good], changes[good]
    if 1.645 * changes.std() < LEAST_SWING_PA or rises.std() == 0.0:
        return None
    likeness = float(np.corrcoef(rises, changes)[0, 1])
    slope = float(np.polyfit(changes, rises, 1)[0])
    if likeness < LIKENESS or not SLOPE_LOW * M_PER_PA <= slope <= SLOPE_HIGH * M_PER_PA:
        return None
    return slope, likeness, int(good.sum())


def _still(work: LogWork) -> np.ndarray:
    """Steps in which neither spray (and an hour after), rain nor a meter moved the level."""
    still = np.ones(work.grid.steps, dtype=bool)
    hour = round(3600.0 / work.grid.step_s)
    spraying = work.running()
    if spraying is not None:
        still &= ~widened(spraying, 0, hour)
    for column in work.records:
        if column == "rain_mm" or column.startswith(("makeup_L_min", "draw_L_min")):
            still &= ~widened(np.nan_to_num(work.laid[column].values) > 0.0, 0, hour if column == "rain_mm" else 1)
    return still


def note_held_water(work: LogWork) -> None:
    """Mark the level while spraying and an hour after as short of the water on the roof, and tell how much that is."""
    level, spraying = work.values("store_m3"), work.running()
    if level is None or spraying is None or not spraying.any():
        return
    after = round(DRAINED_MIN * 60.0 / work.grid.step_s)
    work.mask("store_m3", "note_held", widened(spraying, 0, after))
    rises = _rises_after_stops(level, spraying, work)
    if len(rises) < LEAST_TIMES:
        return
    held_m3 = float(np.median(rises))
    full_m3 = work.site.store.volume_m3.value
    if held_m3 < LEAST_HELD_FRAC * full_m3 or np.quantile(rises, 0.25) <= 0.0:
        return
    per_m2 = 1000.0 * held_m3 / max(work.site.sprayed_area_m2(), 1.0)
    work.gather.finding(
        "channel.level-held",
        f"The level rises by {held_m3:.2g} m3 ({per_m2:.2g} L for each m2 of sprayed roof) in the hour after spraying "
        f"stops, in the middle of {len(rises)} times: water that was on the roof.",
        work.records["store_m3"].rows.where,
        work.evidence("warn", "store_m3", np.zeros(0, dtype=int), "level 60 min after stopping less that at stopping",
                      held_m3=held_m3, times=len(rises)),
        f"Levels while spraying are {held_m3:.2g} m3 short of the water there is; it is not lost. Levels 60 min after "
        "a stop are compared.")


def _rises_after_stops(level: np.ndarray, spraying: np.ndarray, work: LogWork) -> np.ndarray:
    """Rise of the level in the hour after each stop in which nothing else brought water or took it."""
    after = round(DRAINED_MIN * 60.0 / work.grid.step_s)
    beside = max(1, round(600.0 / work.grid.step_s))
    moved = np.zeros(len(level), dtype=bool)
    for column in work.records:
        if column == "rain_mm" or column.startswith(("makeup_L_min", "draw_L_min")):
            moved |= np.nan_to_num(work.laid[column].values) > 0.0
    rises = []
    for start, stop in runs(spraying):
        long = stop - start >= after // 2 and start - beside >= 0 and stop + after <= len(level)
        if not long or spraying[stop:stop + after].any() or moved[stop:stop + after].any():
            continue
        before, later = level[stop - beside // 2 - 1:stop], level[stop + after - beside:stop + after]
        if np.isfinite(before).any() and np.isfinite(later).any():
            rises.append(float(np.nanmean(later) - np.nanmean(before)))
    return np.array(rises)
