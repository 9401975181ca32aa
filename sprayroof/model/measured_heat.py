"""Heat that spraying took out of the water, by two ways: through the pipe, and by what the store lost.

Positive is heat out of the water. A night on which the roof warmed the water is negative and stays so.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sprayroof.evidence.steps import runs
from sprayroof.model.measured_amounts import NOTHING, Amount, total
from sprayroof.model.measured_meters import makeup_L
from sprayroof.model.measured_nights import Night, pipe_reasons, state_reasons
from sprayroof.model.measured_readings import Readings
from sprayroof.model.measured_store import StoreState, settled_after, store_state, walls_kWh
from sprayroof.physics.water import water_density_kg_m3, water_heat_capacity_J_kgK

J_PER_KWH = 3.6e6
FULL_FRAC = 0.9  # a step in which the pump ran for less holds temperatures of standing water too
SETTLES_S = 180.0  # from the start of a spell until water from the roof passes the return sensor
CLOCK_S = 60.0  # 90 % half-width of when a spell starts and stops
MAINS_K, RAIN_K = 3.0, 4.0  # 90 % half-widths of the temperature of mains water and of rain off a roof


@dataclass(frozen=True)
class Heat:
    """Heat of a night by one way [kWh], or why there is none."""

    kWh: Amount | None
    reasons: tuple[str, ...] = ()


def heat_per_litre_J_K(t_C: np.ndarray | float) -> np.ndarray | float:
    """Heat that a litre of water carries per kelvin at a temperature [J/K]."""
    return water_density_kg_m3(t_C) * water_heat_capacity_J_kgK(t_C) / 1000.0


def litres_sprayed(readings: Readings, night: Night) -> Amount | None:
    """Litres through the nozzles in a night; None where the flow is not known well enough."""
    if not readings.has("spray_L_min") or pipe_flow_reasons(readings, night):
        return None
    parts = [_litres_of_spell(readings, spell) for spell in night.spells]
    litres = total(parts)
    return litres.with_shift("spray_L_min.gain", litres.value * readings.gain("spray_L_min"))


def pipe_flow_reasons(readings: Readings, night: Night) -> list[str]:
    """Why litres are not known; empty where they are."""
    return [reason for reason in pipe_reasons(readings, night) if "temperature" not in reason]


def _litres_of_spell(readings: Readings, spell: tuple[int, int]) -> Amount:
    """Litres of a spell; unknown steps take the mean of the known ones."""
    flow, running = readings.column("spray_L_min")[slice(*spell)], readings.running_frac[slice(*spell)]
    known = np.isfinite(flow)
    if not known.any():
        return NOTHING
    per_step = readings.step_s / 60.0
    lacking = float(running[~known].sum())
    usual = float(flow[known].sum() / max(running[known].sum(), 1e-9))
    scatter = 1.645 * float(np.std(flow[known])) * lacking * per_step
    return Amount(float(flow[known].sum()) * per_step + usual * lacking * per_step, {}, scatter)


def pipe_heat(readings: Readings, night: Night) -> Heat:
    """Heat by flow and the difference of supply and return.

    Parameters
    ----------
    readings : Readings
        Temperatures corrected by the pair test; what it left uncertain is a systematic error.
    night : Night
    """
    reasons = pipe_reasons(readings, night)
    if reasons:
        return Heat(None, tuple(reasons))
    return Heat(total([_spell_heat(readings, spell) for spell in night.spells]))


def _spell_heat(readings: Readings, spell: tuple[int, int]) -> Amount:
    steps = slice(*spell)
    flow, running = readings.column("spray_L_min")[steps], readings.running_frac[steps]
    supply_C, return_C = readings.column("supply_C")[steps], readings.column("return_C")[steps]
    apart_K = _nearest_settled(supply_C - return_C, running, readings.steps_in(SETTLES_S))
    per_litre_J_K = heat_per_litre_J_K(supply_C)
    flow_W_K = flow / 60.0 * np.where(np.isfinite(per_litre_J_K), per_litre_J_K, np.nanmean(per_litre_J_K))
    power_W = flow_W_K * apart_K
    known = np.isfinite(power_W)
    if not known.any():
        return NOTHING
    lacking_s = float(running[~known].sum()) * readings.step_s
    ran_s = float(running[known].sum()) * readings.step_s
    heat_J = float(power_W[known].sum()) * readings.step_s
    mean_W = heat_J / ran_s
    heat_J += mean_W * lacking_s
    flow_J_K = float(flow_W_K[known].sum()) * readings.step_s * (1.0 + lacking_s / ran_s)
    return Amount(heat_J / J_PER_KWH, _pipe_shifts(readings, heat_J, flow_J_K),
                  _pipe_random_J(power_W[known], mean_W, lacking_s, readings.step_s) / J_PER_KWH)


def _nearest_settled(apart_K: np.ndarray, running: np.ndarray, settles: int) -> np.ndarray:
    """The difference where the pump ran all the step and roof water is at the sensor; else that of the nearest such.

    The last such value also stands for unknown steps of the start, never for unknown steps between: those are NaN.
    """
    good = (running >= FULL_FRAC) & np.isfinite(apart_K)
    first = np.flatnonzero(running >= FULL_FRAC)
    if len(first) and len(apart_K) > 2 * settles:
        good[:first[0] + settles] = False
    if not good.any():
        return np.where(running > 0.0, apart_K, np.nan)
    places = np.flatnonzero(good)
    filled = np.where(good, apart_K, np.nan)
    filled[:places[0]] = apart_K[places[0]]
    partial = (running < FULL_FRAC) & np.isfinite(apart_K)
    nearest = places[np.clip(np.searchsorted(places, np.arange(len(apart_K))) - 1, 0, None)]
    return np.where(partial & ~good, apart_K[nearest], filled)


def _pipe_shifts(readings: Readings, heat_J: float, flow_J_K: float) -> dict[str, float]:
    """What a flow meter's gain and the sensors' offsets would do [kWh]."""
    shifts = {"spray_L_min.gain": heat_J * readings.gain("spray_L_min")}
    instruments = readings.logs.instruments
    for column, other, sign in (("supply_C", "return_C", 1.0), ("return_C", "supply_C", -1.0)):
        if column in instruments and not _is_tied(instruments, other, column):
            shifts[f"{column}.offset"] = sign * flow_J_K * instruments[column].offset
    return {source: shift / J_PER_KWH for source, shift in shifts.items()}


def _is_tied(instruments: dict, other: str, column: str) -> bool:
    """Whether the other sensor shares this one's error, so that it goes out of the difference."""
    return other in instruments and instruments[other].tied_to == column


