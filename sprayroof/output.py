"""Writes the results of an audit into a folder: all of them, or none.

Everything is made in a folder of its own beside the target and moved in at the end, so that a failed run leaves an
earlier result as it was.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from sprayroof.errors import Problem, SprayroofError

if TYPE_CHECKING:
    from sprayroof.auditing import AuditRun

FILES = ("audit.json", "report.pdf", "workbook.xlsx", "nights.csv", "steps.csv")


class CannotWrite(SprayroofError):
    """The results cannot be written where they were asked for."""


def write_all(run: AuditRun, folder: str | Path, units: str = "si") -> list[Path]:
    """Write the five files of an audit.

    Parameters
    ----------
    run : AuditRun
    folder : path
        Made if absent.
    units : str
        "si" or "ip", for report and workbook.

    Returns
    -------
    list of Path
        The files, in the order of `FILES`.

    Raises
    ------
    CannotWrite
        The folder cannot be made, or a file in it is open elsewhere or write-protected.
    """
    from sprayroof.report.tables import write_nights_csv
    from sprayroof.report.write import write_report

    folder = Path(folder)
    workshop = None
    try:
        folder.mkdir(parents=True, exist_ok=True)
        workshop = Path(tempfile.mkdtemp(prefix=".writing-", dir=folder))
        (workshop / "audit.json").write_text(run.audit.to_json(), encoding="utf-8", newline="\n")
        write_report(run.audit, workshop, units)
        write_nights_csv(run.audit, workshop / "nights.csv")
        run.steps.to_csv(workshop / "steps.csv", index=False, float_format="%.6g", encoding="utf-8",
                         lineterminator="\n")
        for name in FILES:
            os.replace(workshop / name, folder / name)
    except OSError as error:
        problem = Problem(str(folder), f"cannot be written ({error.strerror})", "a folder one may write to",
                          "close files of an earlier audit that are open, or choose another folder with --out")
        raise CannotWrite(str(problem)) from error
    finally:
        if workshop is not None:
            shutil.rmtree(workshop, ignore_errors=True)
    return [folder / name for name in FILES]
