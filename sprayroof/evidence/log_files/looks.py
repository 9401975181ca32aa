"""What each file of a pattern shows by itself, and what all of them together allow to say."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from sprayroof.evidence.gather import some_of
from sprayroof.evidence.log_files.column_guess import Guess
from sprayroof.evidence.log_files.raw_table import RawTable
from sprayroof.evidence.site_file.entries import toml_value

FIRST_ROWS = 2000  # of the files after the first: enough to see what a column is


def printable(text: str) -> str:
    """Text of a file as it may stand behind a # of TOML."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)


@dataclass(frozen=True, eq=False)
class Times:
    """Times of an undeclared file: nanoseconds on its clock in the order of the file, and what to say of them.

    Parameters
    ----------
    clock_ns : ndarray of int64, shape (n,)
    in_utc : bool
        Whether the cells carry their own zone.
    form : str
        In strptime codes, or words.
    lines : tuple of str
        For the block.
    readings : dict of str to ndarray of int64, shape (n,)
        Where the dates can be read several ways: form -> the times so read.
    """

    clock_ns: np.ndarray
    in_utc: bool
    form: str
    lines: tuple[str, ...] = ()
    readings: dict[str, np.ndarray] | None = None

    @property
    def forms(self) -> list[str]:
        """All forms in which the file can be read."""
        return list(self.readings or {self.form: self.clock_ns})


@dataclass(frozen=True)
class ZoneGuess:
    """A clock: its IANA name, the reason, and whether the file shows it (else it is the site's, assumed)."""

    name: str
    why: str
    shown: bool

    @property
    def line(self) -> str:
        """For the block."""
        return f'time_zone = "{self.name}"  # {printable(self.why)}'


@dataclass(frozen=True, eq=False)
class Look:
    """One file, looked into.

    Parameters
    ----------
    file : str
        Shown name.
    raw : RawTable
        Its cells; of later files of a pattern the first rows only.
    head : tuple of str
        Lines for the block: sheet, encoding, delimiter.
    time_column : str
    clock_column : str or None
    times : Times
        Of all rows.
    devices : dict of str to dict of str to int
        Heading -> devices that it names, one or more, and their rows.
    """

    file: str
    raw: RawTable
    head: tuple[str, ...]
    time_column: str
    clock_column: str | None
    times: Times
    devices: dict[str, dict[str, int]]

    def thinned(self) -> Look:
        """The same with the cells of the first rows only; all times are kept."""
        raw = self.raw
        cells = {heading: column[:FIRST_ROWS] for heading, column in raw.cells.items()}
        return replace(self, raw=replace(raw, cells=cells, lines=raw.lines[:FIRST_ROWS]))


def same_columns(looks: list[Look]) -> bool:
    """Whether all files have one form, so that one block can hold them."""
    return len({(look.time_column, look.clock_column, look.raw.headings) for look in looks}) == 1


def disagreement(what: str, told: dict[str, list[str]]) -> str:
    """`the files disagree on the clock: "UTC" (logs/a.csv); "Etc/GMT+5" (logs/b.csv)`."""
    return f"the files disagree on {what}: " + "; ".join(f"{value} ({some_of(files, 3)})"
                                                         for value, files in told.items())


def _by_value(looks: list[Look], value: Callable[[Look], str]) -> dict[str, list[str]]:
    told: dict[str, list[str]] = {}
    for look in looks:
        told.setdefault(value(look), []).append(look.file)
    return told


def with_one_form(looks: list[Look]) -> tuple[list[Look], list[str]]:
    """Files read by the form of dates that all of them allow, and lines for the block.

    A file whose dates can be read two ways follows one that can be read one way only.
    """
    shared = [form for form in looks[0].times.forms if all(form in look.times.forms for look in looks)]
    if not shared:
        told = _by_value(looks, lambda look: " or ".join(toml_value(form) for form in look.times.forms))
        return looks, ["# " + printable(f"{disagreement('the form of their times', told)}: a [[log]] block for each.")]
    sure = next((look for look in looks if look.times.readings is None), None)
    if len(shared) > 1 or sure is None or all(look.times.readings is None for look in looks):
        return looks, list(looks[0].times.lines)
    chosen = [replace(look, times=_read_as(look.times, shared[0])) for look in looks]
    return chosen, [f"time_format = {toml_value(shared[0])}  # the only reading that {printable(sure.file)} allows"]


def _read_as(times: Times, form: str) -> Times:
    return times if times.readings is None else replace(times, clock_ns=times.readings[form], form=form, readings=None)


def one_zone(looks: list[Look], zones: list[ZoneGuess]) -> list[str]:
    """Lines for the clock: what any file shows stands for all; what two show differently is asked.

    Parameters
    ----------
    looks : list of Look
    zones : list of ZoneGuess
        Of each file by itself.
    """
    shown = [(look.file, zone) for look, zone in zip(looks, zones, strict=True) if zone.shown]
    if not shown:
        return [zones[0].line]
    told: dict[str, list[str]] = {}
    for file, zone in shown:
        told.setdefault(f'"{zone.name}"', []).append(f"{file}: {zone.why}")
    if len(told) == 1:
        file, zone = shown[0]
        return [zone.line if len(looks) == 1 else replace(zone, why=f"{file}: {zone.why}").line]
    return ["# " + printable(f"{disagreement('the clock', told)}. A [[log]] block for each, or keep one of:"),
            *(f"# time_zone = {name}" for name in told)]


def one_head(looks: list[Look]) -> list[str]:
    """Lines on sheet, encoding and delimiter, and where files differ in them."""
    told = _by_value(looks, lambda look: ", ".join(line.lstrip("# ") for line in look.head) or "nothing to state")
    differ = ["# " + printable(f"{disagreement('how they are written', told)}: a [[log]] block for each.")] if (
        len(told) > 1) else []
    return [*looks[0].head, *differ]


def one_guess_each(looks: list[Look], guesses: list[list[Guess]]) -> list[Guess]:
    """A guess for each column: the first that is certain; where two that are certain differ it becomes a question."""
    return [_one_guess(looks, [by_file[place] for by_file in guesses]) for place in range(len(guesses[0]))]


def _one_guess(looks: list[Look], several: list[Guess]) -> Guess:
    certain = [(look.file, guess) for look, guess in zip(looks, several, strict=True) if guess.certain]
    if not certain:
        return next((guess for guess in several if guess.channel), several[0])
    told: dict[str, list[str]] = {}
    for file, guess in certain:
        words = " ".join(part for part in (guess.channel or "", guess.unit, guess.kind) if part)
        told.setdefault(words, []).append(file)
    first = certain[0][1]
    if len(told) == 1:
        return first
    return replace(first, certain=False, question=f"{disagreement('this column', told)}; which is it?")
