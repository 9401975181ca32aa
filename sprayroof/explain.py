"""The paragraph behind a name: a quantity, a finding code, an entry, section or choice of the site file, a grade, or a
printed label.
"""

from __future__ import annotations

import difflib
import re
import textwrap
from typing import Any

from sprayroof.catalogue import FINDINGS, QUANTITIES
from sprayroof.errors import InputProblems, Problem
from sprayroof.results import Audit

WIDTH = 88
# Names less alike than this are not offered: a far-off suggestion misleads.
ALIKE = 0.75
# Entries that one word may stand for ("area") before they are only named.
MOST_ENTRIES = 3


def explain(name: str, audit: Audit | None = None) -> str:
    """What a name means, and what it came to in an audit.

    Parameters
    ----------
    name : str
        Identifier of a quantity, code of a finding, dotted entry of the site file (with list numbers or without) or the
        end of one, a section of it, a choice that an entry offers, a grade, a label as the report prints it, or a word
        that it uses.
        Labels may be written in capitals or not.
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
    name = name.strip()
    note = _panels_note(audit)
    return _paragraph(name, audit) + (f"\n{note}" if note else "")


def _panels_note(audit: Audit | None) -> str:
    """How to read the paragraphs beside the audit of a site with closed panels."""
    from sprayroof.report.terms import has_panels

    if audit is None or not has_panels(audit):
        return ""
    return _wrapped("This site has closed panels: what is said of spraying is said of the panel loop.")


def _paragraph(name: str, audit: Audit | None) -> str:
    if name in QUANTITIES:
        return _quantity(name, audit)
    if name in FINDINGS:
        return _finding(name, audit)
    labelled = _labelled_quantities(name)
    if labelled:
        return "\n\n".join(_quantity(id, audit) for id in labelled)
    if re.fullmatch(r"(grades?)?\s*[a-d]?", name, re.IGNORECASE) and name:
        return _grades(name.split()[-1].upper())
    if told := _word(name, audit):
        return told
    return _entries(name, audit)


def _word(name: str, audit: Audit | None) -> str:
    """A word of the report that is neither figure nor entry, with the entries it leads to; "" where it is none."""
    from sprayroof.report.glossary import word

    found = word(name)
    if found is None:
        return ""
    return "\n\n".join([f"{name}: a word of the report\n{_wrapped(found.meaning)}",
                        *(_entry(entry, entry, audit) for entry in found.entries)])


def _labelled_quantities(name: str) -> list[str]:
    """Identifiers whose label in the catalogue or on the report's pages is `name`."""
    from sprayroof.report.words import labelled

    return labelled(name)


def _grades(letter: str) -> str:
    from sprayroof.report.words import GRADE_WORDS

    told = {letter: GRADE_WORDS[letter]} if letter in GRADE_WORDS else GRADE_WORDS
    rows = [_wrapped(f"{grade}: {meaning}.") for grade, meaning in told.items()]
    return "\n".join(["grade: what a figure rests on, and how far it holds (A is the best).", *rows])


def _quantity(name: str, audit: Audit | None) -> str:
    meaning = QUANTITIES[name]
    parts = [f"{name}: {meaning.label} [{meaning.unit}]", _wrapped(meaning.meaning)]
    for label, period in (audit.periods.items() if audit else ()):
        if name in period.quantities:
            one = period.quantities[name]
            value, low, high = (_number(end, one.unit) for end in (one.value, one.low, one.high))
            parts.append(f"In this audit, {label} {period.start} to {period.end}: {value} {one.unit}, "
                         f"90 % range {low} to {high}; {one.basis}, grade {one.grade}.")
    return "\n".join(parts)


def _number(value: float, unit: str) -> str:
    """Six digits, and 0 for what is nothing in print."""
    from sprayroof.report.numbers import is_nothing

    return "0" if is_nothing(value, unit) else f"{value:.6g}"


