"""Pipe and store against each other: sound records agree; a sensor that drifts or a meter that is changed shows.

The true heat is that of the invented pack, whose physics is not the package's.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

import sprayroof
from sprayroof.evidence.read_logs import read_logs
from sprayroof.evidence.weather import read_weather
from sprayroof.model.measured import measure
from sprayroof.model.measured_agreement import contradictions, widened
from sprayroof.model.measured_amounts import Amount
from sprayroof.model.measured_heat import Heat
from sprayroof.model.measured_totals import NightHeat

CODE = "ledger.pipe-against-store"


def night(pipe_kWh: float, store_kWh: float, each: float = 5.0) -> NightHeat:
    """A night of eight hours; `each` is the instruments' half-width of either way, the same way every night."""
    pipe, store = Amount(pipe_kWh, {"flow": each}, 1.0), Amount(store_kWh, {"level": each}, 1.0)
    return NightHeat(Heat(pipe), Heat(store), pipe.scaled(0.5) + store.scaled(0.5), "both", None, None, Amount(8.0))


def test_nights_within_their_stated_errors_do_not_contradict():
    """Ten nights 6 kWh apart: 60 in all, where instruments allow 10 x sqrt(5^2 + 5^2) = 70.7."""
    assert contradictions([night(106.0, 100.0)] * 10) == []


def test_nights_beyond_their_stated_errors_contradict_and_are_widened_to_hold_either():
    heats = [night(108.0, 100.0)] * 10
    found = contradictions(heats)
    assert [one.apart.value for one in found] == [pytest.approx(80.0)]
    # by hand: random 10 x (1 + 1) in squares, systematic 50 and 50
    assert found[0].apart.half_width == pytest.approx(math.sqrt(2 * 50.0**2 + 10 * 2.0), rel=1e-12)
    sums = [sum((heat.both for heat in wide), Amount(0.0)) for wide in (heats, widened(heats, found))]
    assert sums[0].half_width < 40.0 < 80.0 < sums[1].half_width
    assert sums[0].value == sums[1].value


def test_only_the_half_that_contradicts_is_widened():
    heats = [night(100.0, 100.0)] * 8 + [night(80.0, 100.0)] * 8
    found = contradictions(heats)
    assert [one.nights for one in found] == [tuple(range(8, 16))]
    assert widened(heats, found)[0] == heats[0]


@pytest.fixture(scope="module")
def pack(tmp_path_factory):
    """The invented bindery and its 42 nights, with true heat by the pipe and by the roof [kWh]."""
    from make_data_pack import SEED, Config, Faults, make_logs, make_truth

    folder = tmp_path_factory.mktemp("bindery")
    make_logs(make_truth(Config(), SEED), Faults(), SEED).write(folder)
    site = sprayroof.read_site(folder)
    weather = read_weather(site)
    return site, weather, read_logs(site, weather)


def changed(pack, column: str, change) -> tuple:
    """The pack with a column changed after all corrections, as by an instrument that went wrong after its test."""
    site, weather, logs = pack
    table = logs.table.copy()
    table[column] = change(table[column].to_numpy(dtype=float), np.linspace(0.0, 1.0, len(table)))
    return measure(site, dataclasses.replace(logs, table=table), weather)


def test_a_sound_pack_agrees(pack):
    measured = measure(*[pack[0], pack[2], pack[1]])
    assert CODE not in {finding.code for finding in measured.findings}


@pytest.mark.parametrize(("column", "change"), [
    ("return_C", lambda values, place: values - 0.5 * place),
    ("spray_L_min", lambda values, place: np.where(place > 0.57, 0.75 * values, values)),
], ids=["return drifts", "meter reads low from some day on"])
def test_what_went_wrong_after_its_test_shows_and_the_range_holds_the_truth(pack, column, change):
    measured, sound = changed(pack, column, change), measure(pack[0], pack[2], pack[1])
    assert CODE in {finding.code for finding in measured.findings}
    total, right = measured.totals["cooling_roof_kWh"], sound.totals["cooling_roof_kWh"]
    assert total.low <= right.value <= total.high
    assert total.grade != "A"
