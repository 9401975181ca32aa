"""Use against outdoor temperature, what was saved since a change, and the reading of bills and meters behind it."""

from __future__ import annotations

import gzip
import io
import itertools
import json
import re
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from outside_data import member, or_skip
from scipy import optimize
from small_site import RECORD

from sprayroof.errors import LogProblems
from sprayroof.evidence.bills import BillSeries, read_bills
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.site import read_site, site_from_dict
from sprayroof.model.bill_words import words
from sprayroof.model.change_point import ChangePoint, fit_change_point
from sprayroof.model.saving import published_uncertainty, saving
from sprayroof.model.week_rhythm import has_week_rhythm, whole_weeks
from sprayroof.model.whole_building import judge, whole_building

ROOT = Path(__file__).parent.parent
DAYS = np.array([31, 28, 33, 30, 29, 32, 31, 27, 35, 30, 28, 31, 30, 33], dtype=float)
WARMTH_C = np.array([2.0, 4.5, 8.0, 12.2, 17.3, 21.9, 25.4, 26.8, 22.7, 16.6, 10.1, 5.2, 3.0, 19.4])


def hinge(t_out_C, base=90.0, slope=4.7, change_C=14.31, heating=0.0, heating_C=-99.0):
    return base + slope * np.maximum(t_out_C - change_C, 0.0) + heating * np.maximum(heating_C - t_out_C, 0.0)


# --- the line -----------------------------------------------------------------------------------------------------


def test_exact_periods_give_their_line_and_no_doubt_but_unrelated_use():
    line = fit_change_point(hinge(WARMTH_C) * DAYS, DAYS, WARMTH_C)
    assert [line.base_per_day, line.slope_per_day_K, line.change_C] == pytest.approx([90.0, 4.7, 14.31], rel=1e-6)
    assert line.cv_rmse < 1e-8
    assert not line.heats
    # One day of 20 degC and one of 10: 90 + 4.7 x 5.69 = 116.743, and 90. 10 % less of both is saved.
    result = saving(line, np.array([0.9 * 116.743, 81.0]), np.ones(2), np.array([20.0, 10.0]))
    assert result.saved == pytest.approx(20.6743, rel=1e-6)
    assert result.high - result.saved == pytest.approx(0.03 * 206.743, rel=1e-5)
    assert result.shares["unrelated use"] == pytest.approx(1.0)
    assert result.saved_frac == pytest.approx(0.1)


def test_a_line_without_a_level_has_two_parameters():
    warm = WARMTH_C + 12.0
    line = fit_change_point((40.0 + 3.0 * warm) * DAYS, DAYS, warm)
    assert line.free == (True, True, False, False, False)
    assert line.change_C == warm.min()
    assert line.base_per_day == pytest.approx(40.0 + 3.0 * warm.min())
    assert line.use_per_day(np.array([30.0])) == pytest.approx(130.0)


def test_a_machine_that_rests_in_the_cold_has_a_level_of_zero():
    line = fit_change_point(hinge(WARMTH_C, base=0.0) * DAYS, DAYS, WARMTH_C)
    assert [line.base_per_day, line.slope_per_day_K, line.change_C] == pytest.approx([0.0, 4.7, 14.31], abs=1e-6)


def test_heating_has_a_line_of_its_own():
    use = hinge(WARMTH_C, heating=2.5, heating_C=9.2)
    line = fit_change_point(use * DAYS, DAYS, WARMTH_C)
    assert line.heats
    assert line.parameters == pytest.approx([90.0, 4.7, 14.31, 2.5, 9.2], rel=1e-5)


def test_use_that_only_falls_with_temperature_has_no_line():
    assert fit_change_point((200.0 - 4.0 * WARMTH_C) * DAYS, DAYS, WARMTH_C) is None


def test_scatter_alone_is_not_taken_for_heating():
    random = np.random.default_rng(5)
    heats = [fit_change_point(hinge(WARMTH_C) * DAYS * (1.0 + 0.06 * random.standard_normal(14)), DAYS, WARMTH_C).heats
             for _ in range(40)]
    assert sum(heats) <= 4


@pytest.mark.parametrize("seed", range(4))
def test_the_line_is_that_of_scipy_through_the_same_points(seed):
    """Levenberg and Marquardt's curve_fit with the final weights, from three starts."""
    random = np.random.default_rng(seed)
    t_out_C = random.uniform(0.0, 30.0, 60)
    days = random.integers(27, 36, 60).astype(float)
    per_day = hinge(t_out_C) * (1.0 + 0.05 * random.standard_normal(60))
    line = fit_change_point(per_day * days, days, t_out_C)
    sigma = np.sqrt(line.use_per_day(t_out_C) / days)
    fits = [optimize.curve_fit(hinge, t_out_C, per_day, start, sigma)
            for start in ((80.0, 4.0, 12.0), (95.0, 6.0, 16.0), (90.0, 5.0, 14.0))]
    best = min((fit[0] for fit in fits), key=lambda found: (((per_day - hinge(t_out_C, *found)) / sigma) ** 2).sum())
    there = np.linspace(0.0, 30.0, 7)
    assert line.use_per_day(there) == pytest.approx(hinge(there, *best), rel=0.004)
    spread = np.sqrt(np.diag(optimize.curve_fit(hinge, t_out_C, per_day, best, sigma)[1]))
    rough = np.sqrt(np.diag(line.covariance_even) * (1.0 - line.rho) / (1.0 + line.rho))
    assert rough == pytest.approx(spread, rel=0.02)


def hanging_together(count=60):
    """Periods whose scatter hangs together, and the line through them."""
    random = np.random.default_rng(11)
    t_out_C = 14.0 + 12.0 * np.sin(np.arange(count) / 5.0) + random.uniform(-2.0, 2.0, count)
    days = random.integers(27, 36, count).astype(float)
    per_day = hinge(t_out_C) * (1.0 + 0.05 * correlated(random, count, 0.4))
    return per_day, days, t_out_C, fit_change_point(per_day * days, days, t_out_C)


