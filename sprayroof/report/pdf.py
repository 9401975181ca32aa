"""report.pdf: the owner's pages and the technical appendix."""

from __future__ import annotations

import hashlib
from datetime import UTC, date, datetime
from pathlib import Path

from sprayroof.report import style
from sprayroof.report.pdf_appendix import appendix_story
from sprayroof.report.pdf_layout import EPOCH, Sheet, lay_out
from sprayroof.report.pdf_owner import owner_story
from sprayroof.report.terms import has_panels, terms
from sprayroof.report.text import visible
from sprayroof.results import Audit


def run_mark(audit: Audit) -> str:
    """The first ten hexadecimal digits of the sha256 of the record's text."""
    return hashlib.sha256(audit.to_json().encode("utf-8", "surrogatepass")).hexdigest()[:10]


def maker(audit: Audit) -> str:
    """The program and version that made the record, as the record names them."""
    version = (audit.made.get("versions") or {}).get("sprayroof") or ""
    return f"sprayroof {visible(version, 20)}".strip()


def subject(audit: Audit) -> str:
    """What report and workbook are about, for their metadata."""
    what = "closed panels on a roof" if has_panels(audit) else "a sprayed roof"
    return f"Cooling, water, electricity and money of {what}, with ranges"


def created(audit: Audit) -> datetime:
    """The report's date as the files' date of creation: the clock must not enter the bytes."""
    text = str(audit.site.get("report_date") or "")
    try:
        return datetime.combine(date.fromisoformat(text[:10]), datetime.min.time(), tzinfo=UTC)
    except ValueError:
        return EPOCH


def write_pdf(audit: Audit, path: Path, units: str = "si") -> None:
    """Write the report of `audit` to `path`.

    Parameters
    ----------
    audit : Audit
        With at least one period.
    path : Path
        File to write; its folder exists.
    units : str
        "si" or "ip".
    """
    style.register_fonts()
    name = visible(audit.site.get("name") or "Site without a name", 200)
    sheet = Sheet(
        size=style.PAPERS.get(audit.site.get("paper", "A4"), style.PAPERS["A4"]),
        head_left=name,
        head_right=terms(audit).title,
        foot_left=f"{maker(audit)} · run {run_mark(audit)} · {visible(audit.site.get('report_date'), 20)}",
        title=f"{terms(audit).title}: {name}",
        author=visible(audit.site.get("auditor") or "", 200),
        subject=subject(audit),
        created=created(audit),
    )
    lay_out(path, sheet, lambda sheet: owner_story(audit, sheet, units) + appendix_story(audit, sheet, units))
