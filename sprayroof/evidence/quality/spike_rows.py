"""Single readings far off, sought row by row before the log is laid on the grid.

A row whose clock was corrected lies on two steps of the grid, and so would its spike: smaller in each, and no longer a
jump there and back. The rows still show it as it was written.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sprayroof.evidence.channels.grid import LogGrid
from sprayroof.evidence.channels.record import Record
from sprayroof.evidence.channels.spray_times import SIGNS, running, widened
from sprayroof.evidence.gather import count_of
from sprayroof.evidence.quality.odd_readings import spikes
from sprayroof.evidence.quality.work import LogWork
from sprayroof.evidence.steps import runs

# Smallest jump there and back that is called a spike, by unit. Own judgement.
SPIKE_LEAST = {"degC": 3.0, "1": 0.15, "m3": 0.05, "Pa": 500.0, "m/s": 12.0, "W/m2": 150.0}  # m3: share of the store
BESIDE_SWITCH = 3  # steps before and after a start or stop of the pump in which pipes and levels truly jump
LISTED = 50  # rows named in the data of a finding


@dataclass(frozen=True, eq=False)
class Spiked:
    """A record without its spikes, and where they stood.

    Parameters
    ----------
    record : Record
        Spans of spiked rows hold NaN.
    rows : ndarray of int, shape (k,)
        Rows of the log.
    spans : ndarray of bool, shape (m,)
        Spans of the record that they spoiled.
    least : float
        Smallest jump that counted [unit of the channel].
    """

    record: Record
    rows: np.ndarray
    spans: np.ndarray
    least: float


def signs_of_running(records: list[Record], grid: LogGrid) -> np.ndarray | None:
    """Steps in which the spray ran, by records that are not on the grid yet; None if none tells."""
    laid: dict[str, np.ndarray] = {}
    for record in records:
        if record.column in SIGNS and record.declared.use:
            values = grid.lay(record).values
            before = laid.get(record.column, values)
            laid[record.column] = np.where(np.isnan(before), values, before)
    return running(laid)


def without_spikes(record: Record, on: np.ndarray | None, grid: LogGrid, store_m3: float) -> Spiked | None:
    """A record with its single readings far off taken out; None where it has none.

    Parameters
    ----------
    record : Record
    on : ndarray of bool, shape (steps,), or None
        Steps of the grid in which the spray ran.
    grid : LogGrid
    store_m3 : float
        Size of the store [m3]; a level's jump is measured by it.
    """
    least = SPIKE_LEAST.get(record.meaning.unit)
    if least is None or record.kind in ("status", "sum", "counter", "tips"):
        return None
    least *= store_m3 if record.meaning.unit == "m3" else 1.0
    rows = record.rows
    values = record.convert(rows.values[record.name] + record.declared.add)
    found = spikes(values, rows.times_ns, least, record.kind == "last value holds")
    if on is not None and record.meaning.unit in ("degC", "m3") and not record.column.startswith(("air", "room")):
        switched = np.concatenate([[False], np.diff(on.astype(np.int8)) != 0])
        beside = widened(switched, BESIDE_SWITCH, BESIDE_SWITCH)
        places = np.clip(grid.places_of(rows.times_ns - 1), 0, grid.steps - 1)
        found &= ~beside[places]
    if not found.any():
        return None
    spoiled = found[record.row_of]
    constant = record.last is record.first
    if not constant:  # a straight line from each reading to the next
        spoiled = spoiled | found[record.row_of + 1]
    first = np.where(spoiled, np.nan, record.first)
    last = first if constant else np.where(spoiled, np.nan, record.last)
    return Spiked(replace(record, first=first, last=last), np.flatnonzero(found), spoiled, least)


def tell_spikes(spiked: Spiked, work: LogWork) -> None:
    """Mask the steps that lost their value, and tell the rows; after the record was laid on the grid."""
    record, column = spiked.record, spiked.record.column
    pieces = work.grid.pieces_of(record.spans)
    lost = np.zeros(work.grid.steps, dtype=bool)
    lost[pieces.step[spiked.spans[pieces.span]]] = True
    lost &= np.isnan(work.laid[column].values)
    work.mask(column, "spike", lost)
    found = np.zeros(len(record.rows.times_ns), dtype=bool)
    found[spiked.rows] = True
    unit = "" if record.meaning.unit == "1" else f" {record.meaning.unit}"
    work.gather.finding(
        "quality.spikes",
        f"{column} ({record.where}) jumps by {spiked.least:.3g}{unit} or more and back within two rows, "
        f"{count_of(len(runs(found)), 'time')}, first at {record.rows.row_text(int(spiked.rows[0]))}; these readings "
        "are not used.", column,
        record.evidence("exclude", spiked.rows, f"there and back by {spiked.least:.3g} within two rows",
                        lines=[record.rows.row_text(int(row)) for row in spiked.rows[:LISTED]]))
    work.doubt(column, lost)
