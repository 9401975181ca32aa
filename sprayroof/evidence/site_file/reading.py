"""Reading a site file: from bytes to a checked Site, with all problems at once and the line of each."""

from __future__ import annotations

import copy
import hashlib
import os
import re
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sprayroof.errors import Problem, SiteFileProblems
from sprayroof.evidence.site import LISTS, OPTIONAL, SECTIONS, Site
from sprayroof.evidence.site_file.checks import check_site, with_slashes
from sprayroof.evidence.site_file.entries import Entry, Refused, Section, nearest, shown, unknown_entry
from sprayroof.evidence.site_file.entry_words import TableEntry, date_advice
from sprayroof.evidence.site_file.findings import findings_of
from sprayroof.evidence.site_file.lines import lines_of
from sprayroof.evidence.site_file.places import file_beside
from sprayroof.evidence.site_file.remarks import remark_advice

FILE_NAME = "site.toml"
LARGEST_BYTES = 2_000_000
# Letters and signs that editors of western Europe and America write in cp1252
WESTERN = frozenset("ÄÖÜäöüßÀÁÂÃÅÆÇÈÉÊËÌÍÎÏÑÒÓÔÕØÙÚÛàáâãåæçèéêëìíîïñòóôõøùúûÿŒœ°µ²³·±½¼¾€£×§«»–—‘’“”„…¡¿\u00a0")


@dataclass
class Log:
    """Collects problems; knows at which line of which file each entry stands, and the file's text."""

    file: str
    lines: dict[tuple[str | int, ...], int] = field(default_factory=dict)
    text: str = ""
    record: dict[str, Any] = field(default_factory=dict)
    found: list[tuple[int, Problem]] = field(default_factory=list)

    def add(self, path: tuple[str | int, ...], found: str, wanted: str, do: str) -> None:
        """Note a problem of the entry at `path` (indices from 0; shown from 1)."""
        told = next((path[:depth] for depth in range(len(path), 0, -1) if path[:depth] in self.lines), ())
        line = self.lines.get(told)
        if len(told) > 1 and isinstance(told[-1], str):
            do = remark_advice(self.text, line, told[-1]) or do
        place = f"{self.file}, line {line}" if line else self.file
        entry = f"{place}, {dotted(path)}{file_beside(path, self.record)}" if path else place
        self.found.append((line or 10**9, Problem(entry, found, wanted, do)))

    def problems(self) -> list[Problem]:
        """All problems in the order of the file's lines."""
        return [problem for _, problem in sorted(self.found, key=lambda pair: pair[0])]


def dotted(path: tuple[str | int, ...]) -> str:
    """An entry's dotted name, lists counted from 1."""
    names = [str(part + 1) if isinstance(part, int) else part for part in path]
    return ".".join(name if re.fullmatch(r"[A-Za-z0-9_-]{1,60}", name) else shown(name) for name in names)


def read_site_file(path: Path) -> Site:
    """A Site from the file at `path`, or from the site.toml in the folder `path` (raises SiteFileProblems)."""
    file = path / FILE_NAME if os.path.isdir(path) else path
    data = _bytes_of(file, path)
    text = _text_of(data, file)
    record = _record_of(text, file)
    log = Log(str(file), lines_of(text), text, record)
    return _site(record, log, file.parent, file, hashlib.sha256(data).hexdigest())


def site_of_record(record: dict[str, Any], folder: Path) -> Site:
    """A Site from nested tables (raises SiteFileProblems)."""
    digest = hashlib.sha256(repr(record).encode("utf-8")).hexdigest()
    return _site(record, Log("site"), folder, folder / FILE_NAME, digest)


def changed_site(site: Site, changes: dict[str, Any]) -> Site:
    """The same site with some entries stated otherwise (see Site.with_changes)."""
    record = copy.deepcopy(site.record)
    log = Log("changed site")
    for name, value in changes.items():
        _set(record, name, value, log)
    if log.found:
        raise SiteFileProblems(log.problems())
    return _site(record, log, site.folder, site.file, site.text_sha256, {**site.changes, **changes})


def _set(record: dict[str, Any], name: str, value: Any, log: Log) -> None:
    """Put `value` at the dotted entry name (None takes the entry out)."""
    section, *rest = name.split(".")
    table = record.setdefault(section, [] if section in LISTS else {})
    if section in LISTS:
        position = int(rest.pop(0)) if len(rest) == 2 and rest[0].isdecimal() else 1 if len(table) == 1 else 0
        if not 1 <= position <= len(table):
            log.add(
                (section,), f"{shown(name)} means none of the {len(table)} tables [[{section}]]",
                f"wanted {section}, the number of the table from 1, and the entry",
                f"write {section}.1.name, for example")
            return
        table = table[position - 1]
    for part in rest[:-1]:
        table = table.setdefault(part, {}) if isinstance(table, dict) else None
    if not rest or not isinstance(table, dict):
        log.add(
            tuple(name.split(".")), "this names no entry", "wanted section.entry", "write store.volume, for example")
    elif value is None:
        table.pop(rest[-1], None)
    else:
        table[rest[-1]] = value


