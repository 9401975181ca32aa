"""Channels held against each other by physics that needs no model: what cannot be true of both."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.channels.spray_times import level_while_on, widened
from sprayroof.evidence.gather import count_of
from sprayroof.evidence.quality.clock_lags import check_clocks
from sprayroof.evidence.quality.pair_drift import check_pair_drift
from sprayroof.evidence.quality.pair_order import check_pair, spray_nights
from sprayroof.evidence.quality.wind_beside_station import check_wind
from sprayroof.evidence.steps import runs

if TYPE_CHECKING:
    from sprayroof.evidence.quality.masks import Bench

HOUR_S = 3600.0
MISMATCH_SHARE = 0.02  # of the time that two signs of running may disagree
STILL_K = 1.0  # a pair that stands still may differ by this
RUNOFF_MOST, RUNOFF_LEAST_MM = 1.15, 4.0  # gauge and level are each sure to some per cent
LEVEL_SHARE = 0.02  # of the store: a rise or fall that the level surely sees
RAIN_SPRAYED_MM = 0.5
POWER_SPREAD, SALT_FALL = 0.25, 0.08


def cross_check(bench: Bench) -> None:
    """All checks of channels against each other; findings only, nothing is changed."""
    check_clocks(bench)
    check_pair(bench)
    check_pair_drift(bench)
    check_wind(bench)
    _check_signs_of_running(bench)
    _check_power_of_flow(bench)
    _check_spray_in_rain(bench)
    _check_runoff(bench)
    _check_rises(bench)
    _check_makeup(bench)
    _check_salts(bench)


def _check_signs_of_running(bench: Bench) -> None:
    """Flow, power and status of the spray pump should agree on when it runs."""
    signs = {}
    for column in ("spray_on_frac", "spray_L_min", "pump_W"):
        values = bench.values(column)
        if values is not None and np.nanmax(values, initial=0.0) > 0.0:
            limit = 0.5 if column == "spray_on_frac" else 0.1 * level_while_on(values)
            signs[column] = (np.isfinite(values), np.nan_to_num(values) > limit)
    names = list(signs)
    for at, first in enumerate(names):
        for second in names[at + 1 :]:
            known = signs[first][0] & signs[second][0]
            # The steps of a start or stop may hold a part of it.
            edge = np.concatenate([[False], np.diff(signs[first][1].astype(np.int8)) != 0])
            differ = known & (signs[first][1] != signs[second][1]) & ~widened(edge, 2, 2)
            if known.any() and differ.sum() > MISMATCH_SHARE * max((known & signs[first][1]).sum(), 1):
                bench.gather.finding(
                    "cross.running-differs",
                    f"{first} and {second} disagree on whether the spray runs for "
                    f"{differ.sum() * bench.step_s / 3600:.1f} h, "
                    f"first at {bench.time(np.flatnonzero(differ)[0])}.", f"{first}, {second}",
                    bench.evidence("warn", first, differ, f"against {second}"),
                    "Run hours and pump energy are unsure by this much.")


def _check_power_of_flow(bench: Bench) -> None:
    """The pump's power at its usual flow should stay the same: a change means a clogged nozzle, filter or meter."""
    flow, power = bench.values("spray_L_min"), bench.values("pump_W")
    if flow is None or power is None:
        return
    usual = level_while_on(flow)
    if usual <= 0.0:
        return
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = np.where((flow > 0.5 * usual) & (power > 0.0), power / flow, np.nan)
    nights = np.array([np.nanmedian(ratio[start:stop]) if np.isfinite(ratio[start:stop]).any() else np.nan
                       for start, stop in spray_nights(bench)])
    nights = nights[np.isfinite(nights)]
    if len(nights) >= 6 and np.ptp(nights) > POWER_SPREAD * np.median(nights):
        bench.gather.finding(
            "cross.power-of-flow",
            f"The pump's power per flow changes from {nights.min():.3g} to {nights.max():.3g} W per L/min between "
            "nights: "
            "clogged nozzles or filter, air in the pump, or a meter that fails.", "spray_L_min, pump_W",
            {"disposition": "warn", "column": "spray_L_min, pump_W", "lowest": float(nights.min()),
             "highest": float(nights.max()), "rule": f"nightly medians within {POWER_SPREAD:.0%}"},
            "Flow, and with it heat by pipe, may be wrong on some nights.")


