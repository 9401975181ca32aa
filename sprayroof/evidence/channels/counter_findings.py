"""What is told of roll-overs, resets, changed meters and garbled readings of running totals."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from sprayroof.evidence.channels.counters import Counted, Event
from sprayroof.evidence.channels.record import Record
from sprayroof.evidence.gather import Gather, count_of


def tell_counter(record: Record, result: Counted, factor: float, stated: bool, gather: Gather) -> None:
    """Findings for the events of a running total.

    Parameters
    ----------
    record : Record
    result : Counted
    factor : float
        Channel's amounts for one unit of the readings.
    stated : bool
        Whether the site file states where the meter rolls over.
    gather : Gather
        Receives the findings.
    """
    for kind, tell in _TELL.items():
        events = sorted((event for event in result.events if event.kind == kind), key=lambda event: event.row)
        if events:
            tell(record, events, factor, stated, gather)


def finding(code: str, record: Record, events: list[Event], disposition: str, message: str, rule: str, effect: str,
            gather: Gather) -> None:
    """A finding about events of one kind."""
    first = events[0]
    data = record.evidence(disposition, np.array([event.row for event in events]), rule, old=first.before,
                           new=first.after)
    gather.finding(code, message, record.rows.where, data, effect)


def _steps(record: Record, events: list[Event]) -> str:
    first = events[0]
    more = "" if len(events) == 1 else f" and {len(events) - 1} more"
    return (f"{first.before:.10g} is followed by {first.after:.10g} after {record.rows.row_text(first.row)}{more}")


def _amount(record: Record, events: list[Event], factor: float) -> str:
    total = sum(event.amount for event in events) * factor
    return f"{total:.4g} {record.meaning.counts}"


def _roll_over(record: Record, events: list[Event], factor: float, stated: bool, gather: Gather) -> None:
    rule = f"{events[0].modulus:.10g} added" + ("" if stated else ", the likely size of the meter")
    finding("channel.counter-roll-over", record, events, "repair",
            f"The running total of {record.where} rolled over: {_steps(record, events)}; {rule}.", rule,
            f"{_amount(record, events, factor)} counted across it.", gather)


def _swap(record: Record, events: list[Event], factor: float, stated: bool, gather: Gather) -> None:
    unknown = [event for event in events if np.isnan(event.amount)]
    if unknown:
        gather.problem(
            f"site file, {record.entry}.swaps",
            f"a reading of the file lies beyond the one stated: {_steps(record, unknown)}",
            "last reading of the old and first of the new meter that the file's readings lead up to and go on from",
            "correct the readings or the time of the change")
        return
    finding("channel.counter-swap", record, events, "repair",
            f"The meter behind {record.where} was changed: {_steps(record, events)}; bridged with the readings "
            "stated.",
            "last of the old and first of the new meter as stated",
            f"{_amount(record, events, factor)} counted across it.", gather)


def _lost(record: Record, events: list[Event]) -> str:
    times_ns = record.rows.times_ns
    hours = sum(int(times_ns[event.next_row] - times_ns[event.row]) for event in events) / 3.6e12
    return f"{hours:.3g} h of {record.name} are unknown."


def _reset(record: Record, events: list[Event], factor: float, stated: bool, gather: Gather) -> None:
    finding("channel.counter-reset", record, events, "exclude",
            f"The running total of {record.where} fell, and no roll-over explains it: {_steps(record, events)}; "
            f"what was counted between is unknown.", "interval across a fall of the total left out",
            f"{_lost(record, events)} A changed meter can be stated with swaps at {record.entry}.", gather)


def _jump(record: Record, events: list[Event], factor: float, stated: bool, gather: Gather) -> None:
    finding("channel.counter-jump", record, events, "exclude",
            f"The running total of {record.where} jumped by far more than it ever counts: {_steps(record, events)}; "
            f"what was counted between is unknown.", "interval across a jump of the total left out",
            f"{_lost(record, events)} A changed meter can be stated with swaps at {record.entry}.", gather)


def _garbled(record: Record, events: list[Event], factor: float, stated: bool, gather: Gather) -> None:
    count = sum(event.count for event in events)
    first = events[0]
    data = record.evidence("exclude", np.array([event.row for event in events]),
                           "readings from which the total comes back are passed over",
                           old=first.before, new=first.after) | {"rows": count}
    gather.finding("channel.counter-garbled",
                   f"{count_of(count, 'reading')} of {record.where} cannot belong to its running total, first "
                   f"{first.after:.10g} at {record.rows.row_text(first.row)}, where the total stood at "
                   f"{first.before:.10g}; passed over.", record.rows.where, data,
                   "None: the total goes on from before.")


def _backwards(record: Record, events: list[Event], factor: float, stated: bool, gather: Gather) -> None:
    times = count_of(sum(event.count for event in events), "time")
    finding("channel.counter-backwards", record, events, "repair",
            f"The running total of {record.where} stepped back by its last digit {times}: "
            f"{_steps(record, events)}; taken as standing still.", "the highest reading holds",
            "None: the total is kept.", gather)


_TELL: dict[str, Callable[[Record, list[Event], float, bool, Gather], None]] = {
    "roll-over": _roll_over, "swap": _swap, "reset": _reset, "jump": _jump, "garbled": _garbled,
    "backwards": _backwards,
}
