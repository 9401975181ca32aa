"""What the unseen water was: leak, evaporation and drift, as far as tests and records tell them apart."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sprayroof.model.measured_amounts import NOTHING, Amount, total
from sprayroof.model.measured_drift import WindSlope, wind_slope
from sprayroof.model.measured_meters import drawn_L, makeup_L
from sprayroof.model.measured_nights import Night
from sprayroof.model.measured_readings import Readings, SECOND_ns
from sprayroof.model.measured_store import content_at
from sprayroof.model.measured_water import NightWater, Rain
from sprayroof.model.site_tests import Tracer

NIGHT_H = 24.0
NIGHTLY_FRAC = 0.2  # 90 % half-width by which a night's share of drift departs from the mean share; own judgement


@dataclass(frozen=True)
class Leak:
    """Water lost by leaks [L/h], and what tells it: "test", "stated", or "" where nothing does."""

    L_h: Amount
    by: str


@dataclass(frozen=True)
class NightSplit:
    """Unseen water of a night by kind [L]; None where it cannot be told."""

    leak: Amount | None
    spray_loss: Amount | None
    evaporation: Amount | None
    drift: Amount | None
    unexplained: Amount | None


@dataclass(frozen=True)
class Split:
    """The split of all nights.

    Parameters
    ----------
    nights : list of NightSplit
    share : Amount or None
        Share of the water lost by spraying that evaporated, by tracers; None where none was followed.
    wind : WindSlope or None
        What calm and windy nights tell of drift; None where they are too few or too alike.
    """

    nights: list[NightSplit]
    share: Amount | None
    wind: WindSlope | None


def leak_of(readings: Readings) -> Leak:
    """Leaks by the tests, else as the site file states them."""
    tests = readings.tests.leaks
    if tests:
        rates = [lost.litres.scaled(3600.0 * SECOND_ns / (lost.to_ns - lost.from_ns)) for lost in tests]
        mean = total(rates).scaled(1.0 / len(rates))
        spread = 0.5 * (max(rate.value for rate in rates) - min(rate.value for rate in rates))
        return Leak(mean.with_shift("leak tests differ", spread) if spread else mean, "test")
    fact = readings.site.store.leak_L_day
    if fact.given:
        return Leak(Amount(fact.value / 24.0, {"store.leak": 0.5 * (fact.high - fact.low) / 24.0}), "stated")
    return Leak(NOTHING, "")


def split_of(readings: Readings, nights: list[Night], waters: list[NightWater], sprayed: list[Amount | None],
             rain: Rain, leak: Leak) -> Split:
    """Each night's unseen water by kind.

    Parameters
    ----------
    readings : Readings
    nights, waters, sprayed : lists
        Nights, their water, and litres sprayed.
    rain : Rain
    leak : Leak
    """
    losses = [None if water.sprayed_away is None or not leak.by
              else water.sprayed_away - leak.L_h.scaled(water.hours) for water in waters]
    wind = wind_slope(readings, nights, losses, sprayed) if leak.by else None
    share = evaporated_share(readings, rain, leak) if leak.by else None
    drifted = [None] * len(nights) if share is None else _by_share(share, losses)
    parts = [_night(night, water, loss, lost, leak, share is not None)
             for night, water, loss, lost in zip(nights, waters, losses, drifted, strict=True)]
    return Split(parts, share, wind)


def _night(night: Night, water: NightWater, loss: Amount | None, drift: Amount | None, leak: Leak,
           told_apart: bool) -> NightSplit:
    leaked = leak.L_h.scaled(NIGHT_H) if leak.by else None
    spray_loss = loss if night.sprays else NOTHING if leaked is not None else None
    if told_apart and not night.sprays:
        drift = NOTHING
    evaporation = None if spray_loss is None or drift is None else spray_loss - drift
    known = water.remainder is not None and leaked is not None and spray_loss is not None
    return NightSplit(leaked, spray_loss, evaporation, drift, water.remainder - leaked - spray_loss if known else None)


def _by_share(share: Amount, losses: list[Amount | None]) -> list[Amount | None]:
    """Drift of each night by the share of the loss that did not evaporate while the tracer was followed."""
    rest = Amount(1.0) - share
    return [None if loss is None else loss.times(rest).with_random(NIGHTLY_FRAC * abs(loss.value)) for loss in losses]


def evaporated_share(readings: Readings, rain: Rain, leak: Leak) -> Amount | None:
    """Share of the water lost by spraying that evaporated, by tracers: salts stay behind when water evaporates.

    Salts leave with drift, leaks and draws at the store's own strength and come in with mains and rain, so what their
    balance does not explain of the fall of the content has evaporated.
    """
    found = [share for tracer in readings.tests.tracers
             if (share := _share_of(readings, rain, leak, tracer)) is not None]
    return total(found).scaled(1.0 / len(found)) if found else None


def _share_of(readings: Readings, rain: Rain, leak: Leak, tracer: Tracer) -> Amount | None:
    steps = slice(readings.place(tracer.from_ns), readings.place(tracer.to_ns))
    ends = [content_at(readings, time_ns) for time_ns in (tracer.from_ns, tracer.to_ns)] if readings.has(
        "store_m3") else [None]
    mains, draw, caught = makeup_L(readings, steps), drawn_L(readings, steps), rain.per_step_L[steps]
    if any(amount is None for amount in (*ends, mains, draw)) or np.isnan(caught).any():
        return None
    hours = (tracer.to_ns - tracer.from_ns) / (3600.0 * SECOND_ns)
    rise = (ends[1] - ends[0]).scaled(1000.0)
    lost = mains + Amount(float(caught.sum())) - rise - draw - leak.L_h.scaled(hours)
    if lost.value <= 0.0:
        return None
    held = [1000.0 * end.value for end in ends]
    evaporated = _evaporated_L(readings, tracer, held, mains.value, float(caught.sum()))
    share = min(max(evaporated.value / lost.value, 0.0), 1.0)
    shifts = {source: shift / lost.value for source, shift in evaporated.shifts.items()}
    shifts[f"{tracer.entry}, water"] = share * lost.half_width / lost.value
    return Amount(share, shifts)


def _evaporated_L(readings: Readings, tracer: Tracer, held_L: list[float], mains_L: float, rain_L: float) -> Amount:
    """Litres evaporated by the balance of salts, and what each uncertain strength would change."""
    facts = {"mains.salts": readings.site.mains.salts_mg_L, "rain.salts": readings.site.rain.salts_mg_L}
    values = {name: fact.value for name, fact in facts.items()} | {"end": tracer.end_mg_L}

    def evaporated(used: dict[str, float]) -> float:
        start, end = tracer.start_mg_L, used["end"]
        mean = start if math.isclose(start, end) else (end - start) / math.log(end / start)
        came = used["mains.salts"] * mains_L + used["rain.salts"] * rain_L
        liquid_L = (came - (end * held_L[1] - start * held_L[0])) / mean
        return mains_L + rain_L - (held_L[1] - held_L[0]) - liquid_L

    return Amount(evaporated(values), _finite_shifts(evaporated, values, {
        **{name: 0.5 * (fact.high - fact.low) for name, fact in facts.items()},
        "end": tracer.end_mg_L * tracer.half_of_log}, tracer.entry))


def _finite_shifts(function: Callable[[dict[str, float]], float], values: dict[str, float],
                   halves: dict[str, float], own: str) -> dict[str, float]:
    """Change of a function when each of its values stands half a range higher, by differences on both sides."""
    return {own if name == "end" else name: 0.5 * (function({**values, name: values[name] + half})
                                                   - function({**values, name: values[name] - half}))
            for name, half in halves.items()}
