"""The store as its level and its temperatures tell it, and what its walls let through."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from sprayroof.evidence.quality.night_rule import AT_A_TIME_S, BEFORE_S, SETTLES_MIN
from sprayroof.evidence.steps import runs
from sprayroof.model.measured_amounts import NOTHING, Amount
from sprayroof.model.measured_readings import Readings
from sprayroof.physics.ground import wall_outdoors_W_m2K
from sprayroof.physics.tank import WALL_AREA_M2
from sprayroof.physics.water import water_density_kg_m3, water_heat_capacity_J_kgK

J_PER_KWH = 3.6e6
LAYERED_FRAC = 0.25  # of the range of several sensors: 90 % half-width of the mean between them
ONE_SENSOR_K = 0.3  # 90 % half-width of a store's mean by one sensor, at one time; common practice, no source
# Of the variance of either: what is alike on every night. A store is drawn from, filled and layered the same way each
# time, so the water that no sensor sees errs to one side before the spray, and after it, for weeks. Own judgement.
ALIKE_SHARE = 0.5
USUAL_WIND_M_S = 2.0  # at a store, where only the resistance of its wall is stated
STILL_H = 4.0  # shortest stretch without any flow that shows what the walls let through
LEAST_STRETCHES = 5


@dataclass(frozen=True)
class StoreState:
    """Content [m3] and mean temperature [degC] at a time."""

    content_m3: Amount
    t_C: Amount


def settled_after(readings: Readings, stop: int) -> int:
    """Step an hour after a stop."""
    return stop + round(SETTLES_MIN * 60.0 / readings.step_s)


def content_m3(readings: Readings, steps: slice) -> Amount | None:
    """Content by the level over some steps; None where the level is not known.

    A constant error of the level, its gain, and the store's own volume where the level is told in per cent or height
    are systematic; the scatter of the readings is random.
    """
    found = readings.mean_of("store_m3", steps) if steps.stop > steps.start >= 0 else None
    if found is None:
        return None
    value, scatter = found
    instrument = readings.logs.instruments["store_m3"]
    shifts = {"store_m3.offset": instrument.offset, "store_m3.gain": value * instrument.gain}
    fact = readings.site.store.volume_m3
    if not _is_in_volume(readings):
        shifts["store.volume"] = value * 0.5 * (fact.high - fact.low) / fact.value
    return Amount(value, shifts, float(np.hypot(scatter, 0.475 * instrument.resolution / np.sqrt(steps.stop
                                                                                                - steps.start))))


def _is_in_volume(readings: Readings) -> bool:
    """Whether the level is logged as a volume, so that the store's stated volume plays no part."""
    units = [log.columns["level"].unit for log in readings.site.log if "level" in log.columns]
    return bool(units) and all(unit in ("m3", "L", "l", "gal", "US gal", "ft3") for unit in units)


def content_at(readings: Readings, time_ns: int) -> Amount | None:
    """Content around a time."""
    middle, beside = readings.place(time_ns), readings.steps_in(AT_A_TIME_S)
    return content_m3(readings, slice(max(middle - beside, 0), min(middle + beside, len(readings.times_ns))))


def beside(readings: Readings, step: int, before: bool) -> slice:
    """Steps whose mean is the state at a step: the quarter of an hour before it, or ten minutes on both sides."""
    if before:
        return slice(max(step - readings.steps_in(BEFORE_S), 0), step)
    width = readings.steps_in(AT_A_TIME_S)
    return slice(max(step - width, 0), min(step + width, len(readings.times_ns)))


def store_state(readings: Readings, step: int, before: bool) -> tuple[StoreState | None, list[str]]:
    """Content and mean temperature at a step, and what of it is not known."""
    steps = beside(readings, step, before)
    content = content_m3(readings, steps) if readings.has("store_m3") else None
    t_C = None if content is None else mean_C(readings, steps, content.value, "before" if before else "after")
    reasons = [] if content is not None else ["the level is not known"]
    if content is not None and t_C is None:
        reasons = ["the store's temperature is not known"]
    return (None if reasons else StoreState(content, t_C)), reasons


