"""The paragraph behind a name: a quantity, a finding code or an entry of the site file."""

from __future__ import annotations

import difflib
import textwrap

from sprayroof.catalogue import FINDINGS, QUANTITIES
from sprayroof.errors import InputProblems, Problem
from sprayroof.results import Audit

WIDTH = 88


def explain(name: str, audit: Audit | None = None) -> str:
    """What a name means, and what it came to in an audit.

    Parameters
    ----------
    name : str
        Identifier of a quantity, code of a finding, or dotted entry of the site file.
    audit : Audit, optional
        Tell its values or occurrences there too.

    Returns
    -------
    str
        Text of a few lines.

    Raises
    ------
    InputProblems
        Nothing has that name; the nearest one is named.
    """
    if name in QUANTITIES:
        return _quantity(name, audit)
    if name in FINDINGS:
        return _finding(name, audit)
    return _entry(name, audit)


def _quantity(name: str, audit: Audit | None) -> str:
    meaning = QUANTITIES[name]
    parts = [f"{name}: {meaning.label} [{meaning.unit}]", _wrapped(meaning.meaning)]
    for label, period in (audit.periods.items() if audit else ()):
        if name in period.quantities:
            one = period.quantities[name]
            parts.append(f"In this audit, {label} {period.start} to {period.end}: {one.value:.6g} {one.unit}, "
                         f"90 % range {one.low:.6g} to {one.high:.6g}; {one.basis}, grade {one.grade}.")
    return "\n".join(parts)


def _finding(name: str, audit: Audit | None) -> str:
    meaning = FINDINGS[name]
    parts = [f"{name} ({meaning.level}): {meaning.title}", _wrapped(meaning.meaning)]
    if audit:
        seen = [finding for finding in audit.findings if finding.code == name]
        told = [f"In this audit: {finding.message} {finding.effect}" for finding in seen]
        parts += told or ["Not found in this audit."]
    return "\n".join(parts)


def _entry(name: str, audit: Audit | None) -> str:
    from sprayroof.evidence.site_words import entry_names, explain_entry

    names = entry_names()
    if name not in names:
        known = [*QUANTITIES, *FINDINGS, *names]
        close = difflib.get_close_matches(name, known, n=1)
        raise InputProblems([Problem(
            "explain", f"nothing is called {name!r}" + (f"; the nearest is {close[0]!r}" if close else ""),
            "a quantity, a finding code or an entry of the site file",
            "see docs/reference for all names")])
    parts = [f"{name} (entry of the site file)", _wrapped(explain_entry(name) or "")]
    for row in (audit.site["facts"] if audit else ()):
        if row["entry"] == name:
            parts.append(f"In this audit: {row['value']:g} {row['unit']} ({row['low']:g} to {row['high']:g}), "
                         f"source: {row['source']}.")
    return "\n".join(parts)


def _wrapped(text: str) -> str:
    return textwrap.fill(text, WIDTH)