def test_closeness_and_neighbours_of_a_line_by_their_definitions():
    per_day, days, t_out_C, line = hanging_together()
    n, p = 60, 3
    assert line.free == (True, True, True, False, False)
    missed = per_day - hinge(t_out_C, line.base_per_day, line.slope_per_day_K, line.change_C)
    mean = (days * per_day).sum() / days.sum()
    assert line.cv_rmse == pytest.approx(np.sqrt((days * missed**2).sum() / days.sum() * n / (n - p)) / mean)
    even = missed * np.sqrt(days / line.use_per_day(t_out_C))
    rho = (even[1:] * even[:-1]).sum() / (even**2).sum() + p / n
    assert 0.2 < rho < 0.7
    assert line.rho == pytest.approx(rho)
    assert line.n_effective == pytest.approx(n * (1.0 - rho) / (1.0 + rho))


def test_the_covariance_is_newey_and_west_s():
    """By the double sum over all pairs of periods, the derivatives of the line by differences."""
    per_day, days, t_out_C, line = hanging_together()
    fitted, shift = line.use_per_day(t_out_C), 1e-5
    moved = [replace(line, **{name: getattr(line, name) + shift}).use_per_day(t_out_C)
             for name in ("base_per_day", "slope_per_day_K", "change_C")]
    slopes = np.column_stack([(one - fitted) / shift for one in moved])
    weight = days / fitted
    score = slopes * (weight * (per_day - fitted))[:, None]
    apart = np.abs(np.subtract.outer(np.arange(60), np.arange(60)))
    reach = int(max(60.0 ** (1.0 / 3.0), 1.1447 * (4.0 * line.rho**2 / (1.0 - line.rho**2) ** 2 * 60.0) ** (1.0 / 3.0)))
    assert reach >= 3
    bread = np.linalg.inv(slopes.T @ (slopes * weight[:, None]))
    meat = score.T @ np.maximum(1.0 - apart / (reach + 1.0), 0.0) @ score
    assert line.covariance == pytest.approx(bread @ meat @ bread * 60.0 / 57.0, rel=1e-3)


def test_the_larger_covariance_counts():
    small, large = np.diag([1.0, 0.0, 0.0]), np.diag([4.0, 0.0, 0.0])
    # ten days: the level alone moves the sum by 10 each unit, so the variance is 100 times that of the level
    for one, other in ((small, large), (large, small)):
        line = a_line(covariance=one, covariance_even=other)
        assert line.variance_of_sum(np.full(10, 1.0), np.full(10, 10.0)) == pytest.approx(400.0)


def test_a_change_point_rests_on_three_periods_on_either_side():
    """Two hot bills alone make no line of their own."""
    use = hinge(WARMTH_C, change_C=23.0)
    assert (WARMTH_C > 23.0).sum() == 2
    line = fit_change_point(use * DAYS, DAYS, WARMTH_C)
    assert (line.change_C < WARMTH_C).sum() >= 3
    assert (line.change_C >= WARMTH_C).sum() >= 3


def a_line(**changes) -> ChangePoint:
    plain = {"base_per_day": 90.0, "slope_per_day_K": 5.0, "change_C": 15.0, "heating_slope_per_day_K": 0.0,
             "heating_C": -273.15, "free": (True, True, True, False, False), "covariance": np.zeros((3, 3)),
             "covariance_even": np.zeros((3, 3)), "dispersion": 0.0, "dispersion_relative": 0.0, "rho": 0.0,
             "cv_rmse": 0.05, "n": 12, "n_effective": 12.0, "coldest_C": 0.0, "warmest_C": 30.0}
    return ChangePoint(**{**plain, **changes})


def test_both_published_forms_by_hand():
    """t of 90 % and 12 - 3 = 9 degrees of freedom is 1.833 in print; 1.26 x 1.833 x 0.05 / 0.1 = 1.1548.

    Alone: x sqrt((1 + 2/12) / 12) = 0.3118 -> 0.3601. With n' = 4: x sqrt(12/4 x (1 + 2/4) / 12) = 0.6124 -> 0.7072.
    """
    alone = published_uncertainty(a_line(), 0.1, 12)
    assert alone.independent == pytest.approx(0.3601, abs=2e-4)
    assert alone.correlated == alone.independent
    together = published_uncertainty(a_line(rho=0.5, n_effective=4.0), 0.1, 12)
    assert together.correlated == pytest.approx(0.7072, abs=4e-4)
    assert published_uncertainty(a_line(), -0.1, 12) is None


def test_days_that_hang_together_by_hand():
    """Ten days of 90 kWh with a variance of 0.4 kWh x use: 360 kWh2 alone, x (1 + 0.5) / (1 - 0.5) = 1080.

    t of 30 - 3 = 27 degrees of freedom is 1.703 in print; 1.703 x sqrt(1080) = 55.97; unrelated 0.03 x 900 = 27.
    """
    line = a_line(dispersion=0.4, dispersion_relative=0.001, rho=0.5, n=90, n_effective=30.0)
    result = saving(line, np.full(10, 80.0), np.ones(10), np.full(10, 10.0))
    assert result.saved == pytest.approx(100.0)
    assert result.high - 100.0 == pytest.approx(np.hypot(55.97, 27.0), rel=2e-4)
    assert result.shares["days"] == pytest.approx(55.97**2 / (55.97**2 + 27.0**2), rel=1e-3)


# --- does the range hold what it says? ----------------------------------------------------------------------------


def correlated(random, count, rho):
    """Noise of unit spread whose neighbours hang together."""
    noise = random.standard_normal(count)
    for place in range(1, count):
        noise[place] = rho * noise[place - 1] + np.sqrt(1.0 - rho**2) * noise[place]
    return noise


def invented_days(random, count, scatter, rho):
    """Outdoor temperature and use of days, seasonal and by chance."""
    number = np.arange(count)
    t_out_C = 14.0 - 11.0 * np.cos(2.0 * np.pi * (number - 20) / 365.25) + 3.2 * correlated(random, count, 0.75)
    return t_out_C, hinge(t_out_C, 100.0, 6.0, 15.0) * (1.0 + scatter * correlated(random, count, rho))


