"""Writes invented readings as the files that an auditor is handed: each in another form."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

import numpy as np
from numba import njit
from pack_config import STEP_S, Config
from pack_faults import Faults, LoggerTable, Planted
from pack_readings import counter_gal, rain_tips
from pack_truth import Truth

Files = dict[str, bytes]
DIGITS = {"T supply": 2, "T return": 2, "T store low": 1, "T store mid": 1, "T store high": 1, "Flow": 1, "Level": 2,
          "T air": 1, "RH": 0, "Wind": 1}
UNITS = {"T supply": "°C", "T return": "°C", "T store low": "°C", "T store mid": "°C", "T store high": "°C",
         "Flow": "L/min", "Level": "%", "T air": "°C", "RH": "%", "Wind": "m/s"}
QUARTER = 900 // STEP_S


def roof_files(table: LoggerTable, faults: Faults) -> tuple[Files, list[Planted]]:
    """The roof logger's exports: decimal commas, two-digit years, a row of units, Latin-1, standard time."""
    lines, planted = _roof_lines(table), []
    order = np.flatnonzero(table.keep)
    if faults.out_of_order and len(rows := table.rows_of(faults.out_of_order)):
        order, moved = _swap_halves(order, rows)
        planted.append(table.told("out of order", "all", moved, "two blocks of rows changed places"))
    parts = {"logs/roof_1.csv": order}
    if faults.second_export_from and len(after := _from(table, faults.second_export_from)):
        day = after[table.shown_s[after] <= table.shown_s[after[0]] + 86400.0 - 60.0]
        parts = {"logs/roof_1.csv": order[order <= day[-1]], "logs/roof_2.csv": order[order >= day[0]]}
        planted.append(table.told("doubled day", "all", day, "the day is in roof_1.csv and in roof_2.csv"))
    head = "Time;" + ";".join(DIGITS) + "\ndd.mm.yy hh:mm;" + ";".join(UNITS.values()) + "\n"
    files = {name: (head + "".join(lines[row] for row in rows)).encode("cp1252") for name, rows in parts.items()}
    return files, planted


def _from(table: LoggerTable, time: str) -> np.ndarray:
    start_s = (datetime.datetime.strptime(time, "%y-%m-%d %H:%M") - table.noon).total_seconds()
    return np.flatnonzero((table.shown_s > start_s) & (table.shown_s[-1] >= start_s + 86400.0))


