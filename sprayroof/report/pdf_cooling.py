"""The owner's page on cooling: how much arrives, when it is needed, where the heat went."""

from __future__ import annotations

from reportlab.platypus import Flowable

from sprayroof.report import charts, labels, numbers, words
from sprayroof.report.numbers import printed, printed_range
from sprayroof.report.pdf_layout import Sheet, chart, fitting, paragraph
from sprayroof.report.terms import has_panels, terms
from sprayroof.results import Audit

# Heights of a row of bars and of the months' picture in points, from the most generous to the tightest.
LOOKS = ((21.0, 150.0), (19.0, 140.0), (18.0, 126.0), (16.5, 112.0), (15.5, 98.0), (14.5, 84.0), (13.5, 72.0))


def cooling_page(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    """The page as flowables, without its title; its pictures shrink until all stand on one page."""

    def build(look: tuple[float, float]) -> list[Flowable]:
        row, tall = look
        return [
            *_useful(audit, units),
            *chart(
                "How much of the cooling arrives?",
                charts.ladder(audit, sheet.width, units, row),
                _ladder_caption(audit, units),
            ),
            *chart(
                f"When does the building need what the {'panels give' if has_panels(audit) else 'roof gives'}?",
                charts.months(audit, sheet.width, units, tall),
                _months_caption(audit),
            ),
            *chart("Where did the heat go?", charts.heat_paths(audit, sheet.width, units, row), _paths_caption(audit)),
            *([] if words.has_prices(audit) else carbon(audit, units)),
        ]

    return fitting(sheet, LOOKS, build)


def carbon(audit: Audit, units: str) -> list[Flowable]:
    """Carbon saved and how it is reckoned; nothing where the record holds none."""
    saved, factor = words.found(audit, "carbon_net_kg"), words.fact(audit, "prices.carbon")
    if saved is None:
        return []
    at = ""
    if factor:
        unit = numbers.unit_for(str(factor.get("unit")), units)[2]
        value = numbers.exact(numbers.converted(factor["value"], str(factor.get("unit")), units))
        at = f", the net electricity at {numbers.joined(value, unit)}"
    shown = printed(saved, "carbon_net_kg", units)
    said = f"{words.between(shown)}, most likely about {shown.value}{at}"
    return [paragraph(f"Carbon saved by {terms(audit).doing}: {said}.")]


def _useful(audit: Audit, units: str) -> list[Flowable]:
    useful = words.found(audit, "cooling_useful_kWh")
    if not useful:
        return []
    said = words.range_words(words.energy(audit, "cooling_useful_kWh", units))
    ton_hours = ""
    if units == "ip":
        tons = printed_range(
            *(end * numbers.TON_HOUR_PER_KWH for end in (useful.value, useful.low, useful.high)), "ton-h"
        )
        ton_hours = f" In ton-hours: {words.between(tons)}."
    return [
        paragraph(f"Useful cooling, the part that met a need of the building: {said[0].lower()}{said[1:]}{ton_hours}")
    ]


def _ladder_caption(audit: Audit, units: str) -> str:
    roof, useful = words.found(audit, "cooling_roof_kWh"), words.found(audit, "cooling_useful_kWh")
    parts = []
    if roof and useful:
        taken, used = (words.energy(audit, id, units).value_unit for id in ("cooling_roof_kWh", "cooling_useful_kWh"))
        parts.append(
            f"The {terms(audit).source} takes {taken} of heat out of the water; the building makes use of {used} of "
            "cooling."
        )
    parts += [words.caused_words(audit, units), words.booster_words(audit, units)]
    net = words.found(audit, "electricity_net_kWh")
    if net:
        shown = words.energy(audit, "electricity_net_kWh", units)
        parts.append(
            f"Of its electricity: {words.CANNOT_SAY[0].lower()}{words.CANNOT_SAY[1:]}"
            if net.spans_zero
            else f"The electricity that {terms(audit).doing} saves in the end is {shown.value_unit}."
            if net.value > 0
            else f"In the end {terms(audit).doing} uses more electricity than it saves."
        )
    parts += [offset_words(audit, units), "Thin lines: 9 chances in 10."]
    return " ".join(part for part in parts if part)


def offset_words(audit: Audit, units: str) -> str:
    """The net electricity as a share of what the air conditioner would use."""
    share, whole = words.found(audit, "ac_offset_net_frac"), words.found(audit, "ac_electricity_kWh")
    if not (share and whole) or whole.value <= 0.0:
        return ""
    shown = printed(share, "ac_offset_net_frac", units)
    spread = "" if shown.low in (numbers.NOT_KNOWN, shown.high) else f" ({shown.range})"
    all_of_it = printed(whole, "ac_electricity_kWh", units, scale_to=words.energy_scale(audit))
    return (
        f"That is {shown.value_unit}{spread} of the {all_of_it.value_unit} that the air conditioner would use without "
        f"the {terms(audit).source}."
    )


def _months_caption(audit: Audit) -> str:
    useful = [charts.row_value(row, "cooling_useful_kWh") or 0.0 for row in audit.months]
    total = sum(useful)
    if total <= 0.0:
        return f"In no month does the {terms(audit).source} give useful cooling."
    best, most = max(range(len(useful)), key=useful.__getitem__), max(useful)
    idle = [row for row, value in zip(audit.months, useful, strict=True) if value < 0.01 * total]
    tail = f" Next to nothing {words.months_during(idle)}." if idle else ""
    return (
        f"The best month is {words.month_name(audit.months[best])}, with {numbers.fixed(100.0 * most / total, 0)} % of "
        f"the year's useful cooling.{tail}"
    )


def _paths_caption(audit: Audit) -> str:
    paths = [
        (quantity.value, labels.PATHS[id].lower(), quantity)
        for id in words.HEAT_PATHS
        if (quantity := words.shown_quantity(audit, id))
    ]
    if not paths:
        return ""
    leaving = [(value, label) for value, label, _ in paths if value > 0.0]
    entering = [
        labels.PATHS_IN[id] for id in words.HEAT_PATHS if (quantity := words.found(audit, id)) and quantity.value < 0.0
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
