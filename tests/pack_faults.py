"""What is wrong with the invented records, and where it was planted."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

Span = tuple[str, str]
SPIKES = {"T supply": 9.0, "T return": 11.0, "T air": 14.0, "Level": 22.0}
# Column, text, rows in a run, how many runs
CODES = (("Wind", "-9999", 37, 2), ("T store mid", "85,0", 3, 4), ("T air", "", 11, 2), ("Flow", "---", 5, 1))


@dataclass(frozen=True)
class Faults:
    """Faults to plant. Times of the roof logger are on its own, wrong clock; other times on the site's clock.

    A span that lies outside the pack is passed over. `Faults.none()` leaves ordinary noise and rounding only.
    """

    noise: float = 1.0  # times the usual scatter of the instruments
    supply_offset_K: float = 0.0
    return_offset_K: float = 0.4
    flow_gain_frac: float = 0.04
    level_offset_pct: float = 0.6
    level_gain_frac: float = -0.006
    clock_fast_min: float = 6.0  # half an hour after the start
    clock_drift_min_day: float = 3.0 / (42.0 - 1.0 / 24.0)
    sentinels: bool = True
    stuck_humidity: Span | None = ("25-10-12 06:00", "25-10-14 06:00")
    spikes: int = 18
    gaps: tuple[Span, ...] = (("25-10-09 23:10", "25-10-10 04:10"), ("25-10-20 00:00", "25-10-21 00:00"))
    second_export_from: str | None = "25-10-18 00:00"  # the first export goes on for a day: that day is in both
    out_of_order: Span | None = ("25-10-28 09:05", "25-10-28 09:45")
    wetted_nights_frac: float = 0.25
    tipped_nights: int = 6
    gauge_gain_frac: float = -0.06
    counter_start_gal: int = 98760
    counter_reset: str | None = "2025-10-24 13:20"
    lost_messages: bool = True
    estimated_bill: bool = True
    swapped_pair: bool = False

    @classmethod
    def none(cls) -> Faults:
        """Right instruments and whole records."""
        return cls(return_offset_K=0.0, flow_gain_frac=0.0, level_offset_pct=0.0, level_gain_frac=0.0,
                   clock_fast_min=0.0, clock_drift_min_day=0.0, sentinels=False, stuck_humidity=None, spikes=0,
                   gaps=(), second_export_from=None, out_of_order=None, wetted_nights_frac=0.0, tipped_nights=0,
                   gauge_gain_frac=0.0, counter_start_gal=20000, counter_reset=None, lost_messages=False,
                   estimated_bill=False)


class Planted(NamedTuple):
    """A fault as it stands in a file; `first` and `last` as the file writes its times."""

    fault: str
    file: str
    column: str
    first: str
    last: str
    rows: int
    what: str


@dataclass
class LoggerTable:
    """The roof logger's readings on its own clock.

    `shown_s` is seconds from noon of the first day as its clock shows them, at the end of each minute; `marks` holds
    cells that are not numbers: column -> row -> text.
    """

    shown_s: np.ndarray
    noon: datetime.datetime
    columns: dict[str, np.ndarray]
    spraying: np.ndarray
    marks: dict[str, dict[int, str]] = field(default_factory=dict)
    keep: np.ndarray | None = None

    def stamp(self, row: int) -> str:
        """Time as the file writes it."""
        return (self.noon + datetime.timedelta(seconds=int(self.shown_s[row]))).strftime("%d.%m.%y %H:%M")

    def rows_of(self, span: Span) -> np.ndarray:
        """Rows later than the first and not later than the second time; empty where the pack holds neither."""
        low, high = ((datetime.datetime.strptime(time, "%y-%m-%d %H:%M") - self.noon).total_seconds() for time in span)
        return np.flatnonzero((self.shown_s > low) & (self.shown_s <= high))

    def told(self, fault: str, column: str, rows: np.ndarray, what: str) -> Planted:
        """Record of a fault."""
        return Planted(fault, "logs/roof_*.csv", column, self.stamp(rows[0]), self.stamp(rows[-1]), len(rows), what)


def plant_in_logger(table: LoggerTable, faults: Faults, random: np.random.Generator) -> list[Planted]:
    """Plant what befalls the roof logger's cells and rows; a cell meets one misfortune at most."""
    planted = _instruments(table, faults) + _wet_humidity(table, faults, random)
    if faults.swapped_pair:
        columns = table.columns
        columns["T supply"], columns["T return"] = columns["T return"], columns["T supply"]
        planted.append(table.told("swapped pair", "T supply, T return", np.arange(len(table.shown_s)),
                                  "the two sensors changed places"))
    if faults.stuck_humidity and len(rows := table.rows_of(faults.stuck_humidity)):
        table.columns["RH"][rows] = table.columns["RH"][rows[0] - 1]
        planted.append(table.told("stuck humidity", "RH", rows, "the last value before is repeated"))
    table.keep = np.ones(len(table.shown_s), dtype=bool)
    for span in faults.gaps:
        rows = table.rows_of(span)
        if len(rows):
            table.keep[rows] = False
            planted.append(table.told("gap", "all", rows, "rows are missing"))
    return planted + _spikes_and_codes(table, faults, random)


