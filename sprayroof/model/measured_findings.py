"""What the reader of the night ledger must know: nights left out, disagreements, what could not be told apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from sprayroof.catalogue import FINDINGS
from sprayroof.evidence.gather import count_of, some_of
from sprayroof.model.measured_agreement import Contradiction
from sprayroof.model.measured_amounts import Amount
from sprayroof.model.measured_bounds import Refusal
from sprayroof.model.measured_nights import Night
from sprayroof.model.measured_outliers import Outlier
from sprayroof.model.measured_readings import Readings, SECOND_ns
from sprayroof.model.measured_split import Leak, Split
from sprayroof.model.measured_totals import NightHeat, median_difference_frac
from sprayroof.model.measured_water import NightWater
from sprayroof.model.on_off import Effect
from sprayroof.results import Finding

LARGEST_DIFFERENCE_FRAC = 0.10


def finding(code: str, message: str, effect: str, where: str = "", **data: Any) -> Finding:
    """A finding at the level its code has in the catalogue."""
    return Finding(code, FINDINGS[code].level, message, where, data, effect)


def findings_of_heat(readings: Readings, nights: Sequence[Night], heats: Sequence[NightHeat],
                     apart: Sequence[Contradiction] = (), refusals: Sequence[Refusal] = ()) -> list[Finding]:
    """Findings about heat and electricity."""
    found = [_left_out(nights, heats), _refused(refusals), _cross_check(heats),
             *(_contradiction(nights, heats, one) for one in apart), _untested_pair(readings), _negative(nights, heats),
             _stated_power(readings)]
    return [one for one in found if one is not None]


def findings_of_water(readings: Readings, nights: Sequence[Night], waters: Sequence[NightWater], leak: Leak,
                      split: Split, outliers: Sequence[Outlier] = ()) -> list[Finding]:
    """Findings about water."""
    found = [*(_outlier(one) for one in outliers), _water_left_out(nights, waters), _leak_unknown(leak),
             _not_split(split, waters), _gained(nights, split), *_closed_nights(readings, nights, waters, leak)]
    return [one for one in found if one is not None]


def findings_of_switching(effects: Sequence[Effect]) -> list[Finding]:
    """Effects that switching on and off does not tell, or of which it tells a part only."""
    untold = [finding("ledger.on-off-untold", f"{effect.label}: nights on and off cannot tell the effect: "
                      f"{effect.why}.", "No effect is claimed from the switched nights.", "switched", id=effect.id,
                      low=effect.low, high=effect.high)
              for effect in effects if effect.verdict == "cannot tell"]
    return untold + [_unsettled(effect) for effect in effects if effect.lower_bound]


def _unsettled(effect: Effect) -> Finding:
    unit = "K" if effect.unit == "degC" else effect.unit
    near, far = sorted((abs(effect.low), abs(effect.high)))
    return finding("ledger.on-off-lower-bound", f"{effect.label}: the store had not settled when it was switched "
                   f"again; up to {effect.left_high_frac:.0%} of a night's state may be left a day later. The "
                   f"difference as seen, {abs(effect.value):.2g} {unit} {effect.verdict}, is a lower bound.",
                   f"Between spraying every night and never it may be {near:.2g} to {far:.2g} {unit}: the range is "
                   "widened.", "switched", id=effect.id, seen=effect.seen, low=effect.low, high=effect.high,
                   left_high_frac=effect.left_high_frac)


def _left_out(nights: Sequence[Night], heats: Sequence[NightHeat]) -> Finding | None:
    lacking = [(night, heat) for night, heat in zip(nights, heats, strict=True) if heat.both is None]
    if not lacking:
        return None
    told = _reasons([{*heat.pipe.reasons, *heat.tank.reasons} for _, heat in lacking])
    return finding("ledger.nights-left-out", f"Heat is not known for {len(lacking)} of {len(nights)} nights: {told}.",
                   "They are left out of the sum, not counted as zero; the estimate for all nights puts them at the "
                   "mean of the others, with an error of its own.", "logs",
                   nights=[night.date.isoformat() for night, _ in lacking])


def _refused(refusals: Sequence[Refusal]) -> Finding | None:
    if not refusals:
        return None
    told = [f"{one.date} {one.cooling_kWh:.0f} kWh of at most {one.bound_kWh:.0f} by {one.by}" for one in refusals]
    out, kWh = [one.date for one in refusals if one.counted_kWh is None], sum(one.refused_kWh for one in refusals)
    became = [f"{count_of(number, 'night')} {what}" for number, what in (
        (len(out), "left out of the sum"), (len(refusals) - len(out), "counted by the other way of measuring alone"))
        if number]
    return finding(
        "ledger.above-bound", f"More cooling was metered than the night's weather allows: {some_of(told)}. Of the sum "
        f"{kWh:.0f} kWh were refused: {', '.join(became)}.",
        "The flow meter (its unit or its pulses), the stated roof area and flow, or a temperature sensor is wrong, and "
        "what it told of the other nights is no surer: cooling is graded B at best.", "logs", refused_kWh=kWh,
        nights=[one.date for one in refusals], left_out=out,
        **{name: [getattr(one, name) for one in refusals] for name in ("cooling_kWh", "bound_kWh", "by")})


def _reasons(nights: list[set[str]]) -> str:
    """What lacked, without the figures of each night, and on how many nights."""
    counts = Counter(what for reasons in nights for what in sorted({reason.split(":")[0] for reason in reasons}))
    return some_of([f"{what} ({count_of(count, 'night')})" for what, count in counts.most_common()], 5)


def _cross_check(heats: Sequence[NightHeat]) -> Finding | None:
    difference = median_difference_frac(heats)
    if difference is None or difference <= LARGEST_DIFFERENCE_FRAC:
        return None
    return finding("ledger.cross-check", f"Heat by pipe and heat by the store differ by {difference:.0%} in the middle "
                   "night.", "One of flow, temperatures, level or store volume is wrong by about so much; the ranges "
                   "of both do not show it.", "logs", median_difference_frac=difference)


def _contradiction(nights: Sequence[Night], heats: Sequence[NightHeat], one: Contradiction) -> Finding:
    pipe = sum(heats[place].pipe.kWh.value for place in one.nights)
    store = sum(heats[place].tank.kWh.value for place in one.nights)
    first, last = (nights[place].date.isoformat() for place in (one.nights[0], one.nights[-1]))
    told = (f"From {first} to {last} heat by the pipe is {pipe:.0f} kWh and by the store {store:.0f} kWh, on the same "
            f"{count_of(len(one.nights), 'night')}: {abs(one.apart.value):.0f} kWh apart, where their stated errors "
            f"allow {one.apart.half_width:.0f} kWh.")
    return finding("ledger.pipe-against-store", told, "The range of heat by both is widened until it holds either, and "
                   "is graded B at best.", "logs", apart_kWh=one.apart.value, allowed_kWh=one.apart.half_width,
                   first=first, last=last)


def _untested_pair(readings: Readings) -> Finding | None:
    instruments = readings.logs.instruments
    if not readings.has("supply_C", "return_C", "spray_L_min") or any(
            instruments[column].tied_to for column in ("supply_C", "return_C")):
        return None
    half_K = (readings.offset("supply_C") ** 2 + readings.offset("return_C") ** 2) ** 0.5
    return finding("ledger.pair-untested", f"Supply and return were not tested in the same water: their difference is "
                   f"known within {half_K:.2f} K only.", "Heat by pipe is unsure by that difference at the logged "
                   "flow, on every night alike.", "test", half_K=half_K)


def _negative(nights: Sequence[Night], heats: Sequence[NightHeat]) -> Finding | None:
    dates = [night.date.isoformat() for night, heat in zip(nights, heats, strict=True)
             if heat.both is not None and heat.both.value < -heat.both.half_width]
    if not dates:
        return None
    return finding("ledger.negative-nights", f"On {count_of(len(dates), 'night')} the roof warmed the water: "
                   f"{some_of(dates)}.", "They count with their sign.", "logs", nights=dates)


def _stated_power(readings: Readings) -> Finding | None:
    if readings.has("pump_W"):
        return None
    return finding("ledger.power-stated", "The spray pump's electricity was not metered: its stated power times the "
                   "measured hours stands in.", "Own electricity and pump heat are as sure as the stated power.",
                   "spray.pump_power")


def _water_left_out(nights: Sequence[Night], waters: Sequence[NightWater]) -> Finding | None:
    lacking = [(night, water) for night, water in zip(nights, waters, strict=True) if water.remainder is None]
    if not lacking:
        return None
    told = _reasons([set(water.reasons) for _, water in lacking])
    return finding("ledger.water-left-out", f"The water balance is open on {len(lacking)} of {len(nights)} nights: "
                   f"{told}.", "They are left out of the sum of water, not counted as zero.", "logs",
                   nights=[night.date.isoformat() for night, _ in lacking])


def _outlier(one: Outlier) -> Finding:
    date = one.night.date.isoformat()
    return finding("ledger.water-outlier", f"In the night of {date} {one.lost_L:.0f} L left the store while it sprayed "
                   f"or within an hour, beyond leaks and meters; like nights lose {one.usual_L:.0f} L.",
                   "Its loss is not counted as water lost by spraying. If it was pumped away in a test, add that "
                   "[[test]]; else look for a hose, a burst pipe or an overflow.", "logs", night=date,
                   lost_L=one.lost_L, usual_L=one.usual_L)


def _leak_unknown(leak: Leak) -> Finding | None:
    if leak.by == "test":
        return None
    told = "only stated" if leak.by else "not known"
    return finding("ledger.leak-untested", f"Leaks were not tested; they are {told}.",
                   "What leaks cannot be told from evaporation and drift" + (
                       " better than the stated range." if leak.by else ": all of it stays in the remainder."), "test")


def _not_split(split: Split, waters: Sequence[NightWater]) -> Finding | None:
    if split.share is not None or not any(water.sprayed_away is not None for water in waters):
        return None
    wind = split.wind
    told = "" if wind is None else (f" Calm and windy nights put the rise of drift at {wind.low:.2%} to "
                                    f"{wind.high:.2%} of the sprayed water for each m/s.")
    return finding("ledger.not-split", "Evaporation and drift cannot be told apart: no tracer was followed." + told,
                   "They are given together, not one by one.", "test",
                   **({} if wind is None else {"low_per_m_s": wind.low, "high_per_m_s": wind.high}))


def _gained(nights: Sequence[Night], split: Split) -> Finding | None:
    dates = [night.date.isoformat() for night, parts in zip(nights, split.nights, strict=True)
             if parts.spray_loss is not None and _is_below(parts.spray_loss)]
    if not dates:
        return None
    return finding("ledger.water-gained", f"On {count_of(len(dates), 'night')} the store gained water while spraying "
                   f"that no meter saw: {some_of(dates)}.", "Dew can do so; otherwise a meter, the level or the rain "
                   "is wrong on these nights, and the remainder too small.", "logs", nights=dates)


def _is_below(amount: Amount) -> bool:
    return amount.value < -amount.half_width


def _closed_nights(readings: Readings, nights: Sequence[Night], waters: Sequence[NightWater],
                   leak: Leak) -> list[Finding]:
    """Closed nights whose loss, gauged on site, is not that of the ledger."""
    found = []
    for test in readings.tests.closed:
        for night, water in zip(nights, waters, strict=True):
            if not night.start_ns <= test.from_ns < night.end_ns or water.sprayed_away is None:
                continue
            more_h = (test.to_ns - test.from_ns) / (3600.0 * SECOND_ns) - water.hours
            apart = water.sprayed_away + leak.L_h.scaled(more_h) - test.litres
            if abs(apart.value) > apart.half_width:
                found.append(finding(
                    "test.closed-night-differs", f"On the closed night ({test.entry}) {test.litres.value:.0f} L were "
                    f"lost by the test, {apart.value:+.0f} L more by level and meters.",
                    "The water remainder of all nights may be off by as much.", test.entry, apart_L=apart.value,
                    half_L=apart.half_width))
    return found
