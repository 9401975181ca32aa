"""What an audit *is*: plain values with ranges, to and from audit.json.

Nothing here knows how a figure was found. Readers (report, workbook, command line) need this module only.
"""

from __future__ import annotations

import json
import math
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path
from typing import Any

from sprayroof.errors import AuditFileProblems, Problem

FORMAT = 1
BASES = ("measured", "fitted", "modelled", "assumed")
GRADES = ("A", "B", "C", "D")
LEVELS = ("note", "doubt", "stop")
VERDICTS = ("supported", "not supported", "cannot tell")


@dataclass(frozen=True)
class Quantity:
    """A result with its range.

    Parameters
    ----------
    value, low, high : float
        Best estimate and the ends of the 90 % interval, in `unit`.
    unit : str
        Unit as in the catalogue ("kWh", "m3", "1", ...).
    label : str
        What it is, in a few words.
    basis : str
        One of `BASES`.
    grade : str
        One of `GRADES`.
    """

    value: float
    low: float
    high: float
    unit: str
    label: str
    basis: str
    grade: str

    def __post_init__(self) -> None:
        if self.basis not in BASES or self.grade not in GRADES:
            raise ValueError(f"basis {self.basis!r} or grade {self.grade!r} is not one of {BASES}, {GRADES}")

    @property
    def spans_zero(self) -> bool:
        """True where the range leaves the sign open."""
        return self.low < 0.0 < self.high


@dataclass(frozen=True)
class Finding:
    """Something the reader must know about the evidence or the result.

    Parameters
    ----------
    code : str
        A code of `sprayroof.catalogue.FINDINGS`.
    level : str
        note (for the record), doubt (weakens the result), stop (no result until mended).
    message : str
        One sentence with the values seen.
    where : str
        File, row, entry.
    data : dict
        The values that prove it, JSON types only.
    effect : str
        What it does to the headline.
    """

    code: str
    level: str
    message: str
    where: str = ""
    data: dict[str, Any] = field(default_factory=dict)
    effect: str = ""

    def __post_init__(self) -> None:
        if self.level not in LEVELS:
            raise ValueError(f"level {self.level!r} is not one of {LEVELS}")


@dataclass(frozen=True)
class Option:
    """What a change would do: differences to the present system on the same draws.

    `changes` maps a quantity id to {"value", "low", "high", "unit"}; `cost` and `payback_years` are
    {"value", "low", "high"} or None.
    """

    name: str
    changes: dict[str, dict[str, Any]]
    cost: dict[str, float] | None = None
    payback_years: dict[str, float] | None = None
    side_effects: tuple[str, ...] = ()


@dataclass(frozen=True)
class Claim:
    """A claim made for the system, held against the ensemble (verdict: one of `VERDICTS`)."""

    claim: str
    id: str
    claimed: float
    probability: float
    verdict: str


@dataclass(frozen=True)
class Period:
    """A stretch of time (ISO dates, end excluded) and its quantities by id."""

    start: str
    end: str
    quantities: dict[str, Quantity]


