"""Which nights there are, when each sprayed, and whether its records suffice.

A night runs from noon to noon of the site's standard time and belongs to the date on which it began.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass

import numpy as np

from sprayroof.evidence.gather import count_of
from sprayroof.evidence.quality.night_rule import LEAST_RECORDS_FRAC, LONGEST_GAP_MIN, longest_min, too_few
from sprayroof.evidence.site_file.channel_table import CHANNELS
from sprayroof.evidence.steps import runs
from sprayroof.evidence.times import standard_offset_h
from sprayroof.model.measured_amounts import Amount
from sprayroof.model.measured_readings import Readings, SECOND_ns

DAY_S = 86400
IN_PERIOD_FRAC = 0.5  # of a night must lie within the logs for it to belong to them
SHORTEST_SPELL_S = 120.0  # a shorter run of the pump is no spraying
EDGES_S = 60.0  # 90 % half-width of the length of a spell by its edges
DARK_h = (21.0, 6.0)  # standard time, for the weather of nights without spraying

PIPE_COLUMNS = ("spray_L_min", "supply_C", "return_C")
_WORDS = {row.column: name.replace("_", " ") for name, row in CHANNELS.items()}


@dataclass(frozen=True)
class Night:
    """A night.

    Parameters
    ----------
    date : datetime.date
        Day on which it began.
    start_ns, end_ns : int
        Its two noons [UTC ns].
    steps : slice
        Steps of the logs between them.
    spells : tuple of (int, int)
        First step and end (excluded) of each spell of spraying that began in it.
    """

    date: datetime.date
    start_ns: int
    end_ns: int
    steps: slice
    spells: tuple[tuple[int, int], ...]

    @property
    def sprays(self) -> bool:
        """Whether it sprayed at all."""
        return bool(self.spells)

    @property
    def spray(self) -> slice:
        """Steps from the first start to the last stop; empty where it did not spray."""
        return slice(self.spells[0][0], self.spells[-1][1]) if self.spells else slice(self.steps.start,
                                                                                      self.steps.start)


def nights_of(readings: Readings) -> list[Night]:
    """The nights that lie in the logs by at least half, within the measured period of the site file."""
    times_ns, site = readings.times_ns, readings.site
    year = readings.logs.table.index[0].year
    shift_ns = round((12.0 - standard_offset_h(site.place.time_zone, year)) * 3600.0) * SECOND_ns
    day_ns = DAY_S * SECOND_ns
    first, last = ((int(time) - shift_ns) // day_ns for time in times_ns[[0, -1]])
    spells = [spell for spell in runs(readings.running_frac > 0.0)
              if readings.running_frac[slice(*spell)].sum() * readings.step_s >= SHORTEST_SPELL_S]
    nights = []
    for day in range(first, last + 1):
        start_ns = day * day_ns + shift_ns
        steps = slice(readings.place(start_ns), readings.place(start_ns + day_ns))
        date = datetime.date(1970, 1, 1) + datetime.timedelta(days=day)
        if (steps.stop - steps.start) * readings.step_s < IN_PERIOD_FRAC * DAY_S or not _wanted(site, date):
            continue
        own = tuple(spell for spell in spells if steps.start <= spell[0] < steps.stop)
        nights.append(Night(date, start_ns, start_ns + day_ns, steps, own))
    return nights


def _wanted(site, date: datetime.date) -> bool:
    low, high = site.logged.from_date, site.logged.to_date
    return (low is None or date >= low) and (high is None or date <= high)


def spray_hours_h(readings: Readings, night: Night) -> Amount:
    """Time for which it sprayed [h]; a spell's edges are known to a minute, in part wrong alike on every night."""
    hours = sum(float(readings.running_frac[slice(*spell)].sum()) for spell in night.spells) * readings.step_s / 3600.0
    edges_h = EDGES_S / 3600.0 * len(night.spells)
    return Amount(hours, {"spray times": edges_h}, edges_h)


