"""Nights switched on and off: a known effect is found, and none is found where there is none."""

from __future__ import annotations

import datetime
import math

import numpy as np
import pytest
from measured_makers import Hours, hand_site, quiet_columns

from sprayroof.model import carry_over
from sprayroof.model.carry_over import lasting_effect, states_of
from sprayroof.model.measured import measure
from sprayroof.model.measured_nights import nights_of
from sprayroof.model.measured_readings import Readings, sprayed
from sprayroof.model.on_off import switching_of
from sprayroof.model.site_tests import SiteTests


def blocks(*states):
    """[[switched]] blocks of some nights each, from 1 June on."""
    first, found = datetime.date(2026, 6, 1), []
    for state, nights in states:
        last = first + datetime.timedelta(days=nights - 1)
        found.append({"from": first.isoformat(), "to": last.isoformat(), "state": state})
        first = last + datetime.timedelta(days=1)
    return found


def switched(states, effect_W=-200.0, delay_days=0.0, likeness=0.0, noise_W=5.0, seed=2, before=0.0):
    """Nights whose day uses 1000 W by air conditioning, `effect_W` more when it has been on for ever.

    A store between spray and rooms follows the switch with a time constant; hour by hour, not by nights.
    """
    nights = sum(count for _, count in states)
    hours = Hours(nights=nights + 1, step_min=60)
    on = np.array([state == "on" for state, count in states for _ in range(count)] + [False])
    rest = noise_W * np.random.default_rng(seed).standard_normal(nights + 1)
    for night in range(1, nights + 1):
        rest[night] = likeness * rest[night - 1] + math.sqrt(1.0 - likeness ** 2) * rest[night]
    # a night and its day run from 20:00 to 20:00
    night = np.clip(((hours.starts - 8.0) // 24.0).astype(int), 0, nights)
    columns = {**quiet_columns(hours), "ac_W": 1000.0 + effect_W * cold(on[night], delay_days, before) + rest[night]}
    found = measure(hand_site(switched=blocks(*states)), hours.logs(**columns))
    return next(effect for effect in found.on_off if effect.id == "ac_kWh")


def cold(on, delay_days, before):
    """How far a store has come towards what it is when always sprayed, in the middle of each hour."""
    if delay_days == 0.0:
        return on.astype(float)
    state, found = before, np.empty(len(on))
    left = math.exp(-0.5 / 24.0 / delay_days)
    for hour, now in enumerate(on):
        found[hour] = now + left * (state - now)
        state = now + left * (found[hour] - now)
    return found


STATES = [("on", 4), ("off", 4), ("on", 4), ("off", 4), ("on", 4), ("off", 4)]


def test_switching_finds_the_effect():
    found = switched(STATES)
    # 200 W for 24 h, but for the cold morning that nothing measures
    assert found.low < -4.8 < found.high
    assert found.verdict == "lower"
    assert (found.nights_on, found.nights_off) == (12, 12)
    assert not found.lower_bound
    assert found.meaning.startswith("Spraying every night less never")


def test_days_that_are_alike_are_worth_less():
    alone, alike = switched(STATES, noise_W=60.0), switched(STATES, noise_W=60.0, likeness=0.9)
    assert alike.nights_effective < 0.6 * alone.nights_effective
    assert alike.autocorrelation > 0.3


def test_too_few_nights_cannot_tell():
    found = switched([("on", 3), ("off", 3)])
    assert (found.verdict, found.value) == ("cannot tell", None)
    assert found.why == "besides the first after a switch 3 nights on and 2 off count, 3 of each are wanted"


@pytest.mark.parametrize("likeness", [0.0, 0.7])
def test_no_effect_is_seldom_told_as_one(likeness):
    """Nine ranges in ten should hold the true effect of none, also where days that follow each other are alike."""
    told = [switched(STATES, effect_W=0.0, noise_W=80.0, likeness=likeness, seed=seed) for seed in range(40)]
    wrong = sum(effect.verdict != "cannot tell" for effect in told)
    # 40 x 0.1 = 4; more than 10 by chance once in 700 times (binomial)
    assert wrong <= 10


PLANS = {"even": STATES, "uneven": [("on", 7), ("off", 3), ("on", 9), ("off", 3), ("on", 7), ("off", 3), ("on", 10)],
         "long": [("off", 10), ("on", 10), ("off", 10), ("on", 10)]}


def invented(plan, delay_days, seed):
    """An invented site: -200 W for 24 h, days that are alike by half, a store settled off or on before the logs."""
    return switched(PLANS[plan], delay_days=delay_days, likeness=0.5, noise_W=40.0, seed=seed, before=float(seed % 2))


@pytest.fixture(scope="module")
def sites():
    """20 sites for each plan of blocks and each time constant of the store."""
    return {(plan, delay): [invented(plan, delay, seed) for seed in range(20)]
            for plan in PLANS for delay in (0.3, 0.8, 1.5, 2.5, 4.0)}


def holding(effects):
    return float(np.mean([effect.low <= -4.8 <= effect.high for effect in effects]))


def test_the_range_holds_what_spraying_always_less_never_does(sites):
    shares = {case: holding(effects) for case, effects in sites.items()}
    assert np.mean(list(shares.values())) >= 0.85
    # 14 or fewer of 20 by chance once in 90 times where 0.9 hold (binomial)
    assert {case: share for case, share in shares.items() if share < 0.75} == {}
    for delay in (0.3, 0.8, 1.5, 2.5, 4.0):
        assert np.mean([share for (_, one), share in shares.items() if one == delay]) >= 0.85


def test_ranges_of_quick_stores_are_of_use(sites):
    """A range without end would hold anything."""
    widths = {plan: np.median([effect.high - effect.low for effect in sites[plan, 0.3]]) for plan in PLANS}
    assert max(widths.values()) < 4.8
    assert all(effect.verdict == "lower" for plan in ("uneven", "long") for effect in sites[plan, 0.3])


def test_slow_stores_are_told_as_lower_bounds(sites):
    """After three or four nights of e-folding in 2.5 or 4 days a third or more of the state before is left."""
    for case in (("even", 2.5), ("even", 4.0), ("uneven", 2.5), ("uneven", 4.0)):
        told = [effect for effect in sites[case] if effect.verdict != "cannot tell"]
        assert all(effect.lower_bound and effect.value == effect.seen for effect in told), case
        assert np.median([abs(effect.seen) for effect in told]) < 4.8
        assert all(effect.meaning.startswith("Lower bound") for effect in told)
    assert not any(effect.lower_bound for effect in sites["long", 0.3])


def test_a_difference_as_seen_would_not_hold_it(monkeypatch):
    """Without a scan of what is left of a night's state most ranges miss the truth."""
    monkeypatch.setattr(carry_over, "LEFT_A_DAY", (0.0,))
    monkeypatch.setattr(carry_over, "AT_ONCE", (1.0,))
    assert holding([invented("uneven", 2.5, seed) for seed in range(20)]) < 0.5


def test_nothing_settled_is_claimed_where_the_range_spans_zero(sites):
    open_ones = [effect for effects in sites.values() for effect in effects if effect.verdict == "cannot tell"]
    assert open_ones
    assert not any(effect.lower_bound for effect in open_ones)


def test_states_by_hand():
    """Half is left a day later: 1/2, 3/4, then off 3/8; a night that nothing tells starts anew."""
    assert states_of([True, True, False, None, True], 0.5, 0.0).tolist() == [0.5, 0.75, 0.375, 0.0, 0.5]
    # a day that feels half of the night's change: between the last state and this
    assert states_of([True, True, False], 0.5, 0.0, 0.5).tolist() == [0.25, 0.625, 0.5625]


def test_the_effect_of_an_exact_store_is_found_exactly():
    """Readings of 50 - 20 s with s by hand, without any rest, give 20 and the share that is left."""
    on = [True] * 5 + [False] * 5 + [True] * 5 + [False] * 5
    state, y = 1.0, []
    for now in on:
        state = 0.625 * state + 0.375 * now
        y.append(50.0 - 20.0 * state)
    found = lasting_effect(np.array(y), np.ones((20, 1)), np.arange(20), on)
    assert (found.value, found.low, found.high) == pytest.approx((-20.0, -20.0, -20.0), abs=1e-4)
    assert found.left_low_frac == found.left_high_frac == 0.625


def test_days_out_of_the_logs_do_not_move_the_effect():
    """With some days missing the same effect is found: the store's state runs on through them."""
    on = ([True] * 5 + [False] * 5) * 2
    states = states_of(on, 0.5, 0.0)
    places = np.array([place for place in range(20) if place not in (3, 7, 12)])
    found = lasting_effect((7.0 + 3.0 * states)[places], np.ones((17, 1)), places, on)
    assert found.value == pytest.approx(3.0, abs=1e-4)


def test_nights_between_blocks_count_by_the_log():
    """A night between two blocks has no stated state; the log says that it did not spray."""
    site = hand_site(switched=[{"from": "2026-06-01", "to": "2026-06-04", "state": "on"},
                               {"from": "2026-06-06", "to": "2026-06-08", "state": "on"}])
    hours = Hours(nights=9, step_min=60)
    logs = hours.logs(**quiet_columns(hours))
    readings = Readings(site, logs, SiteTests(), *sprayed(logs, []))
    found = switching_of(readings, nights_of(readings))
    assert found.on[:8] == [True] * 4 + [False] + [True] * 3
    assert found.counts.tolist()[:8] == [True] * 4 + [False] + [True] * 3
    assert found.fresh.tolist()[:8] == [False] * 4 + [True, True, False, False]
