"""What an open doubt about the logs could change: the ledger again as if it were true, and ranges that hold either.

A clock that seems to be off, or a pair that seems exchanged, is never put right unasked. Until the site file says which
it is, no measured number is surer than the difference between the two readings.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.model.measured_amounts import Amount

if TYPE_CHECKING:
    from sprayroof.evidence.logs import Logs
    from sprayroof.results import Finding

MINUTE_NS = 60 * 10**9
CLOCKS = ("cross.clocks-apart", "cross.clock-hour", "cross.clocks-doubtful")
PAIR = ("cross.pair-swapped", "cross.pair-unconfirmed")
NO_DIFFERENCE = 1e-9
Night = dict[str, Amount | None]


def other_readings(logs: Logs) -> list[tuple[str, Logs]]:
    """The logs as each open doubt would have them: name of the doubt, and logs."""
    found = []
    for number, finding in enumerate(logs.findings):
        if finding.code in CLOCKS:
            found.append((f"{finding.code} {number}", _moved(logs, finding)))
        elif finding.code in PAIR:
            found.append((f"{finding.code} {number}", _exchanged(logs)))
    return found


def _moved(logs: Logs, finding: Finding) -> Logs:
    """Columns of a log put where the finding says that they belong."""
    table = logs.table.copy()
    starts_ns = table.index.as_unit("ns").asi8
    changes = finding.data["late_min"]
    from_ns = np.array([change[0] for change in changes])
    late_ns = np.array([round(change[1]) * MINUTE_NS for change in changes])
    # the step at which a reading of each true time stands: late by the lag of the piece that it stands in
    seen_ns = starts_ns + late_ns[np.clip(np.searchsorted(from_ns, starts_ns, side="right") - 1, 0, None)]
    seen_ns = starts_ns + late_ns[np.clip(np.searchsorted(from_ns, seen_ns, side="right") - 1, 0, None)]
    places = (seen_ns - starts_ns[0]) // (logs.step_s * 10**9)
    inside = (places >= 0) & (places < len(starts_ns))
    places = np.clip(places, 0, len(starts_ns) - 1)
    for column in finding.data["columns"]:
        if column in table:
            table[column] = np.where(inside, table[column].to_numpy(dtype=float)[places], np.nan)
    return dataclasses.replace(logs, table=table)


def _exchanged(logs: Logs) -> Logs:
    """Supply and return, each as the other."""
    return dataclasses.replace(logs, table=logs.table.assign(supply_C=logs.table["return_C"],
                                                             return_C=logs.table["supply_C"]))


def widened_by(amounts: Sequence[Night], others: Sequence[tuple[str, Sequence[Night]]]) -> list[Night]:
    """The nights' amounts, each with the difference to every other reading as a systematic error of its own.

    Parameters
    ----------
    amounts : sequence of dict of str to Amount or None
        As read.
    others : sequence of (str, sequence of dict)
        Name of the doubt, and the same nights read as it would have them.
    """
    nights = [dict(night) for night in amounts]
    for source, other in others:
        for name in nights[0] if nights else ():
            for night, shift in zip(nights, _shifts([one[name] for one in amounts], [one.get(name) for one in other]),
                                    strict=True):
                if night[name] is not None and shift:
                    night[name] = night[name].with_shift(source, shift)
    return nights


def _shifts(own: Sequence[Amount | None], other: Sequence[Amount | None]) -> list[float]:
    """Other less own of each night; where only one is known, by the share that all nights differ by."""
    both = [(one.value, two.value) for one, two in zip(own, other, strict=True) if one is not None and two is not None]
    size = sum(abs(one) for one, _ in both)
    share = sum(two - one for one, two in both) / size if size > 0.0 else 0.0
    return [0.0 if one is None else abs(one.value) * share if two is None else two.value - one.value
            for one, two in zip(own, other, strict=True)]


def names_at_stake(widened: Sequence[Night], sources: Sequence[str]) -> set[str]:
    """Quantities that an open doubt could change, of nights widened by it."""
    return {name for night in widened for name, amount in night.items() if amount is not None
            and any(abs(amount.shifts.get(source, 0.0)) > NO_DIFFERENCE for source in sources)}
