"""What the invented data packs are made of: the plant, its timetable and the tests done on it.

Everything here is invented. The defaults are those of the sample site Brindlemoor Bindery; a study changes them with
`dataclasses.replace(Config(), ...)` and `Plant()._replace(...)`.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import NamedTuple
from zoneinfo import ZoneInfo

import numpy as np

STEP_S = 30  # step of the truth
ROOF_STEPS = 3  # finer steps of the film inside it
LAYERS = 10  # of the store
CELLS = 4  # of the film down the slope
CP_J_kgK = 4186.0
RHO_kg_m3 = 998.2
OFF, SPRAY, BYPASS, WASTE = 0, 1, 2, 3  # what the pump does


class Plant(NamedTuple):
    """The true plant."""

    roof_m2: float = 384.0  # in plan, all of it catches rain
    wetted_frac: float = 0.86  # share over which the sheet runs
    deck_J_m2K: float = 6500.0
    deck_u_W_m2K: float = 0.47  # from the film to the room beneath
    absorptance: float = 0.62
    emissivity: float = 0.955
    wind_scale: float = 0.70  # large roof against the small plates of the wind function
    roof_wind_frac: float = 0.72  # of the wind on the mast
    retained_kg_m2: float = 0.13  # does not run off
    film_lag_s: float = 42.0  # of each cell
    drop_mm: float = 1.45
    flight_s: float = 0.85
    drop_m_s: float = 4.4
    drop_air_frac: float = 0.60  # air between the drops is used up
    drift_base: float = 0.0014
    drift_wind: float = 0.0006  # times wind on the mast to the power 1.6
    spray_L_min: float = 104.0
    spray_fall_frac: float = 0.04  # by a strainer that clogs over the weeks
    pump_W: float = 694.0
    pump_heat_frac: float = 0.76
    pipe_W_K: float = 11.0  # supply pipe; the return pipe has the same
    store_m3: float = 48.6
    store_height_m: float = 2.4
    store_wall_W_K: float = 34.0
    store_mix_W_mK: float = 1.1  # conduction and slow mixing between layers
    store_start_m3: float = 30.2
    store_start_C: float = 18.6
    ground_C: float = 16.2
    leak_L_day: float = 88.0
    reserve_m3: float = 8.0
    top_up_below_m3: float = 25.0
    top_up_to_m3: float = 26.2
    makeup_L_min: float = 27.0
    mains_C: float = 17.5
    floor_W_K: float = 2650.0
    floor_L_min: float = 96.0
    floor_pump_W: float = 160.0
    room_J_K: float = 6.2e7
    room_W_K: float = 820.0
    room_gain_W: float = 23500.0  # in working hours
    room_night_W: float = 1900.0
    room_sun_m2: float = 9.0
    ac_W: float = 27000.0  # cooling
    ac_cop_25: float = 3.25
    ac_cop_slope: float = 0.058  # per K outdoors
    ac_fan_W: float = 380.0
    ac_on_C: float = 24.7
    ac_off_C: float = 23.9
    runoff_splash_frac: float = 0.05
    first_flush_kg: float = 190.0
    flush_dry_h: float = 72.0
    filter_lost_frac: float = 0.09
    air_Pa: float = 98600.0


@dataclass(frozen=True)
class Config:
    """Timetable, weather and tests. Times as text are on the site's clock; spans are (from, to).

    `muggy` and `off_nights` hold dates on which nights began; `rain` holds (start, hours, mm), or None for showers of
    the seed's own; `draw_L_day` is for working days and Sundays.
    """

    plant: Plant = field(default_factory=Plant)
    start: str = "2025-09-26"  # noon of this day in standard time
    nights: int = 42
    zone: str = "America/New_York"
    standard: str = "Etc/GMT+5"
    latitude_deg: float = 36.02
    mean_C: tuple[float, float] = (21.8, 17.0)  # first and last day
    half_swing_K: float = 6.3
    dew_gap_K: float = 9.6
    wind_m_s: float = 1.7
    muggy: tuple[str, ...] = ("2025-09-28", "2025-09-29", "2025-10-08", "2025-10-12")
    rain: tuple[tuple[str, float, float], ...] | None = (
        ("2025-10-01 03:20", 2.5, 11.0), ("2025-10-11 15:00", 1.5, 6.4), ("2025-10-13 02:00", 4.0, 14.2),
        ("2025-10-23 22:40", 3.0, 8.6), ("2025-10-30 10:00", 6.0, 19.4))
    spray: bool = True
    window: tuple[str, str] = ("20:30", "06:30")
    off_nights: tuple[tuple[str, str], ...] = (("2025-10-03", "2025-10-05"), ("2025-10-15", "2025-10-17"),
                                               ("2025-10-25", "2025-10-27"))
    work: tuple[str, str] = ("08:00", "18:30")
    draw_L_day: tuple[float, float] = (640.0, 60.0)
    lockout_rain_mm_h: float = 0.5
    pair_test: tuple[str, str] = ("2025-09-26 15:00", "2025-09-26 15:40")
    draw_down: tuple[str, str] = ("2025-09-27 10:00", "2025-09-27 10:20")
    leak_test: tuple[str, str] = ("2025-10-03 20:00", "2025-10-05 20:00")
    closed_night: tuple[str, str] = ("2025-10-21 19:00", "2025-10-22 08:00")
    dips: tuple[str, ...] = ("2025-09-27 09:30", "2025-10-28 18:00")
    hold_up: str = "2025-10-07 20:30"
    spot: tuple[str, str] = ("2025-09-30 14:00", "2025-09-30 14:30")
    hand_gauge: int = 4  # place in `rain` of the event that was also read by hand

    @property
    def steps(self) -> int:
        """Number of steps."""
        return self.nights * 86400 // STEP_S

    def noon_utc_s(self) -> int:
        """Start [s since 1970 UTC]."""
        noon = datetime.datetime.fromisoformat(f"{self.start} 12:00").replace(tzinfo=ZoneInfo(self.standard))
        return int(noon.timestamp())

    def dates(self) -> list[datetime.date]:
        """Dates on which the nights began."""
        first = datetime.date.fromisoformat(self.start)
        return [first + datetime.timedelta(days=night) for night in range(self.nights)]

    def seconds(self, local: str) -> int:
        """Seconds since the start of a time on the site's clock."""
        moment = datetime.datetime.fromisoformat(local).replace(tzinfo=ZoneInfo(self.zone))
        return int(moment.timestamp()) - self.noon_utc_s()

    def place(self, local: str) -> int:
        """Step that begins at a time on the site's clock; may lie outside the pack."""
        return self.seconds(local) // STEP_S

    def span(self, times: tuple[str, str]) -> slice:
        """Steps of a span on the site's clock, cut to the pack (empty where it lies outside)."""
        first, last = (min(max(self.place(time), 0), self.steps) for time in times)
        return slice(first, last)

    def holds(self, time: str) -> bool:
        """Whether a time on the site's clock lies inside the pack."""
        return 0 <= self.place(time) < self.steps


def small_config() -> Config:
    """The first nine nights: long enough for all early tests, a muggy spell, rain and the first switched-off nights."""
    return Config(nights=9)


def local_clock(config: Config) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Hour of day, weekday (Monday 0) and ordinal date of every step's start on the site's clock."""
    zone, start_s = ZoneInfo(config.zone), config.noon_utc_s()
    hours, weekdays, dates = (np.empty(config.steps) for _ in range(3))
    per_hour = 3600 // STEP_S
    for first in range(0, config.steps, per_hour):  # clocks change at full hours only
        moment = datetime.datetime.fromtimestamp(start_s + first * STEP_S, zone)
        into = np.arange(min(per_hour, config.steps - first)) * STEP_S / 3600.0
        hours[first:first + per_hour] = moment.hour + moment.minute / 60.0 + into
        weekdays[first:first + per_hour] = moment.weekday()
        dates[first:first + per_hour] = moment.toordinal()
    return hours, weekdays.astype(int), dates.astype(int)