def mean_C(readings: Readings, steps: slice, held_m3: float, when: str = "") -> Amount | None:
    """Mean temperature of the store: each sensor stands for the water nearest to its height.

    Offsets of the sensors go out of a difference between two times; what is left is the water between the sensors.
    Half of its variance is alike on every night at which the store is in the same state (`when`: before or after the
    spray), as layers come back; the two states differ, so they do not cancel. The other half is of the night.
    """
    columns = [column for column in readings.columns_like("store_C") if readings.mean_of(column, steps)]
    if not columns or len(columns) < len(readings.columns_like("store_C")):
        return None
    means = np.array([readings.mean_of(column, steps)[0] for column in columns])
    shares = layer_shares(readings, columns, held_m3)
    steps_K = [readings.logs.instruments[column].resolution for column in columns]
    noise = float(np.sqrt(sum((share * (readings.mean_of(column, steps)[1] + 0.1 * step)) ** 2
                              for share, column, step in zip(shares, columns, steps_K, strict=True))))
    used = means[shares > 0.0]
    layered = ONE_SENSOR_K if len(used) == 1 else LAYERED_FRAC * float(used.max() - used.min())
    return Amount(float(means @ shares), {f"store layers {when}": layered * float(np.sqrt(ALIKE_SHARE))},
                  float(np.hypot(noise, layered * np.sqrt(1.0 - ALIKE_SHARE))))


def layer_shares(readings: Readings, columns: list[str], held_m3: float) -> np.ndarray:
    """Share of the water for which each sensor stands, by heights; sensors above the water stand for none."""
    heights_m = [readings.logs.heights_m.get(column) for column in columns]
    if any(height is None for height in heights_m) or len(columns) == 1:
        return np.full(len(columns), 1.0 / len(columns))
    store = readings.site.store
    depth_m = max(held_m3 / store.volume_m3.value * store.height_m.value, 1e-6)
    order = np.argsort(heights_m)
    under = [place for place in order if heights_m[place] < depth_m] or [int(order[0])]
    edges = [0.0, *(0.5 * (heights_m[low] + heights_m[high]) for low, high in itertools.pairwise(under)),
             depth_m]
    shares = np.zeros(len(columns))
    for place, (low, high) in zip(under, itertools.pairwise(edges), strict=True):
        shares[place] = (high - low) / depth_m
    return shares


# --- walls ----------------------------------------------------------------------------------------------------------


def around_C(readings: Readings, steps: slice) -> float | None:
    """What lies around the store: soil, outdoor air or the room."""
    store = readings.site.store
    if store.placement == "buried":
        return store.ground_temperature_C.value
    if store.placement == "indoors":
        rooms = readings.columns_like("room_C")
        return _mean(readings.column(rooms[0])[steps]) if rooms else readings.site.room.temperature_C.value
    return _mean(readings.weather_column("air_C", "t_air_C")[steps])


def around_half_K(readings: Readings) -> float:
    """90 % half-width of what lies around the store, where it is stated and not measured."""
    fact = {"buried": readings.site.store.ground_temperature_C, "indoors": readings.site.room.temperature_C}.get(
        readings.site.store.placement)
    measured = readings.site.store.placement == "indoors" and readings.columns_like("room_C")
    return 0.0 if fact is None or measured else 0.5 * (fact.high - fact.low)


def _mean(values: np.ndarray) -> float | None:
    known = values[np.isfinite(values)]
    return float(known.mean()) if len(known) else None


