# ruff: noqa: D102  (read, wanted, value_words and schema are described once, in Entry)
"""Entries of the site file that only logs need: points in time, tables of pairs, channels of a log file."""

from __future__ import annotations

import datetime
import itertools
import re
from dataclasses import dataclass
from typing import Any

from sprayroof.evidence.site_file.channel_table import CHANNELS, channel_of
from sprayroof.evidence.site_file.entries import Entry, Refused, Section, Trouble, section_schema, shown, unknown_entry

_MOMENT = re.compile(r"\d{4}-\d{2}-\d{2}([T ]\d{2}:\d{2}(:\d{2})?)?(Z|[+-]\d{2}:\d{2})?")


@dataclass(frozen=True)
class MomentEntry(Entry):
    """A point in time on the site's clock, or with its own offset. Value: datetime (naive = site's clock)."""

    def wanted(self) -> str:
        return 'a time as year-month-day and hour:minute, such as "2026-07-14 22:30"'

    def read(self, raw: Any) -> datetime.datetime:
        if isinstance(raw, datetime.datetime):
            return raw
        if isinstance(raw, datetime.date):
            return datetime.datetime(raw.year, raw.month, raw.day)
        if isinstance(raw, str) and _MOMENT.fullmatch(raw):
            try:
                return datetime.datetime.fromisoformat(raw)
            except ValueError:
                raise self.refuse(raw, "there is no such time: correct it") from None
        raise self.refuse(raw)

    def value_words(self, value: datetime.datetime | str) -> str:
        return f'"{value}"' if isinstance(value, str) else f'"{value.isoformat(" ", "minutes")}"'

    def schema(self) -> dict[str, Any]:
        return {"type": "string"}


@dataclass(frozen=True)
class NumberPairsEntry(Entry):
    """A list of pairs of numbers, rising in the first. Value: tuple of (float, float), or None."""

    pair_words: str = "two numbers"

    def wanted(self) -> str:
        return f"a list of at least two pairs [{self.pair_words}], rising in the first"

    def read(self, raw: Any) -> tuple[tuple[float, float], ...]:
        good = isinstance(raw, list) and len(raw) >= 2 and all(
            isinstance(pair, list) and len(pair) == 2 and all(_is_number(item) for item in pair) for pair in raw)
        if not good:
            raise self.refuse(raw)
        pairs = tuple((float(first), float(second)) for first, second in raw)
        if any(later[0] <= earlier[0] for earlier, later in itertools.pairwise(pairs)):
            raise self.refuse(raw, "put the pairs in rising order of the first number")
        return pairs

    def value_words(self, value: Any) -> str:
        return "[" + ", ".join(f"[{first:g}, {second:g}]" for first, second in value) + "]"

    def schema(self) -> dict[str, Any]:
        pair = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}
        return {"type": "array", "items": pair, "minItems": 2}


@dataclass(frozen=True)
class ClockChecksEntry(Entry):
    """Pairs of times: what the logger showed, and what it truly was. Value: tuple of pairs of datetimes, or None."""

    def wanted(self) -> str:
        return 'a list of pairs ["time shown by the logger", "true time"], both on the clock of the file'

    def read(self, raw: Any) -> tuple[tuple[datetime.datetime, datetime.datetime], ...]:
        moment = MomentEntry(self.entry, self.meaning)
        if not isinstance(raw, list) or not raw or not all(isinstance(pair, list) and len(pair) == 2 for pair in raw):
            raise self.refuse(raw)
        return tuple((moment.read(pair[0]), moment.read(pair[1])) for pair in raw)

    def value_words(self, value: Any) -> str:
        return "[" + ", ".join(f'["{shown_at}", "{true_at}"]' for shown_at, true_at in value) + "]"

    def schema(self) -> dict[str, Any]:
        pair = {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2}
        return {"type": "array", "items": pair, "minItems": 1}


@dataclass(frozen=True)
class MeterSwapsEntry(Entry):
    """Changes of a meter: when, last reading of the old, first reading of the new. Value: tuple of triples, or None."""

    def wanted(self) -> str:
        return 'a list of ["time of the change", last reading of the old meter, first reading of the new]'

    def read(self, raw: Any) -> tuple[tuple[datetime.datetime, float, float], ...]:
        moment = MomentEntry(self.entry, self.meaning)
        good = isinstance(raw, list) and raw and all(
            isinstance(swap, list) and len(swap) == 3 and _is_number(swap[1]) and _is_number(swap[2]) for swap in raw)
        if not good:
            raise self.refuse(raw)
        return tuple((moment.read(when), float(old), float(new)) for when, old, new in raw)

    def value_words(self, value: Any) -> str:
        return "[" + ", ".join(f'["{when}", {old:g}, {new:g}]' for when, old, new in value) + "]"

    def schema(self) -> dict[str, Any]:
        swap = {"type": "array", "minItems": 3, "maxItems": 3}
        return {"type": "array", "items": swap, "minItems": 1}