def by_bills(random, use, t_out_C):
    edges = np.cumsum(random.integers(28, 35, 40))
    edges = np.concatenate([[0], edges[edges < len(use)]])
    pairs = list(itertools.pairwise(edges))
    return (np.array([use[a:b].sum() for a, b in pairs]), np.array([b - a for a, b in pairs], dtype=float),
            np.array([t_out_C[a:b].mean() for a, b in pairs]))


@pytest.mark.parametrize(("every", "scatter", "rho"), [("bill", 0.2, 0.8), ("day", 0.15, 0.5)])
def test_ninety_of_a_hundred_ranges_hold_the_truth(every, scatter, rho):
    """A tenth saved, days that hang together, and a change of use by the way with the spread that is allowed for."""
    random = np.random.default_rng(11)
    held = 0
    for _ in range(100):
        t_out_C, use = invented_days(random, 760, scatter, rho)
        by_the_way = 1.0 + 0.03 / 1.645 * random.standard_normal()
        before, after = slice(0, 400), slice(400, 760)
        used = 0.9 * by_the_way * use[after]
        if every == "bill":
            line = fit_change_point(*by_bills(random, use[before], t_out_C[before]))
            periods = by_bills(random, used, t_out_C[after])
        else:
            line = fit_change_point(use[before], np.ones(400), t_out_C[before])
            periods = used, np.ones(360), t_out_C[after]
        result = saving(line, *periods)
        held += result.low <= result.used / 0.9 * 0.1 <= result.high
    assert 85 <= held <= 97


# --- laws ---------------------------------------------------------------------------------------------------------


noisy = st.integers(0, 2**32 - 1).map(lambda seed: 1.0 + 0.04 * np.random.default_rng(seed).standard_normal(14))


@settings(max_examples=25, deadline=None)
@example(1.0 + 0.04 * np.random.default_rng(202).standard_normal(14), 1.0, 1.25)  # two valleys for a heating line
@example(1.0 + 0.04 * np.random.default_rng(26).standard_normal(14), 1.0, -7.37)
@given(noisy, st.floats(0.01, 1000.0), st.floats(-15.0, 15.0))
def test_unit_of_use_and_zero_of_temperature_do_not_matter(noise, factor, shift_K):
    use = hinge(WARMTH_C) * DAYS * noise
    later = np.array([2900.0, 3600.0]), np.array([30.0, 31.0]), np.array([12.0, 22.0])
    plain = saving(fit_change_point(use, DAYS, WARMTH_C), *later)
    moved = saving(fit_change_point(factor * use, DAYS, WARMTH_C + shift_K), factor * later[0], later[1],
                   later[2] + shift_K)
    # the search begins on a grid of temperatures, so that the best line may be found from another side
    assert moved.saved == pytest.approx(factor * plain.saved, abs=factor * 0.001 * plain.expected)
    assert moved.high - moved.low == pytest.approx(factor * (plain.high - plain.low), rel=0.15)


@settings(max_examples=25, deadline=None)
@given(noisy)
def test_parts_of_the_range_add_up_and_more_use_is_less_saving(noise):
    line = fit_change_point(hinge(WARMTH_C) * DAYS * noise, DAYS, WARMTH_C)
    result = saving(line, np.array([2500.0]), np.array([30.0]), np.array([20.0]))
    more = saving(line, np.array([2600.0]), np.array([30.0]), np.array([20.0]))
    assert sum(result.shares.values()) == pytest.approx(1.0)
    assert result.saved - more.saved == pytest.approx(100.0)
    assert result.high - result.low == pytest.approx(more.high - more.low)
    assert result.low < result.saved < result.high


# --- files --------------------------------------------------------------------------------------------------------

BLOCK = {"name": "hall meter", "covers": "building", "file": "bills.csv", "unit": "kWh", "amount_column": "kWh",
         "from_column": "From", "to_column": "To", "temperature_file": "warmth.csv", "temperature_column": "C"}
FIRST = date(2023, 1, 1)


