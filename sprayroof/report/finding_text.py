"""Messages of findings as they are printed: figures of the record rounded as everywhere else in the report."""

from __future__ import annotations

import re

from sprayroof.report import numbers, words
from sprayroof.report.numbers import known, printed
from sprayroof.results import Audit, Finding, Quantity

NUMBER_WITH_UNIT = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?: (?:kWh|m3|degC)\b)?")
SI_NOTE = "Figures in these texts are in SI units."


def finding_text(audit: Audit, finding: Finding) -> str:
    """The message of a finding for print, in SI units.

    A number that is one of the record's own figures is rounded to what its range deserves, the best estimate with its
    range behind it; all other numbers stay as the finding has them.
    """
    told = {value for value in finding.data.values() if isinstance(value, float) and value}
    quantities = [
        (id, quantity)
        for id, quantity in audit.periods[words.headline_period(audit)].quantities.items()
        if told & {quantity.value, quantity.low, quantity.high}
    ]

    def rounded(match: re.Match) -> str:
        text, _, unit = match.group().partition(" ")
        for id, quantity in quantities:
            said = _said(audit, id, quantity, text, bool(unit), told)
            if said:
                return said
        return match.group()

    return in_print(NUMBER_WITH_UNIT.sub(rounded, finding.message))


def _said(audit: Audit, id: str, quantity: Quantity, text: str, with_unit: bool, told: set[float]) -> str:
    """`text` anew where it is an end or the middle of the quantity, else ""."""
    shown, decimals = printed(quantity, id, currency=words.currency(audit)), len(text.partition(".")[2])
    for name in ("value", "low", "high"):
        end = getattr(quantity, name)
        if known(end) and end in told and f"{end:.{decimals}f}" == text:
            spread = f" ({shown.range})" if name == "value" and quantity.low < quantity.high else ""
            return numbers.joined(getattr(shown, name), shown.unit if with_unit else "") + spread
    return ""


def in_print(text: str) -> str:
    """Units of a message as they are printed."""
    return re.sub(r"(?<=\d) m([23])\b", lambda match: f" m{'²' if match[1] == '2' else '³'}", text).replace(
        " degC", " °C"
    )
