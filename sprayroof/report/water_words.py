"""Sentences on water: whether it is wasted, what the mains gives, what rain met. Each from a fixed set of forms."""

from __future__ import annotations

from sprayroof.report import numbers, words
from sprayroof.report.numbers import printed
from sprayroof.report.terms import capital, has_panels, terms
from sprayroof.results import Audit, Quantity

QUESTION = "Is it wasting water?"
# Water that spraying takes for good without cooling by it, and what becomes of it.
WASTED = {
    "drift_m3": "blown away",
    "dried_m3": "left to dry on the roof",
    "flush_lost_m3": "sent away by the first flush",
}
NEXT_TO_NOTHING_M3 = 1.0
LITTLE, MUCH = 0.25, 0.5  # shares of the water lost that do not cool


def wasting(audit: Audit, units: str = "si", mains: bool = True) -> str:
    """Whether the system wastes water, in one of these forms; "" where the record does not tell the losses.

    No: closed panels, or next to nothing lost. Else by the share of the water lost that did not cool, best estimate:
    "Hardly" below a quarter, "Yes, mostly" from a half on, "In part" between; the two ends only where the share that
    the ends of the ranges allow at the most, or at the least, is not beyond a half, or a quarter. What takes the lost
    water's place is added, unless `mains` is false.
    """
    tail = _mains_tail(audit, units) if mains else ""
    if has_panels(audit):
        return f"{QUESTION} No: the panels are closed, and cooling loses no water{tail}."
    cools = words.found(audit, "evaporation_m3")
    lost = [(id, quantity) for id in words.SPRAY_LOSSES if (quantity := words.found(audit, id))]
    if cools is None or words.found(audit, "drift_m3") is None:
        return ""
    total = sum(quantity.value for _, quantity in lost)
    if total < NEXT_TO_NOTHING_M3:
        return f"{QUESTION} No: {terms(audit).doing} loses next to nothing, {_about(total, units)} {words.per(audit)}."
    idle = [(id, quantity) for id, quantity in lost if id in WASTED and _is_some(quantity.value)]
    return (
        f"{QUESTION} {_degree(lost)}: {terms(audit).doing} loses {_about(total, units)} of water {words.per(audit)}; "
        f"{_idle_words(idle, units)}{tail}."
    )


def _is_some(value_m3: float) -> bool:
    """Whether an amount above nothing is left in print."""
    return value_m3 > 0.0 and not numbers.is_nothing(value_m3, "m3")


def _idle_words(idle: list[tuple[str, Quantity]], units: str) -> str:
    """How much of the water lost does not cool, and what becomes of it."""
    if not idle:
        return "all of it cools"
    if len(idle) == 1:
        id, quantity = idle[0]
        return f"{_with_range(quantity, id, units)} of it does not cool: {WASTED[id]}"
    rows = numbers.printed_rows(idle, units)  # to one place, so that the sum can be added up on paper
    parts = [f"{_ranged(shown)} {WASTED[id]}" for (id, _), shown in zip(idle, rows, strict=True)]
    return f"about {_sum_in_print(rows)} of it does not cool: {words.listed(parts)}"


def _sum_in_print(rows: list[numbers.Printed]) -> str:
    """The sum of figures as they are printed, all to one place."""
    decimals = max(len(row.value.partition(".")[2]) for row in rows)
    total = sum(float(row.value.replace(numbers.NO_BREAK, "")) for row in rows)
    return numbers.joined(numbers.fixed(total, -decimals), rows[0].unit)


