"""Amounts that the site cannot give or take: a wrong unit or kind, which no single reading betrays.

Each is asked for and stops the reading: a wrong one would go into every total with a small error beside it.
"""

from __future__ import annotations

import numpy as np

from sprayroof.evidence.quality.work import LogWork

MOST_RUNNING = 2.0  # times what a stated flow gives if it runs all the time
MOST_RAIN_DAY_mm = 1000.0  # in a day; half of the largest ever gauged (Foc-Foc, 1825 mm)
MOST_RAIN_MEAN_mm = 100.0  # a day, on average over the record
LEAST_RAIN_DAYS = 5.0
# Ratios of logged to stated power by which units and kinds are mistaken for each other: quarters, sixths, twelfths and
# minutes of an hour, watts and kilowatts
MISTAKEN = (4.0, 6.0, 12.0, 60.0, 1000.0)
RATIO_FRAC = 0.15
LEAST_RUNNING = 30  # readings
LEAST_RESERVE = 0.7  # of the stated reserve, while the pump runs


def check_amounts(work: LogWork) -> None:
    """Ask for make-up, draws, rain, level and pump power that cannot be true as declared."""
    _makeup(work)
    _rain(work)
    _level(work)
    _pump(work)


def _ask(work: LogWork, column: str, found: str, wanted: str, do: str) -> None:
    record = work.records[column]
    work.gather.problem(f"{record.rows.where}, column {record.declared.column}", found, wanted,
                        f"at {record.entry} {do}")


def _makeup(work: LogWork) -> None:
    """More mains water than the stated supply could give without a pause."""
    values = work.values("makeup_L_min")
    if values is None or not np.isfinite(values).any():
        return
    mean, most = float(np.nanmean(values)), MOST_RUNNING * work.site.mains.flow_L_min.high
    if mean > most:
        _ask(work, "makeup_L_min", f"{mean * 1.44:,.0f} m3 of mains water a day on average, where mains.flow gives "
             f"{work.site.mains.flow_L_min.high * 1.44:.3g} m3 if it never stops",
             f"make-up that the supply can give; the store holds {work.site.store.volume_m3.value:.3g} m3",
             'for a running total write kind = "counter" and its own unit, else correct unit, column or mains.flow')


def _rain(work: LogWork) -> None:
    """More rain than falls on earth: most often a running total read as amounts."""
    values = work.values("rain_mm")
    if values is None:
        return
    per_day = max(1, round(86400 / work.grid.step_s))
    sums = np.concatenate([[0.0], np.cumsum(np.nan_to_num(values))])
    most = float((sums[per_day:] - sums[:-per_day]).max()) if len(sums) > per_day else float(sums[-1])
    days = len(values) / per_day
    if most > MOST_RAIN_DAY_mm or (days >= LEAST_RAIN_DAYS and sums[-1] / days > MOST_RAIN_MEAN_mm):
        _ask(work, "rain_mm", f"{most:.4g} mm of rain in 24 h and {sums[-1]:.4g} mm in {days:.1f} days",
             f"at most {MOST_RAIN_DAY_mm:g} mm in 24 h and {MOST_RAIN_MEAN_mm:g} mm a day on average",
             'for a running total write kind = "counter", for an intensity its unit (as "mm/h") and kind = "mean"; '
             "else correct unit or column")


def _level(work: LogWork) -> None:
    """A store that is sprayed from far below its reserve: most often a height taken for a content."""
    values, running = work.values("store_m3"), work.running()
    if values is None or running is None:
        return
    spraying = values[running & np.isfinite(values)]
    if len(spraying) < LEAST_RUNNING:
        return
    held, reserve = float(np.median(spraying)), work.site.store.reserve_m3.value
    if held < LEAST_RESERVE * reserve:
        _ask(work, "store_m3", f"a store that holds {held:.3g} m3 in the middle while the pump runs, where spraying "
             f"stops at {reserve:.3g} m3 (store.reserve)", "contents from which it is sprayed",
             'for a height write its unit (as "m"), for a share "%", for another scale table; else correct '
             "store.reserve")


def _pump(work: LogWork) -> None:
    """Pump power that differs from the stated one by just such a factor as mistaken units give."""
    values, running = work.values("pump_W"), work.running()
    if values is None or running is None:
        return
    on = values[running & np.isfinite(values) & (values > 0.0)]
    stated = work.site.spray.pump_power_W.value
    if len(on) < LEAST_RUNNING or stated <= 0.0:
        return
    ratio = float(np.median(on)) / stated
    if any(abs(max(ratio, 1.0 / ratio) / factor - 1.0) < RATIO_FRAC for factor in MISTAKEN):
        _ask(work, "pump_W", f"{np.median(on):.4g} W while the pump runs, {ratio:.3g} times the stated {stated:.4g} W "
             "(spray.pump_power)", "power near the stated one",
             'for amounts of an interval write unit = "kWh" and kind = "sum", for power its unit; or correct '
             "spray.pump_power")
