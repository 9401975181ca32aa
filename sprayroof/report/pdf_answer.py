"""The answer on one page: verdict, results, claims, what to do next, limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable, Table

from sprayroof.report import charts, labels, numbers, style, words
from sprayroof.report.actions import actions
from sprayroof.report.effects import ranked_assumptions
from sprayroof.report.measured_beside import agreement_in_brief
from sprayroof.report.numbers import Printed, known
from sprayroof.report.pdf_layout import SectionStart, Sheet, fitting, foreign, gap, paragraph, rich, shares, table
from sprayroof.report.terms import terms
from sprayroof.report.water_words import wasting
from sprayroof.results import Audit, Quantity

# The page that explains a figure, where that is not the one on cooling (of the ladder) or on water (beside it).
PAGES = {"money_net": "money"}
# Water that circulates is no loss; it stands in the terminal and in the appendix.
NOT_HERE = ("sprayed_m3",)
# Left to the pages on cooling and water where claims and a logged period crowd the page.
NOT_IN_BRIEF = (
    *NOT_HERE,
    "cooling_stored_kWh",
    "cooling_delivered_kWh",
    "electricity_own_kWh",
    "ac_offset_net_frac",
    "water_per_useful_L_kWh",
    "dried_m3",  # in the sentence on waste
)
LOGGED_IN_BRIEF = 2
LOGGED_IDS = ("cooling_roof_kWh", "cooling_useful_kWh", "electricity_net_kWh", "spray_loss_m3", "sprayed_m3",
              "evaporation_m3")
BAR_WIDTH, BAR_HEIGHT = 46.0, 9.0


@dataclass(frozen=True)
class Look:
    """How wide the page is set: padding of the result rows, gap between parts, and whether rows are left out."""

    padding: float
    gap: float
    brief: bool = False


LOOKS = tuple(
    Look(*look)
    for look in (
        (5.2, 14.0),
        (4.2, 11.0),
        (3.6, 10.0),
        (3.2, 9.0),
        (2.8, 8.0),
        (2.4, 7.0),
        (2.1, 6.0),
        (1.8, 4.0),
        (1.4, 3.0),
        (1.0, 2.0),
        (1.0, 2.0, True),
        (0.6, 1.0, True),
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
        paragraph(terms(audit).title.upper(), "kicker"),
        paragraph(words.HEADLINES[found.word], "verdict"),
        paragraph(found.sentence, "lead", 900),
        _basis_note(audit, sheet),
        gap(look.gap),
        *_ladder_and_water(audit, sheet, units, look),
        *_logged(audit, sheet, units, look),
        *_claims(audit, sheet, look),
        gap(look.gap),
        *_actions(audit, sheet, units),
        gap(look.gap / 2),
        *_limits(audit, units, sheet),
    ]


def _basis_note(audit: Audit, sheet: Sheet) -> Flowable:
    """What kind of figures these are, set apart so that it cannot be overlooked."""
    measured = words.measured_nights(audit)
    if words.only_predicted(audit) and measured:
        first = f"{measured} The figures of a year are predictions, not verified savings."
        page = f" (page {sheet.page('measured')})" if sheet.page("measured") else ""
        then = f"What was measured stands by itself{page}, the model was not fitted to it: hence the letter D."
        then = " ".join(part for part in (agreement_in_brief(audit), then) if part)
    elif words.only_predicted(audit):
        first = "These are predictions, not verified savings."
        then = (
            "No log of the running system went into them. That is what the letter D under “Evidence” says: "
            "it is no mark for the roof."
        )
    else:
        first, then = (
            f"{measured or 'Measured where the logs reach.'} The figures are carried on by a model.",
            "The letters under “Evidence” say what each figure rests on; they are no marks for the roof.",
        )
    made = Table([[rich(f'<font name="{style.SERIF_BOLD}">{first}</font> {then}', "body")]], colWidths=[sheet.width])
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


def _ladder_and_water(audit: Audit, sheet: Sheet, units: str, look: Look) -> list[Flowable]:
    """The steps from the roof to the money, each with its bar, and the water beside them with bars of its own."""
    body: list[list[object]] = []
    heads: list[int] = []
    for names, page in ((labels.LADDER, "cooling"), (labels.WATER_BESIDE, "water")):
        left_out = NOT_IN_BRIEF if look.brief else NOT_HERE
        found = [
            (id, quantity) for id in names if id not in left_out and (quantity := words.shown_quantity(audit, id))
        ]
        if not found:
            continue
        if names is labels.WATER_BESIDE:
            heads.append(len(body))
            body.append([f"Water beside it, {words.per(audit)}", *([""] * 6)])
        bars, shown = _bars(found), words.page_rows(audit, found, units)
        body += [
            _answer_row(audit, names, id, quantity, one, bars.get(id, ""), _page_of(sheet, PAGES.get(id, page)))
            for (id, quantity), one in zip(found, shown, strict=True)
        ]
    first = f"From the roof to the money, {words.per(audit)}"
    said = " ".join(text for text in (wasting(audit, units), words.booster_words(audit, units)) if text)
    return [
        _results(first, body, sheet, look, heads),
        *([gap(look.gap / 3), paragraph(said, "small", 700)] if said else []),
    ]


def _page_of(sheet: Sheet, key: str) -> str:
    return sheet.page(key) or sheet.page("cooling")


def _bars(rows: list[tuple[str, Quantity]]) -> dict[str, Flowable]:
    """Bars of the figures that share the first one's unit, to one scale."""
    alike = [(id, quantity) for id, quantity in rows if quantity.unit == rows[0][1].unit]
    ends = [end for _, quantity in alike for end in (quantity.value, quantity.low, quantity.high) if known(end)]
    scale = (min([0.0, *ends]), max([0.0, *ends]))
    return {id: charts.cell_bar(quantity, id, scale, BAR_WIDTH, BAR_HEIGHT) for id, quantity in alike}


