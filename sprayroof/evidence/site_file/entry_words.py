# ruff: noqa: D102  (read, wanted, value_words and schema are described once, in Entry)
"""Entries of the site file that are no numbers: choices, texts, zones, yes or no, times, dates, tables."""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from sprayroof.evidence.site_file.entries import (
    LONGEST_NAME,
    Entry,
    Refused,
    Section,
    Trouble,
    nearest,
    not_a_choice,
    one_of,
    section_schema,
    shown,
    text_troubles,
    unknown_entry,
)
from sprayroof.evidence.units import NotAQuantity, scale_to, unit_words


class MonthDay(NamedTuple):
    """A day of any year; compares in calendar order."""

    month: int
    day: int

    def __str__(self) -> str:
        """As written in the site file."""
        return f"{self.month:02d}-{self.day:02d}"


@dataclass(frozen=True)
class ChoiceEntry(Entry):
    """One of a few words. Value: str. `meant` holds words that people use -> the choice that they mean."""

    choices: tuple[str, ...] = ()
    meant: dict[str, str] = field(default_factory=dict)

    def wanted(self) -> str:
        return one_of(self.choices)

    def read(self, raw: Any) -> str:
        if raw not in self.choices:
            raise Refused(not_a_choice(raw, self.choices, (), self.meant))
        return raw

    def schema(self) -> dict[str, Any]:
        return {"enum": list(self.choices)}


@dataclass(frozen=True)
class TextEntry(Entry):
    """Free text, printed as it is. Value: str."""

    longest: int = LONGEST_NAME
    lines: bool = False
    pattern: str = ""
    pattern_words: str = ""

    def wanted(self) -> str:
        return self.pattern_words or f"a text in quotes of at most {self.longest} characters"

    def read(self, raw: Any) -> str:
        troubles = text_troubles(raw, self.longest, (), self.lines)
        if troubles:
            raise Refused(*troubles)
        if self.required and not raw.strip():
            raise self.refuse(raw, "write the text between the quotes")
        if self.pattern and not re.fullmatch(self.pattern, raw):
            raise self.refuse(raw)
        return raw

    def schema(self) -> dict[str, Any]:
        pattern = {"pattern": f"^{self.pattern}$"} if self.pattern else {}
        return {"type": "string", "maxLength": self.longest, **pattern}


@dataclass(frozen=True)
class ZoneEntry(Entry):
    """A time zone by its IANA name. Value: str."""

    def wanted(self) -> str:
        return 'the IANA name of a time zone, such as "America/New_York" or "UTC"'

    def read(self, raw: Any) -> str:
        import zoneinfo
        try:
            if not isinstance(raw, str):
                raise ValueError("not a text")
            zoneinfo.ZoneInfo(raw)
        except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
            raise self.refuse(raw, _zone_advice(raw) if isinstance(raw, str) else "correct the entry") from None
        return raw

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "pattern": "^[A-Za-z0-9_+/-]+$"}


# Abbreviations that clocks and loggers use (with or without the hours behind them) -> a zone that keeps them.
_ZONES_MEANT = {
    "EST": "America/New_York", "EDT": "America/New_York", "ET": "America/New_York", "CST": "America/Chicago",
    "CDT": "America/Chicago", "MST": "America/Denver", "MDT": "America/Denver", "PST": "America/Los_Angeles",
    "PDT": "America/Los_Angeles", "BST": "Europe/London", "WET": "Europe/Lisbon", "CET": "Europe/Berlin",
    "CEST": "Europe/Berlin", "MEZ": "Europe/Berlin", "EET": "Europe/Athens", "AEST": "Australia/Sydney",
    "JST": "Asia/Tokyo",
}


