"""Water by level, meters and rain: what went in and out of the store, and the remainder that no meter saw.

Water out is positive. Levels are compared from noon to noon, and around the spraying an hour after it stopped, when the
water that was on the roof has run back.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sprayroof.model.measured_amounts import NOTHING, Amount, total
from sprayroof.model.measured_meters import drawn_L, makeup_L, quiet_after, quiet_before
from sprayroof.model.measured_nights import Night, spray_hours_h, state_reasons
from sprayroof.model.measured_rain import Losses, Shower, per_step_L, showers
from sprayroof.model.measured_readings import Readings, SECOND_ns
from sprayroof.model.measured_store import beside, content_at, content_m3, settled_after

FULL_FRAC = 0.98  # of the store: above it water may have run over, which no meter sees


@dataclass(frozen=True)
class NightWater:
    """Water of a night [L], from noon to noon; None where not known.

    Parameters
    ----------
    storage_change, mains, draw, rain, overflow, tests : Amount or None
        Rise of the content; mains water in; drawn by users; rain caught; run over; pumped away in tests.
    remainder : Amount or None
        What left the store unseen: evaporation, drift, leaks, and what no meter counts.
    sprayed_away : Amount or None
        The same from the start of spraying until an hour after its end: without the uses of the day.
    hours : float
        From the start of spraying until an hour after its end.
    reasons, spray_reasons : tuple of str
        Why `remainder` and `sprayed_away` are not known.
    """

    storage_change: Amount | None
    mains: Amount | None
    draw: Amount | None
    rain: Amount | None
    overflow: Amount | None
    tests: Amount
    remainder: Amount | None
    sprayed_away: Amount | None
    hours: float
    reasons: tuple[str, ...]
    spray_reasons: tuple[str, ...]


@dataclass(frozen=True)
class Rain:
    """All showers, and the rain caught in each step [L] (NaN where rain is not known)."""

    showers: list[Shower]
    per_step_L: np.ndarray


def rain_of(readings: Readings, nights: list[Night], leak_L_h: Amount) -> Rain:
    """Rain caught in all nights, with the losses of dry nights standing in for those during a shower."""
    noons = sorted({night.steps.start for night in nights} | {night.steps.stop for night in nights})
    nothing = Losses(leak_L_h, NOTHING, NOTHING)
    first = Rain(showers(readings, noons, nothing), np.zeros(0))
    dry = Rain(first.showers, per_step_L(readings, first.showers))
    losses = Losses(leak_L_h, _usual_loss_L_h(readings, nights, dry, leak_L_h), _hold_up_L(readings, nights, dry))
    found = showers(readings, noons, losses)
    return Rain(found, per_step_L(readings, found))


def _usual_loss_L_h(readings: Readings, nights: list[Night], rain: Rain, leak_L_h: Amount) -> Amount:
    """Water lost in an hour of spraying, leaks taken off, over all nights without rain while spraying."""
    litres, hours = [], 0.0
    for night in nights:
        lost, _ = _window_loss(readings, night, rain)
        window = spray_window(readings, night)
        if lost is not None and not rain.per_step_L[window].any():
            litres.append(lost - leak_L_h.scaled(window_hours(readings, night)))
            hours += spray_hours_h(readings, night).value
    return total(litres).scaled(1.0 / hours) if hours > 0.0 else NOTHING


def _hold_up_L(readings: Readings, nights: list[Night], rain: Rain) -> Amount:
    """Water on the roof while it sprays: by the test, else by the rise of the level in the hour after a stop."""
    if readings.tests.hold_up_L is not None:
        return readings.tests.hold_up_L
    rises = []
    for night in nights:
        stop, after = night.spray.stop, settled_after(readings, night.spray.stop)
        still = slice(stop, after + readings.steps_in(600.0))
        moved = [readings.column(column)[still] for column in
                 (*readings.columns_like("makeup_L_min"), *readings.columns_like("draw_L_min"))]
        quiet = night.sprays and not any(np.nan_to_num(flow).any() for flow in moved)
        if not quiet or rain.per_step_L[still].any() or np.isnan(rain.per_step_L[still]).any():
            continue
        ends = (content_m3(readings, beside(readings, stop, before=True)),
                content_m3(readings, beside(readings, after, before=False)))
        if readings.has("store_m3") and None not in ends:
            rises.append(1000.0 * (ends[1].value - ends[0].value))
    if len(rises) < 3:
        return NOTHING
    return Amount(float(np.median(rises)), {}, 1.645 * float(np.std(rises)))


def spray_window(readings: Readings, night: Night) -> slice:
    """Steps from the start of spraying until an hour after its end; farther where a meter runs at an end."""
    if not night.sprays:
        return night.spray
    start, stop = night.spray.start, settled_after(readings, night.spray.stop)
    return slice(quiet_before(readings, start), quiet_after(readings, min(stop, len(readings.times_ns) - 1)))


def window_hours(readings: Readings, night: Night) -> float:
    """Length of the spray window [h]."""
    window = spray_window(readings, night)
    return (window.stop - window.start) * readings.step_s / 3600.0


def water_of(readings: Readings, night: Night, rain: Rain) -> NightWater:
    """The water of a night."""
    change, reasons = _storage_change_L(readings, night)
    mains, draw = makeup_L(readings, night.steps), drawn_L(readings, night.steps)
    caught = _rain_of_night(night, rain)
    overflow = _overflow_L(readings, night.steps, mains, caught)
    tests = total(lost.litres for lost in readings.tests.drawn if night.start_ns <= lost.from_ns < night.end_ns)
    for amount, reason in ((mains, "make-up is not known"), (draw, "draws are not known"),
                           (caught, "rain is not known"), (overflow, "the store was full and may have run over")):
        reasons += [] if amount is not None else [reason]
    remainder = None if reasons else total((-change, mains, caught, -draw, -tests, -overflow))
    lost, spray_reasons = _window_loss(readings, night, rain)
    return NightWater(change, mains, draw, caught, overflow, tests, remainder, lost, window_hours(readings, night),
                      tuple(reasons), tuple(spray_reasons))


def _storage_change_L(readings: Readings, night: Night) -> tuple[Amount | None, list[str]]:
    """Rise of the content from noon to noon."""
    if not readings.has("store_m3"):
        return None, ["the level was not logged"]
    start, end = (content_at(readings, time_ns) for time_ns in (night.start_ns, night.end_ns))
    reasons = [f"the level is not known at the noon {which}" for state, which in ((start, "before"), (end, "after"))
               if state is None]
    drains = round(3600.0 / readings.step_s)
    for step, which in ((night.steps.start, "before"), (night.steps.stop, "after")):
        if readings.running_frac[max(step - drains, 0):step + 1].any():
            reasons.append(f"it sprayed within the hour up to the noon {which}")
    return (None if reasons else (end - start).scaled(1000.0)), reasons


def _rain_of_night(night: Night, rain: Rain) -> Amount | None:
    if np.isnan(rain.per_step_L[night.steps]).any():
        return None
    return total(shower.caught_L for shower in rain.showers
                 if night.steps.start <= 0.5 * (shower.start + shower.stop) < night.steps.stop)


def _overflow_L(readings: Readings, steps: slice, mains: Amount | None, caught: Amount | None) -> Amount | None:
    """Nothing where the level stayed below the brim or nothing flowed in; else not known."""
    level = readings.column("store_m3")[steps]
    full = FULL_FRAC * readings.site.store.volume_m3.value
    inflow = any(amount is None or amount.value > 0.0 for amount in (mains, caught))
    if inflow and np.isfinite(level).any() and float(np.nanmax(level)) >= full:
        return None
    return NOTHING


def _window_loss(readings: Readings, night: Night, rain: Rain) -> tuple[Amount | None, list[str]]:
    """Water that left unseen from the start of spraying until an hour after its end."""
    if not night.sprays:
        return None, ["it did not spray"]
    steps = spray_window(readings, night)
    reasons = state_reasons(readings, night)
    if not readings.has("store_m3"):
        return None, [*reasons, "the level was not logged"]
    start = content_m3(readings, beside(readings, steps.start, before=True))
    end = content_m3(readings, beside(readings, steps.stop, before=False))
    mains, draw = makeup_L(readings, steps), drawn_L(readings, steps)
    reasons += [reason for amount, reason in (
        (start, "the level is not known before spraying"), (end, "the level is not known an hour after spraying"),
        (mains, "make-up is not known"), (draw, "draws are not known")) if amount is None]
    if np.isnan(rain.per_step_L[steps]).any():
        reasons.append("rain is not known")
    tested = any(night.start_ns <= lost.from_ns < night.end_ns and
                 readings.times_ns[steps.start] - 900 * SECOND_ns <= lost.to_ns
                 and lost.from_ns <= readings.times_ns[min(steps.stop, len(readings.times_ns) - 1)]
                 for lost in readings.tests.drawn)
    if tested:
        reasons.append("water was pumped away in a test")
    if reasons:
        return None, reasons
    return total(((start - end).scaled(1000.0), mains, -draw, _rain_within(rain, steps))), []


def _rain_within(rain: Rain, steps: slice) -> Amount:
    """Rain caught within some steps: of each shower by its share there."""
    parts = []
    for shower in rain.showers:
        whole = float(rain.per_step_L[shower.start:shower.stop].sum())
        low, high = max(shower.start, steps.start), min(shower.stop, steps.stop)
        if high > low and whole != 0.0:
            parts.append(shower.caught_L.scaled(float(rain.per_step_L[low:high].sum()) / whole))
    return total(parts)