@dataclass(frozen=True)
class Audit:
    """A complete audit, frozen and versioned. See docs/reference/audit_json.md for each part.

    Parameters
    ----------
    site : dict
        name, place, owner, auditor, report_date, currency, paper, facts (table of all facts with source),
        traits (yes/no and text facts that cautions depend on).
    periods : dict of str to Period
        "logged" where there are logs, and "year".
    findings, options, claims : tuple
    fit : dict
        Fitted coefficients; empty without logs.
    closure : dict
        Largest residuals of the water, heat and salt balances.
    months : tuple of dict
        Twelve rows: month ("01".."12") and quantity id -> {"value","low","high"}.
    nights : tuple of dict
        A row a night, best estimate.
    inputs : tuple of dict
        file, sha256, rows, span, use.
    assumptions : tuple of dict
        label, entry, value, low, high, unit, source, effect (on cooling_useful_kWh), effect_unit.
    series : dict
        Short series for pictures: name -> {"title", "unit", "time": [...], "values": {label: [...]}}.
    made : dict
        versions, seed, command, runs, weather model names.
    logged : dict
        What the meters say without a model, where there are logs, bills or twins: nights, months, totals, tests,
        on_off, coverage, notes, bills, twins; else empty. See docs/reference/audit_json.md.
    """

    site: dict[str, Any]
    periods: dict[str, Period]
    findings: tuple[Finding, ...]
    fit: dict[str, Any]
    options: tuple[Option, ...]
    claims: tuple[Claim, ...]
    closure: dict[str, Any]
    months: tuple[dict[str, Any], ...]
    nights: tuple[dict[str, Any], ...]
    inputs: tuple[dict[str, Any], ...]
    made: dict[str, Any]
    assumptions: tuple[dict[str, Any], ...] = ()
    series: dict[str, Any] = field(default_factory=dict)
    logged: dict[str, Any] = field(default_factory=dict)
    format: int = FORMAT

    def quantity(self, id: str, period: str = "year") -> Quantity:
        """The quantity `id` of `period` (KeyError if either is absent)."""
        return self.periods[period].quantities[id]

    def to_json(self) -> str:
        """The record as JSON text: full precision, stable order, no NaN (written as null)."""
        record = asdict(self)
        record["periods"] = {
            name: {"from": period.start, "to": period.end,
                   "quantities": {id: asdict(quantity) for id, quantity in period.quantities.items()}}
            for name, period in self.periods.items()
        }
        ordered = {"format": record.pop("format"), **record}
        return json.dumps(_without_nan(ordered), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


_WANTED = "wanted an audit.json written by sprayroof"
_AGAIN = "run `sprayroof audit` again"


def audit_from_json(text: str, where: str) -> Audit:
    """An `Audit` from the text of an audit.json.

    Parameters
    ----------
    text : str
        The whole file.
    where : str
        Name of the file, for messages.

    Raises
    ------
    AuditFileProblems
        Not JSON, another format version, or parts missing.
    """
    try:
        record = json.loads(text)
    except ValueError as error:
        raise AuditFileProblems([Problem(where, f"not readable as JSON ({error})", _WANTED, _AGAIN)]) from error
    problems = _problems_of_record(record, where)
    if problems:
        raise AuditFileProblems(problems)
    try:
        return _audit_from_record(record)
    except (TypeError, KeyError, ValueError, AttributeError) as error:
        raise AuditFileProblems([Problem(where, f"a part is damaged ({error})", _WANTED, _AGAIN)]) from error


def read_audit(path: str | Path) -> Audit:
    """The same `Audit` that `audit` wrote to `path`.

    Parameters
    ----------
    path : path
        The audit.json, or the folder that holds it.

    Raises
    ------
    AuditFileProblems
        No such file, not JSON, another format version, or parts missing.
    """
    path = Path(path)
    if path.is_dir():
        path = path / "audit.json"
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        inner = path.parent / "audit" / path.name
        do = f"give {inner}" if inner.is_file() and not path.exists() else "give the path of the audit.json itself"
        found = f"cannot be read ({_why_unreadable(path, error)})"
        raise AuditFileProblems([Problem(str(path), found, _WANTED, do)]) from error
    return audit_from_json(text, str(path))


def _why_unreadable(path: Path, error: Exception) -> str:
    """In words; a file that is no text is named by what it seems to be."""
    if isinstance(error, FileNotFoundError):
        return "no such file"
    if not isinstance(error, UnicodeDecodeError):
        return getattr(error, "strerror", None) or str(error)
    kinds = {".pdf": "a PDF, which holds the pages but not the record", ".xlsx": "a workbook, which is not the record"}
    return f"it is {kinds.get(path.suffix.lower(), 'not text')}"


def _problems_of_record(record: Any, where: str) -> list[Problem]:
    if not isinstance(record, dict):
        return [Problem(where, "the file is not an audit record", _WANTED,
                        "give the path of the audit.json itself")]
    if record.get("format") != FORMAT:
        return [Problem(where, f"format {record.get('format')!r}", f"wanted format {FORMAT}",
                        "read it with the sprayroof version named in its \"made\" part, or run the audit again")]
    optional = {"assumptions", "series", "logged", "format"}
    missing = [part.name for part in fields(Audit) if part.name not in record and part.name not in optional]
    return [Problem(f"{where}, {name}", "missing", "wanted every part of an audit record", _AGAIN) for name in missing]


def _audit_from_record(record: dict[str, Any]) -> Audit:
    periods = {
        name: Period(period["from"], period["to"],
                     {id: Quantity(**_nan_back(quantity)) for id, quantity in period["quantities"].items()})
        for name, period in record["periods"].items()
    }
    options = tuple(Option(**{**option, "side_effects": tuple(option["side_effects"])}) for option in record["options"])
    return Audit(
        site=record["site"], periods=periods,
        findings=tuple(Finding(**finding) for finding in record["findings"]),
        fit=record["fit"], options=options, claims=tuple(Claim(**claim) for claim in record["claims"]),
        closure=record["closure"], months=tuple(record["months"]), nights=tuple(record["nights"]),
        inputs=tuple(record["inputs"]), made=record["made"],
        assumptions=tuple(record.get("assumptions", ())), series=record.get("series", {}),
        logged=record.get("logged", {}),
    )


def _nan_back(quantity: dict[str, Any]) -> dict[str, Any]:
    return {key: (math.nan if value is None and key in ("value", "low", "high") else value)
            for key, value in quantity.items()}


def _without_nan(node: Any) -> Any:
    if isinstance(node, dict):
        return {key: _without_nan(value) for key, value in node.items()}
    if isinstance(node, (list, tuple)):
        return [_without_nan(value) for value in node]
    if isinstance(node, float) and not math.isfinite(node):
        return None
    return node
