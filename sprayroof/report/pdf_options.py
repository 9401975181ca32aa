"""The owner's page on what could change: each option against the present system, those that lose shown as losing."""

from __future__ import annotations

from reportlab.platypus import Flowable

from sprayroof.report import numbers, words
from sprayroof.report.numbers import printed_range
from sprayroof.report.pdf_layout import Sheet, paragraph, shares, table
from sprayroof.results import Audit, Option

OPTION_IDS = ("cooling_useful_kWh", "electricity_net_kWh", "mains_m3", "money_net")


def options_page(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    """The page as flowables, without its title."""
    ids = [id for id in OPTION_IDS if any(id in option.changes for option in audit.options)]
    heads = {
        "cooling_useful_kWh": "Useful cooling",
        "electricity_net_kWh": "Net electricity",
        "mains_m3": "Mains water",
        "money_net": "Money a year",
    }
    rows = [
        [
            _option_name(option),
            *(paragraph(_change_text(audit, option, id, units), "cell") for id in ids),
            paragraph(_cost_text(audit, option, units), "cell"),
        ]
        for option in audit.options
    ]
    return [
        paragraph(
            "Each row is the change against the present system, on the same weather and the same draws of what is not "
            "known. Options that lose are shown as losing. Options are not to be added: together they act otherwise."
        ),
        table(
            ("Change", *(heads[id] for id in ids), "Cost; payback"),
            rows,
            shares(sheet.width, 30, *([17] * len(ids)), 19),
        ),
    ]


def _option_name(option: Option) -> Flowable:
    money = option.changes.get("money_net") or option.changes.get("electricity_net_kWh")
    mark = ""
    if money:
        mark = (
            " — loses"
            if money["high"] <= 0.0 and money["low"] < 0.0
            else " — gains"
            if money["low"] > 0.0
            else " — open"
        )
    effects = f" ({'; '.join(option.side_effects)})" if option.side_effects else ""
    return paragraph(f"{option.name}{mark}{effects}", "cell")


def _change_text(audit: Audit, option: Option, id: str, units: str) -> str:
    change = option.changes.get(id)
    if not change:
        return "not reckoned"
    shown = printed_range(
        change["value"],
        change["low"],
        change["high"],
        change["unit"],
        units,
        heat=id in numbers.HEAT_IDS,
        currency=words.currency(audit),
    )
    return "no change" if shown.value == shown.low == shown.high == "0" else f"{shown.value_unit} ({shown.range})"


def _cost_text(audit: Audit, option: Option, units: str) -> str:
    if not option.cost:
        return "not known"
    cost = printed_range(
        option.cost["value"], option.cost["low"], option.cost["high"], "currency", units, currency=words.currency(audit)
    )
    back = option.payback_years
    years = printed_range(back["value"], back["low"], back["high"], "years") if back else None
    return f"{cost.value_unit} ({cost.range}); " + (
        f"{years.value_unit} ({years.range})" if years else "payback not known"
    )
