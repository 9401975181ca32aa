"""Words that the report prints and that are neither figures nor entries: what each means, and where it belongs."""

from __future__ import annotations

from dataclasses import dataclass

from sprayroof.report.method import CLEAR_SKY, CLOUDS


@dataclass(frozen=True)
class Word:
    """The meaning of a word, and entries of the site file that it leads to."""

    meaning: str
    entries: tuple[str, ...] = ()


_RANGE = Word(
    "The range beside a figure. With 9 chances in 10 the true figure lies inside, 1 in 20 that it lies below and "
    "1 in 20 above. It holds what is not known of the site, the instruments and the formulas; where the weather "
    "is a typical year it does not hold how the next year's weather differs. Ends of ranges do not add up."
)
_WASTE = Word(
    "The question of the first page and of the page on water. What does not cool is water blown away, left to dry "
    "on the roof or sent away by the first flush. No: closed panels, or next to nothing lost. Hardly: less than a "
    "quarter of the water lost does not cool, and not more than a half by the ends of the ranges. Yes, mostly: a "
    "half or more, and not less than a quarter by the ends of the ranges. In part: all between, with its reason "
    "where the best estimate alone would say otherwise."
)
_YEAR = Word(
    "A weather file put together of months of several years, each chosen because it is like the long mean. "
    "Extremes are rare in it. Its ranges say what is not known of the site, not how a coming year will differ.",
    ("weather.file",),
)
WORDS: dict[str, Word] = {
    "typical year": _YEAR,
    "reference year": _YEAR,
    "dew point": Word(
        "The temperature to which air must be cooled before water condenses from it. A surface colder than that "
        "gets wet; the clear sky's formulas take it as their measure of the air's moisture."
    ),
    "wet bulb": Word(
        "The temperature that a wetted thermometer in moving air comes down to. Evaporation alone cools water no "
        "further; a clear sky can take it below."
    ),
    "cop": Word(
        "Coefficient of performance: kilowatt-hours of cooling for one of electricity, at rating. The air "
        "conditioner's turns useful cooling into electricity avoided.",
        ("air_conditioner.rated_cop", "booster.cop"),
    ),
    "c_d": Word(
        "Loss by starting and stopping at part load: the efficiency at a load share x is 1 - C_D (1 - x) times "
        "that at full load.",
        ("air_conditioner.part_load_degradation",),
    ),
    "9 chances in 10": _RANGE,
    "range": _RANGE,
    "90 % range": _RANGE,
    "is it wasting water?": _WASTE,
    "wasting water": _WASTE,
}


def word(name: str) -> Word | None:
    """The word as the report prints it, in capitals or not; None where it is none of these."""
    return WORDS.get(" ".join(name.casefold().split()))


def formula(entry: str, name: str) -> str:
    """What a formula for sky or cloud says, and its source; "" for any other choice."""
    rows = {"weather.sky_model": CLEAR_SKY, "weather.cloud_model": CLOUDS}.get(entry, {})
    row = rows.get(name)
    return f"{row[1]} ({row[2]})." if row else ""
