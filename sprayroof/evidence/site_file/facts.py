"""A fact of the site: a number with its range and where it came from.

The auditor gives a number, a text with a unit, or a table with range and source. Where no range is given it follows
from the spread that the entry declares, times a factor for the source: a measured area is surer than a guessed one.
"""

from __future__ import annotations

from dataclasses import dataclass

# Factor on an entry's declared spread (90 % half-width) by where the number came from. Own judgement.
SOURCE_FACTORS: dict[str, float] = {
    "measured": 0.5, "drawing": 0.75, "nameplate": 1.0, "owner": 1.5, "guess": 2.5, "unstated": 1.5,
}
SOURCES: tuple[str, ...] = tuple(name for name in SOURCE_FACTORS if name != "unstated")
DEFAULT_SOURCE = "default"


@dataclass(frozen=True)
class Fact:
    """A number about the site with its 90 % range.

    Parameters
    ----------
    value, low, high : float
        Best estimate and the ends of the 90 % range, in `unit`; low <= value <= high, all finite.
    unit : str
        The entry's documented unit ("m3", "L/min", "degC", "1" for a fraction, ...).
    source : str
        measured, nameplate, drawing, owner, guess, unstated, or default (the tool's own value).
    note : str
        The auditor's remark, or "".
    given : bool
        True where the site file states it; False for the tool's default.
    """

    value: float
    low: float
    high: float
    unit: str
    source: str
    note: str = ""
    given: bool = True

    def __post_init__(self) -> None:
        """Refuse a range that does not hold the value (NaN included)."""
        if not self.low <= self.value <= self.high:
            raise ValueError(f"a fact needs low <= value <= high, got {self.low}, {self.value}, {self.high}")

    def __float__(self) -> float:
        """The best estimate."""
        return self.value

    @property
    def is_certain(self) -> bool:
        """True where the range has no width."""
        return self.low == self.high


@dataclass(frozen=True)
class SectorFact(Fact):
    """A fact told for every direction: `value`, `low` and `high` are those of the mean.

    Parameters
    ----------
    sectors : tuple of float
        Numbers of even sectors, clockwise, the first centred on north; their mean is `value`.
    """

    sectors: tuple[float, ...] = ()


def sectors_of(fact: Fact) -> tuple[float, ...]:
    """A fact by direction (see SectorFact); one number where it is the same all round."""
    return fact.sectors if isinstance(fact, SectorFact) else (fact.value,)


def note_of(fact: Fact) -> str:
    """The auditor's remark, after the numbers by direction where there are some."""
    if not isinstance(fact, SectorFact):
        return fact.note
    told = "clockwise from north " + ", ".join(format(number, ".10g") for number in fact.sectors)
    return f"{told}; {fact.note}" if fact.note else told


@dataclass(frozen=True)
class Spread:
    """How far a stated number may be off: 90 % half-widths below and above it.

    Parameters
    ----------
    below, above : float
        Half-widths, >= 0: in the entry's unit, or as shares of the value if `relative`.
    relative : bool
        Whether the half-widths are shares of the value.
    """

    below: float
    above: float
    relative: bool = False

    def around(self, value: float, factor: float) -> tuple[float, float]:
        """Ends of the range around `value`, the spread stretched by `factor`."""
        size = abs(value) if self.relative else 1.0
        return value - self.below * size * factor, value + self.above * size * factor


NO_SPREAD = Spread(0.0, 0.0)


def share(width: float) -> Spread:
    """A spread of plus or minus `width` times the value (0.05 is 5 %)."""
    return Spread(width, width, relative=True)


def plus_minus(width: float) -> Spread:
    """A spread of plus or minus `width` in the entry's unit."""
    return Spread(width, width)


def spread_of_range(value: float, low: float, high: float) -> Spread:
    """The spread that a default range implies: in shares of the value, or in its unit where the value is zero."""
    if value == 0.0:
        return Spread(-low, high)
    return Spread((value - low) / abs(value), (high - value) / abs(value), relative=True)


def clipped(low: float, value: float, high: float, bounds: tuple[float, float]) -> tuple[float, float]:
    """Range ends kept inside the physical bounds (the value itself lies inside them)."""
    return min(max(low, bounds[0]), value), max(min(high, bounds[1]), value)
