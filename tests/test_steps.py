"""From hours to steps: sums are kept, straight lines are straight."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_weather_files import record_of
from weather_makers import GREENSBORO, site_with

from sprayroof.evidence.steps import amounts_to_steps, fill_short, instants_to_steps, line_means, means_to_steps
from sprayroof.evidence.weather import read_weather

STEPS_S = [60, 120, 180, 240, 300, 360, 600, 720, 900, 1200, 1800, 3600]


@pytest.mark.parametrize("step_s", STEPS_S)
def test_a_straight_rise_stays_one(step_s):
    hours = 5
    steps = instants_to_steps(np.arange(1.0, hours + 1), 3600, step_s, wraps=False)
    middles_h = (np.arange(len(steps)) + 0.5) * step_s / 3600
    # the first reading is held back to the start
    np.testing.assert_allclose(steps, np.where(middles_h < 1, 1.0, middles_h), atol=1e-12)


def test_the_last_reading_of_a_typical_year_stands_before_its_first_hour():
    steps = instants_to_steps(np.array([2.0, 4.0, 6.0]), 3600, 1800, wraps=True)
    # by hand: 6 -> 2 -> 4 -> 6, means of half hours
    np.testing.assert_allclose(steps, [5.0, 3.0, 2.5, 3.5, 4.5, 5.5])


@pytest.mark.parametrize("step_s", STEPS_S)
@given(amounts=st.lists(st.floats(0, 1e3), min_size=1, max_size=6))
def test_amounts_keep_the_sum_of_every_hour(step_s, amounts):
    amounts = np.array(amounts)
    weights = np.abs(np.sin(np.arange(len(amounts) * 3600 // step_s)))
    for spread in (amounts_to_steps(amounts, 3600, step_s), amounts_to_steps(amounts, 3600, step_s, weights)):
        np.testing.assert_allclose(spread.reshape(len(amounts), -1).sum(axis=1), amounts, rtol=1e-12, atol=1e-12)
        assert (spread >= 0).all()


def test_amounts_of_unequal_lengths_keep_the_total():
    # five-minute tips on a four-minute step: by hand, 5 mm in the first 5 min are 4 in the first step and 1 in the next
    np.testing.assert_allclose(amounts_to_steps(np.array([5.0, 0, 0, 0]), 300, 240), [4, 1, 0, 0, 0])
    np.testing.assert_allclose(amounts_to_steps(np.array([1.0, 2, 3, 4]), 300, 600), [3, 7])


def test_means_shorter_than_the_step_are_averaged():
    np.testing.assert_allclose(means_to_steps(np.array([1.0, 3, 5, 7]), 300, 600), [2, 6])
    np.testing.assert_allclose(means_to_steps(np.array([1.0, 3, 5]), 600, 600), [1, 3, 5])


def test_means_longer_than_the_step_run_between_middles():
    # by hand: middles at 0.5 h and 1.5 h; half-hour steps: held, then 0..1 of the way
    np.testing.assert_allclose(means_to_steps(np.array([0.0, 4.0]), 3600, 1800), [0, 1, 3, 4])


def test_line_means_by_hand():
    # a tent of height 2 over 0..4: mean of 1..3 is 1.5
    np.testing.assert_allclose(line_means(np.array([0.0, 2, 4]), np.array([0.0, 2, 0]), np.array([1.0, 3])), [1.5])


def test_only_short_gaps_are_bridged():
    gap = np.array([1.0, np.nan, np.nan, 4.0, *[np.nan] * 7, 12.0])
    filled = fill_short(gap, 3600, wraps=False)
    np.testing.assert_allclose(filled[:4], [1, 2, 3, 4])
    assert np.isnan(filled[4:11]).all()
    # across the year's end: last and first hour are neighbours
    np.testing.assert_allclose(
        fill_short(np.array([np.nan, 2.0, 3, 4, np.nan]), 3600, wraps=True), [4 - 2 * 2 / 3, 2, 3, 4, 4 - 2 / 3]
    )


@pytest.mark.parametrize("step_min", [1, 5, 10, 12, 60])
def test_rain_and_sun_of_a_real_file_keep_their_hours(step_min):
    record = record_of(GREENSBORO["file"], "pvlib")
    table = read_weather(site_with(rain_unit="0.1 mm", step_min=step_min, **GREENSBORO)).table
    hours = len(record)
    rain = table["rain_mm"].to_numpy().reshape(hours, -1).sum(axis=1)
    np.testing.assert_allclose(rain, record.channel("rain_mm") * 0.1, rtol=0, atol=1e-9)
    sun = table["solar_W_m2"].to_numpy().reshape(hours, -1).mean(axis=1)
    np.testing.assert_allclose(sun, record.channel("solar_W_m2"), rtol=0, atol=1e-9)
