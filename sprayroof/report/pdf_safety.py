"""The owner's page on safety and upkeep: cautions, who must act, upkeep, what may be said in public."""

from __future__ import annotations

from reportlab.platypus import Flowable, KeepTogether

from sprayroof.report import numbers, words
from sprayroof.report.cautions import GROUPS, OWNER, cautions
from sprayroof.report.pdf_layout import Sheet, gap, paragraph, shares, table
from sprayroof.report.terms import has_panels
from sprayroof.results import Audit


def safety_page(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    """The page as flowables, without its title."""
    apply = cautions(audit)
    story: list[Flowable] = [
        paragraph(
            "Local codes and licensed practice come first. This report does not decide how a law classes the water, "
            "the roof or the machine; where it and a code differ, the code holds."
        )
    ]
    for group in GROUPS:
        rows = [
            [
                paragraph(caution.name, "cell_bold"),
                paragraph(caution.text(audit, units), "small", 700),
                paragraph(caution.who, "small"),
            ]
            for caution in apply
            if caution.group == group
        ]
        if rows:
            story += [
                table((group, "", "Who acts"), rows, shares(sheet.width, 25, 54, 21), padding=2.0, wide_head=True),
                gap(8),
            ]
    return [*story, *_upkeep(audit, sheet), *_public(audit, units)]


UPKEEP = (
    (
        "Every week of the season",
        "Look at the roof from a safe place while it sprays: nozzles, spray beyond the edge, outlets. "
        "Read the meters and write them down.",
        OWNER,
    ),
    (
        "Every month",
        "Clean the strainer and the filter. Look into the store from above: level, smell, slime, insects.",
        OWNER,
    ),
    (
        "Before the season",
        "Start up by the water safety plan: clean, flush, treat. Try the frost, rain and wind stops.",
        "Controls technician; water hygienist",
    ),
    (
        "After the season",
        "Drain what can freeze. Clear outlets and overflows. Look at fixings and coating of the roof.",
        "Owner; roofer",
    ),
    (
        "Every year",
        "Backflow protection, electrical protection, labels; compare the meters with this report.",
        "Licensed plumber; licensed electrician",
    ),
)


# Of closed panels, in place of the rows above.
UPKEEP_OF_PANELS = {
    "Every week of the season": (
        "Look at the panels from a safe place: leaks, loose fixings, torn film. Read the meters and write them down.",
        OWNER,
    ),
    "Before the season": (
        "Fill and vent the loop, look for leaks under pressure, wash the panels. Try the frost stop.",
        "Controls technician; plumber",
    ),
    "After the season": (
        "Drain what can freeze. Clear outlets and overflows. Look at fixings, joints and the roof beneath.",
        "Owner; roofer",
    ),
}


def _upkeep(audit: Audit, sheet: Sheet) -> list[Flowable]:
    other = UPKEEP_OF_PANELS if has_panels(audit) else {}
    told = [(when, *other.get(when, (what, who))) for when, what, who in UPKEEP]
    rows = [
        [paragraph(when, "cell_bold"), paragraph(what, "small"), paragraph(who, "small")] for when, what, who in told
    ]
    upkeep = next(
        (fact for fact in audit.site.get("facts", ()) if fact["entry"] == "prices.upkeep" and fact.get("given")), None
    )
    money = (
        ""
        if upkeep is None
        else (
            f"The money figures count {numbers.exact(upkeep['value'])} {words.currency(audit)} a year for upkeep, as "
            "the site file states."
        )
    )
    return [
        KeepTogether(
            [
                paragraph("Upkeep through the year", "question"),
                table(("When", "What", "Who acts"), rows, shares(sheet.width, 25, 54, 21), padding=2.0),
                paragraph(money or "The site file states no cost of upkeep.", "note"),
            ]
        )
    ]


def _public(audit: Audit, units: str) -> list[Flowable]:
    lines = [paragraph(sentence, "body") for sentence in words.public_sentences(audit, units)]
    return [
        KeepTogether(
            [
                paragraph("What may be said in public", "question"),
                *lines,
                paragraph(
                    "Always the range with the figure, and always how it was found. Not the best case alone, not a "
                    "figure without its water, and nothing of savings as settled before meters have shown them.",
                    "note",
                ),
            ]
        )
    ]
