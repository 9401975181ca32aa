"""Cells of a time column cut into dates and times of day, and read in each order of day, month and year."""

from __future__ import annotations

import datetime
import re
from collections import Counter
from dataclasses import dataclass

import numpy as np

from sprayroof.evidence.log_times.stamp_forms import Parts, match_of, moment_of, offset_of, orders_of, parts_of

NAT = np.iinfo(np.int64).min
YEAR_2000_NS = 946684800 * 10**9
SAMPLE = 500


@dataclass
class Reading:
    """One order of day, month and year tried on all cells: times on their own clock, and how many do not fit."""

    order: str
    clock_ns: np.ndarray
    failing: int = 0


@dataclass(frozen=True, eq=False)
class Apart:
    """Cells cut into date and time of day: distinct dates, distinct times of day, and which of them each cell has."""

    dates: list[Parts | None]
    date_of: np.ndarray
    clocks: list[Parts | None]
    clock_of: np.ndarray

    def zones(self, is_time: np.ndarray) -> Counter[str]:
        """How many times carry which zone: "offset" for numbers and UTC, letters, or "" for none."""
        counts = np.bincount(self.clock_of[is_time], minlength=len(self.clocks))
        found: Counter[str] = Counter()
        for parts, count in zip(self.clocks, counts.tolist(), strict=True):
            if parts is not None and count:
                found["offset" if offset_of(parts.zone) is not None else parts.zone] += count
        return found


def cut(cells: np.ndarray, mark: str, marks_in_date: int) -> tuple[tuple[list[str], np.ndarray], ...]:
    """Distinct dates and distinct times of day, and which of them each cell has."""
    import pandas as pd

    if marks_in_date == 0:
        parts = [text.partition(mark) for text in cells]
        dates, clocks = [part[0] for part in parts], [part[2] for part in parts]
    else:
        pieces = [text.split(mark, marks_in_date + 1) for text in cells]
        dates = [mark.join(piece[: marks_in_date + 1]) for piece in pieces]
        clocks = [piece[-1] if len(piece) > marks_in_date + 1 else "" for piece in pieces]
    found = []
    for texts in (dates, clocks):
        codes, uniques = pd.factorize(np.array(texts, dtype=object))
        found.append(([text.strip() for text in uniques], codes))
    return tuple(found)


def common_example(cells: np.ndarray) -> str | None:
    """A cell in the commonest form of time; None where fewer than a third of the cells are times."""
    sample = cells[:: max(1, len(cells) // SAMPLE)]
    forms: dict[str, str] = {}
    counts: Counter[str] = Counter()
    for text in sample:
        if parts_of(text) is not None:
            form = re.sub(r"\d", "9", text)
            counts[form] += 1
            forms.setdefault(form, text)
    # a day without clock beside times of day is midnight, however common
    clocked = Counter({form: count for form, count in counts.items() if ":" in form or "h" in form}) or counts
    if not counts or sum(counts.values()) < len(sample) / 3:
        return None
    return forms[clocked.most_common(1)[0][0]]


def cut_apart(cells: np.ndarray, example: str) -> Apart:
    """Cells cut into dates and times of day as the example is."""
    match = match_of(example)
    assert match is not None
    mark = ((match["joint"] or " ").strip() or " ")[0]
    date = match["date"]
    (dates, date_of), (clocks, clock_of) = cut(cells, mark, date.count(mark))
    return Apart(
        [parts_of(text) for text in dates],
        date_of,
        [parts_of(f"2000-01-01 {text}" if text else "2000-01-01") for text in clocks],
        clock_of,
    )


def reading_of(apart: Apart, order: str) -> Reading:
    """All cells in one order of day, month and year."""
    date_ns = np.array([_ns_of(parts, order) for parts in apart.dates], dtype=np.int64)
    clock_ns = np.array([_ns_of(parts, "ymd") for parts in apart.clocks], dtype=np.int64)
    is_date = np.array([parts is not None and not parts.has_clock for parts in apart.dates], dtype=bool)[apart.date_of]
    is_clock = (clock_ns != NAT)[apart.clock_of]
    whole = is_date & is_clock & (date_ns != NAT)[apart.date_of]
    ns = np.where(whole, date_ns[apart.date_of] + clock_ns[apart.clock_of] - YEAR_2000_NS, NAT)
    return Reading(order, ns, int((is_date & is_clock & ~whole).sum()))


def _ns_of(parts: Parts | None, order: str) -> int:
    if parts is None or order not in orders_of(parts):
        return NAT
    found = moment_of(parts, order)
    if found is None:
        return NAT
    since = found[0] - datetime.datetime(1970, 1, 1)
    return (since.days * 86400 + since.seconds) * 10**9 + found[1]


def falls_of(clock_ns: np.ndarray) -> int:
    """Steps against the direction in which most rows run."""
    steps = np.diff(clock_ns[clock_ns != NAT])
    return int(min((steps < 0).sum(), (steps > 0).sum()))


def _longest_step_ns(clock_ns: np.ndarray) -> float:
    steps = np.abs(np.diff(clock_ns[clock_ns != NAT]))
    return float(np.sort(steps)[-5:].mean()) if len(steps) else 0.0


def readings_in_order(cells: np.ndarray, example: str) -> list[Reading]:
    """The ways to read all cells that fit best: one where day and month cannot change places."""
    parts = parts_of(example)
    assert parts is not None
    apart = cut_apart(cells, example)
    readings = [reading_of(apart, order) for order in orders_of(parts)]
    fewest = min(reading.failing for reading in readings)
    readings = [reading for reading in readings if reading.failing == fewest]
    return in_order(readings) if len(readings) > 1 else readings


def in_order(readings: list[Reading]) -> list[Reading]:
    """The readings in which the rows follow each other, where others do not."""
    if len(readings) == 3:  # a two-digit year in front, read from a day, makes every day a leap of a year
        readings = [
            reading
            for reading in readings
            if reading.order != "ymd"
            or _longest_step_ns(reading.clock_ns) <= min(_longest_step_ns(other.clock_ns) for other in readings)
        ]
    elif len(readings) == 2 and readings[1].order == "ymd":
        steps = [_longest_step_ns(reading.clock_ns) for reading in readings]
        readings = [readings[int(steps[1] < steps[0])]]
    falls = [falls_of(reading.clock_ns) for reading in readings]
    if falls.count(0) == 1:
        return [readings[falls.index(0)]]
    least = min(falls)
    return [reading for reading, count in zip(readings, falls, strict=True) if count < 5 * least + 5]