def bill_files(folder, lengths, use, warmth_C, start=FIRST):
    """Bills that follow each other, and their temperatures."""
    edges = [start + timedelta(days=int(days)) for days in np.concatenate([[0], np.cumsum(lengths)])]
    rows = [(first, last - timedelta(days=1)) for first, last in itertools.pairwise(edges)]
    for name, heading, values in (("bills.csv", "kWh", use), ("warmth.csv", "C", warmth_C)):
        cells = zip(rows, map(float, values), strict=True)
        lines = [f"From,To,{heading}", *(f"{a},{b},{value!r}" for (a, b), value in cells)]
        (folder / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    return edges


def site_with(folder, *blocks, **sections):
    return site_from_dict({**RECORD, "bills": list(blocks), **sections}, folder)


def test_bills_that_fall_by_an_eighth_since_a_day(tmp_path):
    lengths = np.tile(DAYS, 2)
    use = hinge(np.tile(WARMTH_C, 2)) * lengths
    use[14:] *= 0.875
    edges = bill_files(tmp_path, lengths, use, np.tile(WARMTH_C, 2))
    found = whole_building(site_with(tmp_path, {**BLOCK, "changed_on": edges[14]}))
    meter = found.meters[0]
    expected = float((hinge(WARMTH_C) * DAYS).sum())
    assert meter.saving.saved == pytest.approx(expected / 8.0, rel=1e-6)
    assert meter.saving.high == pytest.approx(expected * (0.125 + 0.03), rel=1e-5)
    assert (meter.verdict, meter.cv_met, meter.every) == ("less", True, "bill")
    assert not found.findings
    row = found.rows[0]
    assert row["saving"]["saved_frac"] == pytest.approx(0.125)
    assert "12 % of what was to be expected. Less was used" in row["words"]
    json.dumps(row)
    assert [entry["file"] for entry in found.inputs] == ["bills.csv", "warmth.csv"]


def test_a_period_that_holds_the_change_is_on_neither_side(tmp_path):
    edges = bill_files(tmp_path, np.tile(DAYS, 2), hinge(np.tile(WARMTH_C, 2)) * np.tile(DAYS, 2), np.tile(WARMTH_C, 2))
    found = whole_building(site_with(tmp_path, {**BLOCK, "changed_on": edges[14] + timedelta(days=3)}))
    assert [finding.code for finding in found.findings] == ["bills.change-inside"]
    assert found.meters[0].is_after.tolist() == [False] * 14 + [True] * 13
    assert found.meters[0].verdict == "cannot tell"  # nothing was saved, and the range says so
    assert found.meters[0].saving.saved == pytest.approx(0.0, abs=1e-3)


def test_a_meter_without_a_change_has_its_line_only(tmp_path):
    bill_files(tmp_path, DAYS, hinge(WARMTH_C) * DAYS, WARMTH_C)
    meter = whole_building(site_with(tmp_path, BLOCK)).meters[0]
    assert (meter.verdict, meter.saving, meter.published) == ("", None, None)
    assert meter.line.slope_per_day_K == pytest.approx(4.7)
    # by hand: 4.7 / 1.8 = 2.611 a degree Fahrenheit, 1.8 x 14.31 + 32 = 57.76 degF
    assert words(meter) == ("Hall meter (building): 90.0 kWh a day, 4.70 kWh more a day for each kelvin above 14.3 °C "
                            "outdoors.")
    assert words(meter, "ip") == ("Hall meter (building): 90.0 kWh a day, 2.61 kWh more a day for each degree "
                                  "Fahrenheit above 57.8 °F outdoors.")


def test_water_is_told_in_cubic_metres_or_us_gallons(tmp_path):
    use = hinge(np.tile(WARMTH_C, 2)) * np.tile(DAYS, 2)
    use[14:] *= 0.875
    edges = bill_files(tmp_path, np.tile(DAYS, 2), use, np.tile(WARMTH_C, 2))
    block = {**BLOCK, "covers": "mains water", "unit": "m3"}
    saved = float((hinge(WARMTH_C) * DAYS).sum()) / 8.0
    row = whole_building(site_with(tmp_path, {**block, "changed_on": edges[14]})).rows[0]
    for name, factor, unit in (("words", 1.0, "m³"), ("words_ip", 264.1720524, "US gal")):
        told = re.search(rf"That is ([\d\u00a0]+) {unit} less", row[name])
        assert float(told[1].replace("\u00a0", "")) == pytest.approx(factor * saved, rel=0.01)
    bill_files(tmp_path, DAYS, hinge(WARMTH_C) * DAYS, WARMTH_C)
    line = whole_building(site_with(tmp_path, block)).rows[0]["words_ip"]
    # by hand: 90 x 264.17 = 23 775, 4.7 / 1.8 x 264.17 = 689.8
    assert "23\u00a0800 US gal a day, 690 US gal more a day for each degree Fahrenheit" in line


def test_more_use_is_called_more(tmp_path):
    use = hinge(np.tile(WARMTH_C, 2)) * np.tile(DAYS, 2)
    use[14:] *= 1.2
    edges = bill_files(tmp_path, np.tile(DAYS, 2), use, np.tile(WARMTH_C, 2))
    found = whole_building(site_with(tmp_path, {**BLOCK, "changed_on": edges[14]}))
    assert found.meters[0].verdict == "more"
    assert "kWh more (90 % range" in found.rows[0]["words"]


def test_a_loose_line_gives_no_verdict(tmp_path):
    use = hinge(np.tile(WARMTH_C, 2)) * np.tile(DAYS, 2) * np.where(np.arange(28) % 2 == 0, 1.35, 0.65)
    use[14:] *= 0.2
    edges = bill_files(tmp_path, np.tile(DAYS, 2), use, np.tile(WARMTH_C, 2))
    found = whole_building(site_with(tmp_path, {**BLOCK, "changed_on": edges[14]}))
    assert found.meters[0].saving.low > 0.0
    assert not found.meters[0].cv_met
    assert found.meters[0].verdict == "cannot tell"
    assert "bills.line-loose" in [finding.code for finding in found.findings]


@pytest.mark.parametrize(("factor", "said"), [
    (0.0009, "1.11e+03 times less, about 1000 times"), (0.09, "11.1 times less, about 10 times"),
    (9.0, "9 times more, about 10 times")])
@pytest.mark.parametrize("covers", ["building", "air conditioner"])
def test_another_unit_or_multiplier_since_the_change_stops(tmp_path, factor, said, covers):
    """A tenth less was used; the rest is MWh for kWh, or a multiplier of ten."""
    use = hinge(np.tile(WARMTH_C, 2)) * np.tile(DAYS, 2)
    use[14:] *= factor
    edges = bill_files(tmp_path, np.tile(DAYS, 2), use, np.tile(WARMTH_C, 2))
    block = {**BLOCK, "covers": covers, "changed_on": edges[14]}
    with pytest.raises(LogProblems, match=r"amounts_checked = true to bills\.1") as caught:
        whole_building(site_with(tmp_path, block))
    assert said in str(caught.value.problems[0])
    checked = whole_building(site_with(tmp_path, {**block, "amounts_checked": True})).meters[0]
    assert checked.verdict == ("less" if factor < 1.0 else "more")


def test_no_verdict_rests_on_a_bill_far_from_the_others(tmp_path):
    use = hinge(np.tile(WARMTH_C, 2)) * np.tile(DAYS, 2)
    use[14:] *= 0.8
    use[20] /= 10.0
    edges = bill_files(tmp_path, np.tile(DAYS, 2), use, np.tile(WARMTH_C, 2))
    found = whole_building(site_with(tmp_path, {**BLOCK, "changed_on": edges[14]}))
    assert [finding.code for finding in found.findings] == ["bills.odd-amount"]
    assert found.meters[0].saving.low > 0.0
    assert found.meters[0].verdict == "cannot tell"
    assert "amounts far from the usual use stand among the bills, unchecked" in found.rows[0]["words"]
    checked = whole_building(site_with(tmp_path, {**BLOCK, "changed_on": edges[14], "amounts_checked": True}))
    assert (checked.meters[0].verdict, checked.findings) == ("less", [])


def test_too_few_bills_and_a_hotter_summer_are_told(tmp_path):
    edges = bill_files(tmp_path, DAYS, hinge(WARMTH_C) * DAYS, WARMTH_C)
    few = whole_building(site_with(tmp_path, {**BLOCK, "changed_on": edges[5]}))
    assert [finding.code for finding in few.findings] == ["bills.few-periods"]
    assert few.meters[0].line is None
    hot = WARMTH_C.copy()
    hot[10:13] = 31.0
    edges = bill_files(tmp_path, DAYS, hinge(hot) * DAYS, hot)
    found = whole_building(site_with(tmp_path, {**BLOCK, "changed_on": edges[10]}))
    codes = [finding.code for finding in found.findings]
    assert codes == ["bills.baseline-short", "bills.weather-beyond"]  # 306 days; 31 is more than 3 K above 26.8


@pytest.mark.parametrize(("before", "after", "few"), [(8, 5, True), (9, 3, False), (9, 2, True)])
def test_nine_bills_before_and_three_since_are_enough(tmp_path, before, after, few):
    count = before + after
    edges = bill_files(tmp_path, DAYS[:count], hinge(WARMTH_C[:count]) * DAYS[:count], WARMTH_C[:count])
    found = whole_building(site_with(tmp_path, {**BLOCK, "changed_on": edges[before]}))
    assert ("bills.few-periods" in [finding.code for finding in found.findings]) is few
    assert (found.meters[0].saving is None) is few


def test_days_may_miss_the_line_by_three_tenths():
    """20 % is allowed by days (as by hours) and would not be by months."""
    random = np.random.default_rng(2)
    t_out_C = 12.0 + 12.0 * np.sin(np.arange(400) / 58.0)
    use = hinge(t_out_C) * (1.0 + 0.2 * random.standard_normal(400)) * np.where(np.arange(400) < 365, 1.0, 0.5)
    days = np.datetime64("2024-01-01", "D") + np.arange(400)
    meter = judge(daily_series(days, use, t_out_C, date(2024, 12, 31)), Gather())
    assert meter.every == "day"
    assert 0.15 < meter.line.cv_rmse < 0.30
    assert meter.verdict == "less"


def test_all_problems_of_all_meters_come_at_once(tmp_path):
    bill_files(tmp_path, DAYS, hinge(WARMTH_C) * DAYS, WARMTH_C)
    site = site_with(tmp_path, {**BLOCK, "file": "lost.csv"}, {**BLOCK, "name": "b", "netted": True},
                     {**BLOCK, "name": "c", "unit": "m3"}, {**BLOCK, "name": "d", "amount_column": "MWh"})
    with pytest.raises(LogProblems) as caught:
        whole_building(site)
    told = [str(problem) for problem in caught.value.problems]
    assert len(told) == 4
    assert "bills.1.file: there is no file lost.csv" in told[0]
    assert 'add solar_file = "bills/solar.csv" to bills.2' in told[1]
    assert "bills.3.unit" in told[2]
    assert "bills.4.amount_column" in told[3]


def test_two_meters_of_a_building_are_told_apart(tmp_path):
    bill_files(tmp_path, DAYS, hinge(WARMTH_C) * DAYS, WARMTH_C)
    found = whole_building(site_with(tmp_path, BLOCK, {**BLOCK, "name": "yard meter"}))
    assert [finding.code for finding in found.findings] == ["bills.several-meters"]
    assert len(found.rows) == 2


def test_mains_water_is_counted_in_cubic_metres(tmp_path):
    bill_files(tmp_path, DAYS, hinge(WARMTH_C) * DAYS, WARMTH_C)
    block = {**BLOCK, "covers": "mains water", "unit": "100 ft3"}
    meter = whole_building(site_with(tmp_path, block)).meters[0]
    assert meter.series.unit == "m3"
    assert meter.line.base_per_day == pytest.approx(90.0 * 2.8316846592)  # 0.3048^3 x 100


# --- any way to write the same bills gives the same periods --------------------------------------------------------


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.integers(20, 45), min_size=3, max_size=14), st.randoms(use_true_random=False), st.booleans())
def test_order_of_rows_estimates_and_copies_do_not_change_the_sum(tmp_path, lengths, chance, by_reading_days):
    edges = [FIRST + timedelta(days=sum(lengths[:count])) for count in range(len(lengths) + 1)]
    amounts = [chance.randint(100, 5000) for _ in lengths]
    guessed = [chance.random() < 0.3 for _ in lengths[:-1]] + [False]
    written = list(amounts)
    for place, guess in enumerate(guessed):
        if guess:  # a reading guessed a little high, made good by the next bill
            written[place] += 20
            written[place + 1] -= 20
    back = 0 if by_reading_days else 1
    rows = [f"{a},{b - timedelta(days=back)},{kWh},{'E' if guess else 'A'}"
            for (a, b), kWh, guess in zip(itertools.pairwise(edges), written, guessed, strict=True)]
    rows += [chance.choice(rows)]
    chance.shuffle(rows)
    (tmp_path / "bills.csv").write_text("From,To,kWh,Read\n" + "\n".join(rows) + "\n", encoding="utf-8")
    (tmp_path / "warmth.csv").write_text("Day,C\n" + "\n".join(
        f"{FIRST + timedelta(days=day)},{20}" for day in range(sum(lengths))) + "\n", encoding="utf-8")
    block = {**BLOCK, "estimated_column": "Read", "temperature_time_column": "Day"}
    site, gather = site_with(tmp_path, block), Gather()
    series = read_bills(site, site.bills[0], None, gather)
    assert not gather.problems
    assert series.use.sum() == pytest.approx(sum(amounts))
    assert series.days.sum() == sum(lengths)
    assert len(series.days) == len(lengths) - sum(guessed)
    assert (series.starts[1:] == series.ends[:-1]).all()


