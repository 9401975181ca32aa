"""One entry of the site file: what every declaration has, and the words for what is wrong with an entry.

Each entry is declared once, in the models of `place`, `system` and `logged`. The declaration feeds the reader, the
template, the reference page, the editor schema and the table of facts. The kinds of entries are in `entry_numbers`
and `entry_words`.
"""

from __future__ import annotations

import datetime
import difflib
import json
import unicodedata
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar, NamedTuple

from pydantic import BaseModel, ConfigDict, Field

LONGEST_NAME = 400
LONGEST_NOTE = 4000
LONGEST_PATH = 300
SHOWN_CHARACTERS = 60
# Characters that reorder the text around them: a name must print as it reads.
REORDERING = frozenset("\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


class Trouble(NamedTuple):
    """What is wrong at `path` (below the entry): the last three parts of a Problem."""

    path: tuple[str | int, ...]
    found: str
    wanted: str
    do: str


class Refused(Exception):
    """An entry cannot be read; `.troubles` holds every reason."""

    def __init__(self, *troubles: Trouble):
        """Keep the troubles in the order given."""
        self.troubles = troubles
        super().__init__("; ".join(trouble.found for trouble in troubles))


class Section(BaseModel):
    """A table of the site file: frozen, each field declared with one of the helpers of this module."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)
    title: ClassVar[str] = ""
    affects: ClassVar[str] = ""
    # What to state, beside the required entries, where the whole table is missing and must not be.
    called_for: ClassVar[tuple[str, ...]] = ()

    @classmethod
    def entries(cls) -> dict[str, Entry]:
        """Attribute name -> declaration, in the order of the template."""
        return {name: info.json_schema_extra["entry"] for name, info in cls.model_fields.items()}


def shown(raw: Any) -> str:
    """What the auditor wrote, safe to print: quoted, shortened, control characters as codes."""
    if isinstance(raw, bool):
        return "true" if raw else "false"
    if isinstance(raw, (datetime.date, datetime.time)):
        return raw.isoformat()
    if isinstance(raw, dict):
        return "a table"
    if isinstance(raw, (list, tuple)):
        return "a list"
    if not isinstance(raw, str):
        return _shortened(repr(raw))
    quoted = json.dumps(raw[: SHOWN_CHARACTERS + 1], ensure_ascii=False)[1:-1]
    printable = "".join(char if char.isprintable() else f"\\u{ord(char):04x}" for char in quoted)
    return f'"{_shortened(printable)}"' + (f" ({len(raw)} characters)" if len(raw) > SHOWN_CHARACTERS else "")


def shown_path(path: str) -> str:
    """A path as it was written, safe to print: quoted, whole, its backslashes single."""
    printable = "".join(char if char.isprintable() else f"\\u{ord(char):04x}" for char in path[:LONGEST_PATH])
    return f'"{printable}"' + ("..." if len(path) > LONGEST_PATH else "")


def _shortened(text: str) -> str:
    return text if len(text) <= SHOWN_CHARACTERS else text[:SHOWN_CHARACTERS] + "..."


def nearest(name: str, names: list[str] | tuple[str, ...]) -> str | None:
    """The known name that `name` most resembles, or None."""
    # Unit suffixes ("flow_L_min") are the most natural mistake.
    whole = [known for known in names if name.startswith(f"{known}_")]
    if whole:
        return max(whole, key=len)
    close = difflib.get_close_matches(name[:100].lower(), [known.lower() for known in names], n=1, cutoff=0.7)
    return next((known for known in names if close and known.lower() == close[0]), None)


def plain(number: float) -> str:
    """A number as a person writes it: no trailing zeros, no exponent for everyday sizes."""
    return format(number, ".10g")


@dataclass(frozen=True)
class Entry(ABC):
    """What every declaration has.

    Parameters
    ----------
    entry : str
        Name in the site file (no unit).
    meaning : str
        One line.
    default : Any
        Value where the entry is absent (None where it then plays no part).
    required : bool
        Whether the site file must state it.
    derive : callable or None
        Finds the default from the values of the own section and of those read before: derive(own, whole).
    derived : str
        The same in words.
    example : Any
        Plausible value, as written in the site file.
    needed : str
        What calls for the entry where it is not always required ("floor and ceiling"), or "".
    more : str
        Further sentences for `explain` and the reference page.
    affects : str
        What it affects, where that is not what its section affects.
    """

    entry: str
    meaning: str
    default: Any = None
    required: bool = False
    derive: Callable[[dict[str, Any], dict[str, Any]], Any] | None = None
    derived: str = ""
    example: Any = None
    needed: str = ""
    more: str = ""
    affects: str = ""

    @abstractmethod
    def read(self, raw: Any) -> Any:
        """The value for what the auditor wrote (raises Refused)."""

    @abstractmethod
    def wanted(self) -> str:
        """What is accepted, in words."""

    def absent(self, own: dict[str, Any], whole: dict[str, Any]) -> Any:
        """The value where the entry is not given."""
        return self.derive(own, whole) if self.derive else self.default

    def default_words(self) -> str:
        """The default in words, for the template and the reference page."""
        if self.required:
            return "must be given"
        if self.derived:
            return self.derived
        if self.needed:
            return f"must be given for {self.needed}"
        if self.default in (None, ""):
            return "none" if self.default is None else "empty"
        return self.value_words(self.default)

    def example_line(self) -> str:
        """A line of the site file that states the entry."""
        example = self.default if self.example is None else self.example
        return f"{self.entry} = {self.value_words(example)}"

    def value_words(self, value: Any) -> str:
        """A value as it would be written in the site file."""
        return toml_value(value)

    @abstractmethod
    def schema(self) -> dict[str, Any]:
        """JSON schema of what is accepted."""

    def refuse(self, raw: Any, do: str = "correct the entry", path: tuple[str | int, ...] = ()) -> Refused:
        """The refusal of `raw`, with this entry's own words for what is wanted."""
        return Refused(Trouble(path, f"found {shown(raw)}", f"wanted {self.wanted()}", do))


def section_schema(section: type[Section]) -> dict[str, Any]:
    """JSON schema of a section's table."""
    properties = {entry.entry: {"description": entry.meaning, **entry.schema()} for entry in section.entries().values()}
    required = [entry.entry for entry in section.entries().values() if entry.required]
    return {"type": "object", "description": section.title, "additionalProperties": False, "properties": properties,
            **({"required": required} if required else {})}


def declared(entry: Entry) -> Any:
    """The pydantic field for a declaration. It has no pydantic default: the reader always fills every field."""
    return Field(json_schema_extra={"entry": entry})


def _a_text(raw: Any, path: tuple[str | int, ...]) -> list[Trouble]:
    if isinstance(raw, str):
        return []
    return [Trouble(path, f"found {shown(raw)}", "wanted a text in quotes", "put it in quotes")]


def text_troubles(raw: Any, longest: int, path: tuple[str | int, ...], lines: bool = False) -> list[Trouble]:
    """What keeps `raw` from being printed as it is: not a text, too long, characters that do not print."""
    troubles = _a_text(raw, path)
    if troubles:
        return troubles
    if len(raw) > longest:
        wanted = f"wanted at most {longest} characters"
        troubles.append(Trouble(path, f"found {shown(raw)}", wanted, "shorten the text"))
    hidden = next((char for char in raw if _is_hidden(char) and not (lines and char in "\n\t")), None)
    if hidden is not None:
        found = f"found {shown(raw)} with the control character U+{ord(hidden):04X}"
        wanted = "wanted characters that print" + ("" if lines else ", on one line")
        troubles.append(Trouble(path, found, wanted, "take the character out"))
    return troubles


def _is_hidden(char: str) -> bool:
    return char in REORDERING or unicodedata.category(char) in ("Cc", "Cs", "Cn", "Co", "Zl", "Zp")


def unknown_entry(path: tuple[str | int, ...], known: tuple[str, ...] | list[str]) -> Trouble:
    """The trouble of a name that the site file does not know, with the nearest that it does."""
    close = nearest(str(path[-1]), known)
    wanted = "wanted a known entry" if close else "wanted one of " + ", ".join(known)
    do = f"write {close} if that is meant" if close else "take it out, or start the line with # to keep it as a remark"
    return Trouble(path, f"there is no entry {shown(str(path[-1]))} here", wanted, do)


def not_a_choice(
    raw: Any, choices: tuple[str, ...], path: tuple[str | int, ...], meant: dict[str, str] | None = None,
) -> Trouble:
    """The trouble of a word that is none of the choices, with that which was most likely meant.

    Parameters
    ----------
    meant : dict, optional
        Words in small letters that people use -> the choice that they mean.
    """
    close = _choice_meant(raw, choices, meant or {}) if isinstance(raw, str) else None
    return Trouble(path, f"found {shown(raw)}", f"wanted {one_of(choices)}",
                   f'write "{close}" if that is meant' if close else "choose one of them")


def _choice_meant(raw: str, choices: tuple[str, ...], meant: dict[str, str]) -> str | None:
    """By a word that people use for it, by its letters, or by a choice whose words stand among those written."""
    said = " ".join(raw[:100].lower().replace("_", " ").replace("-", " ").split())
    if said in meant:
        return meant[said]
    close = nearest(raw, choices) or nearest(said, choices)
    inside = [choice for choice in choices if f" {choice} " in f" {said} " or f" {choice}s " in f" {said} "]
    return close or (max(inside, key=len) if inside else None)


def one_of(choices: tuple[str, ...]) -> str:
    """The choices in words."""
    return "one of " + ", ".join(f'"{choice}"' for choice in choices)


def toml_value(value: Any) -> str:
    """A value as it stands in a TOML file."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return plain(value)
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {toml_value(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml_value, value)) + "]"
    if isinstance(value, (datetime.date, datetime.time)):
        return value.isoformat()
    return json.dumps(str(value), ensure_ascii=False)
