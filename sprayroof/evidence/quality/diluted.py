"""Exports that averaged over time when the pump stood still: flow times difference is then not the heat.

Over an interval in which the pump ran for a quarter of the time, the mean flow is a quarter and the mean difference of
temperatures is mostly that of standing water; their product is wrong by the rest.
"""

from __future__ import annotations

import numpy as np

from sprayroof.evidence.channels.grid import interval_s
from sprayroof.evidence.channels.record import Record
from sprayroof.evidence.channels.spray_times import level_while_on
from sprayroof.evidence.quality.work import LogWork

LONG_S = 600.0  # shorter intervals are seldom shared between running and standing
PART_LOW, PART_HIGH = 0.08, 0.85  # of the usual flow: the pump ran for a part of the interval
MOST_IN_PART = 0.30  # of the intervals with flow; starts and stops of whole nights make fewer
LEAST_INTERVALS = 8
WATER = ("supply_temperature", "return_temperature")


def check_diluted(work: LogWork) -> None:
    """Ask how temperatures were averaged where many intervals hold a part of the pump's running time."""
    flow = work.records.get("spray_L_min")
    water = [record for record in work.records.values()
             if record.name in WATER and record.kind == "mean" and interval_s(record) > LONG_S]
    if flow is None or not water or not (interval_s(flow) > LONG_S and flow.kind in ("mean", "sum", "counter")):
        return
    part, share = _in_part(flow)
    if not part.any() or share <= MOST_IN_PART:
        return
    log = water[0].rows.log
    if log.averaged_over is None:
        _ask(flow, water, part, share, work)
    elif log.averaged_over == "all time":
        _leave_out(flow, water, part, work)


def _in_part(flow: Record) -> tuple[np.ndarray, float]:
    """Spans in which the pump ran for a part of the time, and their share of those with flow."""
    values = np.nan_to_num(flow.first)
    usual = level_while_on(flow.first)
    on = values > PART_LOW * usual
    if on.sum() < LEAST_INTERVALS:
        return np.zeros(len(values), dtype=bool), 0.0
    # a flow that is in parts all the time has no usual value of its own: the middle of the fullest intervals is taken
    full = max(usual, float(np.quantile(values[on], 0.95)))
    part = on & (values < PART_HIGH * full)
    return part, float(part.sum() / on.sum())


def _ask(flow: Record, water: list[Record], part: np.ndarray, share: float, work: LogWork) -> None:
    at = int(np.flatnonzero(part)[0])
    minutes = interval_s(flow) / 60.0
    work.gather.problem(
        water[0].where,
        f"in {share:.0%} of the {minutes:g}-min intervals with flow the pump ran for a part of the time (first "
        f"{flow.first[at]:.3g} L/min at {flow.rows.row_text(int(flow.row_of[at]))}), and the temperatures are means as "
        "well: over all of the interval they are mostly those of standing water",
        'averaged_over = "running time", or "all time" (these intervals then give no heat by the pipe)',
        f"add averaged_over to {water[0].rows.entry}; better, export at 1 min, or with a heat counter")


def _leave_out(flow: Record, water: list[Record], part: np.ndarray, work: LogWork) -> None:
    pieces = work.grid.pieces_of(flow.spans)
    where = np.zeros(work.grid.steps, dtype=bool)
    where[pieces.step[part[pieces.span]]] = True
    for record in water:
        work.mask(record.column, "diluted", where)
    hours = where.sum() * work.grid.step_s / 3600.0
    work.gather.finding(
        "channel.flow-diluted",
        f"In {int(part.sum())} intervals ({hours:.1f} h) of {flow.rows.where} the pump ran for a part of the time "
        "while supply and return were averaged over all of it; the two temperatures are not used there.",
        flow.rows.where,
        flow.evidence("exclude", flow.row_of[part], "flow between nothing and full over a long interval"),
        f"{hours:.1f} h of spraying give no heat by the pipe; the store's temperatures tell it.")