def _check_spray_in_rain(bench: Bench) -> None:
    rain, on = bench.values("rain_mm"), bench.running()
    if rain is None or on is None:
        return
    wet = on & (np.nan_to_num(rain) > 0.0)
    amount = float(np.nansum(rain[wet]))
    if amount >= RAIN_SPRAYED_MM:
        bench.gather.finding(
            "cross.spray-in-rain",
            f"The spray ran while {amount:.1f} mm of rain fell, in {wet.sum() * bench.step_s / 3600:.1f} h, first at "
            f"{bench.time(np.flatnonzero(wet)[0])}.", "rain_mm",
            bench.evidence("warn", "rain_mm", wet, "rain while spraying"),
            "Those hours use the pump for little; a lock-out for rain would end them.")


def _hours(bench: Bench, values: np.ndarray, how: str) -> np.ndarray:
    """Hourly sums or last values."""
    per_hour = int(HOUR_S / bench.step_s)
    count = len(values) // per_hour
    blocks = values[: count * per_hour].reshape(count, per_hour)
    if how == "sum":
        return np.nansum(blocks, axis=1)
    return blocks[:, -1]


def _check_runoff(bench: Bench) -> None:
    """A store cannot gain more than the rain that fell on the roofs that feed it."""
    rain, level = bench.values("rain_mm"), bench.values("store_m3")
    if rain is None or level is None:
        return
    makeup = bench.values("makeup_L_min")
    made_up_m3 = np.zeros(len(level)) if makeup is None else np.nan_to_num(makeup) * bench.step_s / 60000.0
    area_m2 = _catching_m2(bench)
    idle, after = _no_spray(bench), int(2 * HOUR_S / bench.step_s)
    for start, stop in runs(widened(np.nan_to_num(rain) > 0.0, 1, after)):
        fell_mm = float(np.nansum(rain[start:stop]))
        if fell_mm < RUNOFF_LEAST_MM or not idle[start:stop].all():
            continue
        gained = level[stop - 1] - level[start] - made_up_m3[start:stop].sum()
        most = 1e-3 * fell_mm * area_m2
        if np.isfinite(gained) and gained > RUNOFF_MOST * most + LEVEL_SHARE * bench.site.store.volume_m3.value:
            bench.gather.finding(
                "cross.runoff-above-one",
                f"The store gained {gained:.2f} m3 from {fell_mm:.1f} mm of rain that brought at most {most:.2f} "
                "m3, at "
                f"{bench.time(start)}: the gauge, the level or the catching area is wrong, or other water flows in.",
                "rain_mm, store_m3", {"disposition": "warn", "column": "rain_mm, store_m3", "first": bench.time(start),
                                      "gained_m3": float(gained), "most_m3": most, "rule": "runoff of at most 1"},
                "Rain caught, and with it the water remainder, is unsure.")
            return


def _catching_m2(bench: Bench) -> float:
    roofs = sum(roof.area_m2.value for roof in bench.site.roof if roof.catches_rain)
    return roofs + sum(part.area_m2.value for part in bench.site.catchment)


def _no_spray(bench: Bench) -> np.ndarray:
    on = bench.running()
    if on is None:
        return np.ones(len(bench.table), dtype=bool)
    return ~widened(on, 0, int(HOUR_S / bench.step_s))