@dataclass(frozen=True)
class WordsEntry(Entry):
    """Words of a column and the numbers they stand for. Value: dict of text to float."""

    def wanted(self) -> str:
        return "a table of words and numbers, such as {ON = 1, OFF = 0}"

    def read(self, raw: Any) -> dict[str, float]:
        if not isinstance(raw, dict) or not raw or not all(_is_number(item) for item in raw.values()):
            raise self.refuse(raw)
        return {word.strip().casefold(): float(number) for word, number in raw.items()}

    def schema(self) -> dict[str, Any]:
        return {"type": "object", "additionalProperties": {"type": "number"}}


@dataclass(frozen=True)
class ChannelsEntry(Entry):
    """Channels of a log file -> how to read each. Value: dict of channel name to an instance of `section`."""

    section: type[Section] | None = None

    def wanted(self) -> str:
        return 'a table such as {return_temperature = {column = "T2", unit = "degC"}}'

    def read(self, raw: Any) -> dict[str, Section]:
        if raw == {}:
            raise Refused(Trouble((), "no column is declared", "wanted at least one column of the file with its unit",
                                  "take the # off the lines of columns that are meant, or take the block out"))
        if not isinstance(raw, dict):
            raise self.refuse(raw)
        troubles: list[Trouble] = []
        channels: dict[str, Section] = {}
        for name, table in raw.items():
            if channel_of(name) is None:
                troubles.append(unknown_entry((name,), tuple(CHANNELS)))
            elif not isinstance(table, dict):
                wanted = 'wanted {column = "heading in the file", unit = "its unit"}'
                troubles.append(Trouble((name,), f"found {shown(table)}", wanted, "name the column and its unit"))
            else:
                values, faults = _read_inner(self.section, table, (name,))
                troubles += [_of_unit(trouble, name) for trouble in faults]
                if not faults:
                    channels[name] = self.section(**values)
        if troubles:
            raise Refused(*troubles)
        return channels

    def schema(self) -> dict[str, Any]:
        return {"type": "object", "additionalProperties": section_schema(self.section)}


UNITS = {
    "degC": "degC, degF or K", "L/min": "L/min, L/s, m3/h or US gpm; L, m3 or US gal for a counter",
    "m3": "m, cm, ft, %, m3, L or US gal; mA or V with a table", "mm": "mm or inch", "m/s": "m/s, km/h, mph or knot",
    "W": "W or kW; Wh or kWh for amounts", "Pa": "Pa, hPa, kPa or mbar", "W/m2": "W/m2", "uS/cm": "uS/cm or mS/cm",
}
FRACTION_UNITS = "% or 1"


def _of_unit(trouble: Trouble, name: str) -> Trouble:
    """The trouble of a unit that is missing or empty, with the units that the channel can have."""
    found = channel_of(name)
    empty = trouble.found in ("the entry is missing", 'found ""')
    if found is None or trouble.path[-1] != "unit" or not empty:
        return trouble
    meaning = found[0]
    units = '1, as on is 1 and off is 0' if meaning.kind == "status" else UNITS.get(meaning.unit, FRACTION_UNITS)
    return trouble._replace(wanted=f"wanted the unit of {meaning.meaning} in quotes: {units}",
                            do="write the unit in which the file has it")


def _read_inner(
    section: type[Section], raw: dict[str, Any], path: tuple[str, ...]
) -> tuple[dict[str, Any], list[Trouble]]:
    """Attribute values of a table inside an entry, and what is wrong with it."""
    entries = section.entries()
    names = [entry.entry for entry in entries.values()]
    troubles = [unknown_entry((*path, key), names) for key in raw if key not in names]
    values: dict[str, Any] = {}
    for attribute, entry in entries.items():
        if entry.entry not in raw:
            if entry.required:
                troubles.append(Trouble((*path, entry.entry), "the entry is missing", f"wanted {entry.wanted()}",
                                        f"add {entry.example_line()}"))
            else:
                values[attribute] = entry.absent(values, {})
            continue
        try:
            values[attribute] = entry.read(raw[entry.entry])
        except Refused as refused:
            troubles += [Trouble((*path, entry.entry, *trouble.path), *trouble[1:]) for trouble in refused.troubles]
    return values, troubles


def _is_number(raw: Any) -> bool:
    return isinstance(raw, (int, float)) and not isinstance(raw, bool)
