"""Two like rooms side by side: the effect on the pair, what its range rests on, and the reading of the pair's file."""

from __future__ import annotations

import json
import re
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from small_site import RECORD

from sprayroof.errors import LogProblems
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.site import site_from_dict
from sprayroof.evidence.twin_series import read_twin
from sprayroof.model.twin_results import twin_results
from sprayroof.model.twins import PairDoubt, twin_effect

SURE = PairDoubt()
LEVEL = np.array([24.0, 25.0, 26.0, 25.5, 24.5, 23.5, 25.0, 26.5])


def swung(*values):
    """Differences with a spread of their own about each value."""
    return np.array(values) + np.resize([0.1, -0.1], len(values))


# --- the effect ---------------------------------------------------------------------------------------------------


def test_days_without_scatter_leave_the_instruments_alone():
    effect = twin_effect(LEVEL - 1.5, LEVEL, None, None, PairDoubt(offset=0.3, pair=0.4))
    assert effect.effect == pytest.approx(-1.5)
    assert effect.random == pytest.approx(0.0, abs=1e-12)
    assert effect.high - effect.effect == pytest.approx(0.5)  # 3, 4, 5
    assert (effect.verdict, effect.days, effect.like_days) == ("lower", 8, 0)
    assert effect.level == pytest.approx(25.0)


def test_days_of_neither_cooled_take_out_what_the_two_differ_by():
    """0.7 K apart anyway (room and instrument together); 2.2 K apart while one is cooled: 1.5 K by the cooling."""
    effect = twin_effect(LEVEL - 2.2, LEVEL, LEVEL - 0.7, LEVEL, PairDoubt(offset=0.3, pair=0.4))
    assert effect.effect == pytest.approx(-1.5)
    assert effect.systematic == 0.0
    assert (effect.days, effect.like_days, effect.like_level) == (8, 8, pytest.approx(25.0))


SWAP = np.array([False] * 5 + [True] * 6)


def placed(effect, room, instrument, swapped):
    """Difference of the rooms as read, the instrument's error changing its sign with the places."""
    return effect + room + np.where(swapped, -instrument, instrument)


def test_changed_places_take_out_the_instruments_but_not_the_rooms():
    control = np.full(11, 25.0)
    effect = twin_effect(control + placed(-1.5, 0.0, 0.6, SWAP), control, None, None, PairDoubt(0.3, 0.0, 0.4), SWAP)
    assert effect.effect == pytest.approx(-1.5)  # the mean of all days would be -1.5 + 0.6 (5 - 6) / 11 = -1.55
    assert effect.systematic == pytest.approx(0.4)


@pytest.mark.parametrize("like_placing", [False, True])
def test_like_days_serve_the_placing_that_they_were_read_in(like_placing):
    control, like = np.full(11, 25.0), np.full(6, 25.0)
    like_swap = np.full(6, like_placing)
    effect = twin_effect(control + placed(-1.5, 0.2, 0.6, SWAP), control, like + placed(0.0, 0.2, 0.6, like_swap), like,
                         PairDoubt(0.3, 0.0, 0.4), SWAP, like_swap)
    assert effect.effect == pytest.approx(-1.5)
    assert effect.systematic == 0.0
    assert effect.days == (6 if like_placing else 5)


def test_instruments_that_moved_between_like_days_and_the_others_count_twice():
    """e + p - d against p + d: an error d of the difference enters with 2 d."""
    control, like = np.full(6, 25.0), np.full(6, 25.0)
    effect = twin_effect(control - 1.5, control, like, like, PairDoubt(offset=0.3), np.ones(6, bool), np.zeros(6, bool))
    assert effect.systematic == pytest.approx(0.6)


def test_an_error_of_scale_is_taken_out_for_the_same_use_only():
    """2 % of 50 kWh a day where neither is cooled, of 80 kWh a day otherwise: 2 % of 30 kWh stays."""
    like = np.full(6, 50.0)
    effect = twin_effect(np.full(6, 70.0), np.full(6, 80.0), like, like, PairDoubt(gain_frac=0.02))
    assert effect.effect == pytest.approx(-10.0)
    assert effect.systematic == pytest.approx(0.6)
    alone = twin_effect(np.full(6, 70.0), np.full(6, 80.0), None, None, PairDoubt(gain_frac=0.02))
    assert alone.systematic == pytest.approx(1.6)


