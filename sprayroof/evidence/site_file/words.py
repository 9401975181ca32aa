"""The site file in words: template, reference page, editor schema, and the paragraph of an entry.

All of it comes from the declarations, so that nothing is said twice.
"""

from __future__ import annotations

import os
import re
import tempfile
import textwrap
from pathlib import Path
from typing import Any

from sprayroof.errors import Problem, SiteFileProblems
from sprayroof.evidence.site import LISTS, OPTIONAL, SECTIONS
from sprayroof.evidence.site_file.channel_table import CHANNELS, channel_of
from sprayroof.evidence.site_file.entries import Entry, Section, plain, section_schema
from sprayroof.evidence.site_file.entry_logs import ChannelsEntry
from sprayroof.evidence.site_file.entry_numbers import FactEntry, MonthsEntry, NumberEntry, SectorsEntry, WholeEntry
from sprayroof.evidence.site_file.entry_words import ChoiceEntry, TableEntry
from sprayroof.evidence.site_file.facts import SOURCE_FACTORS, Spread
from sprayroof.evidence.site_file.reading import FILE_NAME
from sprayroof.evidence.units import unit_words

WIDTH = 100
# Entries that are not required but stand in the template, with their examples; and lists that do.
_LIVE = {"site.place", "weather.package", "weather.rain_unit", "emitter.area", "load.ua", "load.balance_point"}
_LIVE_LISTS = ("roof", "emitter")

_HEAD = """\
This file describes one site. It is read by: sprayroof check, sprayroof audit, and the other commands.

All values here are INVENTED EXAMPLES. Replace them with those of your site.

How to write it
  - A line that starts with # is a remark. Entries that may be left out are given as remarks, with the
    value that is used without them: take away the # and change the value.
  - Texts, times and choices stand in quotes. Numbers stand without quotes and with a decimal point.
  - A number is in the unit named above it. Another unit is written with the number, in quotes:
        flow = "60 US gpm"      volume = "16000 US gal"      temperature = "68 degF"      share = "3 %"
  - Most numbers may be given as a table that says how sure you are and where the number comes from:
        area = {value = 620, low = 600, high = 635, source = "measured", note = "tape, 12 May"}
    low and high enclose the true value in 9 cases of 10. Without them the range follows from the
    source: "measured", "drawing", "nameplate", "owner" or "guess". A guess gets a wide range.
  - A heading in double brackets, such as [[roof]], may be repeated with all its lines: one block each.
"""


def template_text() -> str:
    """A fully commented site file with invented values, which read_site accepts as it is."""
    blocks = [_remark(_HEAD.rstrip("\n").split("\n"))]
    blocks += [_template_section(name, section) for name, section in SECTIONS.items()]
    return "\n\n\n".join(blocks) + "\n"


def _template_section(name: str, section: type[Section]) -> str:
    off = (name in LISTS and name not in _LIVE_LISTS) or name in OPTIONAL
    header = f"[[{name}]]" if name in LISTS else f"[{name}]"
    rule = "# " + "-" * (WIDTH - 2)
    lines = [rule, *_remark([f"{section.title}."]).split("\n"), rule, ("# " if off else "") + header]
    inner = [entry for entry in section.entries().values() if isinstance(entry, TableEntry)]
    for entry in section.entries().values():
        if entry not in inner:
            lines += ["", *_template_entry(f"{name}.{entry.entry}", entry, off)]
    for entry in inner:
        lines += ["", *_remark([f"{entry.section.title}."]).split("\n"), f"# [{name}.{entry.entry}]"]
        for below in entry.section.entries().values():
            lines += ["", *_template_entry(f"{name}.{entry.entry}.{below.entry}", below, True)]
    for entry in section.entries().values():
        if isinstance(entry, ChannelsEntry):
            lines += ["", *_template_channels(name, entry)]
    return "\n".join(lines)


def _template_channels(name: str, entry: ChannelsEntry) -> list[str]:
    """What may stand in the braces of a channel, as remarks."""
    words = f"In the braces of a channel may stand, besides {' and '.join(_needed_of(entry))}:"
    rows = [f"  {below.entry}: {below.meaning}{_unit_part(below)}; {_in_braces(below)}"
            for below in entry.section.entries().values() if not below.required]
    hanging = [line for row in rows for line in textwrap.wrap(row, WIDTH - 2, subsequent_indent="      ")]
    return _remark([words, *hanging]).split("\n")


