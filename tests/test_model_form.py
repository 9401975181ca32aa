"""The spread between rival formulas as a term of the ensemble: drawn where the site leaves the choice open."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from small_site import small_site, steady_weather

from sprayroof.evidence.site import read_site
from sprayroof.evidence.weather import read_weather
from sprayroof.model.drivers import drivers, formulas_of
from sprayroof.model.members import ensemble, rivals
from sprayroof.physics.constants import SKY_RESIDUAL_RATIO

SAMPLES = sorted((Path(__file__).parent.parent / "sample_sites").iterdir())
PRIOR_SD = 0.025  # of the emissivity offset, docs/method/sky.md


@pytest.mark.parametrize("folder", SAMPLES, ids=lambda folder: folder.name)
def test_drawn_formulas_and_what_is_left_of_the_offset_make_up_the_prior(folder):
    """Night means of the six clear skies differ by what the narrowed offset leaves out, within 15 % of the whole."""
    site = read_site(folder)
    weather = read_weather(site)
    night = weather.table["solar_W_m2"].to_numpy() <= 0.0
    clear = formulas_of(site, weather, rivals(site)).clear[night]
    assert clear.shape[1] == 6
    between = clear.mean(axis=0).std()
    assert 0.01 < between < 0.02
    assert np.hypot(between, SKY_RESIDUAL_RATIO * PRIOR_SD) == pytest.approx(PRIOR_SD, rel=0.15)


def test_stated_formulas_are_held_and_open_ones_drawn():
    stated = small_site(weather={"sky_model": "brunt", "convection_model": "plate", "cloud_model": "martin_berdahl"})
    open_choice = small_site()
    drawn = {}
    for name, site in (("stated", stated), ("open", open_choice)):
        made = ensemble(site, drivers(site, steady_weather(1)), 600, 2)
        drawn[name] = made
        assert made.draws.values["weather.sky_emissivity_offset"][1:].std() == pytest.approx(PRIOR_SD, rel=0.1)
    for column in ("sky_column", "cloud_column", "convection_column"):
        assert np.unique(drawn["stated"].members[column]).size == 1
        assert np.unique(drawn["open"].members[column]).size > 1
    narrowed = drawn["open"].members["sky_offset"][1:].std() / drawn["stated"].members["sky_offset"][1:].std()
    assert narrowed == pytest.approx(SKY_RESIDUAL_RATIO, rel=0.02)