def _degree(lost: list[tuple[str, Quantity]]) -> str:
    """Hardly, in part, or yes, mostly; in part with its reason where the best estimate alone would say otherwise."""
    shares = []
    for end, other in (("value", "value"), ("low", "high"), ("high", "low")):
        wasted = sum(max(getattr(quantity, end), 0.0) for id, quantity in lost if id in WASTED)
        rest = sum(max(getattr(quantity, other), 0.0) for id, quantity in lost if id not in WASTED)
        shares.append(wasted / (wasted + rest) if wasted + rest > 0.0 else 0.0)
    best, least, most = shares
    if best < LITTLE and most <= MUCH:
        return "Hardly"
    if best >= MUCH:
        return "Yes, mostly" if least >= LITTLE else (
            f"In part, for most likely {_percent(best)} of the lost water does not cool, but it may be as little as "
            f"{_percent(least)}"
        )
    if best < LITTLE:
        return (
            f"In part, for most likely only {_percent(best)} of the lost water does not cool, but it may be as much as "
            f"{_percent(most)}"
        )
    return "In part"


def _percent(share: float) -> str:
    return numbers.joined(numbers.significant(100.0 * share, 2), "%")


def _about(value_m3: float, units: str) -> str:
    factor, _, unit = numbers.unit_for("m3", units)
    return f"about {numbers.joined(numbers.significant(value_m3 * factor, 2), unit)}"


def _with_range(quantity: Quantity, id: str, units: str) -> str:
    return _ranged(printed(quantity, id, units))


def _ranged(shown: numbers.Printed) -> str:
    return shown.value_unit + ("" if shown.low in (numbers.NOT_KNOWN, shown.high) else f" ({shown.range})")


def _mains_tail(audit: Audit, units: str) -> str:
    """What the mains gives in the lost water's place, as the end of a sentence."""
    caused = words.found(audit, "mains_caused_m3")
    if caused is None:
        return ""
    if numbers.never_anything(caused):
        return "" if has_panels(audit) else "; no mains water takes its place"
    if caused.high <= 0.0:
        return "; it takes no more from the mains than without"
    shown = printed(caused, "mains_caused_m3", units)
    amount = _ranged(shown)
    if caused.low < 0.0:
        return f"; from the mains it takes {amount} more than without, less where there is a minus"
    return f"; the mains gives {amount} on its account"


def mains_words(audit: Audit, units: str) -> str:
    """What spraying causes of the mains water, and a word on a figure below zero; "" where the record does not tell."""
    caused, mains, doing = words.found(audit, "mains_caused_m3"), words.found(audit, "mains_m3"), terms(audit).doing
    if caused is None:
        return ""
    if numbers.never_anything(caused):
        cases = "no case reckoned does the store take any"
        if mains and mains.high > 0.0:
            cases = f"every case reckoned the store takes as much from the mains with {doing} as without"
        return f"{capital(doing)} causes no mains water: in {cases}."
    shown = printed(caused, "mains_caused_m3", units)
    text = (
        f"Mains water caused by {doing}: {words.between(shown)}, most likely about {shown.value_unit}. This is the "
        f"mains water of the year less what the same year, rain and users would have needed without {doing}."
    )
    if caused.low < 0.0:
        text += (
            " Below zero it takes less: dew, and a colder open store that dries up less, spare some, and a refill may "
            "fall beyond the year's end."
        )
    if mains and mains.value > 0.0 and caused.value > 0.0:
        text += f" It is about {numbers.fixed(100.0 * caused.value / mains.value, 0)} % of all the mains water taken."
    return text


def rain_words(audit: Audit, units: str) -> str:
    """What part of the store's demand rain met; without mains water also where the rest came from."""
    met, mains = words.found(audit, "refill_reliability_frac"), words.found(audit, "mains_m3")
    if met is None:
        return ""
    shown = printed(met, "refill_reliability_frac", units)
    text = f"Rain met {words.between(shown)} of all that the store had to supply"
    if met.low >= 1.0 or mains is None or mains.high > 0.0:
        return f"{text}."
    change, unmet = words.found(audit, "storage_change_m3"), words.found(audit, "unmet_uses_m3")
    rest = []
    if change is not None and change.low < 0.0:
        rest.append("the store ended the year with less than it began with")
    if unmet is not None and unmet.high > 0.0:
        rest.append("users went short")
    return f"{text}; where that is not all, {' or '.join(rest)}, for no mains water came." if rest else f"{text}."
