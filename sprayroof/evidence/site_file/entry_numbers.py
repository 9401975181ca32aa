# ruff: noqa: D102  (read, wanted, value_words and schema are described once, in Entry)
"""Entries of the site file that are numbers: facts with a range, settings, whole numbers, months."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, ClassVar

from sprayroof.evidence.site_file.entries import (
    LONGEST_NAME,
    Entry,
    Refused,
    Trouble,
    declared,
    not_a_choice,
    plain,
    shown,
    text_troubles,
    unknown_entry,
)
from sprayroof.evidence.site_file.facts import (
    DEFAULT_SOURCE,
    NO_SPREAD,
    SOURCE_FACTORS,
    SOURCES,
    Fact,
    SectorFact,
    Spread,
    clipped,
    spread_of_range,
)
from sprayroof.evidence.units import NotAQuantity, Scale, bare_number, number_in, number_words, scale_to, unit_words


@dataclass(frozen=True)
class NumberEntry(Entry):
    """A number that is a setting, not a fact: it has no range. Value: float in `unit`."""

    unit: str = "1"
    bounds: tuple[float, float] = (-math.inf, math.inf)
    suffix: str | None = None

    def wanted(self) -> str:
        return f"{number_words(self.unit)}{self.bounds_words()}{_unit_offer(self.unit)}"

    def bounds_words(self) -> str:
        """The physical bounds in words, with a leading space."""
        low, high = (None if math.isinf(bound) else plain(bound) for bound in self.bounds)
        if low is None or high is None:
            return f" of {low} or more" if low else f" up to {high}" if high else ""
        return f" from {low} to {high}"

    def number(self, raw: Any, path: tuple[str | int, ...] = ()) -> float:
        """The number that `raw` states, in the entry's unit and inside its bounds."""
        try:
            value = number_in(raw, self.unit)
        except NotAQuantity as error:
            found = f"found {shown(raw)}{error.why}"
            bare = bare_number(raw)
            do = error.do if bare is None or self._holds(bare) else self._advice_outside(bare)
            raise Refused(Trouble(path, found, f"wanted {self.wanted()}", do)) from None
        if not self._holds(value):
            raise self.refuse(raw, self._advice_outside(value), path)
        return value

    def _holds(self, value: float) -> bool:
        return self.bounds[0] <= value <= self.bounds[1]

    def _advice_outside(self, value: float) -> str:
        """What to write for a number that fits in another unit than the documented one; the likeliest unit counts."""
        meant = {name: scale(value) for name, scale in _other_units(self.unit).items()}
        fitting = [name for name, number in meant.items() if self._holds(number)]
        if not fitting:
            return "correct the entry"
        usual = self.example if isinstance(self.example, (int, float)) else self.default
        if isinstance(usual, (int, float)) and usual > 0.0:
            fitting.sort(key=lambda name: abs(math.log(meant[name] / usual)) if meant[name] > 0.0 else math.inf)
        name = fitting[0]
        words = {"%": "per cent", "degF": "°F"}.get(name, name)
        return f'if it is meant in {words}, write "{plain(value)} {name}"'

    def read(self, raw: Any) -> float:
        return self.number(raw)

    def value_words(self, value: Any) -> str:
        return plain(value)

    def schema(self) -> dict[str, Any]:
        number = {"type": "number"}
        number |= {key: bound for key, bound in zip(("minimum", "maximum"), self.bounds, strict=True)
                   if math.isfinite(bound)}
        words = f"number with unit, for example {self.text_example()}"
        return {"anyOf": [number, {"type": "string", "description": words}]}

    def text_example(self) -> str:
        """A text with unit that would be accepted, quoted."""
        example = self.example if isinstance(self.example, (int, float)) else 1
        return f'"{plain(example)} {unit_words(self.unit, symbol=True)}"'