def test_independent_days_have_student_s_range():
    """Seven days whose neighbours lean away from each other: no dependence, 6 degrees of freedom, t 1.943 in print."""
    difference = np.array([-1.0, -1.4, -1.1, -1.5, -1.0, -1.3, -0.9])
    effect = twin_effect(LEVEL[:7] + difference, LEVEL[:7], None, None, SURE)
    assert effect.random == pytest.approx(1.943 * difference.std(ddof=1) / np.sqrt(7.0), rel=1e-3)
    low, high = stats.t.interval(0.9, 6, difference.mean(), stats.sem(difference))
    assert (effect.low, effect.high) == pytest.approx((low, high))


def test_two_independent_means_have_welch_s_range():
    cooled, like = np.array([-1.0, -1.6, -1.0, -1.5, -1.1, -1.6]), np.array([0.3, -0.3, 0.2, -0.2, 0.35, -0.3, 0.2])
    effect = twin_effect(25.0 + cooled, np.full(6, 25.0), 25.0 + like, np.full(7, 25.0), SURE)
    welch = stats.ttest_ind(cooled, like, equal_var=False).confidence_interval(0.9)
    assert (effect.low, effect.high) == pytest.approx((welch.low, welch.high))


def test_the_mean_of_both_placings_has_welch_s_freedom():
    """Half of either mean: v = (a + b) / 4, and (a + b)^2 / (a^2 / 4 + b^2 / 5) degrees of freedom of 5 and 6 days."""
    first, second = np.array([-1.0, -1.7, -1.0, -1.6, -1.1]), np.array([-1.4, -1.5, -1.38, -1.5, -1.4, -1.52])
    effect = twin_effect(25.0 + np.concatenate([first, second]), np.full(11, 25.0), None, None, SURE, SWAP)
    a, b = first.var(ddof=1) / 5.0, second.var(ddof=1) / 6.0
    freedom = (a + b) ** 2 / (a**2 / 4.0 + b**2 / 5.0)
    assert effect.n_effective == pytest.approx(freedom)
    assert effect.random == pytest.approx(stats.t.ppf(0.95, freedom) * np.sqrt((a + b) / 4.0))


def test_days_with_a_gap_between_them_are_no_neighbours():
    """Every other day is missing: what is left rises steadily and yet has no neighbours, so that five stay free."""
    difference = np.full(11, np.nan)
    difference[::2] = np.arange(6) / 10.0 - 1.0
    effect = twin_effect(25.0 + difference, np.full(11, 25.0), None, None, SURE)
    assert (effect.days, effect.n_effective) == (6, pytest.approx(5.0))


def test_days_that_hang_together_count_for_less():
    random = np.random.default_rng(4)
    noise = random.standard_normal(40)
    together = np.repeat(noise[:10], 4)
    apart = np.where(np.arange(40) % 2 == 0, 1.0, -1.0) * np.abs(noise)
    base = np.full(40, 25.0)
    slow, quick = (twin_effect(base - 1.0 + swing, base, None, None, SURE) for swing in (together, apart))
    assert slow.n_effective < 15.0 < 38.9 < quick.n_effective


def test_too_few_days_have_no_effect_and_gaps_are_no_days():
    cooled = LEVEL - 1.0
    cooled[[0, 3, 5, 6]] = np.nan
    assert twin_effect(cooled, LEVEL, None, None, SURE) is None


def test_an_effect_within_its_range_cannot_be_told():
    effect = twin_effect(LEVEL - 0.4, LEVEL, None, None, PairDoubt(offset=0.3, pair=0.5))
    assert effect.verdict == "cannot tell"
    assert twin_effect(LEVEL + 0.9, LEVEL, None, None, PairDoubt(offset=0.3, pair=0.5)).verdict == "higher"


