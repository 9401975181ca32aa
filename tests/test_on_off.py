"""Nights switched on and off: a known effect is found, and none is found where there is none."""

from __future__ import annotations

import math

import numpy as np
import pytest
from measured_makers import Hours, hand_site, quiet_columns

from sprayroof.model.measured import measure


def blocks(*states):
    """[[switched]] blocks of some nights each, from 1 June on."""
    first, found = 1, []
    for state, nights in states:
        found.append({"from": f"2026-06-{first:02d}", "to": f"2026-06-{first + nights - 1:02d}", "state": state})
        first += nights
    return found


def switched(states, effect_W=-200.0, carried_W=0.0, likeness=0.0, noise_W=5.0, seed=2):
    """Nights whose day uses 1000 W by air conditioning, `effect_W` more when on, `carried_W` more after a switch."""
    nights = sum(count for _, count in states)
    hours = Hours(nights=nights + 1, step_min=60)
    on = np.array([state == "on" for state, count in states for _ in range(count)] + [False])
    after = np.concatenate([[False], on[1:] != on[:-1]])
    random, rest = np.random.default_rng(seed), np.zeros(nights + 1)
    for night in range(nights + 1):
        before = rest[night - 1] if night else 0.0
        rest[night] = likeness * before + noise_W * math.sqrt(1.0 - likeness ** 2) * random.standard_normal()
    daily = 1000.0 + effect_W * on + carried_W * after + rest
    # a night and its day run from 20:00 to 20:00
    night = np.clip(((hours.starts - 8.0) // 24.0).astype(int), 0, nights)
    columns = {**quiet_columns(hours), "ac_W": daily[night]}
    found = measure(hand_site(switched=blocks(*states)), hours.logs(**columns))
    return next(effect for effect in found.on_off if effect.id == "ac_kWh")


STATES = [("on", 4), ("off", 4), ("on", 4), ("off", 4), ("on", 4), ("off", 4)]


def test_switching_finds_the_effect():
    found = switched(STATES)
    # 200 W for 24 h, but for the cold morning that nothing measures
    assert found.low < -4.8 < found.high
    assert found.verdict == "lower"
    assert (found.nights_on, found.nights_off) == (10, 9)  # the first of each block but the very first is left out


def test_what_the_store_carries_over_is_left_out():
    assert switched(STATES, carried_W=500.0) == switched(STATES)


def test_days_that_are_alike_are_worth_less():
    alone, alike = switched(STATES, noise_W=60.0), switched(STATES, noise_W=60.0, likeness=0.9)
    assert alike.nights_effective < 0.6 * alone.nights_effective
    assert alike.autocorrelation > 0.3


def test_too_few_nights_cannot_tell():
    found = switched([("on", 3), ("off", 3)])
    assert (found.verdict, found.value) == ("cannot tell", None)
    assert found.why == "3 nights on and 2 off count, 3 of each are wanted"


@pytest.mark.parametrize("likeness", [0.0, 0.7])
def test_no_effect_is_seldom_told_as_one(likeness):
    """Nine ranges in ten should hold the true effect of none, also where days that follow each other are alike."""
    told = [switched(STATES, effect_W=0.0, noise_W=80.0, likeness=likeness, seed=seed) for seed in range(40)]
    wrong = sum(effect.verdict != "cannot tell" for effect in told)
    # 40 x 0.1 = 4; more than 10 by chance once in 700 times (binomial)
    assert wrong <= 10


