"""The rain gauge beside a spray: tips that the spray made, a funnel that is blocked, totals of whole days.

A tip while spraying is rain only where something else got wet too: the gauge of the measured weather record, or the
store, which rises by what the roofs catch.
"""

from __future__ import annotations

import numpy as np

from sprayroof.evidence.channels.grid import interval_s
from sprayroof.evidence.channels.record import Record
from sprayroof.evidence.channels.spray_times import widened
from sprayroof.evidence.gather import count_of
from sprayroof.evidence.quality.work import LogWork
from sprayroof.evidence.steps import runs

DRAINS_MIN = 10.0  # after the spray stops, drops still fall
BESIDE_H = 1.0  # another gauge counts if it was wet within so much
JOINED_H = 1.0  # tips nearer than this are one shower
LEAST_RISE = 0.4  # of what the roofs would catch
VISIBLE_FRAC = 0.01  # of the full store: a catch that the level can show
DRY_mm = 0.05  # less than this in an hour is a dry gauge
FUNNEL_mm = 10.0  # of rain elsewhere, or rise of the store as if by so much, while the gauge stays dry
DRIP_H, DRIP_SCATTER = 8, 0.25  # a blocked funnel drips evenly for hours
DAILY_S = 12.0 * 3600.0


def check_gauge(work: LogWork) -> None:
    """All checks of a logged rain gauge."""
    record, rain_mm = work.records.get("rain_mm"), work.values("rain_mm")
    if record is None or rain_mm is None:
        return
    _tell_daily(record, work)
    _leave_out_spray(record, rain_mm, work)
    _check_funnel(record, rain_mm, work)


def _tell_daily(record: Record, work: LogWork) -> None:
    long_s = interval_s(record)
    if record.events_ns is not None or record.kind == "counter" or long_s < DAILY_S:
        return
    work.gather.finding(
        "channel.rain-daily", f"{record.where} holds totals over {long_s / 3600.0:g} h; each is spread evenly over the "
        f"time before its stamp, first {record.rows.row_text(0)}.", record.rows.where,
        record.evidence("warn", record.row_of, "total spread evenly over its interval", interval_h=long_s / 3600.0),
        "Sums are kept; the nights on which it rained cannot be told to the hour.")


def _leave_out_spray(record: Record, rain_mm: np.ndarray, work: LogWork) -> None:
    """Mask tips while spraying that nothing else confirms."""
    spraying = work.running()
    if spraying is None or interval_s(record) >= DAILY_S:
        return
    step_s = work.grid.step_s
    wet = widened(spraying, 0, round(DRAINS_MIN * 60.0 / step_s)) & (np.nan_to_num(rain_mm) > 0.0)
    false = np.zeros(len(wet), dtype=bool)
    for start, stop in runs(widened(wet, 0, round(JOINED_H * 3600.0 / step_s))):
        if not _confirmed(rain_mm, wet, start, stop, work):
            false[start:stop] = wet[start:stop]
    if not false.any():
        return
    work.mask("rain_mm", "sprayed", false)
    steps, depth_mm = np.flatnonzero(false), float(rain_mm[false].sum())
    work.gather.finding(
        "channel.rain-sprayed", f"{depth_mm:.3g} mm in {count_of(len(steps), 'step')} of {record.where} fell while the "
        f"spray ran, and nothing else got wet; taken as spray, first at {work.time(steps[0])}.", record.rows.where,
        work.evidence("exclude", "rain_mm", steps, "tips while spraying, not confirmed", depth_mm=depth_mm),
        f"Rain is {depth_mm:.3g} mm less; rain caught falls with it.")


