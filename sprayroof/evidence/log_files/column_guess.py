"""Which channel a column of an undeclared log probably is: by heading, unit and numbers, with the reasons."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from sprayroof.evidence.log_files.heading_words import PLACE_WORDS, QUANTITY_WORDS, meanings
from sprayroof.evidence.log_files.number_forms import number_of, parted
from sprayroof.evidence.log_files.raw_cells import WORDS
from sprayroof.evidence.log_files.units_seen import is_unit, unit_in_heading
from sprayroof.evidence.site_file.channel_table import channel_of
from sprayroof.evidence.units import NotAQuantity, converts, scale_to

TEMPERATURES = ("supply", "return", "store", "air", "room", "surface")
QUANTITY_OF_UNIT = (
    ("degC", "temperature"),
    ("L/min", "flow"),
    ("L", "volume"),
    ("W", "power"),
    ("kWh", "energy"),
    ("m/s", "wind"),
    ("Pa", "pressure"),
    ("W/m2", "solar"),
    ("uS/cm", "conductivity"),
)
CHANNEL_OF = {
    ("temperature", "supply"): "supply_temperature",
    ("temperature", "return"): "return_temperature",
    ("temperature", "store"): "store_temperature",
    ("temperature", "air"): "air_temperature",
    ("temperature", "room"): "room_temperature",
    ("temperature", "surface"): "surface_temperature",
    ("humidity", "air"): "humidity",
    ("humidity", "room"): "room_humidity",
    ("humidity", ""): "humidity",
    ("flow", "spray"): "spray_flow",
    ("flow", "makeup"): "makeup_flow",
    ("flow", "draw"): "draw_flow",
    ("flow", "cooling"): "cooling_flow",
    ("flow", ""): "spray_flow",
    ("volume", "spray"): "spray_flow",
    ("volume", "makeup"): "makeup_flow",
    ("volume", "draw"): "draw_flow",
    ("level", "store"): "level",
    ("level", ""): "level",
    ("power", "pump"): "pump_power",
    ("power", "ac"): "ac_power",
    ("power", "circulation"): "circulation_power",
    ("power", "standby"): "standby_power",
    ("energy", "pump"): "pump_power",
    ("energy", "ac"): "ac_power",
    ("energy", "circulation"): "circulation_power",
    ("energy", "standby"): "standby_power",
    ("rain", ""): "rain",
    ("wind", ""): "wind",
    ("pressure", ""): "pressure",
    ("solar", ""): "solar",
    ("long_wave", ""): "long_wave",
    ("conductivity", ""): "conductivity",
    ("status", "pump"): "spray_status",
    ("status", "spray"): "spray_status",
    ("status", "ac"): "ac_status",
}
# Where two places are named in one heading, the first of these is meant ("pump of the air conditioner" is rare)
PLACE_ORDER = (
    "makeup",
    "draw",
    "circulation",
    "standby",
    "cooling",
    "spray",
    "ac",
    "pump",
    "supply",
    "return",
    "store",
    "surface",
    "room",
    "air",
)
LEAST_ROWS_OF_COUNTER = 10


@dataclass(frozen=True, eq=False)
class Seen:
    """What the cells of a column show.

    Parameters
    ----------
    heading : str
    unit : str
        Unit that the file names, or "".
    values : ndarray, shape (n,)
        In order of time; NaN where a cell is no number.
    words : tuple of str
        Words that stand instead of numbers, most frequent first.
    """

    heading: str
    unit: str
    values: np.ndarray
    words: tuple[str, ...] = ()

    @property
    def known(self) -> np.ndarray:
        """The numbers."""
        return self.values[np.isfinite(self.values)]

    @property
    def only_rises(self) -> bool:
        """Whether numbers never fall, but for a few returns to the start, and rise at all."""
        steps = np.diff(self.known)
        return (
            len(steps) >= LEAST_ROWS_OF_COUNTER and (steps < 0).sum() <= 0.002 * len(steps) and bool((steps > 0).any())
        )


@dataclass
class Guess:
    """A column's likely channel.

    Parameters
    ----------
    column : str
    channel : str or None
    unit, kind : str
        As the site file should state them; "" where not known or not needed.
    reasons : list of str
    certain : bool
        Whether heading and unit of the file, and the numbers, all agree.
    words : dict of str to float
        Words and numbers to state.
    question : str
        What the auditor must settle, or "".
    """

    column: str
    channel: str | None = None
    unit: str = ""
    kind: str = ""
    reasons: list[str] = field(default_factory=list)
    certain: bool = False
    words: dict[str, float] = field(default_factory=dict)
    question: str = ""


def seen_of(heading: str, unit: str | None, cells: np.ndarray, decimal: str) -> Seen:
    """What a column shows; `cells` in order of time."""
    from collections import Counter

    values = np.full(len(cells), np.nan)
    words: Counter[str] = Counter()
    for row, text in enumerate(cells):
        cell = parted(text)
        if cell is not None:
            values[row] = number_of(cell.digits, decimal)
        elif text:
            words[text] += 1
    last = heading.split()[-1] if heading.split() else ""
    behind = last if len(last) > 1 and is_unit(last) else ""
    return Seen(
        heading, unit or unit_in_heading(heading) or behind, values, tuple(word for word, _ in words.most_common(6))
    )


def guess_of(seen: Seen, file_words: str = "") -> Guess:
    """The likely channel of one column, from itself and, where its heading names no place, from the file's name."""
    guess = Guess(seen.heading)
    quantities, places = meanings(seen.heading, QUANTITY_WORDS), meanings(seen.heading, PLACE_WORDS)
    if not len(seen.known) and not seen.words:
        guess.reasons.append("it is empty")
        return guess
    quantity = _quantity(seen, quantities, guess)
    place = next((name for name in PLACE_ORDER if name in places and (quantity, name) in CHANNEL_OF), "")
    guess.channel = CHANNEL_OF.get((quantity, place))
    by_file = meanings(file_words, PLACE_WORDS) if guess.channel is None and not places else {}
    if by_file:
        places = by_file
        place = next((name for name in PLACE_ORDER if name in places and (quantity, name) in CHANNEL_OF), "")
        guess.channel = CHANNEL_OF.get((quantity, place))
        guess.question = "only the file's name says so; is it that?"
    if guess.channel is None:
        return guess
    if place:
        guess.reasons.append(f'"{places[place]}" speaks of {_PLACE_TEXT.get(place, place)}')
    _settle_unit(seen, quantity, guess)
    _settle_kind(seen, quantity, guess)
    told = bool(quantities or seen.unit or guess.words)
    alone = sum(known == quantity for known, _ in CHANNEL_OF) == 1  # wind has no place
    named = told and (bool(place) or ((quantity, "") in CHANNEL_OF and (alone or not places)))
    guess.certain = named and bool(guess.unit) and not guess.question and _in_range(seen, guess)
    return guess


