"""What invented instruments show of the invented truth: clocks, offsets, scatter, steps of reading."""

from __future__ import annotations

import datetime

import numpy as np
from pack_config import STEP_S, RHO_kg_m3
from pack_faults import Faults, LoggerTable
from pack_truth import Truth

TIP_mm = 0.2
GALLON_L = 3.785411784
COUNTER_END = 100000  # the counter shows five digits
CHECK_S = 1800.0  # clock checks: so long after the start and before the end


def clock_error_s(faults: Faults, true_s: np.ndarray | float) -> np.ndarray | float:
    """How far the roof logger's clock is ahead."""
    return 60.0 * (faults.clock_fast_min + faults.clock_drift_min_day * (true_s - CHECK_S) / 86400.0)


def means(values: np.ndarray, from_s: np.ndarray, to_s: np.ndarray) -> np.ndarray:
    """Mean of a record of steps between true times [s since the start]."""
    edges = np.arange(len(values) + 1) * float(STEP_S)
    run = np.concatenate(([0.0], np.cumsum(values))) * STEP_S
    return (np.interp(to_s, edges, run) - np.interp(from_s, edges, run)) / (to_s - from_s)


def true_channels(truth: Truth) -> dict[str, np.ndarray]:
    """What perfect instruments of the roof logger would show, one value a step."""
    rows, plant = truth.rows, truth.config.plant
    flow = rows["supply_kg"] * 60.0 / STEP_S * 1000.0 / RHO_kg_m3
    return {"T supply": rows["supply_C"], "T return": rows["return_C"], "T store low": rows["low_C"],
            "T store mid": rows["mid_C"], "T store high": rows["high_C"], "Flow": flow,
            "Level": 100.0 * rows["store_kg"] / RHO_kg_m3 / plant.store_m3, "T air": truth.weather.air_C,
            "RH": 100.0 * truth.weather.humidity_frac(), "Wind": truth.weather.wind_m_s}


def logger_table(truth: Truth, faults: Faults, random: np.random.Generator) -> LoggerTable:
    """The roof logger's minutes before anything befalls them."""
    length_s = truth.config.steps * float(STEP_S)
    slope = 1.0 + faults.clock_drift_min_day / 1440.0
    first, last = (edge + clock_error_s(faults, edge) for edge in (0.0, length_s))
    shown = np.arange(np.ceil(first / 60.0) + 1.0, np.floor(last / 60.0 + 1e-9) + 1.0) * 60.0
    to_s = np.minimum((shown - clock_error_s(faults, 0.0)) / slope, length_s)
    from_s = np.maximum((shown - 60.0 - clock_error_s(faults, 0.0)) / slope, 0.0)
    columns = {name: means(values, from_s, to_s) for name, values in true_channels(truth).items()}
    spraying = means(truth.rows["spraying"], from_s, to_s)
    _instruments(columns, spraying, faults, random)
    return LoggerTable(shown, _noon(truth), columns, spraying)


def _noon(truth: Truth) -> datetime.datetime:
    return datetime.datetime.fromisoformat(f"{truth.config.start} 12:00")


def _instruments(columns: dict[str, np.ndarray], spraying: np.ndarray, faults: Faults,
                 random: np.random.Generator) -> None:
    """Offsets, gains and scatter."""
    rows_n = len(spraying)

    def scatter(sd: float | np.ndarray) -> np.ndarray:
        return faults.noise * sd * random.standard_normal(rows_n)

    columns["T supply"] += faults.supply_offset_K + scatter(0.035)
    columns["T return"] += faults.return_offset_K + scatter(0.035)
    for name, offset in (("T store low", -0.06), ("T store mid", 0.05), ("T store high", 0.02)):
        columns[name] += offset + scatter(0.06)
    columns["Flow"] *= (1.0 + faults.flow_gain_frac) * (1.0 + scatter(0.006))
    columns["Level"] *= 1.0 + faults.level_gain_frac
    columns["Level"] += faults.level_offset_pct + scatter(np.where(spraying > 0.0, 0.12, 0.03))
    columns["T air"] += 0.12 + scatter(0.07)
    columns["RH"] = np.clip(columns["RH"] + 1.1 + scatter(0.6), 0.0, 100.0)
    columns["Wind"] = np.maximum(0.98 * columns["Wind"] + scatter(0.08), 0.0)


def rain_tips(truth: Truth, faults: Faults, random: np.random.Generator) -> tuple[np.ndarray, list[np.ndarray]]:
    """Seconds since the start of every tip, and those of each night on which spray drift tipped the bucket."""
    caught = np.cumsum(truth.weather.rain_mm) * (1.0 + faults.gauge_gain_frac)
    wanted = np.arange(1, int(caught[-1] / TIP_mm) + 1) * TIP_mm
    real_s = (np.searchsorted(caught, wanted) + random.random(len(wanted))) * STEP_S
    false_s = [_drift_tips(truth, night, random) for night in _windy_nights(truth, faults)]
    return np.sort(np.concatenate([real_s, *false_s])), false_s


def _windy_nights(truth: Truth, faults: Faults) -> list[slice]:
    """Dry nights with spray and the most wind."""
    night, windy = 86400 // STEP_S, []
    for number in range(truth.config.nights):
        part = slice(number * night, (number + 1) * night)
        on = truth.rows["spraying"][part] > 0.5
        if on.any() and truth.weather.rain_mm[part].sum() == 0.0:
            windy.append((truth.weather.wind_m_s[part][on].mean(), part))
    windy.sort(key=lambda item: -item[0])
    return sorted((part for _, part in windy[:faults.tipped_nights]), key=lambda part: part.start)


def _drift_tips(truth: Truth, part: slice, random: np.random.Generator) -> np.ndarray:
    """A tip every hour and a half or so while it sprays and blows."""
    drift = truth.rows["drift_kg"][part]
    chance = 0.7 * STEP_S / 3600.0 * drift / max(drift[drift > 0.0].mean(), 1e-9)
    hit = np.flatnonzero(random.random(len(drift)) < chance)
    return (part.start + hit + random.random(len(hit))) * STEP_S


def counter_gal(truth: Truth, name: str, start_gal: int, reset_s: float | None) -> np.ndarray:
    """Whole gallons that a counter shows at the end of every step: rolls over, and may be set to zero once."""
    total = np.cumsum(truth.rows[f"{name}_kg"]) * 1000.0 / RHO_kg_m3 / GALLON_L
    shown = start_gal + total
    if reset_s is not None and 0.0 <= reset_s < len(total) * STEP_S:
        place = int(reset_s / STEP_S)
        shown[place:] = total[place:] - total[place]
    return np.floor(shown).astype(np.int64) % COUNTER_END
