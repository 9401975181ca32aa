"""The owner's page on cooling: how much arrives, when it is needed, where the heat went."""

from __future__ import annotations

from reportlab.platypus import Flowable

from sprayroof.report import charts, numbers, words
from sprayroof.report.numbers import printed_range
from sprayroof.report.pdf_layout import Sheet, chart, paragraph
from sprayroof.results import Audit


def cooling_page(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    """The page as flowables, without its title."""
    useful = words.found(audit, "cooling_useful_kWh")
    intro = []
    if useful:
        shown = words.energy(audit, "cooling_useful_kWh", units)
        ton_hours = ""
        if units == "ip":
            tons = printed_range(
                *(end * numbers.TON_HOUR_PER_KWH for end in (useful.value, useful.low, useful.high)), "ton-h"
            )
            ton_hours = f" In ton-hours: {words.between(tons)}."
        intro = [
            paragraph(f"Useful cooling: {words.range_words(shown)[0].lower()}{words.range_words(shown)[1:]}{ton_hours}")
        ]
    return [
        *intro,
        *chart(
            "How much of the cooling arrives?", charts.ladder(audit, sheet.width, units), _ladder_caption(audit, units)
        ),
        *chart(
            "When does the building need what the roof gives?",
            charts.months(audit, sheet.width, units),
            _months_caption(audit),
        ),
        *chart("Where did the heat go?", charts.heat_paths(audit, sheet.width, units), _paths_caption(audit)),
    ]


def _ladder_caption(audit: Audit, units: str) -> str:
    roof, useful = words.found(audit, "cooling_roof_kWh"), words.found(audit, "cooling_useful_kWh")
    parts = []
    if roof and useful:
        parts.append(
            f"Of {words.energy(audit, 'cooling_roof_kWh', units).value_unit} taken out at the roof, "
            f"{words.energy(audit, 'cooling_useful_kWh', units).value_unit} meet a demand."
        )
    net = words.found(audit, "electricity_net_kWh")
    if net:
        shown = words.energy(audit, "electricity_net_kWh", units)
        parts.append(
            words.CANNOT_SAY
            if net.spans_zero
            else f"What is left at the meter is {shown.value_unit} of electricity."
            if net.value > 0
            else "At the meter the system uses more electricity than it saves."
        )
    parts.append("The thin lines hold 9 chances in 10.")
    return " ".join(parts)


def _months_caption(audit: Audit) -> str:
    useful = [(charts.row_value(row, "cooling_useful_kWh") or 0.0, words.month_name(row)) for row in audit.months]
    total = sum(value for value, _ in useful)
    if total <= 0.0:
        return "In no month does the roof give useful cooling."
    best = max(useful)[1]
    best_share = numbers.fixed(100.0 * max(useful)[0] / total, 0)
    idle = [name for value, name in useful if value < 0.01 * total]
    tail = f" {words.listed(idle)} {'gives' if len(idle) == 1 else 'give'} next to nothing." if idle else ""
    return f"{best} alone carries {best_share} % of the year's useful cooling.{tail}"


def _paths_caption(audit: Audit) -> str:
    paths = [
        (quantity.value, charts.PATH_LABELS[id].lower(), quantity)
        for id in words.HEAT_PATHS
        if (quantity := words.found(audit, id))
    ]
    if not paths:
        return ""
    leaving = [(value, label) for value, label, _ in paths if value > 0.0]
    entering = [
        charts.PATHS_IN[id] for id in words.HEAT_PATHS if (quantity := words.found(audit, id)) and quantity.value < 0.0
    ]
    parts = []
    if leaving:
        value, label = max(leaving)
        share = numbers.fixed(100.0 * value / sum(v for v, _ in leaving), 0)
        parts.append(f"Of the heat that left the water, the largest part, {share} %, went {label}.")
    if entering:
        parts.append(f"Heat came in {words.listed(entering)}.")
    unsure = [label for _, label, quantity in paths if quantity.spans_zero]
    if unsure:
        parts.append(f"Of the heat {words.listed(unsure)} even the direction is open.")
    return " ".join(parts)
