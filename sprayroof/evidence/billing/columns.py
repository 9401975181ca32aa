"""What columns of a file of bills speak of, by their headings and cells: marks, meters, solar feed, dates, amounts."""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping

import numpy as np

from sprayroof.evidence.gather import Gather
from sprayroof.evidence.log_files.raw_table import RawTable

_EXPORT = re.compile(
    r"export|feed.?in|fed.?in|einspeis|r[uü]cklieferung|surplus|inject|exceden|immess|immission|teruglever|invoeding"
    r"|\bnet(ted|to)?\b|net.?meter|\bsolar|\bpv\b|photovolt|fotovolt|sold|\bsale", re.IGNORECASE)
_MARK = re.compile(
    r"estim|gesch[aä]tzt|sch[aä]tz|read.?(type|kind|code|status)|(type|kind) of read|ablese.?art|relev[eé]|stimat"
    r"|geschat|status|remark|quality", re.IGNORECASE)
_METER = re.compile(
    r"meter|z[aä]hler|compteur|contador|contatore|\bmpan|\bpod\b|\bean\b|account|serial|service.?point", re.IGNORECASE)
_COST = re.compile(r"cost|price|charge|amount due|total due|usd|eur|gbp|\$|€|£|betrag|kosten|montant|importe|tax|vat",
                   re.IGNORECASE)
# Words that speak of a reading whatever the heading says
READING_WORDS = frozenset({
    "actual", "estimated", "est", "est.", "estimate", "estimation", "gelesen", "abgelesen", "geschätzt", "estimé",
    "estimée", "relevé", "réel", "réelle", "estimado", "estimada", "leída", "stimato", "stimata", "rilevata", "geschat",
    "gemeten", "correction", "true-up", "cancelled", "canceled", "storno", "storniert"})
LEAST_ROWS = 3  # of each meter, before a column of two numbers speaks of two meters
MOST_METERS = 20


def is_export(heading: str) -> bool:
    """Whether a heading speaks of solar electricity, of what was fed in, or of net amounts."""
    return _EXPORT.search(heading) is not None


def is_cost(heading: str) -> bool:
    """Whether a heading speaks of money."""
    return _COST.search(heading) is not None


def unasked(raw: RawTable, wanted: Mapping[str, str]) -> list[str]:
    """Headings of the file that nobody asked for and that stand there once."""
    known = {" ".join(heading.split()).casefold() for heading in wanted}
    return [heading for heading in raw.headings
            if heading and raw.headings.count(heading) == 1 and " ".join(heading.split()).casefold() not in known]


def says_how_read(heading: str, cells: np.ndarray, marks: Mapping[str, int]) -> bool:
    """Whether a column tells estimated readings from actual ones.

    Parameters
    ----------
    heading : str
    cells : ndarray of object, shape (n,)
    marks : mapping of str to int
        Words that the reader of bills knows.
    """
    texts = [" ".join(str(cell).split()).casefold() for cell in cells]
    filled = [text for text in texts if text not in ("", "-", "--", "0")]
    if not filled or any(text not in marks for text in filled):
        return False
    return bool(set(filled) & READING_WORDS) or _MARK.search(heading) is not None


def meters_in(heading: str, cells: np.ndarray, order: np.ndarray) -> list[str]:
    """Numbers of the meters in a column that by its heading holds them, where their bills lie between each other.

    Parameters
    ----------
    heading : str
    cells : ndarray of object, shape (n,)
    order : ndarray of int, shape (n,)
        Rows in order of time. A meter that took another's place changes its number once, and is no second meter.
    """
    if _METER.search(heading) is None:
        return []
    ordered = [str(cell).strip() for cell in cells[order]]
    names = list(dict.fromkeys(ordered))
    few = min((ordered.count(name) for name in names), default=0) < min(LEAST_ROWS, len(ordered) // 2)
    changes = sum(one != other for one, other in itertools.pairwise(ordered))
    return names if 1 < len(names) <= MOST_METERS and not few and changes > len(names) - 1 else []


def is_meter(heading: str, cells: np.ndarray) -> bool:
    """Whether a column holds the numbers of a few meters, wherever they stand."""
    names = {str(cell).strip() for cell in cells}
    return _METER.search(heading) is not None and 1 < len(names) <= MOST_METERS and len(names) * 2 <= len(cells)


def ask_whether_netted(where: str, what: str, entry: str, gather: Gather) -> None:
    """Solar panels behind a meter: what they made must be known, or more sun passes for a saving."""
    gather.problem(
        where, what, "whether solar electricity is taken off before this meter",
        f'add netted = true and solar_file = "bills/solar.csv" (all that the panels made) to {entry}, its amounts '
        "being what was bought less what was fed in; or netted = false if no panels stand behind this meter and "
        "amounts below zero are corrections")
