"""Measured numbers with two kinds of error kept apart, and how they add up (JCGM 100: linear propagation).

An instrument that reads 2 % too high does so on every night: its error is drawn once, goes through all sums with its
sign, and is not made smaller by more readings. Reading noise, timing and gaps differ from night to night and go down
as nights are added.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterable
from dataclasses import dataclass, field, replace
from typing import Any

GRADES = (("A", 0.10), ("B", 0.25), ("C", 0.50))


@dataclass(frozen=True)
class Amount:
    """A number, what each instrument's error would do to it, and its random error.

    Parameters
    ----------
    value : float
        Best estimate.
    shifts : dict of str to float
        Source of a systematic error -> change of the value, with sign, if that error stood at the upper end of its
        90 % range.
    random : float
        90 % half-width of what differs from one such number to the next.
    """

    value: float
    shifts: dict[str, float] = field(default_factory=dict)
    random: float = 0.0

    def __add__(self, other: Amount) -> Amount:
        shifts = dict(self.shifts)
        for source, shift in other.shifts.items():
            shifts[source] = shifts.get(source, 0.0) + shift
        return Amount(self.value + other.value, shifts, math.hypot(self.random, other.random))

    def __neg__(self) -> Amount:
        return self.scaled(-1.0)

    def __sub__(self, other: Amount) -> Amount:
        return self + (-other)

    def scaled(self, factor: float) -> Amount:
        """Times a number that is known exactly."""
        return Amount(self.value * factor, {source: shift * factor for source, shift in self.shifts.items()},
                      self.random * abs(factor))

    def times(self, other: Amount) -> Amount:
        """The product; errors to first order."""
        product = self.scaled(other.value) + other.scaled(self.value)
        return Amount(self.value * other.value, product.shifts, product.random)

    def with_shift(self, source: str, shift: float) -> Amount:
        """One more systematic error."""
        return self + Amount(0.0, {source: shift})

    def with_random(self, half_width: float) -> Amount:
        """One more random error."""
        return self + Amount(0.0, {}, half_width)

    @property
    def systematic(self) -> float:
        """90 % half-width by all systematic errors together."""
        return math.sqrt(sum(shift * shift for shift in self.shifts.values()))

    @property
    def half_width(self) -> float:
        """90 % half-width by both kinds."""
        return math.hypot(self.systematic, self.random)


NOTHING = Amount(0.0)


def total(amounts: Iterable[Amount]) -> Amount:
    """Sum: systematic errors add with their sign, random ones in squares."""
    shifts: dict[str, float] = {}
    value = squares = 0.0
    for amount in amounts:
        value += amount.value
        squares += amount.random ** 2
        for source, shift in amount.shifts.items():
            shifts[source] = shifts.get(source, 0.0) + shift
    return Amount(value, shifts, math.sqrt(squares))


def by_weight(first: Amount, second: Amount) -> Amount:
    """The mean of two measurements of one thing, each weighed by the inverse square of its half-width.

    Errors of a source that both share are kept together; where one of the two is exact it stands alone.
    """
    squares = first.half_width ** 2 + second.half_width ** 2
    weight = 0.5 if squares == 0.0 else second.half_width ** 2 / squares
    return first.scaled(weight) + second.scaled(1.0 - weight)


@dataclass(frozen=True)
class MeasuredValue:
    """A total of the measured period.

    Parameters
    ----------
    value, low, high : float
        Best estimate and the ends of the 90 % interval, in the unit of the identifier.
    systematic, random : float
        90 % half-widths by instruments (no smaller with more nights) and by chance.
    basis : str
        measured, or assumed where a stated fact stands in for a meter.
    grade : str
        A within 10 %, B 25 %, C 50 %, D wider or sign unknown.
    nights : int
        Nights behind it.
    """

    value: float
    systematic: float
    random: float
    low: float
    high: float
    basis: str
    grade: str
    nights: int


def measured_value(amount: Amount, nights: int, basis: str = "measured", whole: bool = True) -> MeasuredValue:
    """An amount as a total; `whole` is False where nights without a measurement were added in proportion."""
    half = amount.half_width
    return MeasuredValue(amount.value, amount.systematic, amount.random, amount.value - half, amount.value + half,
                         basis, grade(amount.value, half, basis, whole), nights)


def no_better_than_b(values: dict[str, MeasuredValue], at_stake: Container[str]) -> dict[str, MeasuredValue]:
    """The values, none of those at stake graded A: an open doubt could change them."""
    return {name: replace(value, grade="B") if name in at_stake and value.grade == "A" else value
            for name, value in values.items()}


def months_no_better_than_b(months: list[dict[str, Any]], at_stake: Container[str]) -> list[dict[str, Any]]:
    """The months' rows likewise."""
    return [{name: {**value, "grade": "B"} if name in at_stake and value["grade"] == "A" else value
             for name, value in month.items()} for month in months]


def grade(value: float, half_width: float, basis: str = "measured", whole: bool = True) -> str:
    """The grade that a width earns; A only for what was measured throughout, D for what was not measured."""
    if basis != "measured" or not math.isfinite(half_width):
        return "D"
    if half_width == 0.0:
        letter = "A"
    elif half_width > abs(value):
        return "D"
    else:
        letter = next((letter for letter, limit in GRADES if half_width <= limit * abs(value)), "D")
    return "B" if letter == "A" and not whole else letter


def as_row(name: str, unit: str, amount: Amount | None) -> dict[str, Any]:
    """Entries of a row of the night ledger: value and both half-widths, None where not measured."""
    if amount is None:
        return {f"{name}_{unit}": None, f"{name}_systematic_{unit}": None, f"{name}_random_{unit}": None}
    return {f"{name}_{unit}": amount.value, f"{name}_systematic_{unit}": amount.systematic,
            f"{name}_random_{unit}": amount.random}
