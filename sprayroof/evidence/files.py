"""Where an evidence file lies, its bytes, its fingerprint, and the name under which it is shown.

A file lies beside the site file, or inside an installed Python package that carries data. Packages are
found without being imported. Shown names never hold the folders of the machine.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path, PurePosixPath

from sprayroof.evidence.gather import Gather

LARGEST_BYTES = 300_000_000


@dataclass(frozen=True)
class EvidenceFile:
    """A file as read: its shown name, its bytes and their SHA-256."""

    where: str
    raw: bytes
    sha256: str

    def entry(self, rows: int, span: str, use: str) -> dict[str, object]:
        """The row of `Weather.inputs` for this file."""
        return {"file": self.where, "sha256": self.sha256, "rows": rows, "span": span, "use": use}


def read_evidence(folder: Path, name: str, package: str | None, entry: str, gather: Gather) -> EvidenceFile | None:
    """The bytes of `name`, relative to `folder` or inside the installed package `package`.

    Parameters
    ----------
    folder : Path
        Folder of the site file.
    name : str
        File as written in the site file.
    package : str or None
        Name of an installed package that holds the file.
    entry : str
        Entry of the site file, for messages ("weather.file").
    gather : Gather
        Receives the problem if there is no such file.

    Returns
    -------
    EvidenceFile or None
        None after a problem.
    """
    where = shown_name(name, package)
    path = _in_package(package, name, entry, gather) if package else Path(folder) / name
    if path is None:
        return None
    try:
        if path.stat().st_size > LARGEST_BYTES:
            gather.problem(
                where,
                f"{path.stat().st_size / 1e6:.0f} MB",
                f"at most {LARGEST_BYTES / 1e6:.0f} MB",
                "cut the export to the period of the audit",
            )
            return None
        raw = path.read_bytes()
    except FileNotFoundError:
        gather.problem(
            f"site file, {entry}",
            f"there is no file {where}",
            "a file inside the package" if package else "the path of a file, relative to the site file",
            "correct the entry or put the file there",
        )
        return None
    except (OSError, ValueError) as error:
        gather.problem(
            where,
            f"cannot be read ({getattr(error, 'strerror', None) or error})",
            "a readable file",
            "check that it is a file and that you may read it",
        )
        return None
    return EvidenceFile(where, raw, hashlib.sha256(raw).hexdigest())


def shown_name(name: str, package: str | None) -> str:
    """`pvlib: data/x.csv` for a file of a package; the relative path, or the bare name of an absolute one."""
    if package:
        return f"{package}: {name.replace(chr(92), '/')}"
    return Path(name).name if Path(name).is_absolute() else name.replace("\\", "/")


def _in_package(package: str, name: str, entry: str, gather: Gather) -> Path | None:
    section = entry.rpartition(".")[0]
    if not re.fullmatch(r"[A-Za-z_][A-Za-z0-9_]*(\.[A-Za-z_][A-Za-z0-9_]*)*", package):
        gather.problem(
            f"site file, {section}.package",
            f"{package!r}",
            "the name of an installed Python package",
            "write the name under which it is imported",
        )
        return None
    roots = _package_folders(package)
    if not roots:
        gather.problem(
            f"site file, {section}.package",
            f"no package {package!r} with files is installed",
            "an installed Python package",
            f"install {package} or give a path with {entry} alone",
        )
        return None
    relative = PurePosixPath(name.replace("\\", "/"))
    candidates = [(root / relative).resolve() for root in roots]
    if relative.is_absolute() or not any(
        path.is_relative_to(root) for path, root in zip(candidates, roots, strict=True)
    ):
        gather.problem(
            f"site file, {entry}",
            f"{name!r} leads out of the package {package}",
            "a path inside the package",
            "write it relative to the package folder, without ..",
        )
        return None
    return next((path for path in candidates if path.is_file()), candidates[0])


def _package_folders(package: str) -> list[Path]:
    # find_spec of a top-level name only looks; with a dotted name it would run the package, so the rest is a folder
    top, *inner = package.split(".")
    try:
        spec = find_spec(top)
    except (ImportError, ValueError):
        return []
    locations = list(spec.submodule_search_locations or []) if spec else []
    folders = [Path(location, *inner).resolve() for location in locations]
    return [folder for folder in folders if folder.is_dir()]
