"""Who wants what and when in the invented plant: pump, users, working hours, tests."""

from __future__ import annotations

import datetime
from typing import NamedTuple

import numpy as np
from pack_config import BYPASS, OFF, SPRAY, STEP_S, WASTE, Config, CP_J_kgK, local_clock
from scipy.signal import lfilter

FLUSH_kg = 6.0
SUNDAY = 6


class Schedule(NamedTuple):
    """Arrays of one value a step."""

    pump_mode: np.ndarray
    pump_kg: np.ndarray  # what the pump moves in a step when it runs
    draw_kg: np.ndarray
    makeup_allowed: np.ndarray
    working: np.ndarray


def hours_of(clock: str) -> float:
    """Hours of a time of day."""
    hour, minute = clock.split(":")
    return int(hour) + int(minute) / 60.0


def night_dates(hour: np.ndarray, date: np.ndarray) -> np.ndarray:
    """Ordinal date on which the night of every step began, on the site's clock."""
    return np.where(hour >= 12.0, date, date - 1)


def switched_off(config: Config, night: np.ndarray) -> np.ndarray:
    """Whether the spray was switched off on purpose."""
    off = np.zeros(len(night), dtype=bool)
    for first, last in config.off_nights:
        low, high = (datetime.date.fromisoformat(day).toordinal() for day in (first, last))
        off |= (night >= low) & (night <= high)
    return off


def make_schedule(config: Config, rain_mm: np.ndarray, seed: int) -> Schedule:
    """The timetable of every step."""
    random = np.random.default_rng([seed, 3])
    hour, weekday, date = local_clock(config)
    working = (weekday != SUNDAY) & (hour >= hours_of(config.work[0])) & (hour < hours_of(config.work[1]))
    closed = _closed(config)
    return Schedule(_pump_mode(config, hour, date, rain_mm), _pump_kg(config, random),
                    _draw_kg(config, hour, weekday, random) * ~closed, ~closed, working)


def _pump_mode(config: Config, hour: np.ndarray, date: np.ndarray, rain_mm: np.ndarray) -> np.ndarray:
    opens, closes = (hours_of(clock) for clock in config.window)
    inside = (hour >= opens) | (hour < closes) if opens > closes else (hour >= opens) & (hour < closes)
    run = inside & ~switched_off(config, night_dates(hour, date)) & ~_locked_by_rain(config, rain_mm)
    mode = np.where(run & config.spray, SPRAY, OFF)
    mode[config.span(config.pair_test)] = BYPASS
    mode[config.span(config.draw_down)] = WASTE
    return mode.astype(np.int64)


def _locked_by_rain(config: Config, rain_mm: np.ndarray) -> np.ndarray:
    """True from ten minutes of enough rain until half an hour after."""
    short, long = 600 // STEP_S, 1800 // STEP_S
    rate_mm_h = np.convolve(rain_mm, np.ones(short), mode="full")[:len(rain_mm)] * 6.0
    wet = (rate_mm_h > config.lockout_rain_mm_h).astype(float)
    return np.convolve(wet, np.ones(long), mode="full")[:len(rain_mm)] > 0.5


def _pump_kg(config: Config, random: np.random.Generator) -> np.ndarray:
    """Falls as the strainer clogs, and wavers a little."""
    keep = np.exp(-STEP_S / 600.0)
    noise = lfilter([np.sqrt(1.0 - keep * keep)], [1.0, -keep], random.standard_normal(config.steps))
    fall = 1.0 - config.plant.spray_fall_frac * np.arange(config.steps) / config.steps
    return config.plant.spray_L_min * fall * (1.0 + 0.004 * noise) * 0.9982 * STEP_S / 60.0


def _draw_kg(config: Config, hour: np.ndarray, weekday: np.ndarray, random: np.random.Generator) -> np.ndarray:
    """Flushes at random within the hours in which people are there."""
    present = (hour >= hours_of(config.work[0])) & (hour < hours_of(config.work[1]))
    steps_a_day = (hours_of(config.work[1]) - hours_of(config.work[0])) * 3600.0 / STEP_S
    day_L = np.where(weekday == SUNDAY, config.draw_L_day[1], config.draw_L_day[0])
    return FLUSH_kg * random.poisson(present * day_L / FLUSH_kg / steps_a_day)


def _closed(config: Config) -> np.ndarray:
    """Toilets and make-up shut for a test."""
    closed = np.zeros(config.steps, dtype=bool)
    for span in (config.draw_down, config.leak_test, config.closed_night):
        closed[config.span(span)] = True
    return closed


def floor_step_kg(config: Config) -> float:
    """Water through the floors in a step."""
    return config.plant.floor_L_min * 0.9982 * STEP_S / 60.0


def floor_effectiveness(config: Config) -> float:
    """Share of the way to room temperature that the floor water goes."""
    capacity_W_K = floor_step_kg(config) / STEP_S * CP_J_kgK
    return float(1.0 - np.exp(-config.plant.floor_W_K / capacity_W_K))