def _zone_advice(raw: str) -> str:
    """The name that was most likely meant."""
    import zoneinfo
    offset = re.fullmatch(r"\s*(?:UTC|GMT)?\s*([+−-])\s*([0-9]{1,2})(?::?00)?\s*", raw)
    if offset and int(offset[2]) <= 12:
        # The signs of these names are the other way round (POSIX): Etc/GMT+5 is five hours behind UTC.
        behind = "-" if offset[1] == "+" else "+"
        return (f'write the place\'s zone, such as "America/New_York", or "Etc/GMT{behind}{int(offset[2])}" '
                "for a clock that never changes")
    letters = re.match(r"\s*([A-Za-z]{2,4})(?![A-Za-z/_])", raw)
    meant = _ZONES_MEANT.get(letters[1].upper()) if letters else None
    if meant:
        return f'write a name of the form Area/City, such as "{meant}" if that clock is meant'
    zones = sorted(zoneinfo.available_timezones())
    city = raw.strip().replace(" ", "_").lower()
    close = next((zone for zone in zones if zone.lower().endswith(f"/{city}")), None) or nearest(raw, zones)
    return f'write "{close}" if that is meant' if close else "correct the entry"


@dataclass(frozen=True)
class TruthEntry(Entry):
    """Yes or no. Value: bool."""

    def wanted(self) -> str:
        return "true or false, without quotes"

    def read(self, raw: Any) -> bool:
        if not isinstance(raw, bool):
            raise self.refuse(raw)
        return raw

    def schema(self) -> dict[str, Any]:
        return {"type": "boolean"}


@dataclass(frozen=True)
class ClockEntry(Entry):
    """A time of day on the local clock, written "HH:MM". Value: float, hours since midnight, 0 to 24."""

    def wanted(self) -> str:
        return 'a time of day in quotes, "HH:MM", from "00:00" to "24:00"'

    def read(self, raw: Any) -> float:
        if isinstance(raw, datetime.time):
            return raw.hour + raw.minute / 60.0 + raw.second / 3600.0
        match = re.fullmatch(r"([0-9]{1,2}):([0-9]{2})", raw) if isinstance(raw, str) else None
        if not match or int(match[2]) > 59 or int(match[1]) * 60 + int(match[2]) > 24 * 60:
            raise self.refuse(raw)
        return int(match[1]) + int(match[2]) / 60.0

    def value_words(self, value: float) -> str:
        minutes = round(value * 60.0)
        return f'"{minutes // 60:02d}:{minutes % 60:02d}"'

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "pattern": "^[0-9]{1,2}:[0-9]{2}$"}


@dataclass(frozen=True)
class DayEntry(Entry):
    """A day of any year, written "MM-DD". Value: MonthDay."""

    def wanted(self) -> str:
        return 'a day of the year in quotes, "MM-DD" (month first), such as "04-15"'

    def read(self, raw: Any) -> MonthDay:
        match = re.fullmatch(r"([0-9]{2})-([0-9]{2})", raw) if isinstance(raw, str) else None
        if not match:
            raise self.refuse(raw)
        try:
            day = datetime.date(2000, int(match[1]), int(match[2]))
        except ValueError:
            raise self.refuse(raw, "there is no such day: correct it") from None
        return MonthDay(day.month, day.day)

    def value_words(self, value: MonthDay) -> str:
        return f'"{value}"'

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "pattern": "^[0-9]{2}-[0-9]{2}$"}


YEARS = (1950, 2099)  # of dates in a site file; others are slips