def _needed_of(entry: ChannelsEntry) -> list[str]:
    return [below.entry for below in entry.section.entries().values() if below.required]


def _in_braces(entry: Entry) -> str:
    """How an entry of a channel is written there, and what holds without it."""
    return f"{entry.example_line()} (if left out: {entry.default_words()})"


def _template_entry(path: str, entry: Entry, off: bool) -> list[str]:
    live = not off and (entry.required or path in _LIVE)
    words = f"{_sentence(entry.meaning)}{_unit_part(entry)}. {_choice_part(entry)}{_default_part(entry)}"
    line = ("" if live else "# ") + _template_line(entry, live)
    return [*_remark(textwrap.wrap(words, WIDTH - 2)).split("\n"), line]


def _template_line(entry: Entry, live: bool) -> str:
    """The template's line: the example where it stands in the file, else the default (or the example without one)."""
    if not live and not entry.required and not entry.derived and entry.default not in (None, ""):
        return f"{entry.entry} = {entry.value_words(entry.default)}"
    return entry.example_line()


def _remark(lines: list[str]) -> str:
    return "\n".join(f"# {line}".rstrip() for line in lines)


def _sentence(text: str) -> str:
    return text[0].upper() + text[1:]


def _unit_part(entry: Entry) -> str:
    if isinstance(entry, NumberEntry):
        return ", as a fraction" if entry.unit == "1" else f", in {unit_words(entry.unit)}"
    return ""


def _choice_part(entry: Entry) -> str:
    if isinstance(entry, ChoiceEntry) or (isinstance(entry, WholeEntry) and entry.allowed):
        return _sentence(entry.wanted()) + ". "
    if isinstance(entry, SectorsEntry):
        return f"Or {entry.list_words()}: {entry.value_words(entry.example)}. "
    return ""


def _default_part(entry: Entry) -> str:
    if entry.required or (entry.needed and not entry.derived):
        return f"{_sentence(entry.default_words())}."
    words = entry.default_words()
    return "May be left out." if words in ("none", "empty") else f"If left out: {words}{_range_part(entry)}."


def _range_part(entry: Entry) -> str:
    """The default's range in words, or nothing."""
    if not isinstance(entry, FactEntry) or entry.default is None:
        return ""
    fact = entry.default_fact(entry.default)
    return "" if fact.is_certain else f" ({plain(round(fact.low, 9))} to {plain(round(fact.high, 9))})"


def spread_words(entry: FactEntry) -> str:
    """How far a plain stated number may be off, in words ("" where it is taken as it is)."""
    spread = entry.stated_spread()
    if spread == Spread(0.0, 0.0) or spread == Spread(0.0, 0.0, relative=True):
        return ""
    own_unit = "" if entry.unit == "1" else unit_words(entry.unit, symbol=True)
    scale, unit = (100.0, "%") if spread.relative else (1.0, own_unit)
    below, above = (plain(float(f"{size * scale:.2g}")) for size in (spread.below, spread.above))
    width = f"±{below}" if below == above else f"-{below} / +{above}"
    return f"{width} {unit}".strip()


def write_site_folder(folder: str | Path) -> Path:
    """Make a site folder: `site.toml` from the template, and an empty `logs`.

    Returns
    -------
    Path
        The new site file.

    Raises
    ------
    SiteFileProblems
        A site file is there already, or the folder cannot be written.
    """
    folder = Path(folder)
    file = folder / FILE_NAME
    if os.path.lexists(file):
        raise SiteFileProblems([Problem(str(file), "the file is there already", "wanted a folder without a site file",
                                        "give another folder, or move the file away")])
    try:
        (folder / "logs").mkdir(parents=True, exist_ok=True)
        _write_new(file, template_text())
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise SiteFileProblems([Problem(str(folder), f"the folder cannot be written ({reason})",
                                        "wanted a folder to write into", "give another folder")]) from error
    return file