# --- outdoor temperature -------------------------------------------------------------------------------------------


def measured(start, hours, t_air_C, typical=False):
    index = pd.date_range(start, periods=hours, freq="1h", tz="UTC")
    return SimpleNamespace(table=pd.DataFrame({"t_air_C": t_air_C}, index=index),
                           names={"typical_year": typical, "file": "station.csv"})


def test_measured_weather_stands_in_and_a_typical_year_never(tmp_path):
    lengths = np.array([10, 10])
    bill_files(tmp_path, lengths, [100.0, 100.0], [0.0, 0.0])
    block = {key: value for key, value in BLOCK.items() if not key.startswith("temperature")}
    site = site_with(tmp_path, block)  # on UTC-5: the days begin at 05:00 UTC
    t_air_C = np.where(np.arange(24 * 22) < 24 * 10 + 5, 8.0, 18.0)
    gather = Gather()
    series = read_bills(site, site.bills[0], measured("2023-01-01", 24 * 22, t_air_C), gather)
    assert series.t_out_C == pytest.approx([8.0, 18.0])
    assert series.temperature_from == "the measured weather of station.csv"
    assert read_bills(site, site.bills[0], measured("2023-01-01", 24 * 22, t_air_C, typical=True), gather) is None
    assert "typical year" in gather.problems[0].found