def _check_rises(bench: Bench) -> None:
    """The level cannot rise without rain, make-up or water coming back from the roof."""
    level = bench.values("store_m3")
    if level is None or bench.values("makeup_L_min") is None or bench.values("rain_mm") is None:
        return
    hour = int(HOUR_S / bench.step_s)
    fed = (np.nan_to_num(bench.values("rain_mm")) > 0.0) | (np.nan_to_num(bench.values("makeup_L_min")) > 0.0)
    quiet = _no_spray(bench) & ~widened(fed, hour, 2 * hour)
    least = LEVEL_SHARE * bench.site.store.volume_m3.value
    rises = []
    for start, stop in runs(quiet):
        if stop - start < 2 * hour:
            continue
        known = np.flatnonzero(np.isfinite(level[start:stop]))
        if len(known) > 2 * 5:
            rise = float(np.median(level[start:stop][known[-5:]]) - np.median(level[start:stop][known[:5]]))
            if rise > least:
                rises.append((start, rise))
    if rises:
        start, rise = max(rises, key=lambda pair: pair[1])
        bench.gather.finding(
            "cross.level-rises",
            f"The store's level rises by {rise:.2f} m3 with no rain, make-up or spray, at {bench.time(start)} "
            f"({count_of(len(rises), 'time')} in all): unmetered water, or a level sensor that drifts.", "store_m3",
            {"disposition": "warn", "column": "store_m3", "first": bench.time(start), "count": len(rises),
             "rise_m3": rise, "rule": f"rise above {least:.2f} m3"}, "The water remainder holds this water.")


def _check_makeup(bench: Bench) -> None:
    """Metered make-up must show in the level."""
    level, makeup = bench.values("store_m3"), bench.values("makeup_L_min")
    if level is None or makeup is None:
        return
    hour = int(HOUR_S / bench.step_s)
    least = 2.0 * LEVEL_SHARE * bench.site.store.volume_m3.value
    idle, absent = _no_spray(bench), []
    for start, stop in runs(widened(np.nan_to_num(makeup) > 0.0, 1, 1)):
        amount = float(np.nansum(makeup[start:stop]) * bench.step_s / 60000.0)
        long = (stop - start) > 3 * hour
        if amount < least or long or not idle[start:stop].all():
            continue
        rise = level[min(stop, len(level) - 1)] - level[start]
        if np.isfinite(rise) and rise < 0.3 * amount:
            absent.append((start, amount, float(rise)))
    if absent:
        start, amount, rise = absent[0]
        bench.gather.finding(
            "cross.makeup-unseen",
            f"{amount:.2f} m3 of make-up were metered at {bench.time(start)}, but the level rose by {rise:.2f} m3 only "
            f"({count_of(len(absent), 'time')} in all): the meter feeds something else, its weight is wrong, or "
            "water is "
            "lost at once.", "makeup_L_min, store_m3",
            {"disposition": "warn", "column": "makeup_L_min, "
                                              "store_m3", "first": bench.time(start), "count": len(absent),
             "rule": "rise of at least 0.3 of the amount"}, "The water remainder holds this water.")


def _check_salts(bench: Bench) -> None:
    """Salts do not leave by evaporation: without rain or make-up the conductivity cannot fall."""
    salts = bench.values("conductivity_uS_cm")
    if salts is None:
        return
    day = int(24 * HOUR_S / bench.step_s)
    fed = np.zeros(len(salts), dtype=bool)
    for column in ("rain_mm", "makeup_L_min"):
        values = bench.values(column)
        if values is not None:
            fed |= np.nan_to_num(values) > 0.0
    for start, stop in runs(~widened(fed, 0, day // 4)):
        known = np.flatnonzero(np.isfinite(salts[start:stop])) + start
        if len(known) < 20 or known[-1] - known[0] < day:
            continue
        first, last = np.median(salts[known[:10]]), np.median(salts[known[-10:]])
        if last < (1.0 - SALT_FALL) * first:
            bench.gather.finding(
                "cross.salts-fall",
                f"The conductivity falls from {first:.0f} to {last:.0f} uS/cm with no rain or make-up logged, from "
                f"{bench.time(known[0])} on: unmetered water flows in, or the probe is fouled.", "conductivity_uS_cm",
                {"disposition": "warn", "column": "conductivity_uS_cm", "first": bench.time(known[0]),
                 "old": float(first), "new": float(last), "rule": f"fall above {SALT_FALL:.0%}"},
                "The make-up may be larger than metered.")
            return
