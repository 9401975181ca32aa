"""The owner's pages in their order: answer, what was measured, cooling, water, money, what could change, safety."""

from __future__ import annotations

from reportlab.platypus import Flowable, PageBreak

from sprayroof.report.pdf_answer import answer_page
from sprayroof.report.pdf_cooling import cooling_page
from sprayroof.report.pdf_layout import Sheet, section
from sprayroof.report.pdf_measured import has_measured_page, measured_page
from sprayroof.report.pdf_money import has_money_page, money_page
from sprayroof.report.pdf_options import options_page
from sprayroof.report.pdf_safety import safety_page
from sprayroof.report.pdf_water import water_page
from sprayroof.results import Audit


def owner_story(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    """All owner's pages; each starts a page. Without prices or options in the record there is no page of them."""
    pages = [("cooling", "Cooling", cooling_page), ("water", "Water", water_page)]
    if has_measured_page(audit):
        pages.insert(0, ("measured", "What was measured", measured_page))
    if has_money_page(audit):
        pages.append(("money", "Money", money_page))
    if audit.options:
        pages.append(("options", "What could change", options_page))
    pages.append(("safety", "Safety and upkeep", safety_page))
    story = answer_page(audit, sheet, units)
    for key, name, page in pages:
        story += [PageBreak(), *section(key, name, level=0), *page(audit, sheet, units)]
    return story
