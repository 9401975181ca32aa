"""Running totals: amounts between readings, across roll-overs, resets, changed meters and garbled readings.

An amount is never negative. Where the readings do not tell it, the interval has no amount.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from sprayroof.evidence.log_files.rows import resolution_of
from sprayroof.evidence.log_files.spans import Spans

MOST_FALLS = 0.2  # of the steps; readings that fall more often are no running total
FEW_FALLS = 3  # so many may be roll-overs and resets, however short the record
TREMBLES = 2.0  # steps of the last digit by which a total that stands still may fall
LONGEST_GARBLED = 24  # readings in a row
USUAL_TIMES = 5.0  # a step this many times faster than the fast ones is not usual
JUMP_TIMES = 20.0  # and this many times faster cannot be true
NEAR_END = 0.9  # a meter whose modulus is not stated rolls over from above this share of it
BINARY_MODULI = (2.0**16, 2.0**32)


@dataclass(frozen=True)
class Swap:
    """A changed meter: when [UTC ns], last reading of the old, first reading of the new."""

    time_ns: int
    old: float
    new: float


@dataclass(frozen=True)
class Event:
    """Something that befell a running total between two readings.

    Parameters
    ----------
    kind : str
        "roll-over", "swap", "reset", "jump", "garbled" (readings passed over), "backwards" (a step of the last digit).
    row, next_row : int
        Rows of the readings before and after.
    before, after : float
        These readings.
    amount : float
        What was counted between them; NaN where it cannot be known.
    modulus : float
        Roll-over: what was added.
    count : int
        Garbled: readings passed over; backwards: how often.
    """

    kind: str
    row: int
    next_row: int
    before: float
    after: float
    amount: float
    modulus: float = 0.0
    count: int = 1


@dataclass(frozen=True)
class Counted:
    """Amounts of a running total.

    Parameters
    ----------
    spans : Spans, shape (m,)
        From each good reading to the next.
    amounts : ndarray, shape (m,)
        In the unit of the readings, >= 0; NaN where unknown.
    rows : ndarray of int, shape (m,)
        Row of the reading at the end of each span.
    events : list of Event
    is_total : bool
        False where the readings fall so often that they are no running total (nothing else is then to be used).
    """

    spans: Spans
    amounts: np.ndarray
    rows: np.ndarray
    events: list[Event] = field(default_factory=list)
    is_total: bool = True


@dataclass
class _Readings:
    """Good readings so far: time [s], reading, row; and the speed that is usual at most."""

    time_ns: np.ndarray
    value: np.ndarray
    row: np.ndarray
    usual_rate: float
    events: list[Event]

    def rate(self, first: int, last: int) -> float:
        """Speed of counting from one good reading to another [units a second]."""
        seconds = (self.time_ns[last] - self.time_ns[first]) / 1e9
        return float((self.value[last] - self.value[first]) / seconds)

    def without(self, places: list[int]) -> _Readings:
        kept = np.ones(len(self.row), dtype=bool)
        kept[places] = False
        return _Readings(self.time_ns[kept], self.value[kept], self.row[kept], self.usual_rate, self.events)

    def event(self, kind: str, place: int, amount: float, modulus: float = 0.0, count: int = 1) -> Event:
        return Event(kind, int(self.row[place]), int(self.row[place + 1]), float(self.value[place]),
                     float(self.value[place + 1]), amount, modulus, count)


def counted(
    times_ns: np.ndarray, readings: np.ndarray, modulus: float | None = None, swaps: tuple[Swap, ...] = (),
    fastest: float = np.inf,
) -> Counted:
    """Amounts between the readings of a running total.

    Parameters
    ----------
    times_ns : ndarray of int64, shape (n,)
        Rising.
    readings : ndarray, shape (n,)
        NaN where there is none.
    modulus : float or None
        What a roll-over adds, where stated; else 10, 100, ... or a binary one where plausible.
    swaps : tuple of Swap
        Declared changes of the meter.
    fastest : float
        No meter of this channel counts faster [units a second].
    """
    rows = np.flatnonzero(np.isfinite(readings))
    good = _Readings(times_ns[rows], readings[rows], rows, 0.0, [])
    steps = np.diff(good.value)
    falls = int((steps < 0.0).sum())
    if falls >= FEW_FALLS and falls > MOST_FALLS * len(steps):
        return Counted(Spans(times_ns[:0], times_ns[:0]), steps[:0], rows[:0], is_total=False)
    _hold_last_digit(good)
    good.usual_rate = _usual_rate(good, fastest)
    good = _without_garbled(good, swaps)
    amounts = _amounts(good, modulus, swaps)
    return Counted(Spans(good.time_ns[:-1], good.time_ns[1:]), amounts, good.row[1:], good.events)


def modulus_of(rolls_over_at: float) -> float:
    """What a roll-over adds, from the number after which the meter starts again at zero (99999 -> 100000)."""
    power = np.log10(rolls_over_at)
    if abs(power - round(power)) < 1e-12 or np.log2(rolls_over_at) % 1.0 == 0.0:
        return rolls_over_at  # stated as the modulus itself
    text = f"{rolls_over_at:.10g}"
    return rolls_over_at + 10.0 ** -len(text.partition(".")[2])


def _usual_rate(good: _Readings, fastest: float) -> float:
    """A speed of counting that is not exceeded in ordinary steps [units a second]."""
    rates = np.diff(good.value) / (np.diff(good.time_ns) / 1e9)
    rising = rates[rates > 0.0]
    if len(rising) < 3:
        return fastest
    fast = float(np.quantile(rising, 0.9, method="lower"))
    return min(max(USUAL_TIMES * fast, JUMP_TIMES * float(np.median(rising))), fastest)


def _without_garbled(good: _Readings, swaps: tuple[Swap, ...]) -> _Readings:
    """Without readings that fall and come back, or shoot up and come back."""
    for _ in range(10):
        bad: list[int] = []
        for fall in np.flatnonzero(np.diff(good.value) < 0.0).tolist():
            if (bad and fall <= bad[-1]) or _swap_between(good, fall, swaps) is not None:
                continue
            bad += _low_readings(good, fall) or _high_readings(good, fall)
        if not bad:
            break
        for first, last in _blocks(bad):
            before = max(first - 1, 0)
            good.events.append(Event("garbled", int(good.row[first]), int(good.row[last]), float(good.value[before]),
                                     float(good.value[first]), np.nan, count=last - first + 1))
        good = good.without(bad)
    return good


def _low_readings(good: _Readings, fall: int) -> list[int]:
    """Readings after a fall that are passed over because the total soon goes on from where it was."""
    for back in range(fall + 2, min(fall + 2 + LONGEST_GARBLED, len(good.row))):
        if good.value[back] < good.value[fall]:
            continue
        goes_on = good.rate(fall, back) <= good.usual_rate and good.rate(back - 1, back) > good.usual_rate
        return list(range(fall + 1, back)) if goes_on else []
    return []


def _high_readings(good: _Readings, fall: int) -> list[int]:
    """Readings before a fall that are passed over because the total goes on from before they shot up."""
    for start in range(fall, max(fall - LONGEST_GARBLED, 0), -1):
        before = start - 1
        if good.rate(before, start) > good.usual_rate and good.value[fall + 1] >= good.value[before]:
            return list(range(start, fall + 1)) if good.rate(before, fall + 1) <= good.usual_rate else []
    return []


def _blocks(places: list[int]) -> list[tuple[int, int]]:
    blocks: list[tuple[int, int]] = []
    for place in sorted(places):
        if blocks and place == blocks[-1][1] + 1:
            blocks[-1] = (blocks[-1][0], place)
        else:
            blocks.append((place, place))
    return blocks


def _amounts(good: _Readings, modulus: float | None, swaps: tuple[Swap, ...]) -> np.ndarray:
    """Amounts of the steps between good readings; events are noted on the way."""
    amounts = np.diff(good.value)
    for swap in swaps:
        place = int(np.searchsorted(good.time_ns, swap.time_ns)) - 1
        if 0 <= place < len(amounts):
            parts = swap.old - good.value[place], good.value[place + 1] - swap.new
            amounts[place] = sum(parts) if min(parts) >= 0.0 else np.nan
            good.events.append(good.event("swap", place, float(amounts[place])))
    for fall in np.flatnonzero(amounts < 0.0).tolist():
        if _swap_between(good, fall, swaps) is not None:
            continue
        added = _roll_over(good, fall, modulus)
        amounts[fall] = amounts[fall] + added if added else np.nan
        good.events.append(good.event("roll-over" if added else "reset", fall, float(amounts[fall]), added))
    for jump in _jumps(good, amounts):
        if _swap_between(good, jump, swaps) is None:
            good.events.append(good.event("jump", jump, np.nan))
            amounts[jump] = np.nan
    return amounts


def _hold_last_digit(good: _Readings) -> None:
    """A total that trembles by a step or two of its last digit stands still: the highest reading holds."""
    steps = np.diff(good.value)
    digit = resolution_of(good.value) or 1e-9
    small = (steps < 0.0) & (steps >= -TREMBLES * digit * (1.0 + 1e-9)) & (good.value[1:] > TREMBLES * digit)
    if not small.any():
        return
    highest = good.value.copy()
    edges = [0, *(np.flatnonzero((steps < 0.0) & ~small) + 1).tolist(), len(highest)]
    for start, stop in pairwise(edges):
        highest[start:stop] = np.maximum.accumulate(highest[start:stop])
    near = highest - good.value <= (TREMBLES + 1.0) * digit * (1.0 + 1e-9)
    first = int(np.flatnonzero(small)[0])
    good.events.append(good.event("backwards", first, 0.0, count=int(small.sum())))
    good.value = np.where(near, highest, good.value)


def _swap_between(good: _Readings, place: int, swaps: tuple[Swap, ...]) -> Swap | None:
    low, high = good.time_ns[place], good.time_ns[place + 1]
    return next((swap for swap in swaps if low < swap.time_ns <= high), None)


def _roll_over(good: _Readings, fall: int, modulus: float | None) -> float:
    """What a roll-over at this fall adds, or 0 where it is none."""
    before = float(good.value[fall])
    seconds = float(good.time_ns[fall + 1] - good.time_ns[fall]) / 1e9
    moduli = [modulus] if modulus else _likely_moduli(float(good.value.max()), before)
    for size in moduli:
        amount = float(good.value[fall + 1]) + size - before
        if before < size and 0.0 <= amount <= good.usual_rate * seconds:
            return size
    return 0.0


def _likely_moduli(highest: float, before: float) -> list[float]:
    """The power of ten above the highest reading, and the sizes of binary counters; near their ends only."""
    ten = 10.0 ** max(np.ceil(np.log10(max(highest, 1.0) + 1e-9)), 2.0)
    return [size for size in (ten, *BINARY_MODULI) if highest < size and NEAR_END * size <= before]


def _jumps(good: _Readings, amounts: np.ndarray) -> list[int]:
    """Steps up that are far too fast beside all others."""
    rates = amounts / (np.diff(good.time_ns) / 1e9)
    fast = np.flatnonzero(rates > JUMP_TIMES / USUAL_TIMES * good.usual_rate)
    if not len(fast):
        return []
    others = np.delete(rates, fast)
    others = others[np.isfinite(others)]
    highest = float(others.max()) if len(others) else 0.0
    return [int(place) for place in fast if rates[place] > JUMP_TIMES * highest > 0.0]
