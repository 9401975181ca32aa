"""Bills joined with their neighbours where only the sum is known: estimated readings, empty bills, corrections."""

from __future__ import annotations

import itertools
from dataclasses import replace

from sprayroof.evidence.billing.periods import DAY, Period, Placed, evidence_of
from sprayroof.evidence.gather import Gather, count_of, some_of


def joined_bills(placed: Placed, where: str, netted: bool, gather: Gather) -> list[Period]:
    """Periods with an actual reading at either end, in order of time.

    Parameters
    ----------
    placed : Placed
        Bills that follow each other, and corrections.
    where : str
        Shown name of the file.
    netted : bool
        Whether an amount may be below zero.
    gather : Gather
        Receives findings.
    """
    bills, links = _with_corrections(placed)
    _tell_corrections(placed.corrections, where, gather)
    _tell_open_ends(bills, where, gather)
    links = [link or bool(bill.open_end) for bill, link in zip(bills, links, strict=True)]
    while not netted and (place := _below_zero(bills, links)) is not None:
        links[place - 1] = True
    groups = _groups(bills, links)
    good = [group for group in groups if _is_whole(group, netted)]
    _tell_not_read([group for group in groups if not _is_whole(group, netted)], where, gather)
    periods = [_sum(group) for group in good]
    _tell_missing(periods, where, gather)
    return periods


def _with_corrections(placed: Placed) -> tuple[list[Period], list[bool]]:
    """Bills with corrections added, and whether each hangs together with the next.

    A correction goes to the bills whose days it names; one with days of its own joins the bill before it.
    """
    bills = [replace(bill) for bill in placed.bills]
    linked: set[int] = set()
    own = []
    for part in placed.corrections:
        touched = [bill for bill in bills if bill.start < part.end and part.start < bill.end]
        if touched:
            touched[0].amount += part.amount
            touched[0].lines = [*touched[0].lines, *part.lines]
            linked |= {id(bill) for bill in touched[:-1]}
        else:
            own.append(replace(part))
    ordered = sorted([*bills, *own], key=lambda bill: (bill.start, bill.end))
    links = [id(bill) in linked or (after is not None and any(after is part for part in own))
             for bill, after in zip(ordered, [*ordered[1:], None], strict=True)]
    return ordered, links


def _groups(bills: list[Period], links: list[bool]) -> list[list[Period]]:
    groups: list[list[Period]] = []
    for place, bill in enumerate(bills):
        if place and links[place - 1]:
            groups[-1].append(bill)
        else:
            groups.append([bill])
    return groups


def _below_zero(bills: list[Period], links: list[bool]) -> int | None:
    """Place of the first bill of a group that comes out below zero and can take in the one before it."""
    place = 0
    for group in _groups(bills, links):
        first = place
        place += len(group)
        if first and sum(bill.amount for bill in group) < 0.0 and bills[first - 1].end == bills[first].start:
            return first
    return None


def _is_whole(group: list[Period], netted: bool) -> bool:
    meets = all(earlier.end == later.start for earlier, later in itertools.pairwise(group))
    return meets and (netted or sum(bill.amount for bill in group) >= 0.0) and not group[-1].open_end


def _sum(group: list[Period]) -> Period:
    return Period(group[0].start, group[-1].end, sum(bill.amount for bill in group),
                  [line for bill in group for line in bill.lines])


# --- findings -----------------------------------------------------------------------------------------------------


def _tell_corrections(corrections: list[Period], where: str, gather: Gather) -> None:
    if corrections:
        named = some_of([f"line {part.lines[0]}, {part.named()}, {part.amount:g}" for part in corrections])
        gather.finding(
            "bills.correction-joined", f"{where} has {count_of(len(corrections), 'correction')}: {named}. Each was "
            "joined with the bills of its days, or with the bill before it.", where,
            evidence_of("repair", corrections, where, "amounts below zero, or marked",
                        old=[part.amount for part in corrections]),
            "The sum is right; an error stays if a correction reaches further back than the bills it joined.")


def _tell_open_ends(bills: list[Period], where: str, gather: Gather) -> None:
    guessed = [bill for bill in bills if bill.open_end == "estimated"]
    if guessed:
        gather.finding(
            "bills.estimated-joined", f"{where} has {count_of(len(guessed), 'bill')} with an estimated reading: "
            f"{some_of([bill.named() for bill in guessed])}. Each was joined with the next, up to an actual reading.",
            where, evidence_of("repair", guessed, where, "marked as estimated"),
            "Fewer, longer periods; their sum is as read.")
    empty = [bill for bill in bills if bill.open_end == "empty"]
    if empty:
        gather.finding(
            "bills.empty-joined", f"{where} has {count_of(len(empty), 'bill')} with no use at all: "
            f"{some_of([bill.named() for bill in empty])}. Each was taken for a bill without a reading and joined with "
            "the next.", where, evidence_of("repair", empty, where, "an amount of zero"),
            "If nothing was used indeed, that is now mixed with the next bill.")


def _tell_not_read(groups: list[list[Period]], where: str, gather: Gather) -> None:
    if groups:
        bills = [bill for group in groups for bill in group]
        named = some_of([f"{group[0].start} to {group[-1].end - DAY}" for group in groups])
        gather.finding(
            "bills.not-read", f"{where} has estimated, empty or corrected bills without an actual reading at their "
            f"end, or with missing days between: {named}. They are not used.", where,
            evidence_of("exclude", bills, where, "no actual reading at the end"),
            "The use of these bills is missing from the comparison.")


def _tell_missing(periods: list[Period], where: str, gather: Gather) -> None:
    gaps = [Period(earlier.end, later.start, 0.0, later.lines) for earlier, later in itertools.pairwise(periods)
            if later.start > earlier.end]
    if gaps:
        days = sum(gap.days for gap in gaps)
        gather.finding(
            "bills.missing", f"{where} has no usable bill for {count_of(days, 'day')}: "
            f"{some_of([gap.named() for gap in gaps])}.", where,
            evidence_of("warn", gaps, where, "days between two periods", days=days),
            "What was used then is in neither side of the comparison.")
