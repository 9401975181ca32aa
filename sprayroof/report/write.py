"""The one door to report and workbook."""

from __future__ import annotations

from pathlib import Path

from sprayroof.errors import AuditFileProblems, Problem
from sprayroof.report.atomic import replacing
from sprayroof.report.numbers import UNIT_SYSTEMS
from sprayroof.results import Audit


def write_report(audit: Audit, folder: str | Path, units: str = "si") -> dict[str, Path]:
    """Write report.pdf and workbook.xlsx of `audit` into `folder`.

    Both are written under temporary names and moved into place together; if one cannot be made, earlier files stay.
    The same audit and units give the same bytes.

    Parameters
    ----------
    audit : Audit
        With at least one period.
    folder : str or Path
        Made if it does not exist.
    units : str
        "si", or "ip": kBtu for heat, US gal, ft2, degF; electricity stays in kWh.

    Returns
    -------
    dict of str to Path
        "report" and "workbook".

    Raises
    ------
    ValueError
        `units` is neither.
    AuditFileProblems
        The audit holds no period, so there is nothing to report.
    """
    from sprayroof.report.pdf import write_pdf
    from sprayroof.report.workbook import write_workbook

    if units not in UNIT_SYSTEMS:
        raise ValueError(f"units {units!r} is not one of {UNIT_SYSTEMS}")
    if not audit.periods:
        raise AuditFileProblems(
            [Problem("audit, periods", "none", "at least the reference year", "run `sprayroof audit` again")]
        )
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    paths = {"report": folder / "report.pdf", "workbook": folder / "workbook.xlsx"}
    with replacing(paths["report"], paths["workbook"]) as (report, workbook):
        write_pdf(audit, report, units)
        write_workbook(audit, workbook, units)
    return paths
