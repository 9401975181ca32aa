"""Two years of invented electricity bills that end in the logged weeks, one of them estimated."""

from __future__ import annotations

import datetime
from typing import NamedTuple

import numpy as np
from pack_config import SPRAY, Config, local_clock
from pack_faults import Faults, Planted
from pack_truth import Truth
from scipy.signal import lfilter

FILE, TEMPERATURES = "bills/electricity.csv", "bills/temperature.csv"
YEARS_DAYS = 760
SPRAYED_FROM, SEASON = datetime.date(2025, 5, 1), (4, 11)  # first and last month of spraying
BASE_kWh = (96.0, 41.0)  # working day, Sunday


class Bill(NamedTuple):
    """A bill: first and last day, what was billed and used, what spraying saved net of its pump; degC."""

    first: datetime.date
    last: datetime.date
    billed_kWh: float
    used_kWh: float
    saved_kWh: float
    estimated: bool
    air_C: float


class Day(NamedTuple):
    """A day of the building: outdoor degC, kWh used, kWh saved net of the pump."""

    air_C: float
    used_kWh: float
    saved_kWh: float


def make_bills(truth: Truth, faults: Faults, random: np.random.Generator) -> tuple[dict[str, bytes], list[Planted],
                                                                                   list[Bill]]:
    """Bills and the mean outdoor temperatures of their periods; what was planted; the bills as they truly were."""
    days = _days(truth, random)
    bills = _periods(truth.config, days, random)
    planted = []
    if faults.estimated_bill:
        place = next(number for number, bill in enumerate(bills) if bill.last >= datetime.date(2025, 2, 1))
        bills = _estimate(bills, place)
        planted.append(Planted("estimated bill", FILE, "kWh", f"{bills[place].first:%m/%d/%Y}",
                               f"{bills[place].last:%m/%d/%Y}", 1, "the next bill makes up for it"))
    lines = ["From,To,kWh,Estimated"]
    lines += [f"{bill.first:%m/%d/%Y},{bill.last:%m/%d/%Y},{bill.billed_kWh:.0f},{'yes' if bill.estimated else 'no'}"
              for bill in bills]
    warm = ["From,To,Outdoor (degF)"]
    warm += [f"{bill.first:%m/%d/%Y},{bill.last:%m/%d/%Y},{bill.air_C * 1.8 + 32.0:.1f}" for bill in bills]
    files = {FILE: "\n".join(lines) + "\n", TEMPERATURES: "\n".join(warm) + "\n"}
    return {name: text.encode("utf-8") for name, text in files.items()}, planted, bills


def _days(truth: Truth, random: np.random.Generator) -> dict[datetime.date, Day]:
    """Every day: as simulated where the logged weeks hold the whole day, else by a line through those days."""
    logged = _logged_days(truth)
    line, kept = _line(logged)
    end = max(logged)
    dates = [end - datetime.timedelta(days=back) for back in range(YEARS_DAYS, -1, -1)]
    weather = 3.2 * np.sqrt(1.0 - 0.75 ** 2) * lfilter([1.0], [1.0, -0.75], random.standard_normal(len(dates)))
    days = {}
    for date, change_K, noise in zip(dates, weather, random.standard_normal(len(dates)), strict=True):
        base = BASE_kWh[date.weekday() == 6] * (1.0 + 0.04 * noise)
        if date in logged:
            air_C, ac, without, pump = logged[date]
        else:
            air_C = 15.4 - 10.6 * np.cos(2.0 * np.pi * (date.timetuple().tm_yday - 20) / 365.25) + change_K
            without = max(line[0] * (air_C - line[1]), 2.0) if date.weekday() != 6 else 2.0
            season = date >= SPRAYED_FROM and SEASON[0] <= date.month <= SEASON[1] and truth.config.spray
            ac, pump = (without * kept, 6.9) if season else (without, 0.0)
        days[date] = Day(float(air_C), base + ac + pump, without - ac - pump)
    return days


def _logged_days(truth: Truth) -> dict[datetime.date, tuple[float, float, float, float]]:
    """Whole days of the logged weeks: outdoor degC, AC kWh, AC kWh had nothing been sprayed, pump kWh."""
    ordinal = local_clock(truth.config)[2]
    days = {}
    for number in range(int(ordinal[0]) + 1, int(ordinal[-1])):
        part = ordinal == number
        days[datetime.date.fromordinal(number)] = (
            float(truth.weather.air_C[part].mean()), float(truth.rows["ac_J"][part].sum() / 3.6e6),
            float(truth.never_sprayed.rows["ac_J"][part].sum() / 3.6e6),
            float(truth.rows["pump_J"][part & (truth.schedule.pump_mode == SPRAY)].sum() / 3.6e6))
    return days


def _line(logged: dict[datetime.date, tuple[float, float, float, float]]) -> tuple[tuple[float, float], float]:
    """Slope [kWh/K] and foot [degC] of the unsprayed machine on working days; share that remains when sprayed."""
    working = np.array([day for date, day in logged.items() if date.weekday() != 6])
    slope, height = np.polyfit(working[:, 0], working[:, 2], 1)
    slope = max(float(slope), 1.0)
    height = float(working[:, 2].mean() - slope * working[:, 0].mean())
    return (slope, -height / slope), float(working[:, 1].sum() / working[:, 2].sum())


def _periods(config: Config, days: dict[datetime.date, Day], random: np.random.Generator) -> list[Bill]:
    """Bills of 27 to 35 days."""
    dates, bills, first = sorted(days), [], 0
    while first + 35 <= len(dates):
        length = int(random.integers(28, 34))
        part = [days[date] for date in dates[first:first + length]]
        used = float(sum(day.used_kWh for day in part))
        saved, air_C = sum(day.saved_kWh for day in part), np.mean([day.air_C for day in part])
        bills.append(Bill(dates[first], dates[first + length - 1], round(used), used, float(saved), False,
                          float(air_C)))
        first += length
    return bills


def _estimate(bills: list[Bill], place: int) -> list[Bill]:
    """One bill guessed 9 % too high; the next, read again, makes up for it."""
    bills = list(bills)
    guess = round(bills[place].used_kWh * 1.09)
    both = bills[place].billed_kWh + bills[place + 1].billed_kWh
    bills[place] = bills[place]._replace(billed_kWh=guess, estimated=True)
    bills[place + 1] = bills[place + 1]._replace(billed_kWh=both - guess)
    return bills