def _finding(name: str, audit: Audit | None) -> str:
    meaning = FINDINGS[name]
    parts = [f"{name} ({meaning.level}): {meaning.title}", _wrapped(meaning.meaning)]
    if audit:
        seen = [finding for finding in audit.findings if finding.code == name]
        told = [f"In this audit: {finding.message} {finding.effect}" for finding in seen]
        parts += told or ["Not found in this audit."]
    return "\n".join(parts)


def _entries(name: str, audit: Audit | None) -> str:
    """An entry by its dotted name, by its label or the end of its name (several where one stands for several), a
    section, or a choice."""
    from sprayroof.evidence.site_file.words import choices, entry_labels, entry_names, section_paragraph

    names, plain = entry_names(), without_numbers(name)
    if plain in names:
        return _entry(plain, name, audit)
    wanted = name.casefold()
    offering = [entry for entry, words in choices().items() if any(wanted in (one, *one.split()) for one in words)]
    found = [entry for entry, label in entry_labels().items() if label.casefold() == wanted]
    end = wanted.replace(" ", "_")  # an entry may be asked for in words
    found += [entry for entry in names if entry.rpartition(".")[2] == end and entry not in found]
    if (section := section_paragraph(wanted)) is not None:
        return "\n\n".join([section, *(_choice(name, entry, audit) for entry in offering)])
    if not found and not offering:
        raise InputProblems([_not_found(name, [*QUANTITIES, *FINDINGS, *names])])
    if len(found) > MOST_ENTRIES:
        raise InputProblems([Problem("explain", f"{name!r} is the end of {len(found)} entries", "wanted one of them",
                                     f"write {', '.join(found[:-1])} or {found[-1]}")])
    return "\n\n".join([*(_entry(entry, entry, audit) for entry in found),
                        *(_choice(name, entry, audit) for entry in offering if entry not in found)])


def _choice(name: str, entry: str, audit: Audit | None) -> str:
    """A word that an entry offers, what it says where it names a formula, and the entry's paragraph."""
    from sprayroof.report.glossary import formula

    said = formula(entry, name.casefold())
    lines = [f"{name}: a choice of {entry}", *([_wrapped(said)] if said else []), _entry(entry, entry, audit)]
    return "\n".join(lines)


def without_numbers(name: str) -> str:
    """A dotted entry without its list number ("roof.1.area" is "roof.area")."""
    return re.sub(r"\.[0-9]+(?=\.)", "", name)


def _not_found(name: str, known: list[str]) -> Problem:
    close = difflib.get_close_matches(without_numbers(name)[:100], known, n=1, cutoff=ALIKE)
    nearest = f"; the nearest is {close[0]!r}" if close else ""
    return Problem("explain", f"nothing is called {name!r}{nearest}",
                   "wanted a quantity, a finding code, an entry, section or choice of the site file, a grade or a "
                   "printed label",
                   f"write {close[0]} if that is meant" if close else "see docs/reference for all names")


def _entry(entry: str, asked: str, audit: Audit | None) -> str:
    """An entry's paragraph; its values in the audit, those of one list item where the name asked for has a number."""
    from sprayroof.evidence.site_file.words import explain_entry

    parts = [f"{entry} (entry of the site file)", _wrapped(explain_entry(entry) or "")]
    rows = [*(audit.site.get("facts") or ()), *(audit.site.get("settings") or ())] if audit else []
    for row in rows:
        if row["entry"] == asked or (asked == entry and without_numbers(row["entry"]) == entry):
            place = "" if row["entry"] == entry else f", {row['entry']}"
            idle = " It plays no part there." if row.get("used") is False else ""
            parts.append(f"In this audit{place}: {_value_words(row)}{idle}")
    return "\n".join(parts)


def _value_words(row: dict[str, Any]) -> str:
    """The value of a fact with its range and source, or of a setting."""
    if "low" in row:
        return f"{row['value']:g} {row['unit']} ({row['low']:g} to {row['high']:g}), source: {row['source']}."
    value = {True: "yes", False: "no"}[row["value"]] if isinstance(row["value"], bool) else row["value"]
    return f"{value}, {'as the site file says' if row['given'] else 'by default'}."


def _wrapped(text: str) -> str:
    return textwrap.fill(text, WIDTH)