@dataclass(frozen=True)
class FactEntry(NumberEntry):
    """A number about the site with range and source. Value: Fact (or None)."""

    spread: Spread = NO_SPREAD
    default_range: tuple[float, float] | None = None
    keys: ClassVar[tuple[str, ...]] = ("value", "low", "high", "source", "note")

    def read(self, raw: Any) -> Fact:
        if isinstance(raw, Fact):
            raw = {"value": raw.value, "low": raw.low, "high": raw.high, "note": raw.note,
                   **({"source": raw.source} if raw.source in SOURCES else {})}
        if isinstance(raw, dict):
            return self._read_table(raw)
        return self._fact(self.number(raw), None, None, "unstated", "")

    def _read_table(self, raw: dict[str, Any]) -> Fact:
        troubles = [unknown_entry((key,), self.keys) for key in raw if key not in self.keys]
        parts: dict[str, float] = {}
        for name in ("value", "low", "high"):
            if name in raw:
                try:
                    parts[name] = self.number(raw[name], (name,))
                except Refused as refused:
                    troubles.extend(refused.troubles)
        troubles += self._table_troubles(raw, parts)
        source = raw.get("source", "unstated")
        if "source" in raw and source not in SOURCES:
            troubles.append(not_a_choice(source, SOURCES, ("source",)))
        note = raw.get("note", "")
        troubles += text_troubles(note, LONGEST_NAME, ("note",))
        if troubles:
            raise Refused(*troubles)
        return self._fact(parts["value"], parts.get("low"), parts.get("high"), source, note)

    def _table_troubles(self, raw: dict[str, Any], parts: dict[str, float]) -> list[Trouble]:
        troubles = []
        if "value" not in raw:
            troubles.append(Trouble((), "the table has no value", "wanted value, and low and high if a range is known",
                                    f"add {self.example_line().replace(self.entry, 'value', 1)}"))
        if ("low" in raw) != ("high" in raw):
            there, gone = ("low", "high") if "low" in raw else ("high", "low")
            troubles.append(Trouble((), f"{there} is given without {gone}", "wanted both ends of the range or neither",
                                    f"add {gone}, or take {there} out"))
        if len(parts) == 3 and not parts["low"] <= parts["value"] <= parts["high"]:
            found = f"low {plain(parts['low'])}, value {plain(parts['value'])}, high {plain(parts['high'])}"
            troubles.append(Trouble((), found, "wanted low <= value <= high", "correct the three numbers"))
        return troubles

    def _fact(self, value: float, low: float | None, high: float | None, source: str, note: str) -> Fact:
        if low is None or high is None:
            low, high = clipped(*self._spread_around(value, source), bounds=self.bounds)
        return Fact(value, low, high, self.unit, source, note)

    def _spread_around(self, value: float, source: str) -> tuple[float, float, float]:
        factor = SOURCE_FACTORS[source]
        if not self.required:
            # Stating a number must never leave it less certain than saying nothing at all.
            factor = min(factor, 1.0)
        low, high = self.stated_spread().around(value, factor)
        return low, value, high

    def stated_spread(self) -> Spread:
        """The spread of a stated number, before the factor for its source."""
        if self.spread == NO_SPREAD and self.default_range is not None and self.default is not None:
            return spread_of_range(self.default, *self.default_range)
        return self.spread

    def default_fact(self, value: float) -> Fact:
        """The tool's own value with the entry's default range."""
        if self.default_range is not None and value == self.default:
            low, high = self.default_range
        else:
            low, high = clipped(*self._spread_around(value, "nameplate"), bounds=self.bounds)
        return Fact(value, low, high, self.unit, DEFAULT_SOURCE, given=False)

    def absent(self, own: dict[str, Any], whole: dict[str, Any]) -> Fact | None:
        value = super().absent(own, whole)
        return None if value is None else self.default_fact(float(value))

    def schema(self) -> dict[str, Any]:
        number = super().schema()
        end = {"type": ["number", "string"]}
        table = {"type": "object", "additionalProperties": False, "required": ["value"],
                 "properties": {"value": end, "low": end, "high": end, "source": {"enum": list(SOURCES)},
                                "note": {"type": "string", "maxLength": LONGEST_NAME}}}
        return {"anyOf": [*number["anyOf"], table]}


@dataclass(frozen=True)
class SectorsEntry(FactEntry):
    """A fact that may be told by even sectors clockwise from north. Value: Fact, or SectorFact for a list."""

    fewest: ClassVar[int] = 4
    most: ClassVar[int] = 36

    def list_words(self) -> str:
        """What a list stands for."""
        return f"a list of {self.fewest} to {self.most}, for even sectors, clockwise, the first centred on north"

    def wanted(self) -> str:
        return f"{super().wanted()}; one all round, or {self.list_words()}"

    def read(self, raw: Any) -> Fact:
        if isinstance(raw, SectorFact):
            raw = {"value": raw.sectors, "low": raw.low, "high": raw.high, "note": raw.note,
                   **({"source": raw.source} if raw.source in SOURCES else {})}
        listed = raw.get("value") if isinstance(raw, dict) else raw
        if not isinstance(listed, (list, tuple)):
            return super().read(raw)
        sectors, troubles = self._sectors(listed, ("value",) if isinstance(raw, dict) else ())
        mean = sum(sectors) / len(sectors) if sectors else self.bounds[0]
        try:
            fact = super().read({**raw, "value": mean} if isinstance(raw, dict) else mean)
        except Refused as refused:
            troubles += refused.troubles if sectors else [one for one in refused.troubles if one.path]
        if troubles:
            raise Refused(*troubles)
        return SectorFact(**vars(fact), sectors=tuple(sectors))

    def value_words(self, value: Any) -> str:
        return f"[{', '.join(map(plain, value))}]" if isinstance(value, (list, tuple)) else plain(value)

    def _sectors(self, listed: Any, path: tuple[str | int, ...]) -> tuple[list[float], list[Trouble]]:
        """Numbers of a list (none where one cannot be read), and what is wrong with it."""
        if not self.fewest <= len(listed) <= self.most:
            return [], [Trouble(path, f"found a list of {len(listed)}", f"wanted {self.wanted()}",
                                "give one number a sector, or one all round")]
        values, troubles = [], []
        for place, item in enumerate(listed):
            try:
                values.append(self.number(item, (*path, place)))
            except Refused as refused:
                troubles.extend(refused.troubles)
        return ([] if troubles else values), troubles

    def schema(self) -> dict[str, Any]:
        number, text, table = super().schema()["anyOf"]
        listed = {"type": "array", "items": {"anyOf": [number, text]}, "minItems": self.fewest, "maxItems": self.most}
        value = {"anyOf": [table["properties"]["value"], listed]}
        return {"anyOf": [number, text, listed, {**table, "properties": {**table["properties"], "value": value}}]}