_PLACE_TEXT = {
    "spray": "the spray",
    "pump": "a pump",
    "surface": "a surface",
    "circulation": "circulation",
    "standby": "controls",
    "cooling": "the cooling side",
    "supply": "water to the nozzles",
    "return": "water from the roof",
    "store": "the store",
    "air": "outdoor air",
    "makeup": "mains water",
    "draw": "other users",
    "ac": "the air conditioner",
    "room": "a room",
}


def _quantity(seen: Seen, quantities: dict[str, str], guess: Guess) -> str:
    """What is measured, with the reason."""
    if seen.words and all(word.casefold() in WORDS for word in seen.words) and not len(seen.known):
        guess.reasons.append(f"it holds the words {', '.join(seen.words[:3])}")
        return "status"
    by_unit = next((name for unit, name in QUANTITY_OF_UNIT if seen.unit and converts(seen.unit, unit)), "")
    if by_unit == "solar" and "long_wave" in quantities:
        by_unit = "long_wave"
    if by_unit == "volume" and "level" in quantities:
        by_unit = "level"
    if by_unit:
        guess.reasons.append(f"its unit is {seen.unit}")
        return by_unit
    order = (
        "humidity",
        "level",
        "rain",
        "conductivity",
        "long_wave",
        "solar",
        "pressure",
        "wind",
        "status",
        "flow",
        "energy",
        "power",
        "volume",
        "temperature",
    )
    found = next((name for name in order if name in quantities), "")
    if found:
        guess.reasons.append(f'"{quantities[found]}" in the heading')
        if found == "flow" and seen.only_rises:
            return "volume"
        return found
    if set(np.unique(seen.known)) <= {0.0, 1.0} and len(seen.known):
        guess.reasons.append("it holds 0 and 1 only")
        return "status"
    return ""