@pytest.mark.parametrize(("days", "like", "rho"), [(40, 0, 0.5), (40, 20, 0.4)])
def test_ninety_of_a_hundred_ranges_hold_the_truth(days, like, rho):
    random = np.random.default_rng(21)

    def swing(count):
        noise = random.standard_normal(count)
        for place in range(1, count):
            noise[place] = rho * noise[place - 1] + np.sqrt(1.0 - rho**2) * noise[place]
        return 0.4 * noise

    held = 0
    for _ in range(100):
        base, other = np.full(days, 25.0), np.full(like, 25.0)
        effect = twin_effect(base - 1.0 + swing(days), base, other + swing(like) if like else None,
                             other if like else None, SURE)
        held += effect.low <= -1.0 <= effect.high
    assert 85 <= held <= 97


def test_days_that_drift_give_a_range_and_no_verdict():
    """A straight drift: each day repeats the one before."""
    drift = np.linspace(-0.4, 0.4, 90)
    base = np.full(90, 25.0)
    effect = twin_effect(base - 1.0 + drift, base, None, None, SURE)
    assert effect.high < 0.0  # the range alone would say so
    assert (effect.rho, effect.verdict) == (0.95, "cannot tell")
    assert twin_effect(base - 1.0 + np.tile([0.1, -0.1], 45), base, None, None, SURE).verdict == "lower"


numbers = st.lists(st.floats(-3.0, 3.0), min_size=6, max_size=20)


@settings(max_examples=50, deadline=None)
@given(numbers, st.floats(-5.0, 5.0), st.floats(0.1, 10.0))
def test_zero_and_unit_do_not_matter_and_the_rooms_may_change_names(differences, shift, factor):
    difference = np.array(differences)
    base = np.full(len(difference), 25.0)
    plain = twin_effect(base + difference, base, None, None, PairDoubt(offset=0.3))
    moved = twin_effect(base + difference + shift, base + shift, None, None, PairDoubt(offset=0.3))
    scaled = twin_effect(factor * (base + difference), factor * base, None, None, PairDoubt(offset=0.3 * factor))
    turned = twin_effect(base, base + difference, None, None, PairDoubt(offset=0.3))
    assert (moved.low, moved.high) == pytest.approx((plain.low, plain.high), abs=1e-6)
    assert (scaled.low, scaled.high) == pytest.approx((factor * plain.low, factor * plain.high), abs=1e-6)
    assert (turned.low, turned.high) == pytest.approx((-plain.high, -plain.low), abs=1e-6)


# --- the file -----------------------------------------------------------------------------------------------------

BLOCK = {"name": "test rooms", "file": "rooms.csv", "time_column": "Time", "time_zone": "America/New_York",
         "unit": "degC", "cooled_column": "A", "control_column": "B", "cooled_from": "2026-06-01 00:00",
         "cooled_to": "2026-06-11 00:00", "stamp": "end"}
PLACE = {**RECORD["place"], "time_zone": "America/New_York"}


def site_with(folder, *blocks):
    return site_from_dict({**RECORD, "place": PLACE, "twin": list(blocks)}, folder)