@pytest.mark.parametrize(("known_frac", "used"), [(0.95, True), (0.8, False)])
def test_nine_tenths_of_a_period_must_be_known(tmp_path, known_frac, used):
    bill_files(tmp_path, np.array([10, 10, 10]), [100.0] * 3, [0.0] * 3)
    block = {key: value for key, value in BLOCK.items() if not key.startswith("temperature")}
    site, gather = site_with(tmp_path, block), Gather()
    hours = 24 * 20 + 5 + int(known_frac * 240)  # on UTC-5: the third bill begins at 05:00 UTC of the 21st day
    series = read_bills(site, site.bills[0], measured("2023-01-01", hours, np.full(hours, 8.0)), gather)
    assert not gather.problems
    assert len(series.days) == (3 if used else 2)
    assert ("bills.no-temperature" in [finding.code for finding in gather.findings]) is not used


def test_a_source_that_knows_less_than_half_of_the_periods_is_none(tmp_path):
    bill_files(tmp_path, np.full(5, 10), [100.0] * 5, [0.0] * 5)
    block = {key: value for key, value in BLOCK.items() if not key.startswith("temperature")}
    site = site_with(tmp_path, block)
    for whole, enough in ((2, False), (3, True)):  # of five
        gather, hours = Gather(), 24 * 10 * whole + 5
        series = read_bills(site, site.bills[0], measured("2023-01-01", hours, np.full(hours, 8.0)), gather)
        assert (series is not None) is enough
        assert any(f"covers {whole} of 5 periods" in problem.found for problem in gather.problems) is not enough


def test_logged_air_comes_before_the_weather_and_one_source_serves_all(tmp_path):
    bill_files(tmp_path, np.array([10, 10]), [100.0, 100.0], [0.0, 0.0])
    block = {key: value for key, value in BLOCK.items() if not key.startswith("temperature")}
    site, gather = site_with(tmp_path, block), Gather()
    weather = measured("2022-12-25", 24 * 40, np.full(24 * 40, 9.0))

    def logs(hours):
        index = pd.date_range("2023-01-01", periods=hours, freq="1h", tz="UTC")
        table = pd.DataFrame({"air_C": np.full(hours, 9.5)}, index=index)
        return SimpleNamespace(table=table, has=lambda *columns: "air_C" in columns)

    both = read_bills(site, site.bills[0], weather, gather, logs(24 * 22))
    assert both.t_out_C == pytest.approx([9.5, 9.5])
    assert both.temperature_from == "the logged air temperature"
    short = read_bills(site, site.bills[0], weather, gather, logs(24 * 12))
    assert short.t_out_C == pytest.approx([9.0, 9.0])


def test_periods_without_temperature_are_left_out_and_told(tmp_path):
    bill_files(tmp_path, np.array([10, 10, 10]), [100.0, 110.0, 120.0], [5.0, 6.0, 7.0])
    text = (tmp_path / "warmth.csv").read_text(encoding="utf-8").splitlines()
    (tmp_path / "warmth.csv").write_text("\n".join([*text[:2], text[3]]) + "\n", encoding="utf-8")
    site, gather = site_with(tmp_path, BLOCK), Gather()
    series = read_bills(site, site.bills[0], None, gather)
    assert series.t_out_C.tolist() == [5.0, 7.0]
    assert "bills.no-temperature" in [finding.code for finding in gather.findings]


# --- meters by days and hours; workbooks ---------------------------------------------------------------------------

DAILY = {**{key: value for key, value in BLOCK.items() if key != "from_column"}, "every": "day", "to_column": "Day"}


def daily_files(folder, cells, form="%Y-%m-%d", first=date(2024, 3, 8), name="bills.csv", heading="kWh"):
    lines = [f"Day,{heading}", *(f"{first + timedelta(days=place):{form}},{cell}" for place, cell in enumerate(cells))]
    (folder / name).write_text("\n".join(lines) + "\n", encoding="utf-8")


def read_daily(folder, **changes):
    site = site_with(folder, {**DAILY, **changes}, place={**RECORD["place"], "time_zone": "America/New_York"})
    gather = Gather()
    return read_bills(site, site.bills[0], None, gather), gather


def test_a_daily_file_means_the_day_of_its_date(tmp_path):
    daily_files(tmp_path, [24, 48, 23, "", 12])
    daily_files(tmp_path, [1, 2, 3, 4, 5], name="warmth.csv", heading="C")
    series, gather = read_daily(tmp_path)
    assert [str(day) for day in series.starts] == ["2024-03-08", "2024-03-09", "2024-03-10", "2024-03-12"]
    assert series.use.tolist() == [24.0, 48.0, 23.0, 12.0]
    assert series.t_out_C.tolist() == [1.0, 2.0, 3.0, 5.0]
    assert series.days == pytest.approx([1.0, 1.0, 23.0 / 24.0, 1.0])  # an hour less on 10 March
    assert "bills.day-incomplete" in [finding.code for finding in gather.findings]
    power, _ = read_daily(tmp_path, unit="kW")
    assert power.use.tolist() == [24.0 * 24.0, 48.0 * 24.0, 23.0 * 23.0, 12.0 * 24.0]


