"""The owner's page on money: what spraying brings and costs, the air conditioner beside it, what moves the net."""

from __future__ import annotations

import math

from reportlab.platypus import Flowable

from sprayroof.report import charts, numbers, words
from sprayroof.report.effects import effect_text, ranked_assumptions
from sprayroof.report.numbers import printed
from sprayroof.report.pdf_cooling import carbon
from sprayroof.report.pdf_layout import Sheet, chart, paragraph, shares, table
from sprayroof.report.terms import capital, terms
from sprayroof.report.terms import label as in_terms
from sprayroof.results import Audit

LEFT_OVER = 0.002  # share of the turnover from which a difference between rows and net is shown
MOST_BARS = 12


def has_money_page(audit: Audit) -> bool:
    """Whether the record holds money and the prices behind it."""
    return words.has_prices(audit) and words.price(audit, "electricity") is not None


def money_page(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    """The page as flowables, without its title."""
    ranked = ranked_assumptions(audit, "effect_net", units)
    net = printed(words.found(audit, "money_net"), "money_net", units, currency=words.currency(audit))
    said = words.range_words(net, signed=True, spans_zero=words.found(audit, "money_net").spans_zero)
    doing = terms(audit).doing
    return [
        paragraph(f"Money that {doing} saves in a year, after water, sewer and upkeep: {said[0].lower()}{said[1:]}"),
        paragraph(f"What does {doing} bring and cost in a year?", "question"),
        _table(audit, sheet, units),
        paragraph(_prices_note(audit), "note"),
        paragraph("What does the air conditioner use?", "question"),
        paragraph(_air_conditioner(audit, units)),
        *carbon(audit, units),
        *chart(
            "Which assumptions move the net most?",
            charts.assumptions(ranked, sheet.width, units, "effect_net", MOST_BARS),
            _effects_caption(ranked),
        ),
    ]


def money_rows(audit: Audit) -> list[tuple[str, float, str, str, float]]:
    """Best estimates of a year: label, amount, its unit, the price's name, and the money, costs negative.

    What the site does not have is left out; beside a booster its spared electricity has a row of its own.
    """
    amounts = (
        ("Air-conditioner electricity avoided by spraying", ("electricity_avoided_kWh",), "electricity", 1.0),
        ("Booster electricity spared by spraying", ("booster_spared_kWh",), "electricity", 1.0),
        ("The system's own electricity", ("electricity_own_kWh",), "electricity", -1.0),
        ("Mains water caused by spraying", ("mains_caused_m3",), "water", -1.0),
        ("Water let into the sewer", ("bleed_m3", "flush_lost_m3"), "sewer", -1.0),
    )
    spared = words.found(audit, "booster_spared_kWh")
    rows = []
    for label, ids, name, sign in amounts:
        found, price = [words.found(audit, id) for id in ids], words.price(audit, name)
        if all(found) and price is not None and any(words.says_something(audit, id) for id in ids):
            amount = sum(quantity.value for quantity in found)
            if ids == ("electricity_avoided_kWh",) and spared is not None:
                amount -= spared.value
            rows.append((in_terms(audit, label), amount, found[0].unit, name, sign * amount * price))
    upkeep = words.price(audit, "upkeep")
    if upkeep:
        rows.append(("Upkeep", 1.0, "", "upkeep", -upkeep))
    return rows


def _table(audit: Audit, sheet: Sheet, units: str) -> Flowable:
    rows, net, code = money_rows(audit), words.found(audit, "money_net"), words.currency(audit)
    turnover = sum(abs(money) for *_, money in rows)
    left = net.value - sum(money for *_, money in rows)
    if abs(left) > LEFT_OVER * turnover:
        rows.append(("Not accounted for by these rows", 0.0, "", "", left))
    digit = min(0, math.floor(math.log10(turnover)) - 2) if turnover > 0.0 else 0
    total = round(net.value / 10.0**digit)
    parts = numbers.apportioned([money / 10.0**digit for *_, money in rows], total)
    body = [
        [label, _amount(amount, unit, units), _price(audit, name, units), numbers.fixed(part * 10.0**digit, digit)]
        for (label, amount, unit, name, _), part in zip(rows, parts, strict=True)
    ]
    body.append(["Net", "", "", numbers.fixed(total * 10.0**digit, digit)])
    return table(
        ("Best estimates; costs with a minus sign", "Amount", "Price", f"{code} a year"),
        body,
        shares(sheet.width, 44, 20, 22, 14),
        right=(1, 2, 3),
        bold=(len(body) - 1,),
    )


def _amount(amount: float, unit: str, units: str) -> str:
    if unit not in ("kWh", "m3"):
        return ""
    value, name = numbers.converted(amount, unit, units), numbers.unit_for(unit, units)[2]
    return numbers.joined(numbers.exact(float(f"{value:.4g}")), name)


def _price(audit: Audit, name: str, units: str) -> str:
    row = words.fact(audit, f"prices.{name}")
    if row is None:
        return ""
    unit = str(row.get("unit") or "")
    value = numbers.exact(numbers.converted(row["value"], unit, units))
    return numbers.joined(value, numbers.unit_for(unit, units)[2].replace("currency", words.currency(audit)))


def _prices_note(audit: Audit) -> str:
    traits = words.traits(audit)
    date, tax = (str(traits.get(key) or "").strip() for key in ("prices_date", "prices_tax"))
    stand = f"Prices as of {date}" if date else "Prices without a date"
    upkeep = "" if words.price(audit, "upkeep") else " No cost of upkeep is stated, so none is counted."
    return (
        f"{stand}{f', {tax}' if tax else ''}. The cost of building the system is not in these figures, nor interest or "
        f"rising prices.{upkeep} Last digits are set so that the rows add up."
    )


def _air_conditioner(audit: Audit, units: str) -> str:
    whole, price = words.found(audit, "ac_electricity_kWh"), words.price(audit, "electricity")
    if whole is None:
        return "The record does not say what the air conditioner would use without the roof."
    shown, code = printed(whole, "ac_electricity_kWh", units, scale_to=words.energy_scale(audit)), words.currency(audit)
    cost = numbers.joined(numbers.significant(whole.value * price, 2), code)
    text = (
        f"Without the {terms(audit).source} it would use {words.between(shown)} of electricity in a year, most likely "
        f"about {shown.value_unit}: about {cost}."
    )
    avoided = words.found(audit, "electricity_avoided_kWh")
    if avoided and avoided.value > 0.0:
        part = printed(avoided, "electricity_avoided_kWh", units, scale_to=words.energy_scale(audit))
        saved = numbers.joined(numbers.significant(avoided.value * price, 2), code)
        whom = "it and the booster" if words.has_booster(audit) else "it"
        text += (
            f" {capital(terms(audit).doing)} spares {whom} {words.between(part)}, most likely about {part.value_unit}: "
            f"about {saved}."
        )
    return text


def _effects_caption(ranked: list[dict]) -> str:
    top = next((row for row in ranked if row.get("effect_net")), None)
    if top is None:
        return ""
    size = effect_text(top["effect_net"], str(top.get("effect_net_unit") or "kWh"))
    return f"“{top['label']}” moves it most, by about {size}. A bar: the change at the upper end of its range."
