"""Litres through the water meters: short gaps, and meters that are read by the hour.

A meter that is read by the hour tells how much ran, not when within the hour. Spans whose ends would cut such an hour
while water ran are stretched to where it stood still.
"""

from __future__ import annotations

import numpy as np

from sprayroof.evidence.steps import runs
from sprayroof.model.measured_amounts import NOTHING, Amount, total
from sprayroof.model.measured_readings import Readings
from sprayroof.model.measured_store import content_m3

LONGEST_GAP_H = 2.0  # of a meter, that level or neighbouring use may bridge
FARTHEST_H = 4.0  # an end is not moved farther than this
EDGE_MIN = 10.0  # 90 % half-width of when water ran, at an end of a span that could not be moved


def makeup_L(readings: Readings, steps: slice) -> Amount | None:
    """Mains water into the store; none where the mains does not fill it; None where it does and is not known."""
    if readings.has("makeup_L_min"):
        return _metered(readings, "makeup_L_min", steps)
    return None if readings.site.mains.rule == "top up" else NOTHING


def drawn_L(readings: Readings, steps: slice) -> Amount | None:
    """Water drawn by users: metered; nothing where the site has none, or where they draw at other hours; else None."""
    columns = readings.columns_like("draw_L_min")
    if columns:
        parts = [_metered(readings, column, steps) for column in columns]
        return None if any(part is None for part in parts) else total(parts)
    hours = [readings.in_hours(use.from_h, use.to_h)[steps].any() for use in readings.site.use]
    return None if any(hours) else NOTHING


def _metered(readings: Readings, column: str, steps: slice) -> Amount | None:
    """Litres through a meter; None where a gap is long or cannot be bridged."""
    flow = readings.column(column)[steps]
    known = np.isfinite(flow)
    litres = float(flow[known].sum()) * readings.step_s / 60.0
    parts = [Amount(litres, {f"{column}.gain": litres * readings.gain(column)})]
    for start, stop in runs(~known):
        bridge = _bridged(readings, column, slice(steps.start + start, steps.start + stop))
        if bridge is None:
            return None
        parts.append(bridge)
    return total(parts).with_random(_edge_L(readings, column, steps))


def _bridged(readings: Readings, column: str, gap: slice) -> Amount | None:
    """What ran in a gap: draws as in the steps beside it, make-up by the rise of the level."""
    hours = (gap.stop - gap.start) * readings.step_s / 3600.0
    if hours > LONGEST_GAP_H:
        return None
    if column != "makeup_L_min":
        return _as_beside(readings, column, gap, hours)
    if not readings.has("store_m3") or _disturbed(readings, gap):
        return None
    ends = [content_m3(readings, _near(readings, step)) for step in (gap.start, gap.stop)]
    draws = [_as_beside(readings, draw, gap, hours) for draw in readings.columns_like("draw_L_min")]
    if None in ends or None in draws:
        return None
    rise = (ends[1] - ends[0]).scaled(1000.0) + total(draws)
    return rise if rise.value > rise.half_width else NOTHING.with_random(rise.half_width)


def _as_beside(readings: Readings, column: str, gap: slice, hours: float) -> Amount | None:
    """The known use of the gap and of as long before and after it, laid on the gap; all of it is doubtful."""
    width = gap.stop - gap.start
    around = readings.column(column)[max(gap.start - width, 0):gap.stop + width]
    known = around[np.isfinite(around)]
    if len(known) < 0.3 * len(around):
        return None
    litres = float(known.mean()) * 60.0 * hours
    return Amount(litres, {}, litres)


def _disturbed(readings: Readings, gap: slice) -> bool:
    """Whether spray or rain moved the level in a gap or within the hour before it."""
    before = max(gap.start - readings.steps_in(3600.0), 0)
    rain = np.nan_to_num(readings.column("rain_mm")[before:gap.stop])
    return bool(readings.running_frac[before:gap.stop].any() or rain.any())


def _near(readings: Readings, step: int) -> slice:
    width = readings.steps_in(600.0)
    return slice(max(step - width, 0), min(step + width, len(readings.times_ns)))


def _edge_L(readings: Readings, column: str, steps: slice) -> float:
    """90 % half-width of what ran on the other side of an end: ten minutes of a flow that goes on across it."""
    flow = readings.column(column)
    ends = [step for step in (steps.start, steps.stop) if 0 < step < len(flow)]
    rates = [min(np.nan_to_num(flow[step - 1]), np.nan_to_num(flow[step])) for step in ends]
    return EDGE_MIN * float(np.hypot.reduce(rates)) if rates else 0.0


def quiet_before(readings: Readings, step: int, first: int = 0) -> int:
    """The last step at or before `step` at which no meter runs; `step` itself where there is none within hours."""
    ran = readings.metering
    low = max(step - round(FARTHEST_H * 3600.0 / readings.step_s), first)
    quiet = np.flatnonzero(~ran[low:step + 1])
    return low + int(quiet[-1]) if len(quiet) else step


def quiet_after(readings: Readings, step: int, last: int | None = None) -> int:
    """The first step at or after `step` at which no meter runs; `step` itself where there is none within hours."""
    ran = readings.metering
    high = min(step + round(FARTHEST_H * 3600.0 / readings.step_s), len(ran) if last is None else last)
    quiet = np.flatnonzero(~ran[step:high])
    return step + int(quiet[0]) if len(quiet) else step
