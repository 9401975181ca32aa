"""Writes results into a folder: all of them, or none.

Everything is made in a folder of its own inside the target and moved in at the end. Earlier files are first moved
aside; if one of them cannot be replaced, all come back, so that an earlier result stays whole.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from sprayroof.errors import Problem, SprayroofError

if TYPE_CHECKING:
    from sprayroof.auditing import AuditRun
    from sprayroof.results import Audit

REPORT_FILES = ("report.pdf", "workbook.xlsx")
FILES = ("audit.json", *REPORT_FILES, "nights.csv", "steps.csv")


class CannotWrite(SprayroofError):
    """The results cannot be written where they were asked for."""


def check_folder(folder: str | Path) -> None:
    """Refuse a folder that cannot be one, before any work is done.

    Raises
    ------
    CannotWrite
        It, or a folder above it, is a file; or one of the results' names in it is a folder.
    """
    folder = Path(folder)
    for place in (folder, *folder.parents):
        if os.path.isfile(place):
            raise _cannot(place, "is a file", "wanted a folder for the results", "give a folder with --out")
    for name in FILES:
        _check_is_no_folder(folder / name)


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
        The folder cannot be made, or a file in it is open elsewhere or write-protected. Earlier files are as they were.
    """
    from sprayroof.report.tables import write_nights_csv
    from sprayroof.report.write import write_report

    with _workshop(Path(folder)) as workshop:
        (workshop / "audit.json").write_text(run.audit.to_json(), encoding="utf-8", newline="\n")
        write_report(run.audit, workshop, units)
        write_nights_csv(run.audit, workshop / "nights.csv")
        run.steps.to_csv(workshop / "steps.csv", index=False, float_format="%.6g", encoding="utf-8",
                         lineterminator="\n")
        return _put_in_place(workshop, Path(folder), FILES)


def write_rendered(record: Audit, folder: str | Path, units: str = "si") -> list[Path]:
    """Write report and workbook of a record (arguments and errors as `write_all`)."""
    from sprayroof.report.write import write_report

    with _workshop(Path(folder)) as workshop:
        write_report(record, workshop, units)
        return _put_in_place(workshop, Path(folder), REPORT_FILES)


@contextlib.contextmanager
def _workshop(folder: Path) -> Iterator[Path]:
    """A folder inside the target to make files in; it goes at the end."""
    check_folder(folder)
    workshop = None
    try:
        folder.mkdir(parents=True, exist_ok=True)
        workshop = Path(tempfile.mkdtemp(prefix=".writing-", dir=folder))
        yield workshop
    except OSError as error:
        raise _cannot(folder, f"cannot be written ({error.strerror or error})", "wanted a folder one may write to",
                      "choose another folder with --out") from error
    finally:
        if workshop is not None:
            shutil.rmtree(workshop, ignore_errors=True)


def _put_in_place(workshop: Path, folder: Path, names: tuple[str, ...]) -> list[Path]:
    """Move new files in and earlier ones out, or leave all as it was."""
    earlier = workshop / "earlier"
    earlier.mkdir()
    placed: list[str] = []
    for name in names:
        try:
            _exchange(workshop / name, folder / name, earlier / name)
        except OSError as error:
            _put_back(folder, earlier, placed)
            raise _cannot(folder / name, f"cannot be replaced ({error.strerror or error})",
                          "wanted a file that nothing else holds open; all earlier results are as they were",
                          "close it, or choose another folder with --out") from error
        placed.append(name)
    return [folder / name for name in names]


def _exchange(new: Path, target: Path, aside: Path) -> None:
    """`new` takes the place of `target`, which goes aside; if that fails, `target` is where it was."""
    there = os.path.lexists(target)
    if there:
        os.replace(target, aside)
    try:
        os.replace(new, target)
    except OSError:
        if there:
            os.replace(aside, target)
        raise


def _put_back(folder: Path, earlier: Path, placed: list[str]) -> None:
    for name in placed:
        if os.path.lexists(earlier / name):
            os.replace(earlier / name, folder / name)
        else:
            os.unlink(folder / name)


def _check_is_no_folder(path: Path) -> None:
    if os.path.isdir(path):
        raise _cannot(path, "is a folder", "wanted no folder of that name among the results",
                      "move it away, or choose another folder with --out")


def _cannot(where: Path, found: str, wanted: str, do: str) -> CannotWrite:
    return CannotWrite(str(Problem(str(where), found, wanted, do)))
