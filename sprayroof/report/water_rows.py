"""The balance of water in and out as it is printed: rows and sums to one place, so that they add up on paper too."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sprayroof.report import labels, numbers, words
from sprayroof.report.numbers import printed
from sprayroof.results import Audit

WATER_IN = ("rain_caught_m3", "mains_m3", "condensation_m3")
WATER_OUT = (
    "other_uses_m3",
    "mains_bypass_m3",
    "overflow_m3",
    "evaporation_m3",
    "drift_m3",
    "dried_m3",
    "store_evaporation_m3",
    "bleed_m3",
    "flush_lost_m3",
    "leak_m3",
)
DIGITS = 4  # of the larger sum, so that small rows keep some
# Everyday measures of each unit system, m3 of one and its name: the smaller where a year fills few of the larger.
EVERYDAY = {
    "si": ((0.15, "bathtubs"), (0.006, "toilet flushes")),
    "ip": ((40.0 / numbers.US_GAL_PER_M3, "bathtubs"), (1.6 / numbers.US_GAL_PER_M3, "toilet flushes")),
}
ONE_OF = {"bathtubs": "bathtub", "toilet flushes": "toilet flush"}
FEW = 10.0


@dataclass(frozen=True)
class WaterRow:
    """A part of the balance: its role, label, best estimate (m3), and as text amount, range and everyday measure."""

    role: str
    label: str
    value_m3: float
    amount: str = ""
    range: str = ""
    everyday: str = ""


@dataclass(frozen=True)
class Water:
    """Both sides of the balance, their sums, what is left over (positive: more came in than is accounted for), and the
    name of the everyday measure."""

    into: tuple[WaterRow, ...]
    out: tuple[WaterRow, ...]
    total_in: WaterRow
    total_out: WaterRow
    remainder: WaterRow
    measure: str

    @property
    def closes(self) -> bool:
        """Whether nothing is left over, in print."""
        return not self.remainder.amount


def water(audit: Audit, units: str = "si") -> Water:
    """The balance of the headline period.

    Mains water holds what went past an empty store to its users, so that this stands on the other side as a use; a
    change of content stands on its side, and so does an open store that took up more dew than it gave off.
    """
    into = [WaterRow(id, labels.WATER[id], value) for id in WATER_IN if (value := _value(audit, id)) > 0.0]
    out = [WaterRow(id, labels.WATER[id], value) for id in WATER_OUT if (value := _value(audit, id)) > 0.0]
    if (dew := -_value(audit, "store_evaporation_m3")) > 0.0:
        into.append(WaterRow("store_evaporation_m3", "Dew in the store", dew))
    change = _value(audit, "storage_change_m3")
    if change > 0.0:
        out.append(WaterRow("storage", "Left in the store", change))
    elif change < 0.0:
        into.append(WaterRow("storage", "Out of the store", -change))
    return _printed(audit, into, out, units)


def _value(audit: Audit, id: str) -> float:
    quantity = words.found(audit, id)
    return 0.0 if quantity is None or numbers.is_nothing(quantity.value, "m3") else quantity.value


def _printed(audit: Audit, into: list[WaterRow], out: list[WaterRow], units: str) -> Water:
    factor, _, unit = numbers.unit_for("m3", units)
    sums = [sum(row.value_m3 for row in side) for side in (into, out)]
    left = sums[0] - sums[1]
    digit = _digit(max(sums) * factor)
    step_m3 = 10.0**digit / factor
    closes = abs(left) <= 0.5 * step_m3 or round(sums[0] / step_m3) == round(sums[1] / step_m3)
    amounts = _Measure(step_m3, digit, unit, sums, closes)
    size, name = next((one for one in EVERYDAY[units] if max(sums) >= FEW * one[0]), EVERYDAY[units][-1])
    coarse = max(0, _digit(max(sums) / size))
    common = _Measure(size * 10.0**coarse, coarse, name, sums, closes)
    texts_in = zip(into, amounts.rows(into, 0), common.rows(into, 0), strict=True)
    texts_out = zip(out, amounts.rows(out, 1), common.rows(out, 1), strict=True)
    return Water(
        tuple(_with(audit, row, a, c, units, inward=True) for row, a, c in texts_in),
        tuple(_with(audit, row, a, c, units, inward=False) for row, a, c in texts_out),
        WaterRow("", "Together", sums[0], amounts.total(0), "", common.total(0)),
        WaterRow("", "Together", sums[1], amounts.total(1), "", common.total(1)),
        WaterRow("remainder", "Unexplained", left, *(("", "", "") if closes else (amounts.left(), "", common.left()))),
        name,
    )


def _digit(total: float) -> int:
    return math.floor(math.log10(total)) - DIGITS + 1 if total > 0.0 else 0


def _with(audit: Audit, row: WaterRow, amount: str, everyday: str, units: str, inward: bool) -> WaterRow:
    id = "storage_change_m3" if row.role == "storage" else row.role
    quantity = words.found(audit, id)
    shown = printed(quantity, id, units)
    if inward and quantity.value < 0.0:
        shown = words.turned(shown)
    spread = "" if shown.low in (numbers.NOT_KNOWN, shown.high) else shown.range
    return WaterRow(row.role, row.label, row.value_m3, amount, spread, everyday)


@dataclass(frozen=True)
class _Measure:
    """One measure of the balance: m3 of its last digit, that digit's place, its name, both sums, whether they agree."""

    step_m3: float
    digit: int
    name: str
    sums: list[float]
    closes: bool

    def steps(self, side: int) -> int:
        """A side's sum in steps; one and the same for both where the balance closes."""
        return round(self.sums[0 if self.closes else side] / self.step_m3)

    def text(self, steps: int) -> str:
        """Whole steps as text."""
        amount = steps * 10.0**self.digit
        name = ONE_OF.get(self.name, self.name) if amount == 1.0 else self.name
        return numbers.joined(numbers.fixed(amount, self.digit), name)

    def rows(self, rows: list[WaterRow], side: int) -> list[str]:
        """The rows of a side as text, adding up to its sum."""
        shares = numbers.apportioned([row.value_m3 / self.step_m3 for row in rows], self.steps(side))
        return [self.text(share) if share else f"under {self.text(1)}" for share in shares]

    def total(self, side: int) -> str:
        """A side's sum as text."""
        return self.text(self.steps(side))

    def left(self) -> str:
        """What is left over, as text."""
        return self.text(self.steps(0) - self.steps(1))