def _write_new(file: Path, text: str) -> None:
    """Write under another name first, so that no half-written file is ever found."""
    handle, name = tempfile.mkstemp(prefix=".site-", suffix=".part", dir=file.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
        os.chmod(name, 0o644)
        os.replace(name, file)
    except BaseException:
        os.unlink(name)
        raise


def entry_names() -> list[str]:
    """All dotted entry names, without list numbers ("roof.area", "weather.rain.file")."""
    return list(_all_entries())


def entry_labels() -> dict[str, str]:
    """Dotted entry name -> its label, as the report's tables print it."""
    return {name: entry.meaning for name, (entry, _) in _all_entries().items()}


def _all_entries() -> dict[str, tuple[Entry, type[Section]]]:
    found: dict[str, tuple[Entry, type[Section]]] = {}
    for name, section in SECTIONS.items():
        for entry in section.entries().values():
            found[f"{name}.{entry.entry}"] = (entry, section)
            if isinstance(entry, TableEntry):
                found |= {f"{name}.{entry.entry}.{below.entry}": (below, entry.section)
                          for below in entry.section.entries().values()}
            if isinstance(entry, ChannelsEntry):
                found |= {f"{name}.{entry.entry}.{below.entry}": (below, entry.section)
                          for below in entry.section.entries().values()}
    return found


def _without_places(name: str) -> str:
    """A dotted name without list numbers and without the name of a channel."""
    name = re.sub(r"\.[0-9]+(?=\.)", "", name.strip())
    parts = name.split(".")
    named = len(parts) == 4 and parts[1] == "columns" and channel_of(parts[2]) is not None
    return ".".join([*parts[:2], parts[3]]) if named else name


def choices() -> dict[str, tuple[str, ...]]:
    """Dotted entry name -> the words that it offers, in small letters; entries that offer none are left out."""
    return {name: tuple(word.casefold() for word in entry.choices) for name, (entry, _) in _all_entries().items()
            if isinstance(entry, ChoiceEntry)}


def section_paragraph(name: str) -> str | None:
    """What a section of the site file is and which entries it has; None if there is no such section."""
    section = SECTIONS.get(name)
    if section is None:
        return None
    header = f"[[{name}]]" if name in LISTS else f"[{name}]"
    known = ", ".join(f"{name}.{entry.entry}" for entry in section.entries().values())
    words = f"{_sentence(section.title)}. It affects {section.affects}. Its entries: {known}."
    return f"{header} (section of the site file)\n{textwrap.fill(words, 88)}"


def explain_entry(name: str) -> str | None:
    """The paragraph of a site-file entry: meaning, what is accepted, default, range, what it affects.

    Parameters
    ----------
    name : str
        Dotted name; list numbers and the name of a channel may be there or not ("roof.area", "roof.1.area",
        "log.1.columns.level.table", "log.columns.table").

    Returns
    -------
    str or None
        None if there is no such entry.
    """
    found = _all_entries().get(_without_places(name))
    if found is None:
        return None
    entry, section = found
    parts = [f"{_sentence(entry.meaning)}.", f"Accepted: {entry.wanted()}.", _default_part(entry), _stated_part(entry),
             entry.more, f"It affects {entry.affects or section.affects}."]
    return " ".join(part for part in parts if part)


def _stated_part(entry: Entry) -> str:
    if not isinstance(entry, FactEntry):
        return ""
    words = spread_words(entry)
    if not words:
        return "A stated number is taken as it is, unless it is given with low and high."
    return f"A stated number without low and high is taken as {words}, wider or narrower by its source."


def reference_markdown() -> str:
    """The text of docs/reference/site_file.md."""
    parts = [_REFERENCE_HEAD.format(factors=_factor_rows())]
    for name, section in SECTIONS.items():
        parts.append(_reference_section(f"[[{name}]]" if name in LISTS else f"[{name}]", section))
        parts += [_reference_section(f"[{name}.{entry.entry}]", entry.section) for entry in section.entries().values()
                  if isinstance(entry, TableEntry)]
        parts += [part for entry in section.entries().values() if isinstance(entry, ChannelsEntry)
                  for part in (_reference_section(f"[{name}.{entry.entry}]", entry.section),
                               _reference_channels())]
    return "\n".join(parts)


def _reference_channels() -> str:
    """The channels of a log and their ordinary instruments."""
    head = ('Each channel is a line: `return_temperature = {column = "T2", unit = "degC"}`. '
            "A channel without a stated `accuracy` is taken as an ordinary instrument's (90 % half-widths; common "
            "practice, no source). Where N stands a number from 1 to 9 may follow.\n\n"
            "| channel | what it is | kept in | ordinary constant error | and share of the reading |\n"
            "|---|---|---|---|---|\n")
    rows = [f"| `{row.name}{'_N' if row.several else ''}` | {row.meaning} | {unit_words(row.unit)} | "
            f"{plain(row.offset)} | {plain(100.0 * row.gain)} % |" for row in CHANNELS.values()]
    return head + "\n".join(rows) + "\n"


def _factor_rows() -> str:
    meaning = {"measured": "measured on site", "drawing": "taken from a drawing",
               "nameplate": "from the maker's plate or sheet", "owner": "told by the owner", "guess": "a guess",
               "unstated": "no source given"}
    return "\n".join(f"| `{name}` | {meaning[name]} | {factor:g} |" for name, factor in SOURCE_FACTORS.items())


def _reference_section(header: str, section: type[Section]) -> str:
    rows = "\n".join(_reference_row(entry) for entry in section.entries().values())
    head = "| entry | meaning | unit or form | if left out | stated number is taken as |\n|---|---|---|---|---|\n"
    return f"## {header}\n\n{section.title}. Affects {section.affects}.\n\n{head}{rows}\n"


def _reference_row(entry: Entry) -> str:
    default = "**must be given**" if entry.required else entry.default_words() + _range_part(entry)
    stated = spread_words(entry) or "as it is" if isinstance(entry, FactEntry) else "-"
    cells = (f"`{entry.entry}`", entry.meaning, _form(entry), default, stated)
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _form(entry: Entry) -> str:
    if isinstance(entry, MonthsEntry):
        return f"{unit_words(entry.unit)}{entry.bounds_words()}; one or a list of twelve"
    if isinstance(entry, SectorsEntry):
        return f"{unit_words(entry.unit)}{entry.bounds_words()}; one, or {entry.list_words()}"
    if isinstance(entry, NumberEntry):
        return ("fraction" if entry.unit == "1" else unit_words(entry.unit)) + entry.bounds_words()
    return entry.wanted()


def json_schema() -> dict[str, Any]:
    """A JSON schema of the site file, for editors (docs/reference/site_schema.json)."""
    properties: dict[str, Any] = {}
    for name, section in SECTIONS.items():
        table = section_schema(section)
        properties[name] = {"type": "array", "items": table} if name in LISTS else table
    properties["roof"]["minItems"] = 1
    needed = [name for name, section in SECTIONS.items() if name not in (*LISTS, *OPTIONAL)
              and (section.called_for or any(entry.required for entry in section.entries().values()))]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "sprayroof site file", "type": "object",
            "additionalProperties": False, "required": [*needed, "roof"], "properties": properties}


_REFERENCE_HEAD = """\
# The site file

`site.toml` describes one site. `sprayroof new FOLDER` writes one with every entry explained. This page is made from
the same declarations that the reader uses.

## How entries are written

A number is in the unit named below, or a text with another unit: `flow = "60 US gpm"`, `volume = "27 m3"`,
`temperature = "68 degF"`, `share = "3 %"`. Names of units with more than one meaning (gal, gpm, ton, hp) are refused:
write `US gal` or `imperial gal`, `refrigeration ton` or `tonne`, and so on. Numbers have a decimal point.
Where a temperature difference is wanted, `"2 degC"` means 2 K.

Most numbers are *facts*: they have a range that holds the true value in nine cases of ten. A fact may be given as a
table:

```toml
area = {{value = 620, low = 600, high = 635, source = "measured", note = "tape, 12 May"}}
```

Without `low` and `high` the range follows from the last column below, times a factor for the source:

| source | meaning | factor |
|---|---|---|
{factors}

Where an entry has a default, the factor is never more than 1: to state a number cannot leave it less certain than to
leave it out. Ranges end at the physical bounds of an entry. Numbers that are settings (controls, places, steps) have no
range.
"""