def _settle_unit(seen: Seen, quantity: str, guess: Guess) -> None:
    """The unit to state: the file's own, or a likely one with a question."""
    meaning = channel_of(guess.channel or "")
    assert meaning is not None
    own = meaning[0].unit
    wanted = [
        own,
        *([meaning[0].counts] if meaning[0].counts else []),
        *(["m", "1"] if guess.channel == "level" else []),
    ]
    if quantity == "status":
        guess.unit = "1"
        if seen.words:
            guess.words = {word: WORDS[word.casefold()] for word in seen.words if word.casefold() in WORDS}
        return
    if seen.unit and any(converts(seen.unit, unit) for unit in wanted):
        guess.unit = seen.unit
        return
    if seen.unit:
        guess.question = f"which unit is {seen.unit}?"
        return
    middle = float(np.median(seen.known)) if len(seen.known) else np.nan
    if quantity == "temperature":
        guess.unit = "degC" if middle < 45.0 else "degF" if middle < 120.0 else "K"
        guess.reasons.append(f"numbers around {middle:.4g} look like {guess.unit}")
    elif quantity == "humidity":
        guess.unit = "%" if middle > 1.5 else "1"
        guess.reasons.append(f"numbers around {middle:.4g}")
    elif quantity == "rain" and set(np.unique(seen.known)) <= {0.0, 1.0, 2.0, 3.0, 4.0, 5.0}:
        guess.unit, guess.kind = "mm", "tips"
        guess.question = 'how much rain is one tip? Add per_count = "0.2 mm" with the gauge\'s figure'
        return
    guess.question = "the file does not name the unit" + (f"; is it {guess.unit}?" if guess.unit else "")


def _settle_kind(seen: Seen, quantity: str, guess: Guess) -> None:
    """Counters and sums behind rates."""
    if quantity not in ("volume", "energy", "rain") or guess.kind:
        return
    if seen.only_rises:
        guess.kind = "counter"
        guess.reasons.append("it only rises, as a running total does")
    else:
        guess.kind = "sum"
        guess.reasons.append("it rises and falls, as amounts per interval do")


def _in_range(seen: Seen, guess: Guess) -> bool:
    """Whether nearly all numbers are possible for the channel; amounts and levels are not judged."""
    found = channel_of(guess.channel or "")
    if found is None or guess.kind or guess.channel == "level" or not len(seen.known):
        return True
    try:
        values = scale_to(guess.unit, found[0].unit)(seen.known)
    except NotAQuantity:
        return True
    share = float(((values >= found[0].low) & (values <= found[0].high)).mean())
    if share < 0.9:
        guess.question = f"{1.0 - share:.0%} of the numbers cannot be a {guess.channel}"
    return share >= 0.9


# --- columns beside each other -----------------------------------------------------------------------------------


def guesses_of(columns: list[Seen], file_words: str = "") -> list[Guess]:
    """The likely channels of all columns: one column a channel, numbered where several are possible."""
    guesses = [guess_of(seen, file_words) for seen in columns]
    _tell_pair(columns, guesses)
    by_channel: dict[str, list[Guess]] = {}
    for guess in guesses:
        if guess.channel:
            by_channel.setdefault(guess.channel, []).append(guess)
    for channel, rivals in by_channel.items():
        meaning = channel_of(channel)
        if meaning is None or len(rivals) == 1:
            continue
        rivals.sort(key=lambda guess: not guess.certain)
        for number, guess in enumerate(rivals, start=1):
            if meaning[0].several and number < 10:
                guess.channel = f"{channel}_{number}"
            elif number > 1:
                guess.certain = False
                guess.question = guess.question or f"column {rivals[0].column} looks like {channel} too"
    return guesses


def _tell_pair(columns: list[Seen], guesses: list[Guess]) -> None:
    """Two temperatures of which nothing tells which is which: while water flows the lower is the return."""
    flows = [
        seen for seen, guess in zip(columns, guesses, strict=True) if guess.channel == "spray_flow" and not guess.kind
    ]
    bare = [place for place, guess in enumerate(guesses) if guess.channel is None and _is_temperature(columns[place])]
    taken = {guess.channel for guess in guesses}
    if len(flows) != 1 or len(bare) != 2 or {"supply_temperature", "return_temperature"} & taken:
        return
    running = flows[0].values > 0.2 * np.nanmax(flows[0].values)
    first, second = (columns[place].values for place in bare)
    apart = (first - second)[running]
    apart = apart[np.isfinite(apart)]
    if len(apart) < LEAST_ROWS_OF_COUNTER:
        return
    share = float((apart > 0).mean())
    if 0.2 < share < 0.8:
        return
    warmer, colder = bare if share >= 0.8 else bare[::-1]
    for place, channel, word in ((warmer, "supply_temperature", "above"), (colder, "return_temperature", "below")):
        guess = guesses[place]
        other = columns[colder if place == warmer else warmer].heading
        guess.channel, guess.unit = channel, columns[place].unit or "degC"
        guess.reasons.append(f"while water flows it lies {word} {other} in {max(share, 1.0 - share):.0%} of the rows")
        guess.question = "on muggy nights the return is the warmer; look at the pipes"


def _is_temperature(seen: Seen) -> bool:
    if seen.unit:
        return converts(seen.unit, "degC")
    return "temperature" in meanings(seen.heading, QUANTITY_WORDS) or (
        len(seen.known) > 0 and bool(np.min(seen.known) > -20.0 and np.max(seen.known) < 60.0)
    )