def test_ends_at_midnight_mean_the_day_before_where_that_is_stated(tmp_path):
    daily_files(tmp_path, [24, 48, 23], form="%Y-%m-%d 00:00")
    daily_files(tmp_path, [0, 1, 2, 3], first=date(2024, 3, 7), name="warmth.csv", heading="C")
    unstated, _ = read_daily(tmp_path)
    stated, _ = read_daily(tmp_path, stamp="end")
    assert (str(unstated.starts[0]), str(stated.starts[0])) == ("2024-03-08", "2024-03-07")
    assert stated.t_out_C.tolist() == [0.0, 1.0, 2.0]


def test_what_panels_made_by_days_is_added_and_days_without_it_are_left_out(tmp_path):
    daily_files(tmp_path, [10, -4, 6])
    daily_files(tmp_path, [2, 9], name="solar.csv")
    daily_files(tmp_path, [1, 2, 3], name="warmth.csv", heading="C")
    series, gather = read_daily(tmp_path, netted=True, solar_file="solar.csv")
    assert series.use.tolist() == [12.0, 5.0]
    assert {"bills.solar-added", "bills.solar-missing"} <= {finding.code for finding in gather.findings}


def test_panels_read_a_day_later_than_the_meter_still_count(tmp_path):
    edges = bill_files(tmp_path, np.array([30, 30]), [500.0, 450.0], [10.0, 12.0])
    rows = [f"{a + timedelta(days=1)},{b},{made}" for (a, b), made in zip(itertools.pairwise(edges), (80.0, 120.0),
                                                                         strict=True)]
    (tmp_path / "solar.csv").write_text("\n".join(["From,To,kWh", *rows]) + "\n", encoding="utf-8")
    site, gather = site_with(tmp_path, {**BLOCK, "netted": True, "solar_file": "solar.csv"}), Gather()
    series = read_bills(site, site.bills[0], None, gather)
    assert not gather.problems
    assert series.use == pytest.approx([580.0, 570.0])


@pytest.mark.parametrize(("stated", "asked"), [({}, True), ({"netted": False}, False)])
def test_a_column_of_exports_by_days_is_asked_about(tmp_path, stated, asked):
    daily_files(tmp_path, [100 + day for day in range(5)])
    daily_files(tmp_path, range(5), name="warmth.csv", heading="C")
    text = (tmp_path / "bills.csv").read_text(encoding="utf-8").splitlines()
    (tmp_path / "bills.csv").write_text("\n".join(f"{line},{row or 'Export kWh'}"
                                                  for row, line in enumerate(text)) + "\n", encoding="utf-8")
    _, gather = read_daily(tmp_path, **stated)
    assert ["solar electricity" in str(problem) for problem in gather.problems] == [True] * asked


def test_several_rows_a_day_and_running_totals_are_asked_about(tmp_path):
    hours = [f"{pd.Timestamp('2024-03-04') + pd.Timedelta(hours=place):%Y-%m-%d %H:%M},{1000 + place}"
             for place in range(72)]
    (tmp_path / "bills.csv").write_text("Day,kWh\n" + "\n".join(hours) + "\n", encoding="utf-8")
    series, gather = read_daily(tmp_path, every="hour")
    assert series is None
    assert "a running total" in gather.problems[0].found
    mixed = [line.replace(",10", ",1" if place % 2 else ",2") for place, line in enumerate(hours)]
    (tmp_path / "bills.csv").write_text("Day,kWh\n" + "\n".join(mixed) + "\n", encoding="utf-8")
    series, gather = read_daily(tmp_path)
    assert series is None
    assert 'write every = "hour" at bills.1' in gather.problems[0].do


def test_bills_in_a_workbook(tmp_path):
    import openpyxl

    book = openpyxl.Workbook()
    book.active.append(["From", "To", "kWh"])
    for place in range(3):
        book.active.append([pd.Timestamp(2024, 1 + place, 1).to_pydatetime(),
                            (pd.Timestamp(2024, 2 + place, 1) - pd.Timedelta(days=1)).to_pydatetime(), 1000.5 + place])
    book.save(tmp_path / "bills.xlsx")
    daily_files(tmp_path, [7] * 120, first=date(2023, 12, 30), name="warmth.csv", heading="C")
    site, gather = site_with(tmp_path, {**BLOCK, "file": "bills.xlsx", "temperature_time_column": "Day"}), Gather()
    series = read_bills(site, site.bills[0], None, gather)
    assert series.use.tolist() == [1000.5, 1001.5, 1002.5]
    assert series.days.tolist() == [31.0, 29.0, 31.0]


# --- weeks --------------------------------------------------------------------------------------------------------


def test_whole_weeks_need_seven_days_running():
    days = np.arange(np.datetime64("2024-01-03"), np.datetime64("2024-01-31"))
    kept = np.delete(days, 9)  # one day of the second week
    assert [kept[week][0].astype(str) for week in whole_weeks(kept)] == ["2024-01-03", "2024-01-17", "2024-01-24"]


def test_a_rhythm_of_the_week_is_seen_and_chance_is_not():
    days = np.arange(np.datetime64("2024-01-01"), np.datetime64("2024-12-30"))
    noise = np.random.default_rng(3).standard_normal(len(days))
    rest = np.isin((days.astype(int) + 3) % 7, (5, 6))
    assert days[rest][0] == np.datetime64("2024-01-06")  # a Saturday
    assert has_week_rhythm(noise - 2.0 * rest, days)
    assert not has_week_rhythm(noise, days)


def daily_series(days, use, t_out_C, changed_on=None):
    return BillSeries("hall meter", "building", "bills.1", "kWh", "day", days, days + 1, np.ones(len(days)), use,
                      t_out_C, "invented", changed_on)


