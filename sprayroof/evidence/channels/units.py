"""Kinds and units of log columns: what a number is, and its conversion to the channel's unit."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.channels.spray_times import level_while_on
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.site_file.channel_table import ChannelMeaning
from sprayroof.evidence.units import NotAQuantity, Scale, converts, scale_to, unit_words

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.logged import Log, LogColumn

AMOUNTS = ("sum", "counter", "tips")
_TONS = re.compile(r"\b(tons?|tr|refrigeration)\b", re.IGNORECASE)
PLAIN_COUNTS = ("", "1", "count", "counts", "pulse", "pulses", "tip", "tips", "imp", "impulses")


def kind_of(log: Log, column: LogColumn, meaning: ChannelMeaning) -> str:
    """What a number of the column is: as stated, else by channel and unit."""
    if column.kind:
        return column.kind
    if meaning.kind == "status":
        return "status"
    if meaning.kind == "sum":
        return log.values if converts(column.unit, f"{meaning.unit}/h") else "sum"
    return log.values


def scale_of(column: LogColumn, meaning: ChannelMeaning, kind: str, readings: np.ndarray, entry: str,
             gather: Gather) -> Scale | None:
    """The conversion of a column's numbers to the channel's unit, or to its unit of amounts; None after a problem.

    Parameters
    ----------
    column : LogColumn
    meaning : ChannelMeaning
    kind : str
        One of `channel_table.KINDS`. Amounts convert to `meaning.counts`; rain that is no amount converts to mm/h.
    readings : ndarray
        As in the file; they tell a running total from amounts per interval.
    entry : str
        Entry of the channel ("log.1.columns.rain").
    gather : Gather
        Receives the problem.
    """
    if meaning.counts == "Wh" and _TONS.search(column.unit):
        gather.problem(f"site file, {entry}.unit", f'"{column.unit}", a measure of cooling', meaning.meaning,
                       f"name the column of the electricity at {entry}")
        return None
    if kind in AMOUNTS:
        return _amount_scale(column, meaning, kind, entry, gather)
    if column.per_count:
        gather.problem(f"site file, {entry}.per_count", f'"{column.per_count}" beside kind "{kind}"',
                       "per_count only for counts", f'add kind = "counter" or kind = "tips" to {entry}')
        return None
    unit = f"{meaning.unit}/h" if meaning.kind == "sum" else meaning.unit
    if meaning.counts and converts(column.unit, meaning.counts) and not converts(column.unit, unit):
        _ask_kind(column, meaning, readings, entry, gather)
        return None
    return _scale(column.unit, unit, f"{entry}.unit", gather, readings)


def _amount_scale(column: LogColumn, meaning: ChannelMeaning, kind: str, entry: str, gather: Gather) -> Scale | None:
    if not meaning.counts:
        gather.problem(f"site file, {entry}.kind", f'"{kind}"',
                       'one of "mean", "instant", "last value holds", "status" for this channel', "correct the entry")
        return None
    if column.per_count:
        return _scale(column.per_count, meaning.counts, f"{entry}.per_count", gather)
    if column.unit.strip().lower() in PLAIN_COUNTS:
        example = {"mm": "0.2 mm", "L": "10 L", "Wh": "1 Wh"}[meaning.counts]
        gather.problem(f"site file, {entry}", f'counts (unit "{column.unit}") without what one stands for',
                       f"the amount behind one count, in {meaning.counts} or a unit that converts to it",
                       f'add per_count = "{example}" to {entry} with the figure on the instrument')
        return None
    rate = "mm/h" if meaning.counts == "mm" else meaning.unit
    if converts(column.unit, rate) and not converts(column.unit, meaning.counts):
        gather.problem(f"site file, {entry}.kind", f'"{kind}" beside the unit "{column.unit}", which is a rate',
                       "an amount for sums and counters", f'write kind = "mean" at {entry}, or the unit of the amounts')
        return None
    return _scale(column.unit, meaning.counts, f"{entry}.unit", gather)


def _ask_kind(column: LogColumn, meaning: ChannelMeaning, readings: np.ndarray, entry: str, gather: Gather) -> None:
    """An amount where a rate is meant: per interval or running total? The readings hint at which."""
    known = readings[np.isfinite(readings)]
    falls = float((np.diff(known) < 0.0).mean()) if len(known) > 1 else 0.0
    never = len(known) > 2 and falls == 0.0 and known[-1] > known[0]
    likely = "counter" if never or (falls < 0.01 and len(known) > 2 and np.median(known) > 0.0) else "sum"
    reason = ("the readings never fall, as those of a running total" if never else
              f"the readings fall in {falls:.0%} of the steps" if len(known) > 1 else "there are too few readings")
    gather.problem(f"site file, {entry}.unit", f'"{column.unit}" is an amount and no rate; {reason}',
                   f'kind = "sum" for amounts per interval, "counter" for a running total, or a unit of {meaning.unit}',
                   f'add kind = "{likely}" to {entry} if that is what the column is')


def _scale(text: str, unit: str, entry: str, gather: Gather, readings: np.ndarray | None = None) -> Scale | None:
    try:
        return scale_to(text, unit)
    except NotAQuantity as error:
        meant = "" if readings is None else _meanings(error.do, unit, readings)
        gather.problem(f"site file, {entry}", f'"{text}"{error.why}{meant}',
                       f"a unit that converts to {unit_words(unit, symbol=True)}", error.do)
        return None


def _meanings(advice: str, unit: str, readings: np.ndarray) -> str:
    """What the usual reading would be in each unit that an ambiguous one may mean ("write US gpm or imperial gpm")."""
    names = re.fullmatch(r"write (.+) or (.+)", advice)
    usual = level_while_on(readings)
    if names is None or not all(converts(name, unit) for name in names.groups()) or usual <= 0.0:
        return ""
    told = " or ".join(f"{scale_to(name, unit)(usual):.4g} {unit} as {name}" for name in names.groups())
    return f" (the usual reading of {usual:.4g} is {told})"


def check_unit_seen(column: LogColumn, heading_unit: str | None, target: str, entry: str, where: str,
                    gather: Gather) -> bool:
    """False, with a problem, where the file itself names another unit than the site file.

    Parameters
    ----------
    heading_unit : str or None
        Unit that a row of units, or brackets in the heading, name.
    target : str
        Unit to compare in.
    where : str
        Shown name of the file.
    """
    if heading_unit is None or column.per_count:
        return True
    try:
        seen, declared = scale_to(heading_unit, target), scale_to(column.unit, target)
    except NotAQuantity:
        return True  # a unit that cannot be read, or could mean two things, contradicts nothing
    same = np.allclose(seen, declared, rtol=1e-6, atol=1e-9)
    if not same:
        gather.problem(
            f"{where}, column {column.column}",
            f'the file names the unit {heading_unit}, the site file "{column.unit}"', "one of the two",
            f'write unit = "{heading_unit}" at {entry} if the file is right, else change the heading in a copy of it')
    return bool(same)