def _pipe_random_J(power_W: np.ndarray, mean_W: float, lacking_s: float, step_s: float) -> float:
    """Reading noise, edges of the spell, unknown steps."""
    noise = 1.645 * float(np.std(np.diff(power_W))) / np.sqrt(2.0) * step_s * np.sqrt(len(power_W)) if (
        len(power_W) > 2) else 0.0
    edges = abs(mean_W) * CLOCK_S * np.sqrt(2.0)
    return float(np.sqrt(noise ** 2 + edges ** 2 + (1.645 * float(np.std(power_W)) * lacking_s) ** 2))


def pump_kWh(readings: Readings, steps: slice, hours: float) -> Amount | None:
    """Electricity of the spray pump in some steps: metered, else stated power times `hours`; None where unknown."""
    if readings.has("pump_W"):
        power = readings.column("pump_W")[steps]
        known = np.isfinite(power)
        if known.sum() >= 0.9 * max(len(power), 1):
            kWh = float(power[known].sum()) * readings.step_s / J_PER_KWH
            lacking_h = float((~known).sum()) * readings.step_s / 3600.0
            usual = 1.645 * float(np.std(power[known])) / 1000.0 * lacking_h
            return Amount(kWh, {"pump_W.gain": kWh * readings.gain("pump_W")}, usual)
        return None
    fact = readings.site.spray.pump_power_W
    return Amount(fact.value * hours / 1000.0, {"spray.pump_power": 0.5 * (fact.high - fact.low) * hours / 1000.0})


def pump_heat_kWh(readings: Readings, pump: Amount) -> Amount:
    """The part of the pump's electricity that warms the water."""
    share = readings.site.spray.pump_heat_share_frac
    return pump.times(Amount(share.value, {"spray.pump_heat_share": 0.5 * (share.high - share.low)}))


@dataclass(frozen=True)
class Window:
    """The store before spraying and after its roof has drained, and what flowed in meanwhile [L]."""

    start: StoreState
    end: StoreState
    steps: slice
    makeup_L: Amount
    rain_L: Amount
    rain_C: float


