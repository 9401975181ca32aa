"""Water temperatures that stand still while the spray runs: a frozen sensor, told from water that is truly steady.

Standing still alone proves nothing: a coarse sensor stands for hours, and so does the water at the bottom of a store.
Three things must come together: the sensor stands far longer than it is used to, what is tied to it moves by more than
it can hide, and it does not leave its value by a single step, as a sensor does that follows.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sprayroof.evidence.channels.grid import interval_s
from sprayroof.evidence.channels.record import Record
from sprayroof.evidence.channels.spray_times import widened
from sprayroof.evidence.gather import count_of
from sprayroof.evidence.log_files.rows import resolution_of
from sprayroof.evidence.quality.odd_readings import usual_step
from sprayroof.evidence.quality.work import LogWork

# Hours of the pump's running without a change that are too many. Own judgement: a store is steadier than a loop.
STANDS_H = {"supply_temperature": 0.9, "return_temperature": 0.9, "store_temperature": 3.9}
TIMES_USUAL = 8.0  # of the time that it is used to stand
TIMES_USUAL_WEAK = 60.0  # where everything stands with it, or where it moves again just as the pump starts or stops
# A sensor that moves with every reading is used to stand for less than one interval, nobody knows how much less: so
# many readings and hours on end are then enough
ALIKE_ROWS, ALIKE_H = 12, 3.0
USUAL_QUANTILE = 0.25  # even a sensor that was frozen for most of the time moved for a quarter of it
LEAST_ROWS = 6
MOVE_K, AIR_MOVE_K = 0.1, 1.0  # what must move, beyond what coarse steps hide
STEPS_HIDDEN = 2.0
ONE_STEP = 1.5  # an end no larger than so many steps of the reading is that of a sensor that follows
END_SEEN_S = 900.0
BESIDE_SWITCH = 3  # steps beside a start or stop, when pipes truly jump
LEAST_SEEN = 0.5  # of a block's running time, in which another channel must be known


@dataclass(frozen=True, eq=False)
class Blocks:
    """Stretches in which a sensor says exactly the same; missing readings do not part them.

    Parameters
    ----------
    values : ndarray, shape (k,)
        What it says, before any correction [degC].
    first, last : ndarray of int, shape (k,)
        First and last span of the record.
    starts_ns, ends_ns : ndarray of int64, shape (k,)
        UTC.
    rows : ndarray of int, shape (k,)
        Readings in each.
    running_s : ndarray, shape (k,)
        Time in it during which the spray ran [s].
    """

    values: np.ndarray
    first: np.ndarray
    last: np.ndarray
    starts_ns: np.ndarray
    ends_ns: np.ndarray
    rows: np.ndarray
    running_s: np.ndarray


def check_standing(work: LogWork) -> None:
    """Leave out water temperatures that froze while the spray ran, and tell them."""
    on = work.running()
    if on is None or not on.any():
        return
    watched = {column: record for column, record in work.records.items() if record.meaning.name in STANDS_H}
    edges_ns = work.grid.start_ns + np.arange(work.grid.steps + 1, dtype=np.int64) * (work.grid.step_s * 10**9)
    ran_s = np.concatenate([[0.0], np.cumsum(on) * float(work.grid.step_s)])
    found = {column: _blocks(record, edges_ns, ran_s) for column, record in watched.items()}
    size = {column: _step_of(record) for column, record in watched.items()}
    switched = widened(np.concatenate([[False], np.diff(on.astype(np.int8)) != 0]), BESIDE_SWITCH, BESIDE_SWITCH)
    frozen = {}
    for column, record in watched.items():
        chosen = [at for at in _long(found[column], STANDS_H[record.meaning.name], record)
                  if _is_frozen(column, at, found, size, on, switched, work)]
        if chosen:
            frozen[column] = chosen
    for column, chosen in frozen.items():
        _leave_out(column, found[column], chosen, work)


def _step_of(record: Record) -> float:
    """Step of the readings [K]: that in which they are written, or a larger one in which they move."""
    readings = record.rows.values[record.name]
    return abs(record.slope) * max(resolution_of(readings), usual_step(readings))


def _blocks(record: Record, edges_ns: np.ndarray, ran_s: np.ndarray) -> Blocks:
    readings = record.convert(record.rows.values[record.name][record.row_of] + record.declared.add)
    spans = np.flatnonzero(np.isfinite(record.first) & np.isfinite(readings))
    values = readings[spans]
    starts = np.flatnonzero(np.concatenate([[True], values[1:] != values[:-1]])) if len(values) else np.zeros(0, int)
    stops = np.append(starts[1:], len(values))[: len(starts)]
    low_ns, high_ns = record.spans.starts_ns[spans], record.spans.ends_ns[spans]
    ran = np.interp(high_ns, edges_ns, ran_s) - np.interp(low_ns, edges_ns, ran_s)
    total = np.concatenate([[0.0], np.cumsum(ran)])
    return Blocks(values[starts], spans[starts], spans[stops - 1], low_ns[starts], high_ns[stops - 1], stops - starts,
                  total[stops] - total[starts])


def _usual_s(blocks: Blocks) -> float:
    """How long the sensor is used to stand while the spray runs: a quarter of the running time lies in less [s]."""
    ran = np.sort(blocks.running_s[blocks.running_s > 0.0])
    if not len(ran):
        return np.inf
    return float(ran[np.searchsorted(np.cumsum(ran), USUAL_QUANTILE * ran.sum())])


def _long(blocks: Blocks, hours: float, record: Record) -> np.ndarray:
    """Blocks that are long enough to be looked at."""
    least_s = max(3600.0 * hours, TIMES_USUAL * _usual_s(blocks))
    few = 1 if record.kind == "last value holds" else LEAST_ROWS
    return np.flatnonzero((blocks.running_s >= least_s) & (blocks.rows >= few))


def _is_frozen(column: str, at: int, found: dict[str, Blocks], size: dict[str, float], on: np.ndarray,
               switched: np.ndarray, work: LogWork) -> bool:
    """Whether block `at` of a column is a frozen sensor's and not steady water's."""
    blocks = found[column]
    stands_very_long = _stands_very_long(blocks, at, interval_s(work.records[column]))
    if _ends_as_one_that_follows(blocks, at, size[column], switched, work) or (
            _ends_with_the_pump(blocks, at, switched, work) and not stands_very_long):
        return False
    steps = _steps(blocks, at, work)
    running = np.arange(steps.start, steps.stop)[on[steps]]
    hidden = MOVE_K + STEPS_HIDDEN * size[column]
    moves = {other: span >= hidden + size[other] for other in found if other != column
             and (span := _range(work.laid[other].values[running])) is not None}
    store = [moved for other, moved in moves.items() if other.startswith("store_C")]
    loop = [moved for other, moved in moves.items() if not other.startswith("store_C")]
    if column == "return_C":  # the roof's water follows whatever is sprayed
        tied = any(moves.values())
    elif column == "supply_C":  # the store's water; its bottom may stand still while the top moves
        tied = all(store) if store else all(loop) and bool(loop)
    else:
        tied = bool(moves) and all(moves.values())
    if tied or any(moves.values()):
        return tied
    air = work.laid["air_C"].values[running] if "air_C" in work.laid else np.zeros(0)
    air_K = _range(air)
    alone = bool(moves) and all(_stands(found[other], blocks.starts_ns[at], blocks.ends_ns[at]) for other in moves)
    return alone and stands_very_long and air_K is not None and air_K >= AIR_MOVE_K


def _stands_very_long(blocks: Blocks, at: int, every_s: float) -> bool:
    """Whether a block is so long that no other sign is needed, beside what others show."""
    usual_s = _usual_s(blocks)
    moves_always = usual_s <= 1.01 * every_s
    return bool(blocks.running_s[at] >= TIMES_USUAL_WEAK * usual_s or (
        moves_always and blocks.rows[at] >= ALIKE_ROWS and blocks.running_s[at] >= 3600.0 * ALIKE_H))


def _ends_as_one_that_follows(blocks: Blocks, at: int, size: float, switched: np.ndarray, work: LogWork) -> bool:
    """Whether the next reading is one step away, and the one before, if it tells, too."""
    after, before = (_leap(blocks, at, other, switched, work) for other in (at + 1, at - 1))
    return after is not None and after <= ONE_STEP * size and (before is None or before <= ONE_STEP * size)


def _leap(blocks: Blocks, at: int, other: int, switched: np.ndarray, work: LogWork) -> float | None:
    """Jump between two neighbouring blocks [K]; None where a gap or a start or stop of the pump lies there."""
    if not 0 <= other < len(blocks.values):
        return None
    early, late = min(at, other), max(at, other)
    if _gap_s(blocks, late) > END_SEEN_S or switched[_step_at(blocks.starts_ns[late], work)]:
        return None
    return float(abs(blocks.values[late] - blocks.values[early]))


def _ends_with_the_pump(blocks: Blocks, at: int, switched: np.ndarray, work: LogWork) -> bool:
    """Whether the sensor moves again as the pump starts or stops: it feels the water."""
    late = at + 1
    return late < len(blocks.values) and _gap_s(blocks, late) <= END_SEEN_S and bool(
        switched[_step_at(blocks.starts_ns[late], work)])


def _gap_s(blocks: Blocks, late: int) -> float:
    """Time without a reading before a block [s]."""
    return float(blocks.starts_ns[late] - blocks.ends_ns[late - 1]) / 1e9


def _step_at(time_ns: int, work: LogWork) -> int:
    return int(np.clip(work.grid.places_of(time_ns), 0, work.grid.steps - 1))


def _steps(blocks: Blocks, at: int, work: LogWork) -> slice:
    """Steps of the grid that a block touches."""
    first, last = work.grid.places_of(np.array([blocks.starts_ns[at], blocks.ends_ns[at] - 1]))
    return slice(max(int(first), 0), min(int(last) + 1, work.grid.steps))


def _range(values: np.ndarray) -> float | None:
    """Spread of the middle nine tenths; None where too little is known."""
    known = values[np.isfinite(values)]
    if not len(known) or len(known) < LEAST_SEEN * len(values):
        return None
    return float(np.ptp(np.quantile(known, (0.05, 0.95))))


def _stands(blocks: Blocks, start_ns: int, end_ns: int) -> bool:
    """Whether another sensor says one and the same for most of a time."""
    low, high = np.maximum(blocks.starts_ns, start_ns), np.minimum(blocks.ends_ns, end_ns)
    return bool(np.max(high - low, initial=0) >= 0.8 * (end_ns - start_ns))


def _leave_out(column: str, blocks: Blocks, chosen: list[int], work: LogWork) -> None:
    record = work.records[column]
    where = np.zeros(work.grid.steps, dtype=bool)
    for at in chosen:
        where[_steps(blocks, at, work)] = True
    work.mask(column, "stuck", where)
    laid = work.laid[column]
    work.laid[column] = replace(laid, values=np.where(where, np.nan, laid.values))
    ends = [(int(record.row_of[blocks.first[at]]), int(record.row_of[blocks.last[at]])) for at in chosen]
    rows = np.concatenate([np.arange(first, last + 1) for first, last in ends])
    hours = blocks.running_s[chosen] / 3600.0
    longest = chosen[int(np.argmax(hours))]
    told = [f"{record.rows.row_text(first)} to {record.rows.row_text(last)}" for first, last in ends]
    work.gather.finding(
        "quality.stuck",
        f"{column} ({record.where}) does not change at all while the spray runs and other temperatures move, "
        f"{count_of(len(chosen), 'time')}, first from {told[0]}, longest {hours.max():.1f} h of spraying at "
        f"{blocks.values[longest]:.4g} degC; these readings are not used.", column,
        record.evidence("exclude", rows, "no change while the spray runs and other temperatures move", blocks=told,
                        readings=[float(blocks.values[at]) for at in chosen]))
    work.doubt(column, where)