def walls_kWh(readings: Readings, steps: slice, start: StoreState, end: StoreState, ua_W_K: Amount) -> Amount:
    """Heat through the walls into the store over some steps."""
    outside_C = around_C(readings, steps)
    if outside_C is None:
        return NOTHING
    hours = (steps.stop - steps.start) * readings.step_s / 3600.0
    driven = Amount(outside_C - 0.5 * (start.t_C.value + end.t_C.value), {"around the store": around_half_K(readings)})
    return ua_W_K.times(driven).scaled(hours / 1000.0)


def stated_ua_W_K(readings: Readings) -> Amount:
    """Heat transfer of the walls by the site file: its U value on bottom, top and sides of a store as wide as long."""
    store = readings.site.store
    area_m2 = float(WALL_AREA_M2[store.shape](store.volume_m3.value, store.height_m.value))
    fact, entry = store.u_W_m2K, "store.u"
    middle, low, high = fact.value, fact.low, fact.high
    if store.wall_resistance_m2K_W is not None:
        fact, entry = store.wall_resistance_m2K_W, "store.wall_resistance"
        middle, high, low = (float(wall_outdoors_W_m2K(one, USUAL_WIND_M_S))
                             for one in (fact.value, fact.low, fact.high))
    return Amount(middle * area_m2, {entry: 0.5 * (high - low) * area_m2})


def fitted_ua_W_K(readings: Readings, disturbed: np.ndarray) -> Amount:
    """Heat transfer of the walls from hours in which nothing but them moved the store's heat, else as stated.

    Parameters
    ----------
    readings : Readings
    disturbed : ndarray of bool, shape (n,)
        Steps in which water flowed: spray and an hour after, floors, make-up, rain.
    """
    stated = stated_ua_W_K(readings)
    pairs = [pair for start, stop in runs(~disturbed)
             if (stop - start) * readings.step_s >= 3600.0 * STILL_H
             and (pair := _gained_and_driven(readings, start, stop)) is not None]
    if len(pairs) < LEAST_STRETCHES:
        return stated
    gained_J, driven_Ks, seconds = np.array(pairs).T
    ua, half = _slope(gained_J, driven_Ks)
    half_K = around_half_K(readings)
    either = [_slope(gained_J, driven_Ks + sign * half_K * seconds)[0] for sign in (1.0, -1.0)]
    half = float(np.hypot(half, 0.5 * (either[0] - either[1])))
    return Amount(ua, {"store.u": half}) if ua > 0.0 and half < stated.half_width else stated


def _slope(gained_J: np.ndarray, driven_Ks: np.ndarray) -> tuple[float, float]:
    """Slope through the origin and its 90 % half-width."""
    weight = float(driven_Ks @ driven_Ks)
    if weight <= 0.0:
        return 0.0, float("inf")
    slope = float(driven_Ks @ gained_J) / weight
    rest = gained_J - slope * driven_Ks
    return slope, _t_90(len(rest) - 1) * float(np.sqrt(rest @ rest / (len(rest) - 1) / weight))


def _t_90(freedom: int) -> float:
    from scipy import stats

    return float(stats.t.ppf(0.95, freedom))


def _gained_and_driven(readings: Readings, start: int, stop: int) -> tuple[float, float, float] | None:
    """Heat gained by the store over a still stretch [J], the difference that drove it [K s], and its length [s]."""
    width = readings.steps_in(AT_A_TIME_S)
    first, last = slice(start, start + 2 * width), slice(stop - 2 * width, stop)
    content = content_m3(readings, first) if readings.has("store_m3") else None
    outside_C = around_C(readings, slice(start, stop))
    if content is None or outside_C is None:
        return None
    states = [mean_C(readings, steps, content.value) for steps in (first, last)]
    if any(state is None for state in states):
        return None
    mean = 0.5 * (states[0].value + states[1].value)
    per_K = content.value * float(water_density_kg_m3(mean) * water_heat_capacity_J_kgK(mean))
    seconds = (stop - start - 2 * width) * readings.step_s
    return per_K * (states[1].value - states[0].value), (outside_C - mean) * seconds, seconds
