"""What was measured beside what the model has for the same weeks of its year, and the measured water added up."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sprayroof.report import numbers, words
from sprayroof.report.numbers import Printed, known, printed_range
from sprayroof.report.terms import terms
from sprayroof.results import Audit, Period

YEAR_DAYS = 360  # a logged period from here on is set beside the whole year
ADDED_UP = ("rain_caught_m3", "mains_m3", "other_uses_m3", "storage_change_m3", "water_remainder_m3")
PARTED = ("spray_loss_m3", "leak_m3", "water_unexplained_m3")  # what no meter saw leave
LOST = ("evaporation_m3", "drift_m3")  # of a modelled night; what dried on the roof is known for the year only


@dataclass(frozen=True)
class Beside:
    """A modelled figure of the weeks that were logged: value and ends in the unit of its quantity."""

    value: float
    low: float
    high: float


def weeks_of_model(audit: Audit) -> list[dict]:
    """Nights of the model's year on the same days of the year as the logged period; none without both."""
    period = audit.periods.get("logged")
    if period is None or "year" not in audit.periods:
        return []
    first, end = date.fromisoformat(str(period.start)), date.fromisoformat(str(period.end))
    if (end - first).days >= YEAR_DAYS:
        return list(audit.nights)
    start, stop = (day.strftime("%m-%d") for day in (first, end))
    rows = []
    for row in audit.nights:
        day = str(row.get("date", ""))[5:]
        if start <= day < stop if start < stop else (day >= start or day < stop):
            rows.append(row)
    return rows


def cooling_beside(audit: Audit) -> Beside | None:
    """Cooling at the roof that the model has for those weeks, with the year's range carried over as a share."""
    return _summed(audit, weeks_of_model(audit), "cooling_roof_kWh")


def loss_beside(audit: Audit) -> Beside | None:
    """Water lost by spraying that the model has for those weeks; what dried goes by the hours of spraying."""
    rows = weeks_of_model(audit)
    parts = [one for id in LOST if (one := _summed(audit, rows, id))]
    dried, hours = words.found(audit, "dried_m3"), words.found(audit, "spray_hours_h")
    if dried and hours and hours.value > 0.0:
        share = sum(row.get("spray_hours_h") or 0.0 for row in rows) / hours.value
        parts.append(Beside(dried.value * share, dried.low * share, dried.high * share))
    if len(parts) < len(LOST):
        return None
    return Beside(*(sum(getattr(part, end) for part in parts) for end in ("value", "low", "high")))


def _summed(audit: Audit, rows: list[dict], id: str) -> Beside | None:
    year, amounts = words.found(audit, id), [row[id] for row in rows if known(row.get(id))]
    if year is None or year.value <= 0.0 or not known(year.low, year.high) or not amounts:
        return None
    total = sum(amounts)
    return Beside(total, total * year.low / year.value, total * year.high / year.value) if total > 0.0 else None


def beside_words(audit: Audit, units: str = "si") -> str:
    """Measured and modelled side by side, and whether they agree; "" where either is not known."""
    texts = []
    for id, what, one in (("cooling_roof_kWh", "cooling at the roof", cooling_beside(audit)),
                          ("spray_loss_m3", f"water lost by {terms(audit).doing}", loss_beside(audit))):
        measured = words.found(audit, id, "logged")
        if one is None or measured is None or not known(measured.low, measured.high):
            continue
        shown = [printed_range(*ends, measured.unit, units, heat=numbers.is_heat(id))
                 for ends in ((measured.value, measured.low, measured.high), (one.value, one.low, one.high))]
        texts.append(f"{what} measured {_ranged(shown[0])}, by the model {_ranged(shown[1])}: "
                     f"{agreement(measured.value, measured.low, measured.high, one)}")
    if not texts:
        return ""
    return (f"Beside the model, not fitted, in the same weeks of its own year's weather: {'; '.join(texts)}. A "
            "check of size, not a test of the model.")


