"""Two instruments of one thing held against each other, and flows and powers against their ratings.

A counter and a rate of the same thing that differ by more than 5 % cannot both be right. Factors of 10, 2 and 3.785 are
the marks of a wrong pulse weight, 60, 1000 and 16.67 those of a wrong unit.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np

from sprayroof.evidence.channels.grid import Laid
from sprayroof.evidence.channels.instruments import instrument_of
from sprayroof.evidence.channels.record import Record
from sprayroof.evidence.channels.spray_times import level_while_on
from sprayroof.evidence.quality.work import LogWork

MOST_APART = 0.05
LEAST_COMMON = 4  # steps that both know
DENSITY_LOW_L_min_m2, DENSITY_HIGH_L_min_m2 = 0.05, 3.0
PULSE_FACTORS = ((10.0, "ten pulse weights"), (100.0, "a hundred pulse weights"),
                 (2.0, "both edges of a pulse counted"), (3.785, "US gallons taken for litres"),
                 (4.546, "imperial gallons taken for litres"))
UNIT_FACTORS = ((60.0, "seconds and minutes"), (1000.0 / 60.0, "m3/h and L/min"), (1000.0, "units and thousands"),
                (3.785, "US gallons and litres"), (4.546, "imperial gallons and litres"))
NEAR_FACTOR = 0.08  # a ratio this near to a factor is that factor
RATING_LOW, RATING_HIGH = 0.8, 1.25  # times the ends of the rating's range: what a pump may give
COUNTING = ("counter", "tips", "sum")


def factor_near(ratio: float, factors: tuple[tuple[float, str], ...]) -> tuple[float, str] | None:
    """The factor that a ratio, or one over it, comes near: (factor or its inverse, what it means); else None."""
    if not ratio > 0.0:
        return None
    for factor, words in factors:
        for wanted in (factor, 1.0 / factor):
            if abs(ratio / wanted - 1.0) <= NEAR_FACTOR:
                return wanted, words
    return None


def compare_records(column: str, records: list[Record], laid: list[Laid], work: LogWork) -> None:
    """Hold all records of a channel against each other.

    Parameters
    ----------
    column : str
        Column of `Logs.table`.
    records, laid : list
        Of that channel, those with `use = false` as well; the same order.
    work : LogWork
        Takes problems and findings.
    """
    for first, second in combinations(range(len(records)), 2):
        one, other = laid[first], laid[second]
        common = np.isfinite(one.values) & np.isfinite(other.values)
        if common.sum() < LEAST_COMMON:
            continue
        pair = records[first], records[second]
        if pair[0].meaning.counts:
            _compare_amounts(column, pair, float(one.values[common].sum()), float(other.values[common].sum()), work)
        elif pair[0].meaning.kind != "status":
            _compare_states(column, pair, one.values[common] - other.values[common], work)


def _compare_amounts(column: str, pair: tuple[Record, Record], first: float, second: float, work: LogWork) -> None:
    if max(abs(first), abs(second)) == 0.0:
        return
    ratio = second / first if first else np.inf
    if abs(ratio - 1.0) <= MOST_APART:
        _tell_agree(column, pair, f"sums differ by {abs(ratio - 1.0):.1%}", work)
        return
    mark = factor_near(ratio, PULSE_FACTORS + UNIT_FACTORS)
    hint = f", near {mark[0]:.4g} ({mark[1]})" if mark else ""
    found = (f"{pair[1].where} counts {ratio:.4g} times what {pair[0].where} does{hint}, over the time that both cover")
    _tell_apart(column, pair, found, ratio, work)


def _compare_states(column: str, pair: tuple[Record, Record], apart: np.ndarray, work: LogWork) -> None:
    allowed = sum(2.0 * instrument_of(record).offset for record in pair)
    middle = float(np.median(np.abs(apart)))
    if not allowed or middle <= allowed:
        _tell_agree(column, pair, f"half of the readings lie within {middle:.2g} {pair[0].meaning.unit}", work)
        return
    found = f"{pair[0].where} and {pair[1].where} lie {middle:.3g} {pair[0].meaning.unit} apart in the middle"
    _tell_apart(column, pair, found, middle, work)


def _tell_agree(column: str, pair: tuple[Record, Record], how: str, work: LogWork) -> None:
    work.gather.finding(
        "channel.two-records-agree",
        f"{pair[0].name} is logged twice, in {pair[0].where} and {pair[1].where}, and both agree: {how}.", column,
        {"disposition": "note", "column": column, "rule": "two records of one thing agree"}, "Strengthens the channel.")


def _tell_apart(column: str, pair: tuple[Record, Record], found: str, size: float, work: LogWork) -> None:
    if all(record.declared.use for record in pair):
        work.gather.problem(
            f"{pair[0].name}", found, f"two records of one thing within {MOST_APART:.0%}",
            f"correct unit, kind or per_count of the wrong one, or add use = false to {pair[0].entry} or "
            f"{pair[1].entry}")
        return
    used = pair[0] if pair[0].declared.use else pair[1]
    work.gather.finding(
        "channel.two-records-differ", f"{found}; {used.where} is used, as the site file says.", column,
        {"disposition": "warn", "column": column, "rule": "two records of one thing differ", "ratio": size},
        "If the other one is right, every figure that rests on this channel changes by as much.")


def check_ratings(work: LogWork) -> None:
    """Spray flow against rating and sprayed area, pump power against its rating."""
    if "spray_L_min" in work.records:
        _check_flow(work.records["spray_L_min"], _usual("spray_L_min", work), work)
    if "pump_W" in work.records:
        _check_pump(work.records["pump_W"], _usual("pump_W", work), work)


def _usual(column: str, work: LogWork) -> float:
    """What flows or is taken while running, by the readings themselves: steps may hold a part of the running time."""
    return level_while_on(work.records[column].first) * work.instruments[column].multiplied


def _check_flow(record: Record, usual_L_min: float, work: LogWork) -> None:
    rating = work.site.spray.flow_L_min
    if usual_L_min <= 0.0 or RATING_LOW * rating.low <= usual_L_min <= RATING_HIGH * rating.high:
        return
    ratio = usual_L_min / rating.value
    counting = record.kind in COUNTING
    mark = factor_near(ratio, PULSE_FACTORS if counting else UNIT_FACTORS)
    if counting and mark:
        work.gather.problem(
            record.where,
            f"the flow while spraying is {usual_L_min:.4g} L/min, {ratio:.4g} times the {rating.value:g} L/min of "
            f"spray.flow: near {mark[0]:.4g} ({mark[1]})", "a counter that fits the pump",
            f"correct per_count or unit at {record.entry}, or spray.flow if the meter is right")
        return
    area_m2 = work.site.sprayed_area_m2()
    density = usual_L_min / area_m2 if area_m2 > 0.0 else None
    hint = f" The ratio is that between {mark[1]}." if mark else ""
    data = {"disposition": "warn", "file": record.rows.where, "column": record.declared.column, "ratio": ratio,
            "rule": "flow while spraying against spray.flow and the sprayed area", "flow_L_min": usual_L_min}
    effect = f"Heat by the pipe is {ratio:.3g} times that of the rated flow. Check unit at {record.entry}."
    if density is not None and not DENSITY_LOW_L_min_m2 <= density <= DENSITY_HIGH_L_min_m2:
        work.gather.finding(
            "channel.spray-density",
            f"The flow of {record.where} while spraying is {usual_L_min:.4g} L/min, {density:.3g} L/min on each square "
            f"metre of the sprayed roof; 0.05 to 3 is usual. It is {ratio:.3g} times spray.flow.{hint}",
            record.rows.where, data, effect)
        return
    work.gather.finding(
        "channel.flow-off-rating", f"The flow of {record.where} while spraying is {usual_L_min:.4g} L/min, {ratio:.3g} "
        f"times the {rating.value:g} L/min of spray.flow.{hint}", record.rows.where, data, effect)


def _check_pump(record: Record, usual_W: float, work: LogWork) -> None:
    rating_W = work.site.spray.pump_power_W.value
    if usual_W <= 0.0 or rating_W <= 0.0:
        return
    ratio = usual_W / rating_W
    for factor, meant in ((1000.0, "W, not kW"), (1e-3, "kW, not W")):
        if 1.0 / 1.6 <= ratio / factor <= 1.6:
            work.gather.problem(
                record.where, f"the pump takes {usual_W:.6g} W while spraying, {ratio:.4g} times the {rating_W:g} W of "
                f"spray.pump_power, as if the column were in {meant}", "a power that fits the pump",
                f"correct unit at {record.entry}, or spray.pump_power if the meter is right")
            return
