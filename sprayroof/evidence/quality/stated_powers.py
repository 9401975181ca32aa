"""Logged power of air conditioner and circulation pumps against what nameplate, spot test or site file state.

Power read as energy of an interval, or the other way round, is off by the intervals of an hour and looks like nothing
else: every reading stays believable by itself. Each such factor is asked for. What a spot test says goes before the
nameplate, which says little of a machine at part load.
"""

from __future__ import annotations

import numpy as np

from sprayroof.evidence.quality.compare import COUNTING
from sprayroof.evidence.quality.impossible_amounts import LEAST_RUNNING, MISTAKEN, RATIO_FRAC
from sprayroof.evidence.quality.work import BESIDE_NS, LogWork

NAMEPLATE_FRAC = 0.3  # weather and load move a machine's highest power about its nameplate
RUNNING_FRAC = 0.1  # of the largest reading: less is standby
UPPER_PCT = 90.0  # of the running readings: nearly the whole machine


def check_stated_powers(work: LogWork) -> None:
    """Ask for power that is off the stated one by just such a factor as mistaken units or kinds give."""
    _air_conditioner(work)
    _circulation(work)


def _air_conditioner(work: LogWork) -> None:
    columns = _columns(work, "ac_W")
    tests = [(entry, test) for entry, test in work.tests("spot efficiency") if test.power_kW]
    if not columns:
        return
    values = _together(work, columns)
    upper_W = _upper_W(values)
    for entry, test in tests:
        beside_W = _at_test_W(work, values, test)
        if beside_W is None and upper_W is None:
            continue
        logged_W = upper_W if beside_W is None else beside_W
        when = "while running" if beside_W is None else "at that time"
        mistaken = MISTAKEN if beside_W is not None else _of_interval(work, columns)
        _hold(work, columns, logged_W, 1000.0 * test.power_kW, f"{when}, where the spot test ({entry}) found",
              f"{entry}.power", mistaken, RATIO_FRAC)
    capacity, cop = work.site.air_conditioner.rated_capacity_kW, work.site.air_conditioner.rated_cop.value
    if tests or capacity is None or upper_W is None:
        return
    _hold(work, columns, upper_W, 1000.0 * capacity.value / cop, "in its upper running hours, where the nameplate "
          "(air_conditioner.rated_capacity / rated_cop) says", "air_conditioner.rated_capacity, or note the power of a "
          "spot efficiency test, which goes before the nameplate", _of_interval(work, columns), NAMEPLATE_FRAC)


def _circulation(work: LogWork) -> None:
    columns = _columns(work, "circulation_W")
    stated_W = sum(emitter.pump_power_W.value for emitter in work.site.emitter)
    upper_W = _upper_W(_together(work, columns)) if columns else None
    if upper_W is not None and stated_W > 0.0:
        entries = " and ".join(f"emitter.{number}.pump_power" for number, _ in enumerate(work.site.emitter, start=1))
        _hold(work, columns, upper_W, stated_W, f"while running, where {entries} says", entries, MISTAKEN, RATIO_FRAC)


def _columns(work: LogWork, name: str) -> list[str]:
    return [column for column in work.laid if column == name or column.rpartition("_")[0] == name]


def _together(work: LogWork, columns: list[str]) -> np.ndarray:
    """Power of all meters together [W]; NaN where one of them is not known."""
    return np.sum([work.laid[column].values for column in columns], axis=0)


def _running(values: np.ndarray) -> np.ndarray:
    known = values[np.isfinite(values)]
    return known[known > RUNNING_FRAC * known.max(initial=0.0)]


def _upper_W(values: np.ndarray) -> float | None:
    running = _running(values)
    return float(np.percentile(running, UPPER_PCT)) if len(running) >= LEAST_RUNNING else None


def _at_test_W(work: LogWork, values: np.ndarray, test: object) -> float | None:
    """Power at a spot test while the machine ran: the middle of the upper half of the readings that lie in it."""
    start_ns, end_ns = work.when_ns(test)
    if end_ns <= start_ns:
        start_ns, end_ns = start_ns - BESIDE_NS, start_ns + BESIDE_NS
    starts_ns, step_ns = work.grid.starts_ns(), work.grid.step_s * 10**9
    inside = values[(starts_ns < end_ns) & (starts_ns + step_ns > start_ns)]
    inside = inside[np.isfinite(inside) & (inside > 0.0)]
    return float(np.median(inside[inside >= np.median(inside)])) if len(inside) else None


def _of_interval(work: LogWork, columns: list[str]) -> tuple[float, ...]:
    """Factors that the log's own intervals explain: a machine may well run at a quarter of its nameplate otherwise."""
    per_hour = 3600.0 / work.records[columns[0]].rows.interval_s
    return tuple(factor for factor in MISTAKEN if factor == 1000.0 or abs(per_hour / factor - 1.0) < 0.01)


def _hold(work: LogWork, columns: list[str], logged_W: float, stated_W: float, beside: str, other: str,
          mistaken: tuple[float, ...], within_frac: float) -> None:
    ratio = logged_W / stated_W
    if ratio <= 0.0:
        return
    # nothing takes several times its stated power, whatever the log's interval
    factors = MISTAKEN if ratio > 1.0 else mistaken
    near = [factor for factor in factors if abs(max(ratio, 1.0 / ratio) / factor - 1.0) < within_frac]
    if not near:
        return
    record = work.records[columns[0]]
    entries = " and ".join(work.records[column].entry for column in columns)
    work.gather.problem(
        f"{record.rows.where}, column {record.declared.column}", f"{_plain(logged_W)} W {beside} {_plain(stated_W)} W: "
        f"{_plain(ratio)} times as much", "power near the stated one",
        f"at {entries} {_do(record.kind in COUNTING, record.declared.unit, near, ratio)}; or correct {other}")


def _plain(value: float) -> str:
    """Three digits or all before the point."""
    return f"{value:.0f}" if value >= 100.0 else f"{value:.3g}"


def _do(counting: bool, unit: str, near: list[float], ratio: float) -> str:
    """What to write instead."""
    if 1000.0 in near:
        return f"correct unit: the readings seem to be a thousand times {'smaller' if ratio > 1.0 else 'larger'}"
    if counting:
        power = unit.removesuffix("h") if unit.endswith("Wh") else "kW"
        return f'write unit = "{power}" and kind = "mean" if the readings are power, else correct unit'
    energy = f"{unit}h" if unit.endswith("W") else "kWh"
    return f'write unit = "{energy}" and kind = "sum" if the readings are amounts of an interval, else correct unit'