def _confirmed(rain_mm: np.ndarray, wet: np.ndarray, start: int, stop: int, work: LogWork) -> bool:
    """Whether a shower while spraying was rain: another gauge was wet, or the store rose by it."""
    near = round(BESIDE_H * 3600.0 / work.grid.step_s)
    low, high = max(start - near, 0), min(stop + near, len(wet))
    if work.rain_elsewhere_mm is not None and np.isfinite(work.rain_elsewhere_mm[low:high]).any():
        return bool(np.nansum(work.rain_elsewhere_mm[low:high]) > DRY_mm)
    level = work.values("store_m3")
    depth_mm = float(rain_mm[start:stop][wet[start:stop]].sum())
    catch_m3 = depth_mm / 1000.0 * _catchment_m2(work)
    if level is None or catch_m3 < VISIBLE_FRAC * work.site.store.volume_m3.value:
        return False
    before, after = level[max(start - near // 4, 0):start + 1], level[max(stop - near // 4, 0):stop + 1]
    if np.isnan(before).all() or np.isnan(after).all():
        return False
    brought = work.values("makeup_L_min")
    made_up_m3 = 0.0 if brought is None else float(np.nansum(brought[start:stop])) * work.grid.step_s / 60000.0
    return bool(np.nanmean(after) - np.nanmean(before) - made_up_m3 > LEAST_RISE * catch_m3)


def _catchment_m2(work: LogWork) -> float:
    """Surfaces whose rain reaches the store, each by its runoff coefficient [m2]."""
    parts = [roof for roof in work.site.roof if roof.catches_rain] + list(work.site.catchment)
    return sum(part.area_m2.value * part.runoff_coefficient_frac.value for part in parts)


def _check_funnel(record: Record, rain_mm: np.ndarray, work: LogWork) -> None:
    """A gauge that stays dry while it rains elsewhere, or that drips evenly for hours."""
    per_hour = max(1, 3600 // work.grid.step_s)
    hours = len(rain_mm) // per_hour
    hourly = np.nan_to_num(rain_mm[:hours * per_hour]).reshape(hours, per_hour).sum(axis=1)
    drips = _even_drips(hourly) if interval_s(record) <= 3600.0 else []
    elsewhere = work.rain_elsewhere_mm
    if elsewhere is not None:
        other = np.nan_to_num(elsewhere[:hours * per_hour]).reshape(hours, per_hour).sum(axis=1)
        days = hours // 24
        gauge_day, other_day = (series[:days * 24].reshape(days, 24).sum(axis=1) for series in (hourly, other))
        dry = (other_day >= FUNNEL_mm) & (gauge_day <= DRY_mm)
        if dry.any():
            _tell_funnel(record, f"it stayed dry on {count_of(int(dry.sum()), 'day')} on which "
            f"{work.site.weather.file} "
                         f"has {FUNNEL_mm:g} mm or more", int(np.flatnonzero(dry)[0]) * 24 * per_hour, work)
            return
    if drips:
        start, stop = drips[0]
        _tell_funnel(record, f"it counted evenly, {hourly[start:stop].mean():.2g} mm an hour, for {stop - start} hours",
                     start * per_hour, work)


def _even_drips(hourly_mm: np.ndarray) -> list[tuple[int, int]]:
    """Hours on end with almost the same small rain: a funnel that drains slowly."""
    found = []
    for start, stop in runs(hourly_mm > 0.0):
        part = hourly_mm[start:stop]
        for first in range(max(len(part) - DRIP_H + 1, 0)):
            window = part[first:first + DRIP_H]
            if window.std() <= DRIP_SCATTER * window.mean() and window.mean() < 3.0:
                found.append((start + first, start + first + DRIP_H))
                break
    return found


def _tell_funnel(record: Record, why: str, step: int, work: LogWork) -> None:
    work.gather.finding(
        "channel.rain-funnel", f"The funnel of the gauge behind {record.where} may be blocked: {why}, first from "
        f"{work.time(step)}.", record.rows.where,
        work.evidence("warn", "rain_mm", np.array([step]), "dry while it rains elsewhere, or an even drip for hours"),
        "Rain and its times are doubtful; rain caught may be too low.")
