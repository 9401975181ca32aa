"""The answer in a few lines of plain text."""

from __future__ import annotations

from sprayroof.report import labels, numbers, words
from sprayroof.report.numbers import Printed
from sprayroof.report.water_words import wasting
from sprayroof.results import Audit


def summary_lines(audit: Audit, units: str = "si") -> list[str]:
    """Verdict, the ladder from the roof to the money, water beside it, and what the figures rest on."""
    lines = [words.verdict(audit, units).sentence]
    for head, table in (("From the roof to the money", labels.LADDER), ("Water beside it", labels.WATER_BESIDE)):
        rows = [(id, quantity) for id in table if (quantity := words.shown_quantity(audit, id))]
        shown = words.page_rows(audit, rows, units)
        lines += [f"{head}, {words.per(audit)}:"] if rows else []
        lines += [_line(words.row_label(audit, table, id), one) for (id, _), one in zip(rows, shown, strict=True)]
    lines += [line for line in (wasting(audit, units), words.booster_words(audit, units)) if line]
    lines.append("In brackets: 9 chances in 10 that the true figure lies inside.")
    if words.only_predicted(audit):
        lines.append("These are predictions, not verified savings.")
    if measured := words.measured_nights(audit):
        lines.append(measured)
    return [line.replace(numbers.NO_BREAK, " ") for line in lines]


def _line(label: str, shown: Printed) -> str:
    """A figure with its range; a label that goes on from the row above stands further in."""
    low_high = "" if shown.low in (numbers.NOT_KNOWN, shown.high) else f" ({shown.range})"
    return f"  {'  ' if label[:1].islower() else ''}{label}: {shown.value_unit}{low_high}"