def _swap_halves(order: np.ndarray, rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Write the second half of some rows before the first."""
    middle = len(rows) // 2
    place = int(np.searchsorted(order, rows[0]))
    order = order.copy()
    order[place:place + len(rows)] = np.concatenate((rows[middle:], rows[:middle]))
    return order, rows


def _roof_lines(table: LoggerTable) -> list[str]:
    cells = [[f"{moment:%d.%m.%y %H:%M}" for moment in
              (table.noon + datetime.timedelta(seconds=int(second)) for second in table.shown_s)]]
    for name, digits in DIGITS.items():
        written = [f"{value:.{digits}f}".replace(".", ",") for value in table.columns[name].tolist()]
        if name == "Flow":
            written = ["0" if cell == "0,0" else cell for cell in written]
        for row, text in table.marks.get(name, {}).items():
            written[row] = text
        cells.append(written)
    return [";".join(row) + "\n" for row in zip(*cells, strict=True)]


def bms_file(truth: Truth, faults: Faults, random: np.random.Generator) -> tuple[Files, list[Planted]]:
    """The building controls' export: a row at every change, newest first, local clock, month first, 12 hours, degF."""
    config, rows = truth.config, truth.rows
    room_F = (rows["room_C"] + 0.1 + 0.02 * faults.noise * random.standard_normal(len(rows))) * 1.8 + 32.0
    values = np.column_stack((rows["supply_kg"] > 0.0, rows["pump_J"] / STEP_S / 1000.0, rows["ac_on"],
                              rows["ac_J"] / STEP_S / 1000.0, room_F))
    steps = changes(values, np.array([0.5, 0.05, 0.5, 0.25, 0.3]))
    seconds = steps * STEP_S + random.integers(0, STEP_S, len(steps))
    seconds[0] = 0
    stamps = [f"{moment:%m/%d/%Y %I:%M:%S %p}" for moment in local_times(config, seconds)]
    lost = np.zeros(len(steps), dtype=bool)
    planted = []
    if faults.lost_messages:
        first = len(steps) // 3
        lost[first:first + 9] = True
        planted.append(Planted("sentinel", "logs/bms_export.csv", "Workshop Temp (degF)", stamps[first],
                               stamps[first + 8], 9, '"Bad" instead of a reading'))
    state = ("OFF", "ON")
    lines = [",".join((stamp, state[spray > 0.5], f"{pump:.2f}", state[ac > 0.5], f"{power:.1f}",
                       "Bad" if bad else f"{room:.1f}"))
             for stamp, bad, (spray, pump, ac, power, room) in zip(stamps, lost, values[steps].tolist(), strict=True)]
    head = ["Brindlemoor Bindery - point history", f"Printed {stamps[-1]}", "",
            "Timestamp,Spray Pump,Pump kW,AC Compressor,AC kW,Workshop Temp (degF)"]
    text = "\n".join([*head, *reversed(lines), "*** end of report ***"]) + "\n"
    return {"logs/bms_export.csv": text.encode("utf-8-sig")}, planted + _repeated_hour(config, stamps, seconds)


def _repeated_hour(config: Config, stamps: list[str], seconds: np.ndarray) -> list[Planted]:
    """Rows whose local time comes twice because the clock was set back."""
    offsets = np.array([moment.utcoffset().total_seconds() for moment in local_times(config, seconds)])
    back = np.flatnonzero(np.diff(offsets) < 0.0)
    planted = []
    for place in back:
        change_s = seconds[place + 1] - (seconds[place + 1] + config.noon_utc_s()) % 3600
        rows = np.flatnonzero((seconds >= change_s - 3600) & (seconds < change_s + 3600))
        planted.append(Planted("repeated hour", "logs/bms_export.csv", "Timestamp", stamps[rows[0]], stamps[rows[-1]],
                               len(rows), "these local times come twice; the later hour is standard time"))
    return planted


@njit
def changes(values, least):
    """Steps at which any column has moved far enough from the row last written; the first and last too."""
    found = np.zeros(len(values), np.bool_)
    found[0], found[-1] = True, True
    last = values[0].copy()
    for step in range(1, len(values)):
        if (np.abs(values[step] - last) >= least).any():
            found[step] = True
            last = values[step].copy()
    return np.flatnonzero(found)


def local_times(config: Config, seconds: np.ndarray, zone: str | None = None) -> list[datetime.datetime]:
    """Seconds since the start on a clock; the site's own unless told."""
    start_s, clock = config.noon_utc_s(), ZoneInfo(zone or config.zone)
    return [datetime.datetime.fromtimestamp(start_s + int(second), clock) for second in seconds]


def rain_file(truth: Truth, faults: Faults, random: np.random.Generator) -> tuple[Files, list[Planted]]:
    """The rain gauge: one row a tip, on summer time all through; rows without tips mark start and end."""
    config = truth.config
    tips_s, false_s = rain_tips(truth, faults, random)
    seconds = np.concatenate(([0.0], tips_s, [config.steps * STEP_S]))
    stamps = [f"{moment:%Y-%m-%d %H:%M:%S}" for moment in local_times(config, seconds, "Etc/GMT+4")]
    counts = [0, *[1] * len(tips_s), 0]
    lines = ["Time,Tips", *(f"{stamp},{count}" for stamp, count in zip(stamps, counts, strict=True))]
    planted = []
    for night in false_s:
        if len(night):
            told = [f"{moment:%Y-%m-%d %H:%M:%S}" for moment in local_times(config, night, "Etc/GMT+4")]
            planted.append(Planted("tipped by spray", "logs/rain_tips.csv", "Tips", told[0], told[-1], len(told),
                                   "spray drift tips the bucket"))
    return {"logs/rain_tips.csv": ("\n".join(lines) + "\n").encode("utf-8")}, planted


def meter_file(truth: Truth, faults: Faults) -> tuple[Files, list[Planted]]:
    """Water counters read every hour, date and clock apart, midnight as 24:00, five digits of US gallons."""
    config, file = truth.config, "logs/water_meters.csv"
    reset_s = config.seconds(faults.counter_reset) if faults.counter_reset else None
    ends = np.arange(1, config.steps * STEP_S // 3600 + 1) * 3600
    places = ends // STEP_S - 1
    makeup = counter_gal(truth, "makeup", faults.counter_start_gal, reset_s)[places]
    toilets = counter_gal(truth, "draw", 41207, None)[places]
    stamps = [f"{moment:%Y-%m-%d,%H:%M}" for moment in local_times(config, ends, config.standard)]
    stamps = [_to_24(stamp) if stamp.endswith("00:00") else stamp for stamp in stamps]
    lines = ["Date,Clock,Make-up (US gal),Toilets (US gal)"]
    lines += [f"{stamp},{first},{second}" for stamp, first, second in zip(stamps, makeup, toilets, strict=True)]
    planted = []
    for place in np.flatnonzero(np.diff(makeup) < 0):
        rolls = reset_s is None or not ends[place] <= reset_s < ends[place + 1]
        planted.append(Planted("roll-over" if rolls else "counter reset", file, "Make-up (US gal)", stamps[place],
                               stamps[place + 1], 1, f"{makeup[place]} is followed by {makeup[place + 1]}"))
    return {file: ("\n".join(lines) + "\n").encode("utf-8")}, planted


def _to_24(stamp: str) -> str:
    """Midnight as the end of the day before."""
    day = datetime.date.fromisoformat(stamp.split(",")[0]) - datetime.timedelta(days=1)
    return f"{day.isoformat()},24:00"


def ac_file(truth: Truth) -> Files:
    """The air conditioner's meter: kWh of every quarter of an hour, UTC."""
    config = truth.config
    total = np.cumsum(truth.rows["ac_J"])[QUARTER - 1::QUARTER] / 3.6e6 * 1.004
    kWh = np.diff(np.floor(100.0 * total), prepend=0.0) / 100.0  # the meter counts hundredths
    ends = np.arange(1, len(kWh) + 1) * 900
    lines = ["interval_end,kWh"]
    lines += [f"{moment:%Y-%m-%dT%H:%MZ},{amount:.2f}" for moment, amount in
              zip(local_times(config, ends, "UTC"), kWh.tolist(), strict=True)]
    return {"logs/ac_meter.csv": ("\n".join(lines) + "\n").encode("utf-8")}
