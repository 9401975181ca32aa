"""The answer on one page: verdict, results, claims, what to do next, limits."""

from __future__ import annotations

from dataclasses import dataclass

from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable, Table

from sprayroof.report import charts, numbers, style, words
from sprayroof.report.actions import actions
from sprayroof.report.effects import ranked_assumptions
from sprayroof.report.numbers import Printed
from sprayroof.report.pdf_layout import SectionStart, Sheet, fitting, foreign, gap, paragraph, rich, shares, table
from sprayroof.results import Audit, Quantity

ANSWER_IDS = (
    ("cooling_useful_kWh", "cooling"),
    ("useful_caused_kWh", "cooling"),
    ("electricity_net_kWh", "cooling"),
    ("ac_offset_net_frac", "cooling"),
    ("evaporation_m3", "water"),
    ("drift_m3", "water"),
    ("mains_caused_m3", "water"),
    ("water_per_useful_L_kWh", "water"),
    ("money_net", "money"),
    ("carbon_net_kg", "money"),
)
LOGGED_IDS = ("cooling_roof_kWh", "cooling_useful_kWh", "electricity_net_kWh", "sprayed_m3", "evaporation_m3")


@dataclass(frozen=True)
class Look:
    """How wide the page is set: padding of the result rows, gap between parts, a bar row's height (0: no picture)."""

    padding: float
    gap: float
    bar: float


LOOKS = tuple(
    Look(*look)
    for look in (
        (5.2, 14.0, 20.0),
        (4.4, 12.0, 19.0),
        (3.6, 10.0, 18.0),
        (3.0, 8.0, 17.0),
        (2.6, 6.0, 16.0),
        (5.2, 14.0, 0.0),
        (4.2, 11.0, 0.0),
        (3.2, 9.0, 0.0),
        (2.4, 7.0, 0.0),
        (1.8, 4.0, 0.0),
        (1.2, 2.0, 0.0),
    )
)


def answer_page(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    """The page as flowables, set as wide as it holds."""
    return fitting(sheet, LOOKS, lambda look: _page(audit, sheet, units, look), title=False)


def _page(audit: Audit, sheet: Sheet, units: str, look: Look) -> list[Flowable]:
    found = words.verdict(audit, units)
    place = ", ".join(str(part) for part in (audit.site.get("name"), audit.site.get("place")) if part)
    people = " · ".join(
        f"{role} {audit.site[key]}"
        for role, key in (("for", "owner"), ("by", "auditor"), ("on", "report_date"))
        if audit.site.get(key)
    )
    return [
        SectionStart("answer", "The answer"),
        paragraph(place, "small", 110),
        paragraph(people, "kicker", 150),
        gap(look.gap),
        paragraph("SPRAYED ROOF AUDIT", "kicker"),
        paragraph(words.HEADLINES[found.word], "verdict"),
        paragraph(found.sentence, "lead", 900),
        _basis_note(audit, sheet.width),
        gap(look.gap),
        *_picture(audit, sheet, units, look),
        *_answer_table(audit, sheet, units, look),
        *_claims(audit, sheet, look),
        gap(look.gap),
        *_actions(audit, sheet, units),
        gap(look.gap / 2),
        *_limits(audit, units, sheet),
    ]


def _picture(audit: Audit, sheet: Sheet, units: str, look: Look) -> list[Flowable]:
    """The ladder in short, where it has room."""
    if not look.bar:
        return []
    short = charts.ladder(audit, sheet.width, units, look.bar, charts.SHORT_LADDER)
    return [short, gap(look.gap)] if short else []


def _basis_note(audit: Audit, width: float) -> Flowable:
    """What kind of figures these are, set apart so that it cannot be overlooked."""
    if words.only_predicted(audit):
        first = "These are predictions, not verified savings."
        then = (
            "No log of the running system went into them. That is what the letter D under “Evidence” says: "
            "it is no mark for the roof."
        )
    else:
        first, then = (
            "Measured where the logs reach, carried on by a model.",
            "The letters under “Evidence” say what each figure rests on; they are no marks for the roof.",
        )
    made = Table([[rich(f'<font name="{style.SERIF_BOLD}">{first}</font> {then}', "body")]], colWidths=[width])
    made.setStyle(
        [
            ("FONT", (0, 0), (-1, -1), style.SANS, style.SMALL),
            ("BACKGROUND", (0, 0), (-1, -1), HexColor(style.WASH)),
            ("LEFTPADDING", (0, 0), (-1, -1), 10),
            ("LINEBEFORE", (0, 0), (0, -1), 2.4, HexColor(style.BLUE)),
            ("TOPPADDING", (0, 0), (-1, -1), 4),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1),
            ("RIGHTPADDING", (0, 0), (-1, -1), 10),
        ]
    )
    return made