def state_reasons(readings: Readings, night: Night) -> list[str]:
    """Why it is not known whether it sprayed; empty where it is."""
    count = round(DAY_S / readings.step_s)
    unsure = readings.unsure[night.steps]
    reasons = _share_reason("whether it sprayed", count - int((~unsure).sum()), count)
    may_spray = readings.in_hours(readings.site.controls.window_from_h, readings.site.controls.window_to_h)
    perhaps = unsure & (may_spray[night.steps] | (readings.running_frac[night.steps] > 0.0))
    return reasons or _gap_reason("whether it sprayed", perhaps, readings.step_s, "when it may have sprayed")


def pipe_reasons(readings: Readings, night: Night) -> list[str]:
    """Why heat cannot be taken from flow and temperatures of this night; empty where it can."""
    missing = [column for column in PIPE_COLUMNS if not readings.has(column)]
    if missing:
        return [f"{_WORDS[column]} was not logged" for column in missing]
    reasons = state_reasons(readings, night)
    running = readings.running_frac[night.spray] > 0.0
    for column in PIPE_COLUMNS:
        unknown = ~known(readings, column, night.spray) & running
        reasons += _share_reason(_WORDS[column], int(unknown.sum()), int(running.sum()))
        reasons += _gap_reason(_WORDS[column], unknown, readings.step_s, "while spraying")
    return reasons


def known(readings: Readings, column: str, steps: slice) -> np.ndarray:
    """Where a column holds readings that were not filled in."""
    values = np.isfinite(readings.column(column)[steps])
    filled = readings.logs.masks.get(column, {}).get("filled")
    return values if filled is None else values & ~np.asarray(filled)[steps]


def _share_reason(what: str, unknown: int, count: int) -> list[str]:
    if not too_few(unknown, count):
        return []
    return [f"{what}: {1.0 - unknown / count:.0%} of the records, {LEAST_RECORDS_FRAC:.0%} wanted"]


def _gap_reason(what: str, unknown: np.ndarray, step_s: float, when: str) -> list[str]:
    gap_min = longest_min(unknown, step_s)
    if gap_min <= LONGEST_GAP_MIN:
        return []
    return [f"{what}: no reading for {count_of(round(gap_min), 'minute')} {when}"]


def weather_of(readings: Readings, night: Night) -> dict[str, float | None]:
    """Means while it sprayed, or in the dark where it did not; and rain from noon to noon."""
    if night.sprays:
        chosen = np.zeros(len(readings.times_ns), dtype=bool)
        for spell in night.spells:
            chosen[slice(*spell)] = True
    else:
        hours = (readings.times_ns[night.steps] - night.start_ns) / (3600.0 * SECOND_ns) + 12.0
        chosen = np.zeros(len(readings.times_ns), dtype=bool)
        chosen[night.steps] = (hours >= DARK_h[0]) & (hours < 24.0 + DARK_h[1])
    air, humidity, wind = (readings.weather_column(logged, station)[chosen] for logged, station in (
        ("air_C", "t_air_C"), ("humidity_frac", "humidity_frac"), ("wind_m_s", "wind_m_s")))
    rain = readings.weather_column("rain_mm", "rain_mm")[night.steps]
    return {"t_air_mean_C": _mean(air), "humidity_mean_frac": _mean(humidity),
            "t_wetbulb_mean_C": _wet_bulb_C(_mean(air), _mean(humidity), readings.site.place.elevation_m),
            "wind_mean_m_s": _mean(wind), "rain_mm": float(np.nansum(rain)) if np.isfinite(rain).any() else None}


def _mean(values: np.ndarray) -> float | None:
    good = values[np.isfinite(values)]
    return float(good.mean()) if len(good) and len(good) >= 0.5 * len(values) else None


def _wet_bulb_C(air_C: float | None, humidity_frac: float | None, elevation_m: float) -> float | None:
    if air_C is None or humidity_frac is None:
        return None
    from sprayroof.evidence.weather_files.air import standard_pressure_Pa
    from sprayroof.physics.moistair import humidity_ratio, saturation_pressure_Pa, wet_bulb_C

    pressure_Pa = standard_pressure_Pa(elevation_m)
    vapour_Pa = humidity_frac * saturation_pressure_Pa(air_C)
    return float(wet_bulb_C(air_C, humidity_ratio(vapour_Pa, pressure_Pa), pressure_Pa))
