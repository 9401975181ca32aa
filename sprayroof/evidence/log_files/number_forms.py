"""Numbers as people and loggers write them: decimal commas, marks between thousands, units and limits in the cell.

A column is read with one decimal mark. The mark of a cell is certain where it can be read one way only ("12,5",
"1.234,5"); "1,234" is not. What is certain elsewhere in the file decides for such a column; nothing else does.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

BLANKS = " \u00a0\u2007\u2009\u202f"
GROUP_MARKS = BLANKS + "'\u2019\u02bc"
NOT_PLAIN = re.compile(r"[^0-9.eE+\- \n]")
_SIGN = r"[+\-\u2212]?"
_DIGITS = re.compile(rf"({_SIGN})\s*([0-9][0-9.,{GROUP_MARKS}]*[0-9.,]|[0-9]|[.,][0-9]+)([eE][+-]?[0-9]+)?")
_WITH_UNIT = re.compile(
    rf"([<>\u2264\u2265]?)\s*({_SIGN}\s*[0-9.,][0-9.,{GROUP_MARKS}]*(?:[eE][+-]?[0-9]+)?)\s*(\D.*)?", re.DOTALL
)
_THOUSANDS = {",": re.compile(r"[1-9]\d{0,2}(,\d{3})+"), ".": re.compile(r"[1-9]\d{0,2}(\.\d{3})+")}
_GROUPED = {".": re.compile(rf"\d[,{GROUP_MARKS}]\d"), ",": re.compile(rf"\d[.{GROUP_MARKS}]\d")}
_OF_GROUPS = {mark: re.compile(rf"[1-9]\d{{0,2}}([{mark}]\d{{3}})+") for mark in (*GROUP_MARKS,)}

# A point with other than three digits behind it, with none or more than three before it, or with a zero before it
_CERTAIN_POINT = re.compile(r"\.(?!\d{3}(?!\d))|\d{4}\.|(?:^|\n)[+\- ]*0*\.", re.MULTILINE)


@dataclass(frozen=True)
class Marks:
    """Which decimal marks the cells of a column show; each is the place of the first such cell, or None.

    Parameters
    ----------
    point, comma : int or None
        A mark that can only be the decimal mark.
    point_or_thousands, comma_or_thousands : int or None
        A mark before exactly three digits, which may also part thousands.
    """

    point: int | None = None
    comma: int | None = None
    point_or_thousands: int | None = None
    comma_or_thousands: int | None = None

    @property
    def certain(self) -> str | None:
        """The decimal mark, if the column shows one and not the other."""
        if (self.point is None) == (self.comma is None):
            return None
        return "." if self.comma is None else ","


@dataclass(frozen=True)
class Cell:
    """A cell parted: a limit sign, the digits with their marks, an exponent, and the words behind."""

    limit: str
    digits: str
    unit: str


def parted(text: str) -> Cell | None:
    """The parts of a cell that begins with a number; None where it does not."""
    match = _WITH_UNIT.fullmatch(text.lstrip("'").strip())
    if match is None or not any(letter.isdigit() for letter in match[2]):
        return None
    return Cell(match[1], match[2].strip(BLANKS), (match[3] or "").strip())


def marks_of(texts: list[str]) -> Marks:
    """The decimal marks that some cells show (cells that are no numbers count for nothing)."""
    first: dict[str, int] = {}
    for place, text in enumerate(texts):
        cell = parted(text)
        kind = _mark_of(cell.digits) if cell else None
        if kind:
            first.setdefault(kind, place)
    return Marks(first.get("."), first.get(","), first.get(".?"), first.get(",?"))


def _mark_of(digits: str) -> str | None:
    """'.' or ',' where that is certainly the decimal mark, '.?' or ',?' where it may part thousands, else None."""
    body = _body(digits)
    points, commas = body.count("."), body.count(",")
    if points and commas:
        return "." if body.rfind(".") > body.rfind(",") else ","
    mark, count = (".", points) if points else (",", commas)
    if count == 0:
        return None
    looks = _THOUSANDS[mark].fullmatch(body) is not None
    if count > 1:
        return ("," if mark == "." else ".") if looks else None
    return f"{mark}?" if looks else mark


def _body(digits: str) -> str:
    return re.split(r"[eE]", digits.lstrip("+-\u2212" + BLANKS))[0]


def number_of(digits: str, decimal: str) -> float:
    """The number that digits with marks mean where `decimal` is the decimal mark; NaN where they cannot mean one."""
    match = _DIGITS.fullmatch(digits)
    if match is None:
        return np.nan
    whole, _, fraction = match[2].partition(decimal)
    other = "," if decimal == "." else "."
    groups = [mark_ for mark_ in (other, *GROUP_MARKS) if mark_ in whole]
    if any(letter not in "0123456789" for letter in fraction) or len(groups) > 1:
        return np.nan
    if groups:
        pattern = _THOUSANDS[other] if groups[0] == other else _OF_GROUPS[groups[0]]
        if not pattern.fullmatch(whole):
            return np.nan
        whole = whole.replace(groups[0], "")
    sign = "-" if match[1] in ("-", "\u2212") else ""
    return float(f"{sign}{whole or '0'}.{fraction or '0'}{match[3] or ''}")


def is_grouped(digits: str, decimal: str) -> bool:
    """Whether the digits have marks between thousands."""
    return _GROUPED[decimal].search(digits) is not None


def all_plain(texts: list[str]) -> np.ndarray | None:
    """The numbers of texts that are all plain (decimal point, nothing else), found at one stroke; else None."""
    if not texts or NOT_PLAIN.search("\n".join(texts)):
        return None
    try:
        values = np.array(texts, dtype=float)
    except ValueError:
        return None
    return values if np.isfinite(values).all() else None


def plain_marks(texts: list[str]) -> Marks:
    """`marks_of` for texts that are all plain, in which only points can stand."""
    joined = "\n".join(texts)
    certain = _CERTAIN_POINT.search(joined)
    if certain:
        return Marks(point=joined.count("\n", 0, certain.end()))
    return Marks(point_or_thousands=next((place for place, text in enumerate(texts) if "." in text), None))