def _instruments(table: LoggerTable, faults: Faults) -> list[Planted]:
    """Errors that the readings already carry from first to last row."""
    errors = {"offset": ("T return", faults.return_offset_K, f"reads {faults.return_offset_K:g} K too high"),
              "gain": ("Flow", faults.flow_gain_frac, f"reads {100.0 * faults.flow_gain_frac:g} % too high"),
              "level": ("Level", faults.level_offset_pct, f"adds {faults.level_offset_pct:g} % of the full store"),
              "clock": ("Time", faults.clock_fast_min, f"{faults.clock_fast_min:g} min fast at first, and gaining")}
    rows = np.arange(len(table.shown_s))
    return [table.told(fault, column, rows, what) for fault, (column, size, what) in errors.items() if size]


def _wet_humidity(table: LoggerTable, faults: Faults, random: np.random.Generator) -> list[Planted]:
    """On some nights the spray reaches the screen: humidity jumps up while spraying and falls slowly after."""
    planted = []
    starts = np.flatnonzero(np.diff(np.concatenate(([0.0], table.spraying > 0.5))) > 0.0)
    ends = np.flatnonzero(np.diff(np.concatenate((table.spraying > 0.5, [0.0]))) < 0.0)
    stuck = set((table.rows_of(faults.stuck_humidity) if faults.stuck_humidity else np.array([])).tolist())
    nights = [pair for pair in zip(starts, ends, strict=True) if pair[1] - pair[0] >= 240 and pair[1] not in stuck]
    wetted = random.choice(len(nights), round(faults.wetted_nights_frac * len(nights)), replace=False)
    for first, last in (nights[number] for number in np.sort(wetted)):
        share = random.uniform(0.45, 0.85)
        rows = np.arange(first, min(last + 90, len(table.shown_s) - 1) + 1)
        wet = share * np.minimum((rows - first) / 8.0, 1.0)
        wet *= np.exp(-np.maximum(rows - last, 0) / 25.0)
        table.columns["RH"][rows] += wet * (99.5 - table.columns["RH"][rows])
        planted.append(table.told("wetted humidity", "RH", rows[rows <= last], "spray reaches the sensor"))
    return planted


def _spikes_and_codes(table: LoggerTable, faults: Faults, random: np.random.Generator) -> list[Planted]:
    """Single readings far off; codes instead of readings: a loose wind cable, a sensor that starts anew, empty cells.

    Each falls into a two-hour block of its own in which no row is missing, so that none meets another.
    """
    blocks = [block for block in range(1, len(table.shown_s) // 120) if table.keep[block * 120:block * 120 + 120].all()]
    places = iter((random.permutation(blocks) * 120 + random.integers(5, 70, len(blocks))).tolist())
    planted = []
    for number in range(faults.spikes):
        row, column = next(places), list(SPIKES)[number % len(SPIKES)]
        table.columns[column][row] += SPIKES[column] * random.choice((-1.0, 1.0)) * random.uniform(0.8, 1.3)
        planted.append(table.told("spike", column, np.array([row]), "one reading far off"))
    for column, text, length, times in CODES if faults.sentinels else ():
        for first in [next(places) for _ in range(times)]:
            rows = np.arange(first, first + length)
            table.marks.setdefault(column, {}).update(dict.fromkeys(rows.tolist(), text))
            planted.append(table.told("sentinel", column, rows, f'"{text}" instead of a reading'))
    return planted