def test_an_office_by_days_is_taken_by_weeks_and_its_range_is_narrower():
    random = np.random.default_rng(8)
    days = np.arange(np.datetime64("2023-01-02"), np.datetime64("2024-12-30"))
    t_out_C, use = invented_days(random, len(days), 0.05, 0.3)
    use = use * np.where(np.isin((days.astype(int) + 3) % 7, (5, 6)), 0.4, 1.0)
    use[365:] *= 0.85
    gather = Gather()
    meter = judge(daily_series(days, use, t_out_C, date(2024, 1, 2)), gather)
    assert meter.every == "week"
    assert [finding.code for finding in gather.findings] == ["bills.weekly"]
    assert meter.series.days.tolist() == [7.0] * len(meter.series.days)
    assert meter.verdict == "less"
    assert meter.saving.low < 0.15 * meter.saving.expected < meter.saving.high
    by_days = saving(fit_change_point(use[:365], np.ones(365), t_out_C[:365]), use[365:], np.ones(len(days) - 365),
                     t_out_C[365:])
    assert (meter.saving.high - meter.saving.low) / meter.saving.expected < 0.7 * (
        by_days.high - by_days.low) / by_days.expected


def test_days_that_drift_slowly_give_a_range_and_no_verdict():
    """Use off by a slow wave of half a year: its neighbours say the same; off by chance alone they do not."""
    days = np.arange(np.datetime64("2023-01-02"), np.datetime64("2024-12-30"))
    t_out_C = 14.0 - 11.0 * np.cos(2.0 * np.pi * (np.arange(len(days)) - 20) / 365.25)
    wave = np.sin(2.0 * np.pi * np.arange(len(days)) / 45.0)
    saved = np.where(np.arange(len(days)) < 365, 1.0, 0.6)
    for swing, code, verdict in ((wave, ["bills.periods-alike"], "cannot tell"),
                                 (np.random.default_rng(4).standard_normal(len(days)), [], "less")):
        gather = Gather()
        use = hinge(t_out_C) * saved * (1.0 + 0.1 * swing)
        meter = judge(daily_series(days, use, t_out_C, date(2024, 1, 2)), gather)
        assert [finding.code for finding in gather.findings] == code
        assert meter.saving.low > 0.0
        assert meter.verdict == verdict


# --- the sample site and the outside check -------------------------------------------------------------------------


def test_a_week_s_temperature_is_the_mean_of_its_days():
    days = np.datetime64("2024-01-01", "D") + np.arange(70)  # a Monday
    t_out_C = 10.0 + np.arange(70) % 30
    use = np.where(np.arange(70) % 7 < 5, 400.0, 60.0) + 4.7 * t_out_C
    meter = judge(daily_series(days, use, t_out_C), Gather())
    assert meter.every == "week"
    assert meter.series.t_out_C == pytest.approx(t_out_C.reshape(10, 7).mean(axis=1))
    assert meter.series.use == pytest.approx(use.reshape(10, 7).sum(axis=1))


def test_the_bindery_s_bills_hold_what_was_truly_saved():
    truth = json.loads((ROOT / "tests" / "data_pack_truth.json").read_text(encoding="utf-8"))["bills"]
    found = whole_building(read_site(ROOT / "sample_sites" / "brindlemoor_bindery"))
    meter = found.meters[0]
    assert {finding.code for finding in found.findings} == {"bills.estimated-joined", "bills.change-inside"}
    assert meter.series.changed_on.isoformat() == truth["sprayed_from"]
    whole = [row for row in truth["each"] if row[0] >= truth["sprayed_from"]]
    assert meter.saving.used == pytest.approx(sum(row[2] for row in whole))
    assert meter.saving.low < sum(row[4] for row in whole) < meter.saving.high
    assert meter.saving.low < truth["saved_kWh"] < meter.saving.high  # with the bill that holds the change
    assert meter.verdict == "less"
    assert meter.line.cv_rmse < 0.05


EEMETER = "eemeter==4.1.1"  # Apache-2.0; invented meters over measured weather, each with a stated reduction
SAMPLES = "eemeter/eemeter/samples"


def outside_meter(folder):
    """Hourly kWh and temperatures of the sample, baseline and reporting year, as files; what is stated of them."""
    about = json.loads(member(EEMETER, f"{SAMPLES}/metadata.json"))["il-electricity-cdd-only-hourly"]
    texts = {name: gzip.decompress(member(EEMETER, f"{SAMPLES}/{name}.csv.gz")).decode("utf-8")
             for name in ("il-electricity-cdd-only-hourly", "il-tempF")}
    table = pd.read_csv(io.StringIO(texts["il-electricity-cdd-only-hourly"]))
    chosen = ((table["start"] >= "2015-12-26") & (table["start"] < "2016-12-26")) | (
        (table["start"] >= "2017-01-05") & (table["start"] < "2018-01-05"))
    table[chosen].to_csv(folder / "meter.csv", index=False)
    (folder / "warmth.csv").write_text(texts["il-tempF"], encoding="utf-8")
    return about


def test_the_range_holds_the_known_reduction_of_an_outside_meter(tmp_path):
    """10 000 kWh in the normal year of the baseline, 9 000 in that of the reporting year: a tenth less."""
    about = or_skip(outside_meter, tmp_path)
    assert (about["annual_baseline_total_load"], about["annual_reporting_total_load"]) == (10000, 9000.0)
    assert about["blackout_start_date"] == "2016-12-26"
    block = {"name": "outside meter", "covers": "building", "file": "meter.csv", "unit": about["unit"], "every": "hour",
             "amount_column": "value", "to_column": "start", "stamp": "start", "time_zone": "America/Chicago",
             "temperature_file": "warmth.csv", "temperature_column": "tempF", "temperature_unit": "degF",
             "temperature_time_column": "dt", "temperature_time_zone": "America/Chicago",
             "changed_on": date(2016, 12, 26)}
    place = {**RECORD["place"], "time_zone": "America/Chicago"}
    found = whole_building(site_with(tmp_path, block, place=place))
    meter = found.meters[0]
    assert (int((~meter.is_after).sum()), int(meter.is_after.sum())) == (366, 365)
    assert {finding.code for finding in found.findings} == {"bills.day-incomplete", "bills.line-loose"}
    low, high = meter.saving.range_frac
    assert low < 0.10 < high
    assert high - low < 0.15  # and says something
    assert meter.line.change_C == pytest.approx((65.0 - 32.0) / 1.8, abs=4.0)  # means of days, hours beneath