def _bytes_of(file: Path, asked: Path) -> bytes:
    try:
        with file.open("rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = "no such file" if isinstance(error, FileNotFoundError) else f"cannot be read ({_reason(error)})"
        wanted = "wanted a folder that holds site.toml, or the site file itself"
        do = with_slashes(str(asked)) if os.sep == "/" else ""
        do = do or f"check the path, or make a new site with: sprayroof new {_quoted(asked)}"
        raise SiteFileProblems([Problem(str(file), reason, wanted, do)]) from error
    if len(data) > LARGEST_BYTES:
        found = f"the file has more than {LARGEST_BYTES} bytes"
        wanted = "wanted a site file, some thousand bytes of text"
        raise SiteFileProblems([Problem(str(file), found, wanted, "give the path of the site.toml")])
    return data


def _reason(error: Exception) -> str:
    return getattr(error, "strerror", None) or str(error)


def _quoted(path: Path) -> str:
    """A path as it can be typed: the folder meant, in quotes if it has spaces."""
    name = str(path.parent if path.suffix == ".toml" else path)
    return f'"{name}"' if re.search(r"\s", name) else name


def _text_of(data: bytes, file: Path) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        guess = _encoding_of(data)
        found = "the text is not UTF-8" + (f" (it seems to be {guess})" if guess else "")
        do = "save it again with the encoding UTF-8 (in the editor: Save as, Encoding)"
        raise SiteFileProblems([Problem(f"{file}, line {line}", found, "wanted a text file in UTF-8", do)]) from error


def _encoding_of(data: bytes) -> str | None:
    """What the text seems to be encoded in, by its bytes (None: no clear reading)."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return "UTF-16"
    high = bytes(byte for byte in set(data) if byte > 127)
    if all(letter in WESTERN for letter in high.decode("cp1252", errors="replace")):
        return "cp1252"
    from charset_normalizer import from_bytes
    best = from_bytes(data).best()
    return best.encoding.replace("_", "-") if best else None


def _record_of(text: str, file: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        reason = "tables nested too deeply" if isinstance(error, RecursionError) else str(error)
        place = re.search(r"\(at line ([0-9]+), column [0-9]+\)", reason)
        line = int(place[1]) if place else text.count("\n") + 1
        short = re.sub(r" \(at (line|end).*", "", reason)
        written = text.split(chr(10))[line - 1] if place else ""
        do = remark_advice(text, line, written.partition("=")[0].strip()) or _advice(written, short)
        raise SiteFileProblems([Problem(f"{file}, line {line}", f"not readable as TOML ({short})",
                                        'wanted lines such as: volume = 60 or name = "north roof"',
                                        f"{do} {_ONE_AT_A_TIME}")]) from error


# The standard reader stops at the first slip.
_ONE_AT_A_TIME = "(other problems show once this one is mended)"


def _advice(line: str, reason: str) -> str:
    """What most likely is wrong with a line that TOML does not accept."""
    value = line.partition("=")[2].split("#")[0].strip()
    if re.search("[“”„‘’«»]", line):
        return 'use straight quotes "'
    if "=" in line and (do := date_advice(value)):
        return do
    if re.match(r"[0-9]{1,6}([-./])[0-9]{1,4}\1[0-9]{1,4}$", value):
        return "write the date as year-month-day, such as 2026-03-31"
    if re.match(r"[+-]?[0-9]+,[0-9]+$", value):
        return f"write {value.replace(',', '.')} with a decimal point"
    if "overwrite" in reason or "twice" in reason or "Cannot declare" in reason:
        return "the name stands in the file twice: keep one"
    if "=" in line and "\\" in value and value.startswith('"'):
        return "write paths with / instead of \\"
    if re.match(r"[0-9.]+\s*[^0-9.\s\[\]{},]+", value) or re.match(r"[A-Za-z_][^\"'\[\]{}=]*$", value):
        return f"put the text in quotes: {shown(value)}" if '"' not in value else "put the text in quotes"
    if value.count('"') % 2 == 1:
        return 'close the quotes with "'
    return "correct this line"


def _site(record: dict[str, Any], log: Log, folder: Path, file: Path, digest: str, changes: dict | None = None) -> Site:
    whole = _read_sections(record, log)
    check_site(whole, folder, log)
    if log.found:
        raise SiteFileProblems(log.problems())
    parts = {name: _built(SECTIONS[name], whole[name]) for name in SECTIONS}
    return Site(**parts, folder=folder, file=file, text_sha256=digest, findings=findings_of(parts, record, str(file)),
                changes=changes or {}, record=record)


def _built(section: type[Section], values: Any) -> Any:
    if values is None:
        return None
    if isinstance(values, list):
        return tuple(_built(section, item) for item in values)
    return section(**values)


def _read_sections(record: dict[str, Any], log: Log) -> dict[str, Any]:
    """Attribute values of every section as far as they are readable; lists of them for lists."""
    for name in record:
        if name not in SECTIONS:
            log.add((name,), *_unknown_section(name))
    whole: dict[str, Any] = {}
    for name, section in SECTIONS.items():
        if name in LISTS:
            whole[name] = _read_list(name, section, record.get(name, []), whole, log)
        elif name in OPTIONAL and name not in record:
            whole[name] = None
        elif not isinstance(record.get(name, {}), dict):
            log.add((name,), *_not_a_table(record[name], name))
            whole[name] = {}
        else:
            whole[name] = _read_one(section, name, record, whole, log)
    return whole


def _read_one(
    section: type[Section], name: str, record: dict[str, Any], whole: dict[str, Any], log: Log,
) -> dict[str, Any]:
    needed = [entry.entry for entry in section.entries().values() if entry.required] + list(section.called_for)
    if name not in record and needed:
        log.add((name,), f"the section [{name}] is missing", "wanted at least " + ", ".join(needed),
                f"add a line [{name}] and these entries below it")
        return {}
    whole[name] = {}
    return read_section(section, record.get(name, {}), (name,), whole, log, whole[name])


def _read_list(name: str, section: type[Section], raw: Any, whole: dict[str, Any], log: Log) -> list[dict[str, Any]]:
    if not isinstance(raw, list) or not all(isinstance(item, dict) for item in raw):
        is_table = isinstance(raw, dict)
        log.add((name,), "found one table" if is_table else f"found {shown(raw)}",
                f"wanted a list of tables, each under a line [[{name}]]", f"write [[{name}]] instead of [{name}]")
        # One unreadable table: nothing more is asked of it.
        return [{}]
    return [read_section(section, item, (name, position), whole, log, {}) for position, item in enumerate(raw)]


def read_section(
    section: type[Section], raw: dict[str, Any], path: tuple[str | int, ...], whole: dict[str, Any], log: Log,
    values: dict[str, Any],
) -> dict[str, Any]:
    """Fill `values` (attribute -> value) from the table `raw` at `path`; unreadable entries stay out and are logged."""
    entries = section.entries()
    misspelt = _unknown_entries(entries, raw, path, log)
    for attribute, entry in entries.items():
        if entry.entry in raw:
            _read_entry(attribute, entry, raw[entry.entry], (*path, entry.entry), whole, log, values)
        elif entry.entry in misspelt:
            continue  # told already; left out of the values like an entry that cannot be read
        elif entry.required:
            log.add(
                (*path, entry.entry), "the entry is missing", f"wanted {entry.wanted()}",
                f"add a line: {entry.example_line()}")
        else:
            values[attribute] = entry.absent(values, whole)
    return values


def _unknown_entries(
    entries: dict[str, Entry], raw: dict[str, Any], path: tuple[str | int, ...], log: Log,
) -> set[str]:
    """Log the unknown names of a table; returns the missing entries that they most likely stand for.

    A misspelt entry that must be given is one mistake, so it is told once: rename it.
    """
    known = {entry.entry: entry for entry in entries.values()}
    misspelt: set[str] = set()
    for key in raw:
        if key in known:
            continue
        meant = known.get(nearest(key, list(known)) or "")
        if meant is None or meant.entry in raw or meant.entry in misspelt or not (meant.required or meant.needed):
            log.add((*path, key), *unknown_entry((key,), list(known))[1:])
            continue
        misspelt.add(meant.entry)
        missing = f", and {meant.entry} is missing" if meant.required else ""
        found = f"there is no entry {shown(key)} here{missing}"
        log.add((*path, key), found, f"wanted {meant.entry}: {meant.wanted()}", f"rename it to {meant.entry}")
    return misspelt


def _read_entry(attribute: str, entry: Entry, raw: Any, path: tuple[str | int, ...], whole: dict[str, Any], log: Log,
                values: dict[str, Any]) -> None:
    try:
        value = entry.read(raw)
    except Refused as refused:
        for trouble in refused.troubles:
            log.add((*path, *trouble.path), trouble.found, trouble.wanted, trouble.do)
        return
    if not isinstance(entry, TableEntry):
        values[attribute] = value
        return
    inner = read_section(entry.section, value, path, whole, log, {})
    if len(inner) == len(entry.section.entries()):
        values[attribute] = entry.section(**inner)


def _unknown_section(name: str) -> tuple[str, str, str]:
    close = nearest(name, list(SECTIONS))
    brackets = f"[[{close}]]" if close in LISTS else f"[{close}]"
    return (f"there is no section {shown(name)}", "wanted one of " + ", ".join(SECTIONS),
            f"write {brackets} if that is meant" if close else "take it out, or start its lines with #")


def _not_a_table(raw: Any, name: str) -> tuple[str, str, str]:
    found = "found several tables" if isinstance(raw, list) else f"found {shown(raw)}"
    return found, f"wanted one table under a line [{name}]", f"write one [{name}]"