def tank_heat(readings: Readings, night: Night, rain_L: np.ndarray, ua_W_K: Amount) -> Heat:
    """Heat by the store: what it lost, corrected for pump, make-up, rain, floors and walls.

    Parameters
    ----------
    readings : Readings
    night : Night
    rain_L : ndarray, shape (n,)
        Rain caught in each step [L]; NaN where rain is not known.
    ua_W_K : Amount
        Heat transfer of the store's walls.
    """
    if not night.sprays:
        return Heat(NOTHING, ()) if not state_reasons(readings, night) else Heat(None, tuple(
            state_reasons(readings, night)))
    window, reasons = _window(readings, night, rain_L)
    pump = pump_kWh(readings, night.spray, 0.0) if readings.has("pump_W") else pump_kWh(
        readings, night.spray, sum(readings.running_frac[slice(*spell)].sum() for spell in night.spells)
        * readings.step_s / 3600.0)
    if pump is None:
        reasons.append("pump power: too few records")
    floors = None if window is None else floors_kWh(readings, window.steps)
    if window is not None and floors is None:
        reasons.append("floors or coils may have run, and they were not metered")
    if reasons:
        return Heat(None, tuple(reasons))
    walls = walls_kWh(readings, window.steps, window.start, window.end, ua_W_K)
    parts = (_stored_kWh(window), pump_heat_kWh(readings, pump), floors, walls,
             _inflow_kWh(window.makeup_L, _mains_C(readings, night), window, MAINS_K, "mains.temperature"),
             _inflow_kWh(window.rain_L, window.rain_C, window, RAIN_K, ""))
    return Heat(total(parts))


def _window(readings: Readings, night: Night, rain_L: np.ndarray) -> tuple[Window | None, list[str]]:
    steps = slice(night.spray.start, settled_after(readings, night.spray.stop))
    start, first = store_state(readings, night.spray.start, before=True)
    end, second = store_state(readings, steps.stop, before=False)
    reasons = [f"{reason} at the start" for reason in first] + [f"{reason} an hour after the end" for reason in second]
    makeup = makeup_L(readings, steps)
    if makeup is None:
        reasons.append("make-up is not known")
    if np.isnan(rain_L[steps]).any():
        reasons.append("rain is not known")
    if reasons:
        return None, reasons
    caught = float(rain_L[steps].sum())
    air_C = readings.weather_column("air_C", "t_air_C")[steps]
    wet = np.isfinite(air_C) & (rain_L[steps] > 0.0)
    rain_C = float(air_C[wet].mean()) if wet.any() else 0.5 * (start.t_C.value + end.t_C.value)
    return Window(start, end, steps, makeup, Amount(caught), rain_C), []


def _stored_kWh(window: Window) -> Amount:
    """Heat that the store lost by growing colder: mean content times fall of its temperature."""
    fall_K = window.start.t_C - window.end.t_C
    content_m3 = (window.start.content_m3 + window.end.content_m3).scaled(0.5)
    per_m3 = 1000.0 * float(heat_per_litre_J_K(0.5 * (window.start.t_C.value + window.end.t_C.value))) / J_PER_KWH
    return content_m3.times(fall_K).scaled(per_m3)


def _inflow_kWh(litres: Amount, t_C: float, window: Window, half_K: float, source: str) -> Amount:
    """Heat that water brings in, beside the store's own temperature."""
    store_C = 0.5 * (window.start.t_C.value + window.end.t_C.value)
    per_K = float(heat_per_litre_J_K(store_C)) / J_PER_KWH
    warmer_K = Amount(t_C - store_C, {source: half_K}) if source else Amount(t_C - store_C, {}, half_K)
    return litres.times(warmer_K).scaled(per_K)


def _mains_C(readings: Readings, night: Night) -> float:
    return readings.site.mains.temperature_C[night.date.month - 1]


def floors_kWh(readings: Readings, steps: slice) -> Amount | None:
    """Heat that floors, ceilings and coils put into the store; None where they may have run unmetered."""
    flows = readings.columns_like("cooling_L_min")
    if flows:
        parts = [_circuit_kWh(readings, flow, steps) for flow in flows]
        return None if any(part is None for part in parts) else total(parts)
    load = readings.site.load
    if not readings.site.emitter or not readings.in_hours(load.from_h, load.to_h)[steps].any():
        return NOTHING
    return None


def _circuit_kWh(readings: Readings, flow: str, steps: slice) -> Amount | None:
    number = flow.removeprefix("cooling_L_min")
    supply, back = f"cooling_supply_C{number}", f"cooling_return_C{number}"
    if not readings.has(supply, back):
        return None
    rate = readings.column(flow)[steps]
    warmer_K = np.where(rate > 0.0, readings.column(back)[steps] - readings.column(supply)[steps], 0.0)
    known = np.isfinite(rate) & np.isfinite(warmer_K)
    if not known.all() and max(stop - start for start, stop in runs(~known)) * readings.step_s > 600.0:
        return None
    per_L = heat_per_litre_J_K(20.0) * readings.step_s / 60.0 / J_PER_KWH
    kWh, litres_kWh_K = float((rate * warmer_K)[known].sum()) * per_L, float(rate[known].sum()) * per_L
    return Amount(kWh, {f"{flow}.gain": kWh * readings.gain(flow),
                        f"{supply}.offset": -litres_kWh_K * readings.offset(supply),
                        f"{back}.offset": litres_kWh_K * readings.offset(back)})