def _logged(audit: Audit, sheet: Sheet, units: str, look: Look) -> list[Flowable]:
    """The measured figures of the logged period, where the headline is the year's."""
    if "logged" not in audit.periods or words.headline_period(audit) == "logged":
        return []
    period, names = audit.periods["logged"], {**labels.LADDER, **labels.WATER_BESIDE}
    found = [(id, quantity) for id in LOGGED_IDS if (quantity := words.found(audit, id, "logged"))]
    found = found[:LOGGED_IN_BRIEF] if look.brief else found
    shown = words.page_rows(audit, found, units, owners_scale=False)
    rows = [
        _answer_row(audit, names, id, quantity, one, "", sheet.page("measured"))
        for (id, quantity), one in zip(found, shown, strict=True)
    ]
    return [gap(look.gap / 2), _results(f"Logged, {period.start} to {period.end}", rows, sheet, look)]


def _results(
    head: str, rows: list[list[object]], sheet: Sheet, look: Look, heads: Sequence[int] = ()
) -> Flowable:
    return table(
        (head, "", "Most likely", "9 chances in 10: between", "How found", "Evidence", "Page"),
        rows,
        shares(sheet.width, 30, 11, 14.5, 20, 10.5, 9.5, 4.5),
        right=(6,),
        bold=heads,
        wraps=(0, 2),
        padding=look.padding,
        wide_head=True,
    )


def _answer_row(
    audit: Audit, names: dict[str, str], id: str, quantity: Quantity, shown: Printed, bar: object, page: str
) -> list[object]:
    low_high = f"{shown.low} and {shown.high}"
    if shown.low == numbers.NOT_KNOWN:
        low_high = numbers.NOT_KNOWN
    elif shown.low == shown.high:
        low_high = "always 0" if shown.low == "0" else "one figure"
    if id in words.SIGNED_IDS and quantity.spans_zero:
        low_high += " *"
    label = words.row_label(audit, names, id)
    return [
        f"{numbers.NO_BREAK * 3}{label}" if label[:1].islower() else label,
        bar,
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
