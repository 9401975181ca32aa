"""Rows of bills to periods of days: rows that stand twice, ends that meet or do not, days that lie in two bills."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

import numpy as np

from sprayroof.evidence.billing.rows import CORRECTION, ESTIMATED, BillRows
from sprayroof.evidence.gather import Gather, count_of, some_of

DAY = np.timedelta64(1, "D")
LONGEST_DAYS = 400  # a longer bill is a slip of the pen
MOST_OVERLAPPING = 0.2  # of the bills: beyond it the dates are not what they are taken for
MANY = 60  # rows of a day each are no bills
LEAST_RISING = 8  # amounts that do nothing but rise are readings of the meter


@dataclass
class Period:
    """A stretch of days with one amount.

    Parameters
    ----------
    start, end : datetime64[D]
        First day, and the day after the last.
    amount : float
        In the file's unit.
    lines : list of int
        Rows of the file behind it.
    open_end : str
        "estimated" or "empty" where no actual reading stands at its end, else "".
    """

    start: np.datetime64
    end: np.datetime64
    amount: float
    lines: list[int] = field(default_factory=list)
    open_end: str = ""

    @property
    def days(self) -> int:
        """Length [d]."""
        return int((self.end - self.start) / DAY)

    def named(self) -> str:
        """`2025-01-11 to 2025-02-09`."""
        return f"{self.start} to {self.end - DAY}"


def evidence_of(disposition: str, periods: list[Period], where: str, rule: str, **more: object) -> dict[str, object]:
    """The `data` of a finding about some periods."""
    return {"disposition": disposition, "file": where, "rows": len(periods), "first": f"line {periods[0].lines[0]}",
            "last": f"line {periods[-1].lines[-1]}", "rule": rule, **more}


@dataclass(frozen=True)
class Placed:
    """Bills that follow each other, and corrections of some of them."""

    bills: list[Period]
    corrections: list[Period]


def placed_bills(rows: BillRows, entry: str, netted: bool, never_empty: bool, gather: Gather) -> Placed | None:
    """Bills and corrections in order of time; None after a problem.

    Parameters
    ----------
    rows : BillRows
        Of one meter.
    entry : str
        Block of the site file ("bills.1").
    netted : bool
        Whether an amount may be anything: exports below zero, or readings of another kind.
    never_empty : bool
        Whether a bill of nothing can only be one without a reading.
    gather : Gather
        Receives problems and findings.
    """
    before = len(gather.problems)
    _check_lengths(rows, entry, gather)
    rows = _distinct(_in_order(rows, entry, gather), gather)
    is_correction = (rows.marks == CORRECTION) | ((rows.amounts < 0.0) & (not netted))
    of_bills = rows.of(np.flatnonzero(~is_correction))
    if not netted:
        _check_rising(of_bills, entry, gather)
    if not len(of_bills.lines):
        gather.problem(rows.where, "corrections and no bills", "a row for each bill", f"correct {entry}.amount_column")
    if len(gather.problems) > before:
        return None
    bills = _bills(of_bills, never_empty, entry, gather)
    if bills is None:
        return None
    has_first = not np.isnat(of_bills.first).all()
    inclusive = bills[0].end - of_bills.last[0] if has_first else DAY
    corrections = _periods(rows.of(np.flatnonzero(is_correction)), inclusive, bills)
    _check_one_amount(bills, rows.where, entry, gather)
    if len(gather.problems) > before:
        return None
    kept = _without_overlaps(bills, rows.where, entry, gather)
    return None if kept is None else Placed(kept, corrections)


# --- rows ---------------------------------------------------------------------------------------------------------


def _check_lengths(rows: BillRows, entry: str, gather: Gather) -> None:
    days = np.unique(rows.last)
    apart = np.diff(days) / DAY
    if len(rows.last) > MANY and len(apart) and np.median(apart) <= 1.0:
        every = "hour" if len(rows.last) > 1.5 * len(days) else "day"
        gather.problem(rows.where, f"{len(rows.last)} rows, most of them of one {every}", "bills",
                       f'add every = "{every}" to {entry}')


def _in_order(rows: BillRows, entry: str, gather: Gather) -> BillRows:
    ordered = rows.of(np.lexsort((rows.first.astype(np.int64), rows.last)))
    backward = np.flatnonzero(ordered.first > ordered.last)
    long = np.flatnonzero(ordered.last - ordered.first > LONGEST_DAYS * DAY)
    for found, what in ((backward, "the first day lies after the last"), (long, f"more than {LONGEST_DAYS} days")):
        if len(found):
            named = some_of([f"line {ordered.lines[row]} {ordered.first[row]} to {ordered.last[row]}" for row in found])
            gather.problem(f"{ordered.where}, dates", f"{what}: {named}", "first and last day of each bill",
                           f"correct these dates in a copy, or {entry}.time_format")
    return ordered


def _distinct(rows: BillRows, gather: Gather) -> BillRows:
    """Rows that say the same are one."""
    keys = list(zip(rows.first.astype(str), rows.last.astype(str), rows.amounts.tolist(), rows.marks.tolist(),
                    strict=True))
    first_of: dict[tuple[str, str, float, int], int] = {}
    doubled = [row for row, key in enumerate(keys) if first_of.setdefault(key, row) != row]
    if doubled:
        gather.finding(
            "bills.repeated-rows",
            f"{rows.where} holds {count_of(len(doubled), 'bill')} twice, with the same days and amount: "
            f"{some_of([rows.named(row) for row in doubled])}. Each counts once.",
            rows.where, rows.evidence("repair", doubled, "same days, same amount"),
            "Counted twice, their use would be too high.")
    return rows.of(np.setdiff1d(np.arange(len(keys)), doubled))


def _check_rising(rows: BillRows, entry: str, gather: Gather) -> None:
    amounts = rows.amounts
    if len(amounts) >= LEAST_RISING and (np.diff(amounts) > 0.0).all():
        gather.problem(
            f"{rows.where}, amounts", f"{len(amounts)} amounts that only rise, from {amounts[0]:g} to {amounts[-1]:g}: "
            "readings of the meter, not what was used", "the use of each bill",
            f"name the column of the use at {entry}.amount_column, or take the differences in a copy")


# --- days ---------------------------------------------------------------------------------------------------------


def _bills(rows: BillRows, never_empty: bool, entry: str, gather: Gather) -> list[Period] | None:
    """Bills with their days.

    A last day that the next bill begins on is the day of a reading, and belongs to the next. Where the file has no
    first days, a bill begins after the last day of the one before; the first is then left out.
    """
    if np.isnat(rows.first).all():
        bills = _without_first_days(rows, entry, gather)
    else:
        gaps = (rows.first[1:] - rows.last[:-1]) / DAY
        bills = _periods(rows, DAY * int((gaps == 0).sum() <= (gaps == 1).sum()), [])
        _touching(bills, rows, gather)
    marks = dict(zip(rows.lines.tolist(), rows.marks.tolist(), strict=True))
    for bill in bills or []:
        empty = "empty" if never_empty and bill.amount == 0.0 else ""
        bill.open_end = "estimated" if marks[bill.lines[0]] == ESTIMATED else empty
    return bills


def _periods(rows: BillRows, inclusive: np.timedelta64, others: list[Period]) -> list[Period]:
    """Rows as periods whose last day counts, or not; without first days, from the end of the bill before."""
    periods = []
    for first, last, amount, line in zip(rows.first, rows.last, rows.amounts, rows.lines, strict=True):
        end = last + inclusive
        start = max((bill.end for bill in others if bill.end < end), default=end - DAY) if np.isnat(first) else first
        periods.append(Period(start, max(end, start + DAY), float(amount), [int(line)]))
    return periods


def _without_first_days(rows: BillRows, entry: str, gather: Gather) -> list[Period] | None:
    lasts = np.unique(rows.last)
    if len(lasts) < 2:
        gather.problem(rows.where, "one bill without a first day", "several bills, or the first day of each",
                       f"add from_column = \"heading of the first days\" to {entry}, or more bills")
        return None
    gather.finding(
        "bills.first-open", f"{rows.where} has no first days: each bill runs from the day after the one before it; the "
        f"first, to {lasts[0]}, is left out.", rows.where, rows.evidence("exclude", [0], "no day to begin at"),
        "One bill less.")
    before = dict(zip(lasts[1:], lasts[:-1], strict=True))
    return [Period(before[last] + DAY, last + DAY, float(amount), [int(line)])
            for last, amount, line in zip(rows.last, rows.amounts, rows.lines, strict=True) if last in before]


def _touching(bills: list[Period], rows: BillRows, gather: Gather) -> None:
    """Bills that lie one day over each other or apart are made to meet where the later one begins."""
    moved = []
    for row, (earlier, later) in enumerate(itertools.pairwise(bills)):
        apart = int((later.start - earlier.end) / DAY)
        if abs(apart) == 1 and earlier.start < later.start and earlier.days > 2:
            earlier.end = later.start
            moved.append(row)
    if moved:
        gather.finding(
            "bills.shared-day", f"{rows.where} has {count_of(len(moved), 'bill')} that end a day before or after "
            f"the next begins, unlike the others: {some_of([rows.named(row) for row in moved])}. They were made to "
            "meet.",
            rows.where, rows.evidence("repair", moved, "the next bill's first day holds"),
            "A day's use moves from one bill to the next.")


def _check_one_amount(bills: list[Period], where: str, entry: str, gather: Gather) -> None:
    """Several amounts for the same days are several meters, or a bill and its replacement."""
    seen: dict[str, Period] = {}
    twice = []
    for bill in bills:
        first = seen.setdefault(bill.named(), bill)
        if first is not bill:
            twice.append(f"lines {first.lines[0]} and {bill.lines[0]}, {bill.named()}")
    if twice:
        gather.problem(
            where, f"different amounts for the same days: {some_of(twice)}", "one amount for each period of a meter",
            f"if the file holds several meters, add meter_column = \"heading of their numbers\" to {entry}; if a "
            "bill was replaced, mark the old one with the word cancelled, and if one is a correction, with the word "
            f"correction, in a column that {entry}.estimated_column names")


def _without_overlaps(bills: list[Period], where: str, entry: str, gather: Gather) -> list[Period] | None:
    """Bills of which no day lies in another one; the others are left out, for nobody knows whose use those days are."""
    bills = sorted(bills, key=lambda bill: (bill.start, bill.end))
    bad: set[int] = set()
    for place, bill in enumerate(bills):
        for other in range(place + 1, len(bills)):
            if bills[other].start >= bill.end:
                break
            bad |= {place, other}
    if not bad:
        return bills
    over = [bills[place] for place in sorted(bad)]
    named = some_of([f"line {bill.lines[0]}, {bill.named()}" for bill in over])
    if len(bad) > max(2, MOST_OVERLAPPING * len(bills)):
        gather.problem(
            f"{where}, dates", f"{len(bad)} of {len(bills)} bills lie over each other: {named}",
            "bills that follow each other",
            "correct the dates in a copy; if the file holds several meters, add meter_column = \"heading of their "
            f"numbers\" to {entry}; if a row sums up others take it out; if it corrects others mark it with the word "
            f"correction in a column that {entry}.estimated_column names")
        return None
    gather.finding(
        "bills.overlap", f"{where} has {len(bad)} bills that lie over each other: {named}. They are not used.",
        where, evidence_of("exclude", over, where, "days that stand in two bills"),
        "The use of these bills is missing from the comparison.")
    return [bill for place, bill in enumerate(bills) if place not in bad]
