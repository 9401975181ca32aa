"""Functional tests done on the invented plant, as the auditor noted their results: true, but for a reader's error."""

from __future__ import annotations

import datetime
from typing import Any

import numpy as np
from pack_config import STEP_S, Config, RHO_kg_m3
from pack_faults import Faults
from pack_readings import CHECK_S, clock_error_s
from pack_truth import Truth

Noted = dict[str, Any]
HOOK_mm, STICK_mm = 0.2, 2.0  # steps of reading of a hook gauge and of a dip stick
PLAN_RATIO = 0.996  # the store's plan as the auditor measured it, over the true one


def make_tests(truth: Truth, faults: Faults, random: np.random.Generator) -> list[Noted]:
    """All tests whose time the pack holds, as entries of the site file."""
    config, noted = truth.config, []
    if config.holds(config.pair_test[1]):
        noted.append(_span("pair", config.pair_test, note="valve to the bypass: the same water passes both sensors"))
    if config.holds(config.draw_down[1]):
        drawn_m3 = truth.between("waste_kg", config.draw_down) / RHO_kg_m3 * PLAN_RATIO
        drawn_m3 *= 1.0 + 0.004 * random.standard_normal()
        noted.append(_span("draw down", config.draw_down, channel="spray_flow", volume=round(drawn_m3, 3),
                           accuracy=0.012, note="inlets closed, pumped to the drain, store gauged by hook"))
    for when, to, kind, note in ((*config.leak_test, "leak", "toilets on the mains, inlets closed, dry, no spraying"),
                                 (*config.closed_night, "closed night", "toilets on the mains, inlets closed, dry")):
        if config.holds(to):
            lost_m3 = _gauged_m3(truth, when, HOOK_mm, random) - _gauged_m3(truth, to, HOOK_mm, random)
            # two readings, and the plan by tape
            accuracy = round(float(np.hypot(1.6 * _hook_m3(config) / lost_m3, 0.01)), 3)
            noted.append(_span(kind, (when, to), volume=round(lost_m3, 3), accuracy=accuracy, note=note))
    noted += [_dip(truth, faults, when, random) for when in config.dips if config.holds(when)]
    noted += _small_tests(truth, random) + _calibrations(faults)
    return noted


def _span(kind: str, times: tuple[str, str], **more: Any) -> Noted:
    return {"kind": kind, "from": times[0], "to": times[1], **more}


def _plan_m2(config: Config) -> float:
    return config.plant.store_m3 / config.plant.store_height_m


def _hook_m3(config: Config) -> float:
    return HOOK_mm / 1000.0 * _plan_m2(config)


def _gauged_m3(truth: Truth, when: str, step_mm: float, random: np.random.Generator) -> float:
    """Content by a level read by hand in steps."""
    height_mm = 1000.0 * truth.content_m3(when) / _plan_m2(truth.config) + 0.3 * step_mm * random.standard_normal()
    return round(height_mm / step_mm) * step_mm / 1000.0 * _plan_m2(truth.config) * PLAN_RATIO


def _dip(truth: Truth, faults: Faults, when: str, random: np.random.Generator) -> Noted:
    """A dip: what the level sensor said and what it should have said, in per cent, and the content."""
    dipped_m3 = _gauged_m3(truth, when, STICK_mm, random)
    full = truth.config.plant.store_m3
    true_pct = 100.0 * dipped_m3 / full / PLAN_RATIO
    said = 100.0 * truth.content_m3(when) / full * (1.0 + faults.level_gain_frac) + faults.level_offset_pct
    return {"kind": "dip", "from": when, "channel": "level", "reading": round(said, 2),
            "reference": round(true_pct, 2), "volume": round(dipped_m3, 2), "note": "stick"}


def _small_tests(truth: Truth, random: np.random.Generator) -> list[Noted]:
    """Water held on the roof, a rain event by hand gauge, the machine's efficiency at one time."""
    config, plant, noted = truth.config, truth.config.plant, []
    if config.holds(config.hold_up):
        at = config.place(config.hold_up) + 1800 // STEP_S
        runs_m3 = (truth.states("film_kg")[at] - plant.retained_kg_m2 * plant.roof_m2 * plant.wetted_frac) / RHO_kg_m3
        noted.append({"kind": "hold-up", "from": config.hold_up, "volume": round(runs_m3, 3), "accuracy": 0.2,
                      "note": "rise of the level in the half hour after stopping"})
    if config.rain is not None and len(config.rain) > config.hand_gauge:
        start, hours, depth_mm = config.rain[config.hand_gauge]
        end = datetime.datetime.fromisoformat(start) + datetime.timedelta(hours=hours)
        if config.holds(f"{end:%Y-%m-%d %H:%M}"):
            noted.append(_span("rain event", (start, f"{end:%Y-%m-%d %H:%M}"), rain=round(depth_mm * 5.0) / 5.0,
                               accuracy=0.03, note="gauge read by hand"))
    if config.holds(config.spot[1]):
        part = truth.rows[config.span(config.spot)]
        on = part["ac_on"] > 0.5
        if on.any():
            cooling_kW, power_kW = (part[name][on].mean() / STEP_S / 1000.0 for name in ("ac_cooling_J", "ac_J"))
            noted.append(_span("spot efficiency", config.spot, accuracy=0.08,
                               cooling=round(cooling_kW * (1.0 + 0.03 * random.standard_normal()), 1),
                               power=round(power_kW, 2), note="air side, while the compressor ran"))
    return noted


def _calibrations(faults: Faults) -> list[Noted]:
    """Sensors against a reference, before and after the weeks."""
    said = round(20.0 + faults.supply_offset_K, 2)
    bath = {"kind": "calibration", "from": "2025-09-25 10:00", "channel": "supply_temperature", "reading": said,
            "reference": 20.0, "note": "water bath before the weeks"}
    after = {**bath, "from": "2025-11-08 10:00", "note": "water bath after the weeks"}
    salt = {"kind": "calibration", "from": "2025-09-25 11:00", "channel": "humidity", "reading": 76.4,
            "reference": 75.3, "note": "salt cell"}
    return [bath, after, salt]


def clock_checks(config: Config, faults: Faults) -> list[tuple[str, str]]:
    """What the roof logger showed and the true time, both in standard time."""
    noon = datetime.datetime.fromisoformat(f"{config.start} 12:00")
    pairs = []
    for true_s in (CHECK_S, config.steps * STEP_S - CHECK_S):
        true = noon + datetime.timedelta(seconds=true_s)
        shown = true + datetime.timedelta(seconds=round(float(clock_error_s(faults, true_s))))
        pairs.append((f"{shown:%Y-%m-%d %H:%M:%S}", f"{true:%Y-%m-%d %H:%M:%S}"))
    return pairs