def _answer_table(audit: Audit, sheet: Sheet, units: str, look: Look) -> list[Flowable]:
    headline = words.headline_period(audit)
    found = [(id, quantity) for id, _ in ANSWER_IDS if (quantity := words.shown_quantity(audit, id))]
    pages = dict(ANSWER_IDS)
    rows = [
        _answer_row(quantity, id, shown, sheet.page(pages[id]) or sheet.page("cooling"))
        for (id, quantity), shown in zip(found, words.page_rows(audit, found, units), strict=True)
    ]
    tables = [_results("A year" if headline == "year" else "In the logged period", rows, sheet, look)]
    if "logged" in audit.periods and headline != "logged":
        period = audit.periods["logged"]
        measured = [(id, quantity) for id in LOGGED_IDS if (quantity := words.found(audit, id, "logged"))]
        shown = words.page_rows(audit, measured, units, owners_scale=False)
        logged = [_answer_row(quantity, id, one, "") for (id, quantity), one in zip(measured, shown, strict=True)]
        tables += [gap(look.gap / 2), _results(f"Logged, {period.start} to {period.end}", logged, sheet, look)]
    return tables


def _results(head: str, rows: list[list[str]], sheet: Sheet, look: Look) -> Flowable:
    return table(
        (head, "Most likely", "9 chances in 10: between", "How found", "Evidence", "Page"),
        rows,
        shares(sheet.width, 33, 16, 25, 11, 10, 5),
        right=(5,),
        padding=look.padding,
    )


def _answer_row(quantity: Quantity, id: str, shown: Printed, page: str) -> list[str]:
    low_high = f"{shown.low} and {shown.high}"
    if shown.low == numbers.NOT_KNOWN:
        low_high = numbers.NOT_KNOWN
    elif shown.low == shown.high:
        low_high = "always 0" if quantity.low == quantity.high == 0.0 else "one figure"
    if id in words.SIGNED_IDS and quantity.spans_zero:
        low_high += " *"
    return [
        words.PAGE_LABELS.get(id, quantity.label),
        shown.value_unit,
        low_high,
        words.BASIS_WORDS[quantity.basis],
        quantity.grade,
        page,
    ]


def _claims(audit: Audit, sheet: Sheet, look: Look) -> list[Flowable]:
    if not audit.claims:
        return []
    rows = [
        [claim.claim, numbers.joined(numbers.fixed(100 * claim.probability, 0), "%"), claim.verdict]
        for claim in audit.claims
    ]
    return [
        gap(look.gap),
        table(("Claim made for the system", "Chance that it holds", "Verdict"), rows, shares(sheet.width, 58, 20, 22)),
    ]


def _actions(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    rows = [
        [
            str(number),
            rich(
                f'<font name="{style.SERIF_BOLD}">{foreign(action.do, "small", 240)}.</font> '
                f"{foreign(action.why, 'small', 260)}",
                "small",
            ),
            paragraph(action.cost, "small"),
            paragraph(action.payback, "small"),
        ]
        for number, action in enumerate(actions(audit, units), start=1)
    ]
    return [table(("", "What to do next", "Cost", "Payback"), rows, shares(sheet.width, 4, 64, 19, 13))]


def _limits(audit: Audit, units: str, sheet: Sheet) -> list[Flowable]:
    typical = words.traits(audit).get("typical_year", False)
    year = (
        "The weather is a typical year: the ranges hold what is not known of this site, not how the next year's "
        "weather will differ."
        if typical
        else "The ranges hold what is not known of this site in the weather given, not how another year will differ."
    )
    lean = _lean(audit, units)
    doubts = sum(finding.level == "doubt" for finding in audit.findings)
    page = f" (page {sheet.page('findings')})" if sheet.page("findings") else ""
    count = "One finding weakens" if doubts == 1 else f"{doubts} findings weaken"
    doubt = f"{count} the result{page}." if doubts else ""
    grades = "; ".join(f"{letter}, {meaning}" for letter, meaning in words.GRADE_WORDS.items())
    parts = (year, lean, doubt, _minus(audit), _star(audit), f"Evidence: {grades}.")
    return [paragraph(f"Limits. {' '.join(part for part in parts if part)}", "note", 1600)]


def _lean(audit: Audit, units: str) -> str:
    """The assumption that moves useful cooling most, and that which moves the deciding net figure most."""
    tops = []
    for key, what in (("effect", "Useful cooling"), ("effect_net", "The net")):
        top = next((row["label"] for row in ranked_assumptions(audit, key, units) if row.get(key)), None)
        if top:
            tops.append(f"{what} leans most on “{top}”.")
    return " ".join(tops)


def _minus(audit: Audit) -> str:
    """What a minus sign means, where there is one."""
    signed = [quantity for id in words.SIGNED_IDS if (quantity := words.found(audit, id))]
    return "A minus sign is a loss: more used than saved." if any(quantity.low < 0.0 for quantity in signed) else ""


def _star(audit: Audit) -> str:
    signed = [quantity for id in words.SIGNED_IDS if (quantity := words.found(audit, id))]
    return f"* {words.CANNOT_SAY}" if any(quantity.spans_zero for quantity in signed) else ""
