"""Which week the picture of the store shows, and sums that differ by their last digits alone."""

from __future__ import annotations

import numpy as np
import pytest
from small_site import run, small_site, steady_weather, total

from sprayroof.auditing import audit
from sprayroof.model.summary import less
from sprayroof.model.weeks import typical_week

HOUR_S = 3600.0


def year(**days: tuple[slice, float, float, float]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A year of days: hours of spraying, cooling at the roof and useful cooling, set over stretches of it."""
    spray, roof, useful = (np.zeros(365) for _ in range(3))
    for where, hours, cooling, used in days.values():
        spray[where], roof[where], useful[where] = hours * HOUR_S, cooling, used
    return spray, roof, useful


def test_a_week_without_spraying_is_not_chosen_however_useful():
    days = year(heat=(slice(190, 205), 0.0, 0.0, 900.0), spring=(slice(100, 130), 5.0, 300.0, 100.0))
    first, sprayed = typical_week(*days)
    assert sprayed
    assert 100 <= first <= 123
    assert (days[0][first : first + 7] > 0.0).all()


def test_the_week_nearest_to_the_middle_of_the_sprayed_weeks_is_chosen():
    # thirteen weeks with 2 h, 4 h, ... 26 h a day: the middle one has 14 h
    spray = np.zeros(365)
    spray[140:231] = np.repeat(np.arange(2.0, 28.0, 2.0), 7) * HOUR_S
    first, sprayed = typical_week(spray, 3.0 * spray, 2.0 * spray)
    assert sprayed
    assert spray[first : first + 7].sum() == pytest.approx(7 * 14.0 * HOUR_S, rel=0.05)


def test_a_single_sprayed_night_is_in_its_week():
    first, sprayed = typical_week(*year(once=(slice(60, 61), 6.0, 300.0, 0.0)))
    assert sprayed
    assert first <= 60 < first + 7


def test_without_any_spraying_the_week_with_most_useful_cooling_is_chosen():
    assert typical_week(*year(heat=(slice(190, 197), 0.0, 0.0, 900.0))) == (190, False)


def test_last_digits_of_two_sums_are_no_difference():
    many, noise = np.array([400.0, 400.0, 0.0]), np.array([400.0 + 2e-12, 399.0, 0.0])
    assert less(many, noise).tolist() == [0.0, 1.0, 0.0]


@pytest.fixture(scope="module")
def boosted():
    site = small_site(booster={"capacity": 5, "setpoint": 15, "from": "01:00", "to": "06:00"}, controls={
        "season_from": "05-01", "season_to": "06-30"})
    return audit(site, runs=0)


def test_beside_a_booster_the_week_shown_is_one_with_spraying(boosted):
    week = boosted.series["week"]
    assert week["title"] == "A typical week with spraying"
    assert any(value is not None for value in week["values"]["Water off the roof"])
    assert all(time[5:7] in ("05", "06", "07") for time in week["time"])


def test_what_the_booster_is_spared_is_a_part_of_what_is_avoided(boosted):
    year_of = {id: quantity.value for id, quantity in boosted.periods["year"].quantities.items()}
    # the machine's part is the whole less what the unsprayed store spares it; the booster's is the rest
    assert 0.0 < year_of["booster_spared_kWh"] < year_of["electricity_avoided_kWh"] + 1e-9
    assert audit(small_site(), runs=0).periods["year"].quantities["booster_spared_kWh"].value == 0.0


@pytest.fixture(scope="module")
def panelled():
    return audit(small_site(panels={"area": 150}), runs=0)


def test_closed_panels_take_no_water_from_the_mains_and_wet_no_roof(panelled):
    """Rain on a roof without a running sheet: first its initial loss is filled, panels running or not."""
    quantities = panelled.periods["year"].quantities
    assert quantities["mains_m3"].value > 0.0
    assert quantities["mains_caused_m3"].value == 0.0


def test_rain_on_a_roof_with_panels_fills_its_initial_loss_whether_they_run_or_not():
    """A running sheet has filled it already; panels leave the roof dry. 0.2 mm fall in ten minutes, 0.5 mm are lost."""
    rain = np.zeros(144)
    rain[60] = 0.2
    site = small_site(panels={"area": 150}, rain={"first_flush": 0}, controls={
        "sense": "clock", "lockout_rain": 1000, "window_from": "00:00", "window_to": "24:00"})
    weather = steady_weather(1, rain_mm=rain)
    running, still = (run(site, weather, sprays=sprays) for sprays in (True, False))
    assert running.steps["spray_s"][60] > 0.0
    assert total(running, "rain_kg") == total(still, "rain_kg") == 0.0


def test_the_record_of_panels_names_them(panelled):
    week = panelled.series["week"]
    assert week["title"] == "A typical week with the panel loop running"
    assert "Water off the panels" in week["values"]
    assert not [finding.message for finding in panelled.findings if "spraying" in f"{finding.message} {finding.effect}"]
    assert panelled.site["traits"]["covers"] == []


def test_covers_that_play_no_part_are_no_trait():
    roofs = [{"name": "wet", "area": 400}, {"name": "dry", "area": 90, "sprayed": False, "cover": "clear film"}]
    assert audit(small_site(roof=roofs), runs=0).site["traits"]["covers"] == []