@dataclass(frozen=True)
class WholeEntry(Entry):
    """A whole number. Value: int."""

    allowed: tuple[int, ...] = ()
    bounds: tuple[int, int] = (0, 1_000_000)
    unit: str = ""

    def wanted(self) -> str:
        if self.allowed:
            return "one of " + ", ".join(map(str, self.allowed))
        return f"a whole number from {self.bounds[0]} to {self.bounds[1]}"

    def read(self, raw: Any) -> int:
        is_whole = isinstance(raw, int) and not isinstance(raw, bool)
        if not is_whole or (raw not in self.allowed if self.allowed else not self.bounds[0] <= raw <= self.bounds[1]):
            raise self.refuse(raw)
        return raw

    def schema(self) -> dict[str, Any]:
        if self.allowed:
            return {"enum": list(self.allowed)}
        return {"type": "integer", "minimum": self.bounds[0], "maximum": self.bounds[1]}


@dataclass(frozen=True)
class MonthsEntry(NumberEntry):
    """Twelve numbers, January to December, or one for all. Value: tuple of 12 floats in `unit`."""

    def wanted(self) -> str:
        return f"{super().wanted()}; one for the whole year or a list of twelve, January to December"

    def read(self, raw: Any) -> tuple[float, ...]:
        if not isinstance(raw, (list, tuple)):
            return (self.number(raw),) * 12
        if len(raw) != 12:
            found = f"found a list of {len(raw)}"
            raise Refused(Trouble((), found, f"wanted {self.wanted()}", "give twelve numbers, or one"))
        values, troubles = [], []
        for month, item in enumerate(raw):
            try:
                values.append(self.number(item, (month,)))
            except Refused as refused:
                troubles.extend(refused.troubles)
        if troubles:
            raise Refused(*troubles)
        return tuple(values)

    def value_words(self, value: float | tuple[float, ...]) -> str:
        if not isinstance(value, tuple):
            return plain(value)
        return plain(value[0]) if len(set(value)) == 1 else "[" + ", ".join(map(plain, value)) + "]"

    def schema(self) -> dict[str, Any]:
        one = super().schema()
        return {"anyOf": [*one["anyOf"], {"type": "array", "items": one, "minItems": 12, "maxItems": 12}]}


def fact(entry: str, unit: str, meaning: str, **more: Any) -> Any:
    """Declare a fact: a number with range and source. See FactEntry."""
    if "default" not in more and "derive" not in more:
        more.setdefault("required", True)
    return declared(FactEntry(entry, meaning, unit=unit, **more))


def sectors(entry: str, unit: str, meaning: str, **more: Any) -> Any:
    """Declare a fact that may be told by direction. See SectorsEntry."""
    return declared(SectorsEntry(entry, meaning, unit=unit, **more))


def number(entry: str, unit: str, meaning: str, **more: Any) -> Any:
    """Declare a setting that is a number. See NumberEntry."""
    if "default" not in more and "derive" not in more:
        more.setdefault("required", True)
    return declared(NumberEntry(entry, meaning, unit=unit, **more))


# Units whose bare numbers are often written where the documented unit was wanted; the likeliest first.
_OTHER_UNITS: dict[str, tuple[str, ...]] = {
    "1": ("%",), "degC": ("degF",), "m": ("mm", "cm", "ft"), "m2": ("ft2",), "m3": ("L", "US gal"), "mm": ("m", "in"),
    "L/min": ("m3/h", "L/s", "L/h"), "W": ("kW",), "kW": ("W",), "kW/K": ("W/K",), "W/K": ("kW/K",),
    "year": ("months", "days"), "h": ("min", "days"), "L/day": ("m3/day",),
}


def _other_units(unit: str) -> dict[str, Scale]:
    """Name of another unit -> its conversion to the documented one."""
    return {name: scale_to(name, unit) for name in _OTHER_UNITS.get(unit, ())}


def _unit_offer(unit: str) -> str:
    return "" if unit in ("1", "own") or unit.startswith("currency") else ", or a text with its unit"