def agreement(value: float, low: float, high: float, model: Beside) -> str:
    """Whether a measured range and a modelled one meet, and on which side the model lies."""
    side = "above" if model.value > value else "below"
    if model.low > high or model.high < low:
        return f"they do not agree, the model lies {side}"
    if low <= model.value <= high or model.low <= value <= model.high:
        return "they agree within their ranges"
    return f"their ranges meet only at the ends, the model lies {side}"


def agreement_in_brief(audit: Audit) -> str:
    """One sentence for the first page: whether measured and modelled cooling of the same weeks agree."""
    measured, one = words.found(audit, "cooling_roof_kWh", "logged"), cooling_beside(audit)
    if measured is None or one is None or not known(measured.low, measured.high):
        return ""
    verdict = agreement(measured.value, measured.low, measured.high, one)
    return f"Measured and modelled cooling of these weeks: {verdict}."


def _ranged(shown: Printed) -> str:
    return f"{shown.value_unit} ({shown.range})"


def pumped_in_tests_m3(audit: Audit) -> float:
    """Water pumped away in tests on the logged nights."""
    return sum(row.get("test_draw_m3") or 0.0 for row in audit.logged.get("nights") or ())


def water_words(audit: Audit, period: Period, units: str = "si") -> str:
    """The measured water added up: in, out by meters, what no meter saw and what became of it; "" where a part lacks.

    Every figure is set to one place, and the last digits so that they add up on paper.
    """
    amounts = {id: period.quantities[id].value for id in (*ADDED_UP, *PARTED, "overflow_m3") if id in period.quantities}
    if not all(id in amounts for id in ADDED_UP):
        return ""
    step = 1.0 / numbers.unit_for("m3", units)[0] if units == "ip" else 0.01  # a gallon, or ten litres
    change = amounts["storage_change_m3"]
    into = [(amounts["rain_caught_m3"], "rain"), (amounts["mains_m3"], "mains"), (-change, "out of the store")]
    out = [(amounts["other_uses_m3"], "other uses"), (change, "left in the store"),
           (pumped_in_tests_m3(audit), "pumped away in tests"), (amounts.get("overflow_m3", 0.0), "overflow")]
    sides = [[(round(value / step), name) for value, name in side if value > 0.5 * step] for side in (into, out)]
    came, went = (sum(count for count, _ in side) for side in sides)
    unseen = round(amounts["water_remainder_m3"] / step)
    rest = unseen - (came - went)
    said = _Steps(step, units)
    text = (f"Added up, in {said.unit}: in {said.sum(sides[0])} = {said.of(came)}; out {said.sum(sides[1])} = "
            f"{said.of(went)}. No meter saw {said.of(came - went)} leave")
    if rest:
        text += (f", {said.of(unseen)} with {said.of(rest)} for the nights whose water is not known, put at the mean "
                 "of like nights")
    if all(id in amounts for id in PARTED):
        parts = numbers.apportioned([amounts[id] / step for id in PARTED], unseen)
        names = (f"lost by {terms(audit).doing}", "leaked", "unexplained")
        text += f": {said.sum(list(zip(parts, names, strict=True)))} = {said.of(unseen)}"
    return f"{text}."


@dataclass(frozen=True)
class _Steps:
    """Whole numbers of a step of water as they are printed."""

    step_m3: float
    units: str

    @property
    def unit(self) -> str:
        return numbers.unit_for("m3", self.units)[2]

    def of(self, count: int) -> str:
        return numbers.fixed(count * self.step_m3 * numbers.unit_for("m3", self.units)[0],
                             0 if self.units == "ip" else -2)

    def sum(self, parts: list[tuple[int, str]]) -> str:
        """`18.68 rain + 18.00 mains`."""
        text = ""
        for count, name in parts:
            sign = numbers.MINUS if count < 0 else "+" if text else ""
            text += f"{' ' if text else ''}{sign}{' ' if text else ''}{self.of(abs(count))} {name}"
        return text or "nothing"
