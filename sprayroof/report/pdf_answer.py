"""The answer on one page: verdict, results, claims, what to do next, limits."""

from __future__ import annotations

from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable, KeepTogether, Table

from sprayroof.report import numbers, style, words
from sprayroof.report.actions import actions, ranked_assumptions
from sprayroof.report.numbers import printed
from sprayroof.report.pdf_layout import SectionStart, Sheet, foreign, gap, paragraph, rich, shares, table
from sprayroof.results import Audit, Quantity

ANSWER_IDS = (
    ("cooling_useful_kWh", "cooling"),
    ("electricity_net_kWh", "cooling"),
    ("ac_offset_net_frac", "cooling"),
    ("evaporation_m3", "water"),
    ("drift_m3", "water"),
    ("mains_caused_m3", "water"),
    ("water_per_useful_L_kWh", "water"),
    ("money_net", "cooling"),
    ("carbon_net_kg", "cooling"),
)
LOGGED_IDS = ("cooling_roof_kWh", "cooling_useful_kWh", "electricity_net_kWh", "sprayed_m3", "evaporation_m3")


def answer_page(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    """The page as flowables."""
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
        gap(9),
        paragraph("SPRAYED ROOF AUDIT", "kicker"),
        paragraph(words.HEADLINES[found.word], "verdict"),
        paragraph(found.sentence, "lead", 900),
        _basis_note(audit, sheet.width),
        gap(8),
        *_answer_table(audit, sheet, units),
        *_claims(audit, sheet),
        gap(12),
        *_actions(audit, sheet, units),
        gap(6),
        *_limits(audit, units),
    ]


def _basis_note(audit: Audit, width: float) -> Flowable:
    """What kind of figures these are, set apart so that it cannot be overlooked."""
    if words.only_predicted(audit):
        grades = sorted(
            {quantity.grade for quantity in audit.periods[words.headline_period(audit)].quantities.values()}
        )
        first = "These are predictions, not verified savings."
        then = (
            "No log of the system itself went into them: all figures are modelled or assumed, "
            f"grade {words.listed(grades)}."
        )
    else:
        first, then = (
            "Measured where the logs reach, carried on by a model.",
            "The table says of each figure how it was found.",
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


def _answer_table(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    headline = words.headline_period(audit)
    scale = words.energy_scale(audit)
    rows = [
        _answer_row(audit, quantity, id, sheet.page(page), units, scale)
        for id, page in ANSWER_IDS
        if (quantity := words.found(audit, id))
    ]
    tables = [_results("A year" if headline == "year" else "In the logged period", rows, sheet)]
    if "logged" in audit.periods and headline != "logged":
        period = audit.periods["logged"]
        logged = [
            _answer_row(audit, quantity, id, "", units, None)
            for id in LOGGED_IDS
            if (quantity := words.found(audit, id, "logged"))
        ]
        tables += [gap(5), _results(f"Logged, {period.start} to {period.end}", logged, sheet)]
    return tables


def _results(head: str, rows: list[list[str]], sheet: Sheet) -> Flowable:
    return table(
        (head, "Most likely", "9 chances in 10: between", "How found", "Grade", "Page"),
        rows,
        shares(sheet.width, 34, 16, 25, 12, 8, 5),
        right=(5,),
        padding=2.2,
    )


def _answer_row(audit: Audit, quantity: Quantity, id: str, page: str, units: str, scale: float | None) -> list[str]:
    scaled = scale if quantity.unit == "kWh" else None
    shown = printed(quantity, id, units, scale_to=scaled, currency=words.currency(audit))
    low_high = "one figure" if shown.low == shown.high else f"{shown.low} and {shown.high}"
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


def _claims(audit: Audit, sheet: Sheet) -> list[Flowable]:
    if not audit.claims:
        return []
    rows = [
        [claim.claim, numbers.joined(numbers.fixed(100 * claim.probability, 0), "%"), claim.verdict]
        for claim in audit.claims
    ]
    return [
        gap(6),
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
    return [KeepTogether([table(("", "What to do next", "Cost", "Payback"), rows, shares(sheet.width, 4, 64, 19, 13))])]


def _limits(audit: Audit, units: str) -> list[Flowable]:
    typical = words.traits(audit).get("typical_year", False)
    year = (
        "The weather is a typical year: the ranges hold what is not known of this site, not how the next year's "
        "weather will differ."
        if typical
        else "The ranges hold what is not known of this site in the weather given, not how another year will differ."
    )
    leading = [row["label"] for row in ranked_assumptions(audit)[:2] if row.get("effect")]
    lean = f" The figures lean most on {words.listed([f'“{label}”' for label in leading])}." if leading else ""
    star = (
        f" * {words.CANNOT_SAY}"
        if any((quantity := words.found(audit, id)) and quantity.spans_zero for id in words.SIGNED_IDS)
        else ""
    )
    doubts = sum(finding.level == "doubt" for finding in audit.findings)
    doubt = {0: "", 1: " One finding weakens the result."}.get(doubts, f" {doubts} findings weaken the result.")
    return [
        paragraph(
            f"Limits. {year}{lean}{doubt}{star} Grades: A, {words.GRADE_WORDS['A']}; B, "
            f"{words.GRADE_WORDS['B']}; C, {words.GRADE_WORDS['C']}; D, {words.GRADE_WORDS['D']}.",
            "note",
            1200,
        )
    ]
