"""What tests on site change: offsets and factors of channels, and how sure they are afterwards.

A calibration, dip, draw-down or pair test before and one after the logged weeks give a correction that runs in a
straight line between them; half their difference is added to its uncertainty. Before the first and after the last the
nearest holds. The corrections are applied here, once: readers of `Logs` must not apply them again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.channels.instruments import is_proportional, usual_error
from sprayroof.evidence.channels.record import Record
from sprayroof.evidence.quality.work import LogWork
from sprayroof.evidence.site_file.channel_table import column_of

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.logged import Test

REFERENCE_SHARE = 1.0 / 3.0  # of an ordinary instrument's error: what a reference is taken to be good for
DRAW_DOWN_FRAC = 0.02  # 90 % half-width of a draw-down test that states none
STICK_M = 0.01  # 90 % half-width of a level dipped by stick
PAIR_K = 0.05  # 90 % half-width of the difference after a pair test, before the scatter of its readings
SETTLES_NS = 10 * 60 * 10**9  # at most so much of a pair test's start is left out
LARGEST_PAIR_K = 3.0  # a larger difference is no offset of sensors
LARGEST_ERRORS = 10.0  # times an ordinary instrument's error: a larger correction is a mistake
LARGEST_FACTOR = 2.0
LARGEST_LEVEL_FRAC = 0.25  # of the full content


@dataclass(frozen=True)
class Correction:
    """A correction at one time: `value` is added [channel's unit], or the readings are multiplied by it."""

    time_ns: int
    value: float
    half_width: float
    entry: str


def apply_tests(work: LogWork) -> None:
    """Apply calibrations, dips, pair tests and draw-downs to the channels; problems and findings go to its pad."""
    by_column: dict[str, list[Correction]] = {}
    for entry, test in work.tests("calibration", "dip", "draw down"):
        found = _of_test(entry, test, work)
        if found is not None:
            by_column.setdefault(found[0], []).append(found[1])
    for column, corrections in by_column.items():
        _apply(column, corrections, work)
    _apply_pairs(set(by_column), work)


def _of_test(entry: str, test: Test, work: LogWork) -> tuple[str, Correction] | None:
    """Column and correction that one test gives; None after a problem, or where its channel is not logged."""
    record = _record_of(entry, test, work)
    if record is None:
        return None
    if test.kind == "draw down":
        return _draw_down(entry, test, record, work)
    if record.declared.add and test.kind == "calibration":
        work.gather.problem(
            f"site file, {entry}",
            f"a calibration of {record.name}, and add = {record.declared.add:g} at {record.entry}",
            "a correction once", f"take add out of {record.entry}, or this test")
        return None
    return _point(entry, test, record, work)


def _record_of(entry: str, test: Test, work: LogWork) -> Record | None:
    name = test.channel or {"dip": "level"}.get(test.kind)
    if name is None:
        work.gather.problem(f"site file, {entry}", f"a {test.kind} test without its channel",
                            "the channel that was tested",
                            f'add channel = "spray_flow" to {entry}, or the name of another channel')
        return None
    try:
        record = work.records.get(column_of(name))
    except KeyError:
        work.gather.problem(f"site file, {entry}.channel", f'"{name}"', "a channel of the logs",
                            "write one of " + ", ".join(sorted(item.name for item in work.records.values())))
        return None
    if record is None:
        work.gather.finding(
            "channel.test-unused", f"The {test.kind} test of {name} changes nothing: no log in use holds that channel.",
            entry, {"disposition": "warn", "rule": "tests correct channels that are logged"})
    return record


def _point(entry: str, test: Test, record: Record, work: LogWork) -> tuple[str, Correction] | None:
    """A calibration or dip: what the instrument said against what it truly was."""
    start_ns, end_ns = work.when_ns(test)
    said = (work.mean(record.column, start_ns, end_ns) if test.reading is None
            else float(record.convert(np.array([test.reading + record.declared.add]))[0]))
    if test.kind == "dip" and test.volume_m3 is not None and record.meaning.name == "level":
        true: float | None = test.volume_m3
    else:
        true = None if test.reference is None else float(record.convert(np.array([test.reference]))[0])
    if said is None or true is None:
        missing, what = ("reading", "a reading, and the log has none then") if said is None else (
            "reference", "what it truly was")
        work.gather.problem(f"site file, {entry}", f"a {test.kind} without {what}", f"the entry {missing}",
                            f"add {missing} to {entry}, in the unit of {record.entry}")
        return None
    if is_proportional(record):
        return _factor(entry, start_ns, said, true, _reference_error(test, record, true, work) / max(abs(true), 1e-12),
                       record, work)
    error = true - said
    largest = LARGEST_ERRORS * usual_error(record, true)
    if record.meaning.name == "level":
        largest = LARGEST_LEVEL_FRAC * work.site.store.volume_m3.value
    if abs(error) > largest:
        _refuse(entry, f"the instrument said {said:.5g} where it was {true:.5g} {record.meaning.unit}", work)
        return None
    return record.column, Correction(start_ns, error, _reference_error(test, record, true, work), entry)


def _reference_error(test: Test, record: Record, true: float, work: LogWork) -> float:
    """90 % half-width of what it truly was [channel's unit]."""
    if test.accuracy_frac is not None:
        return test.accuracy_frac * abs(true)
    if test.kind == "dip":
        return STICK_M / work.site.store.height_m.value * work.site.store.volume_m3.value
    return REFERENCE_SHARE * usual_error(record, true)


def _factor(entry: str, time_ns: int, said: float, true: float, half_frac: float, record: Record,
            work: LogWork) -> tuple[str, Correction] | None:
    factor = true / said if said > 0.0 else np.inf
    if not 1.0 / LARGEST_FACTOR <= factor <= LARGEST_FACTOR:
        _refuse(entry, f"the instrument said {said:.4g} where it was {true:.4g} {record.meaning.unit}", work)
        return None
    return record.column, Correction(time_ns, float(factor), half_frac, entry)


def _refuse(entry: str, found: str, work: LogWork) -> None:
    work.gather.problem(f"site file, {entry}", found, "a correction that an instrument can need",
                        f"check unit and figures of {entry}, and unit and per_count of its channel")


def _draw_down(entry: str, test: Test, record: Record, work: LogWork) -> tuple[str, Correction] | None:
    """Water drawn from the store against what the flow meter counted."""
    start_ns, end_ns = work.when_ns(test)
    half = DRAW_DOWN_FRAC if test.accuracy_frac is None else test.accuracy_frac
    if test.reading is not None and test.reference is not None:
        return _factor(entry, start_ns, test.reading, test.reference, half, record, work)
    if record.meaning.counts != "L" or test.volume_m3 is None or end_ns <= start_ns:
        work.gather.problem(f"site file, {entry}", "a draw-down without volume and span, or of no flow meter",
                            "the flow meter's channel, from, to and the volume drawn",
                            f'add to and volume = "1.2 m3" to {entry}')
        return None
    true = 1000.0 * test.volume_m3 / ((end_ns - start_ns) / 60e9)
    said = (float(record.convert(np.array([test.reading]))[0]) if test.reading is not None
            else work.mean(record.column, start_ns, end_ns))
    if said is None:
        work.gather.problem(f"site file, {entry}", "the log holds no flow at the time of the test",
                            "a log of the flow, or the mean reading", f"add reading to {entry}, in the unit of "
                            f"{record.entry}")
        return None
    return _factor(entry, (start_ns + end_ns) // 2, said, true, half, record, work)


def _apply(column: str, corrections: list[Correction], work: LogWork) -> None:
    """Correct a channel and its instrument."""
    record, laid, old = work.records[column], work.laid[column], work.instruments[column]
    by_factor = is_proportional(record)
    line, spread = _line(corrections, work)
    values = laid.values * line if by_factor else laid.values + line
    if record.meaning.low == 0.0 and not by_factor:
        values = np.where(np.isfinite(values), np.maximum(values, 0.0), values)
    work.laid[column] = replace(laid, values=values)
    half = float(np.hypot(max(correction.half_width for correction in corrections), spread))
    if by_factor:
        work.instruments[column] = replace(old, gain=half, offset=0.0 if not old.stated else old.offset, stated=True,
                                           multiplied=float(line.mean()))
    else:
        half = float(np.hypot(half, old.resolution / 2.0))
        work.instruments[column] = replace(old, offset=half, stated=True, added=old.added + float(line.mean()))
    _tell(record, corrections, half, by_factor, work)


def _line(corrections: list[Correction], work: LogWork) -> tuple[np.ndarray, float]:
    """The correction at every step, and half the largest difference between two that follow each other."""
    corrections.sort(key=lambda correction: correction.time_ns)
    times = np.array([correction.time_ns for correction in corrections], dtype=float)
    values = np.array([correction.value for correction in corrections])
    middles = work.grid.starts_ns() + work.grid.step_s * 5e8
    return np.interp(middles, times, values), float(np.abs(np.diff(values)).max(initial=0.0)) / 2.0


def _tell(record: Record, corrections: list[Correction], half: float, by_factor: bool, work: LogWork) -> None:
    unit, neutral = record.meaning.unit.removeprefix("1"), 1.0 if by_factor else 0.0
    sizes = [f"x {correction.value:.4f}" if by_factor else f"{correction.value:+.3g} {unit}".strip()
             for correction in corrections]
    right = all(abs(correction.value - neutral) < 1e-9 for correction in corrections)
    told = "found right" if right else f"corrected by {' and then '.join(sizes)}"
    sure = f"{half:.1%}" if by_factor else f"{half:.2g} {unit}".strip()
    entries = " and ".join(correction.entry for correction in corrections)
    work.gather.finding(
        "channel.calibrated", f"{record.where} was {told} by {entries} of the site file; its error is now at most "
        f"{sure} (90 %).", record.rows.where,
        {"disposition": "repair", "file": record.rows.where, "column": record.declared.column, "channel": record.column,
         "rule": "correction by tests, straight between them", "new": [correction.value for correction in corrections],
         "half_width": half},
        "Readings do not change." if right else f"Readings of {record.name} change by {' to '.join(sizes)}.")


def _apply_pairs(calibrated: set[str], work: LogWork) -> None:
    """Pair tests: the same water at both sensors leaves the difference known."""
    tests = work.tests("pair")
    if not tests:
        return
    supply, back = "supply_C", "return_C"
    if supply not in work.records or back not in work.records:
        work.gather.finding(
            "channel.test-unused", "The pair test changes nothing: supply and return temperature are not both logged.",
            tests[0][0], {"disposition": "warn", "rule": "tests correct channels that are logged"})
        return
    found = [correction for entry, test in tests if (correction := _pair(entry, test, work)) is not None]
    if not found:
        return
    # the sensor that no calibration has set right is set by the other
    column, other = (supply, back) if back in calibrated and supply not in calibrated else (back, supply)
    sign = -1.0 if column == back else 1.0
    line, spread = _line(found, work)
    laid, old = work.laid[column], work.instruments[column]
    work.laid[column] = replace(laid, values=laid.values + sign * line)
    half = float(np.hypot(max(correction.half_width for correction in found), spread))
    work.instruments[column] = replace(old, offset=half, stated=True, tied_to=other,
                                       added=old.added + sign * float(line.mean()))
    _tell(work.records[column], [replace(item, value=sign * item.value) for item in found], half, False, work)


def _both(work: LogWork) -> str:
    """From when to when both water temperatures were read."""
    known = np.flatnonzero(np.isfinite(work.laid["return_C"].values + work.laid["supply_C"].values))
    return f"; both were read from {work.time(known[0])} to {work.time(known[-1])}" if len(known) else ""


def _pair(entry: str, test: Test, work: LogWork) -> Correction | None:
    """Return less supply while the same water passed both."""
    start_ns, end_ns = work.when_ns(test)
    start_ns += min(SETTLES_NS, (end_ns - start_ns) // 4)
    places = np.arange(*np.searchsorted(work.grid.starts_ns(), [start_ns, end_ns]))
    apart = work.laid["return_C"].values[places] - work.laid["supply_C"].values[places]
    apart = apart[np.isfinite(apart)]
    if len(apart) < 3:
        work.gather.problem(f"site file, {entry}",
                            f"{len(apart)} readings of both temperatures in the time of the pair test{_both(work)}",
                            "at least 3, after its first quarter", "correct from and to, or take the test out")
        return None
    offset = float(np.median(apart))
    if abs(offset) > LARGEST_PAIR_K:
        work.gather.problem(f"site file, {entry}", f"return lies {offset:+.2f} K from supply in the pair test",
                            f"the same water at both sensors, at most {LARGEST_PAIR_K:g} K apart",
                            "correct from and to, or take the test out")
        return None
    independent = max(1.0, len(apart) * work.grid.step_s / 600.0)  # readings hang together for some ten minutes
    scatter = 1.645 * float(np.std(apart)) / np.sqrt(independent)
    return Correction((start_ns + end_ns) // 2, offset, float(np.hypot(PAIR_K, scatter)), entry)