@dataclass(frozen=True)
class DateEntry(Entry):
    """A date, as a TOML date or ISO text. Value: datetime.date."""

    def wanted(self) -> str:
        return "a date as year-month-day, such as 2026-03-31"

    def read(self, raw: Any) -> datetime.date:
        if isinstance(raw, datetime.date) and not isinstance(raw, datetime.datetime):
            return self._of_our_time(raw, raw)
        if isinstance(raw, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", raw):
            try:
                return self._of_our_time(datetime.date.fromisoformat(raw), raw)
            except ValueError:
                raise self.refuse(raw, "there is no such day: correct it") from None
        raise self.refuse(raw, date_advice(raw) if isinstance(raw, str) and date_advice(raw) else "correct the entry")

    def _of_our_time(self, date: datetime.date, raw: Any) -> datetime.date:
        if not YEARS[0] <= date.year <= YEARS[1]:
            raise self.refuse(raw, f"correct the year: {YEARS[0]} to {YEARS[1]} are accepted")
        return date

    def schema(self) -> dict[str, Any]:
        # TOML dates reach an editor's schema check as strings.
        return {"type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"}


def date_advice(text: str) -> str:
    """How a date written in another order belongs in the site file ("" where the text is no date).

    Day and month are told apart by a month above 12, or by points, which part day.month.year wherever they are used.
    """
    match = re.fullmatch(r"\s*([0-9]{1,4})([./-])([0-9]{1,2})\2([0-9]{1,4})\s*", text)
    if not match or (len(match[1]) == 4) == (len(match[4]) == 4):
        return ""
    mark, parts = match[2], [int(match[group]) for group in (1, 3, 4)]
    orders = [parts] if parts[0] > 31 else [parts[::-1]] if mark == "." else [
        parts[::-1], [parts[2], parts[0], parts[1]]]
    days = [datetime.date(*order) for order in orders if _is_day(order)]
    if len(set(days)) == 1:
        return f"write the date as year-month-day: {days[0].isoformat()}"
    return "write the date as year-month-day, such as 2026-03-31"


def _is_day(order: list[int]) -> bool:
    try:
        return datetime.date(*order).year >= 1900
    except ValueError:
        return False


class Column(NamedTuple):
    """Where a channel stands in a file: heading of the column, and its unit as text."""

    column: str
    unit: str


@dataclass(frozen=True)
class ColumnsEntry(Entry):
    """Channels of a table file -> {column, unit}. Value: dict of channel -> Column."""

    channels: dict[str, str] = field(default_factory=dict)

    def wanted(self) -> str:
        return 'a table such as {air_temperature = {column = "T air", unit = "degC"}}'

    def read(self, raw: Any) -> dict[str, Column]:
        if not isinstance(raw, dict):
            raise self.refuse(raw)
        troubles, columns = [], {}
        for channel, where in raw.items():
            if channel not in self.channels:
                troubles.append(unknown_entry((channel,), tuple(self.channels)))
                continue
            faults = self._column_troubles(channel, where)
            troubles += faults
            if not faults:
                columns[channel] = Column(where["column"], where["unit"])
        if troubles:
            raise Refused(*troubles)
        return columns

    def _column_troubles(self, channel: str, where: Any) -> list[Trouble]:
        wanted = '{column = "heading in the file", unit = "its unit"}'
        if not isinstance(where, dict) or set(where) != {"column", "unit"}:
            return [Trouble((channel,), f"found {shown(where)}" + _keys_of(where), f"wanted {wanted}",
                            "name the column and its unit")]
        troubles = [trouble for key in ("column", "unit")
                    for trouble in text_troubles(where[key], LONGEST_NAME, (channel, key))]
        if not troubles:
            try:
                scale_to(where["unit"], self.channels[channel])
            except NotAQuantity as error:
                wanted_unit = f"wanted a unit that converts to {unit_words(self.channels[channel])}"
                found = f"found {shown(where['unit'])}{error.why}"
                troubles.append(Trouble((channel, "unit"), found, wanted_unit, error.do))
        return troubles

    def schema(self) -> dict[str, Any]:
        column = {"type": "object", "required": ["column", "unit"], "additionalProperties": False,
                  "properties": {"column": {"type": "string"}, "unit": {"type": "string"}}}
        return {"type": "object", "additionalProperties": False, "properties": dict.fromkeys(self.channels, column)}


@dataclass(frozen=True)
class TableEntry(Entry):
    """A table inside a section. Value: instance of `section` (built by the site reader) or None."""

    section: type[Section] | None = None

    def wanted(self) -> str:
        return "a table with the entries " + ", ".join(entry.entry for entry in self.section.entries().values())

    def read(self, raw: Any) -> dict[str, Any]:
        """The table as it stands: the site reader reads its entries, each with its own line."""
        if not isinstance(raw, dict):
            raise self.refuse(raw, f"write {self.entry} = {{ ... }} with them, or a table under a line of its own")
        return raw

    def schema(self) -> dict[str, Any]:
        return section_schema(self.section)


def _keys_of(raw: Any) -> str:
    return f" with {', '.join(shown(key) for key in raw) or 'nothing in it'}" if isinstance(raw, dict) else ""