def write_rooms(folder, start, hours, values, heading="Time,A,B"):
    """Hourly rows stamped at their end; `values(start of the hour)` gives the two cells."""
    lines = [heading]
    for number in range(hours):
        begin = start + timedelta(hours=number)
        lines.append(f"{begin + timedelta(hours=1):%Y-%m-%d %H:%M},{','.join(str(value) for value in values(begin))}")
    (folder / "rooms.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def rooms(begin):
    """Both swing with the sun; A is 1.5 K colder from 1 June on, and reads 0.2 K low."""
    control = 24.0 + (begin.hour >= 12) * 2.0 + begin.day * 0.1
    return round(control - 0.2 - 1.5 * (begin >= datetime(2026, 6, 1)), 3), round(control, 3)


def test_the_whole_way_from_file_to_words(tmp_path):
    write_rooms(tmp_path, datetime(2026, 5, 20), 24 * 24, rooms)
    block = {**BLOCK, "like_from": "2026-05-21 00:00", "like_to": "2026-05-31 12:00"}
    found = twin_results(site_with(tmp_path, block))
    effect = found.pairs[0].effect
    assert (effect.effect, effect.days, effect.like_days) == (pytest.approx(-1.5), 10, 10)
    assert effect.verdict == "lower"
    assert not found.findings
    row = found.rows[0]
    assert "1.50 K (90 % range 1.50 to 1.50) colder by the cooling, by 10 days" in row["words"]
    assert "2.70 °F (90 % range 2.70 to 2.70) colder by the cooling, by 10 days" in row["words_ip"]
    json.dumps(row)
    assert found.inputs[0]["use"] == "pair: test rooms"
    # means of whole local days: 24 + 1 + 0.1 x day
    assert found.pairs[0].series.cooled.control[0] == pytest.approx(25.1)


def test_the_how_to_s_two_huts_differ_by_what_it_says():
    page = (Path(__file__).parent.parent / "docs" / "how_to" / "compare_two_rooms.md").read_text(encoding="utf-8")
    like_a, like_b, a, b = (np.array(row.split("|")[:-1], dtype=float)
                            for row in re.findall(r"^\| hut [AB] \|(.*)$", page, re.MULTILINE))
    both = twin_effect(a, b, like_a, like_b, PairDoubt(offset=0.3, pair=0.5))
    alone = twin_effect(a, b, None, None, PairDoubt(offset=0.3, pair=0.5))
    page = page.replace("\n> ", " ").replace("\n", " ")
    said = f"{-both.effect:.2f} K (90 % range {-both.high:.2f} to {-both.low:.2f})"
    assert said in page
    assert f"by {both.days} days held against {both.like_days} days" in page
    assert f"say {-alone.effect:.2f} K, from {-alone.high:.2f} to {-alone.low:.2f}" in page


def test_days_that_are_not_complete_are_left_out(tmp_path):
    def gappy(begin):
        return (*rooms(begin)[:1], "") if begin.day == 4 and begin.hour in (3, 4, 5) else rooms(begin)

    write_rooms(tmp_path, datetime(2026, 5, 31), 24 * 12, gappy)
    block = {**BLOCK, "cooled_from": "2026-06-01 10:00"}
    site, gather = site_with(tmp_path, block), Gather()
    series = read_twin(site, site.twin[0], gather)
    known = series.cooled.days[np.isfinite(series.cooled.cooled)]
    assert [str(day)[8:] for day in known] == ["02", "03", "05", "06", "07", "08", "09", "10"]
    assert [finding.code for finding in gather.findings if finding.code.startswith("twin.")] == ["twin.day-incomplete"]
    assert gather.findings[-1].data["first"] == "2026-06-04"


def test_a_day_of_25_hours_is_one_day(tmp_path):
    """Electricity of 1 kWh every hour: 25 kWh on the day on which clocks go back (1 November 2026), 24 otherwise."""
    lines = ["Time,A,B"]
    for number in range(24 * 4 + 1):
        at = datetime(2026, 10, 30, 4) + timedelta(hours=number + 1)  # midnight in New York is 04:00 UTC
        lines.append(f"{at:%Y-%m-%dT%H:%M}Z,0.5,1.0")
    (tmp_path / "rooms.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    block = {**BLOCK, "quantity": "electricity", "unit": "kWh", "time_zone": "UTC",
             "cooled_from": "2026-10-30 00:00", "cooled_to": "2026-11-03 00:00"}
    site, gather = site_with(tmp_path, block), Gather()
    series = read_twin(site, site.twin[0], gather)
    assert series.cooled.control == pytest.approx([24.0, 24.0, 25.0, 24.0])
    assert series.cooled.cooled == pytest.approx([12.0, 12.0, 12.5, 12.0])


def test_instruments_that_changed_places(tmp_path):
    """From 6 June on column A hangs in the room that is not cooled, and still reads 0.2 K low."""
    def moved(begin):
        cooled, control = rooms(begin)
        return (control - 0.2, cooled + 0.2) if begin >= datetime(2026, 6, 6) else (cooled, control)

    write_rooms(tmp_path, datetime(2026, 5, 31), 24 * 13, moved)
    block = {**BLOCK, "cooled_to": "2026-06-13 00:00", "swapped_on": "2026-06-06", "like_difference": 0.0}
    with pytest.raises(LogProblems, match=r'add columns_follow = "instrument" to twin[.]1'):
        twin_results(site_with(tmp_path, block))
    found = twin_results(site_with(tmp_path, {**block, "columns_follow": "instrument"}))
    effect = found.pairs[0].effect
    assert effect.effect == pytest.approx(-1.5)
    assert effect.systematic == 0.0
    assert effect.days == 11  # 5 before, 6 since; the day of the change not
    assert [finding.code for finding in found.findings] == ["twin.day-incomplete", "twin.no-like-days"]


def test_electricity_of_two_buildings(tmp_path):
    def meters(begin):
        return (2.0 if begin >= datetime(2026, 6, 1) else 2.6), 2.5

    write_rooms(tmp_path, datetime(2026, 5, 20), 24 * 24, meters)
    block = {**BLOCK, "quantity": "electricity", "unit": "kW", "like_from": "2026-05-20 00:00",
             "like_to": "2026-05-31 00:00"}
    found = twin_results(site_with(tmp_path, block))
    effect = found.pairs[0].effect
    assert (effect.effect, effect.level) == (pytest.approx(-14.4), pytest.approx(60.0))  # 48 - 60 - (62.4 - 60)
    assert "the cooled one used 14.40 kWh (90 % range" in found.rows[0]["words"]
    alone = twin_results(site_with(tmp_path, {key: value for key, value in block.items() if "like" not in key}))
    # 2 % of 60 and 10 % of 60
    assert alone.pairs[0].effect.systematic == pytest.approx(np.hypot(1.2, 6.0))


def test_like_days_in_other_weather_are_told(tmp_path):
    def seasons(begin):
        control = 20.0 if begin < datetime(2026, 6, 1) else 27.0
        return control - (begin >= datetime(2026, 6, 1)), control

    write_rooms(tmp_path, datetime(2026, 5, 20), 24 * 24, seasons)
    block = {**BLOCK, "like_from": "2026-05-20 00:00", "like_to": "2026-05-31 00:00"}
    codes = [finding.code for finding in twin_results(site_with(tmp_path, block)).findings]
    assert "twin.weather-differs" in codes


def test_a_drifting_pair_is_told(tmp_path):
    def drifting(begin):
        day = (begin - datetime(2026, 5, 31)).days
        return 22.0 + 0.01 * day, 25.0

    write_rooms(tmp_path, datetime(2026, 5, 31), 24 * 120, drifting)
    found = twin_results(site_with(tmp_path, {**BLOCK, "cooled_to": "2026-09-20 00:00"}))
    assert "twin.days-alike" in [finding.code for finding in found.findings]
    assert found.rows[0]["verdict"] == "cannot tell"


def test_problems_of_entries_and_units_come_together(tmp_path):
    write_rooms(tmp_path, datetime(2026, 5, 20), 24 * 24, rooms)
    site = site_with(
        tmp_path, {**BLOCK, "cooled_to": "2026-05-30 00:00", "like_from": "2026-05-21 00:00"},
        {**BLOCK, "name": "b", "unit": "kWh"}, {**BLOCK, "name": "c", "control_column": "C"},
        {**BLOCK, "name": "d", "like_from": "2026-06-02 00:00", "like_to": "2026-06-04 00:00"})
    with pytest.raises(LogProblems) as caught:
        twin_results(site)
    told = [str(problem) for problem in caught.value.problems]
    assert len(told) == 5
    assert "add like_to" in told[0]
    assert "is not after" in told[1]
    assert "twin.2.unit" in told[2]
    assert "twin.3.control_column" in told[3]
    assert "lies over the time when one was" in told[4]


def test_fahrenheit_taken_for_celsius_is_refused(tmp_path):
    write_rooms(tmp_path, datetime(2026, 5, 31), 24 * 12, lambda begin: (75.2, 77.0))
    with pytest.raises(LogProblems, match=r"twin[.]1[.]unit"):
        twin_results(site_with(tmp_path, BLOCK))
    found = twin_results(site_with(tmp_path, {**BLOCK, "unit": "degF"}))
    assert found.pairs[0].effect.effect == pytest.approx(-1.0)
