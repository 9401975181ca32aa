"""Clouds from the sun, through the night and by layers; what a roof sees over an uneven horizon."""

import composed
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate

from sprayroof.physics import clouds, sky
from sprayroof.physics.constants import CLOUD_SUN_LOWEST_DEG

WINDOW_FRACTION = 0.3820  # 750 to 1400 1/cm of a black body at 20 degC

settings.register_profile("sprayroof", max_examples=150, deadline=None, derandomize=True)
settings.load_profile("sprayroof")

AROUND = np.arange(0.0, 360.0, 1.0)


@given(cover=st.floats(0.0, 1.0))
def test_cloud_of_the_sun_turns_the_printed_form_round(cover):
    assert clouds.cloud_kasten_czeplak_frac(1.0 - 0.75 * cover**3.4) == pytest.approx(cover, abs=1e-4)


def test_cloud_of_the_sun_stays_within_its_range():
    np.testing.assert_array_equal(clouds.cloud_kasten_czeplak_frac(np.array([1.3, 1.0, 0.25, 0.0])), [0, 0, 1, 1])


@pytest.mark.parametrize(("elevation", "expected"), [(90.0, 880.0), (30.0, 425.0), (1.0, 0.0), (-20.0, 0.0)])
def test_clear_sun(elevation, expected):
    assert clouds.clear_sun_kasten_czeplak_W_m2(elevation) == pytest.approx(expected)  # 910 sin(g) - 30


def test_night_keeps_what_the_last_daylight_told():
    nan = np.nan
    cloud = [nan, nan, 0.2, 0.6, 0.9, nan, nan, nan, 0.1]
    sun = [-30, 5, 20, 15, 4, -10, -30, 8, 25]  # the 0.9 of a sun 4 degrees high tells nothing
    expected = [0.2, 0.2, 0.2, 0.6, 0.6, 0.6, 0.6, 0.6, 0.1]
    np.testing.assert_allclose(clouds.night_cloud_frac(cloud, sun, CLOUD_SUN_LOWEST_DEG), expected)


def test_night_without_any_day_is_unknown():
    assert np.isnan(clouds.night_cloud_frac([0.5, 0.5], [-10, 2], CLOUD_SUN_LOWEST_DEG)).all()


def test_night_does_not_look_ahead():
    """What comes later changes nothing before it, but for the time before the first daylight."""
    sun = np.array([20.0, 15.0, -10.0, -30.0, 20.0])
    early = clouds.night_cloud_frac([0.3, 0.4, np.nan, np.nan, 0.0], sun, 10.0)
    late = clouds.night_cloud_frac([0.3, 0.4, np.nan, np.nan, 1.0], sun, 10.0)
    np.testing.assert_array_equal(early[:4], late[:4])


def test_layers_by_hand():
    """0.5 opaque at 1 km, 0.3 thin at 8 km: 0.5 e^(-1/8.2) + 0.3 x 0.4 e^(-8/8.2) = 0.44259 + 0.04524."""
    effect = clouds.cloud_effect_layers_frac(np.array([0.5, 0.3]), np.array([1.0, 0.4]), np.array([1000.0, 8000.0]))
    assert effect == pytest.approx(0.48783, abs=2e-5)


def test_layers_of_a_whole_night_at_once_and_an_unknown_one():
    """The same by hand: 0.44259 + 0.04524, and 0.44259 alone; a layer that is not known leaves the sum unknown."""
    cover = np.array([[0.5, 0.5, 0.5], [0.3, 0.0, np.nan]])
    effect = clouds.cloud_effect_layers_frac(cover, np.array([[1.0], [0.4]]), np.array([[1000.0], [8000.0]]))
    np.testing.assert_allclose(effect, [0.48783, 0.44259, np.nan], atol=2e-5)


@given(cover=st.floats(0.0, 1.0), base=st.floats(0.0, 8000.0))
def test_one_opaque_layer_is_the_model_of_one_layer(cover, base):
    layers = clouds.cloud_effect_layers_frac(np.array([cover]), np.array([1.0]), np.array([base]))
    assert layers == pytest.approx(float(sky.cloud_effect_martin_berdahl(0.8, cover, base)))


def test_higher_clouds_are_colder():
    """The sign of the height, which public code has had the wrong way round."""
    whole = np.ones(1)
    low, high = (clouds.cloud_effect_layers_frac(whole, whole, np.array([base])) for base in (500.0, 6000.0))
    assert high < low < 1.0


@given(clear=st.floats(0.5, 0.95), cover=st.floats(0.0, 1.0))
def test_crawford_duchon(clear, cover):
    effect = float(sky.cloud_effect_crawford_duchon(clear, cover, 2000.0))
    assert float(sky.all_sky_emissivity(clear, effect)) == pytest.approx(cover + (1.0 - cover) * clear)


def test_cloud_models_differ_at_one_point():
    models = [*sky.CLOUDS.values(), sky.cloud_effect_crawford_duchon]
    values = {round(float(model(0.8, 0.6, 2000.0)), 4) for model in dict.fromkeys(models)}
    assert len(values) == len(dict.fromkeys(models)) >= 4


def test_idso_takes_its_pressure_in_hectopascal():
    """0.70 + 5.95e-5 x 12.27 hPa x e^(1500/293.15) = 0.70 + 5.95e-5 x 12.27 x 166.806."""
    assert sky.sky_emissivity_idso(20.0, 10.0, 1227.0, 101325.0, 0.0) == pytest.approx(0.8218, abs=2e-4)


def test_idso_differs_from_every_other_formula():
    point = (20.0, 10.0, 1227.0, 101325.0, 0.0)
    others = [float(model(*point)) for name, model in sky.CLEAR_SKY.items() if name != "idso"]
    assert min(abs(float(sky.sky_emissivity_idso(*point)) - other) for other in others) > 1e-4


def test_window_fraction_is_plancks():
    edges_um = 1e4 / 1400.0, 1e4 / 750.0
    share = sky.planck_fraction(edges_um[1], 20.0) - sky.planck_fraction(edges_um[0], 20.0)
    assert share == pytest.approx(WINDOW_FRACTION, abs=2e-4)

    def planck(x):
        return x**3 / np.expm1(x)

    low, high = (14387.769 / (um * 293.15) for um in reversed(edges_um))
    assert share == pytest.approx(15.0 / np.pi**4 * integrate.quad(planck, low, high)[0], rel=1e-5)


@given(inside=st.floats(0.0, 1.0))
def test_window_split_keeps_the_whole(inside):
    whole = 1.0 - WINDOW_FRACTION + WINDOW_FRACTION * inside
    assert composed.sky_window_emissivity(whole, 20.0) == pytest.approx(inside, abs=2e-4)


@pytest.mark.parametrize("height", [0.0, 10.0, 35.0, 80.0])
def test_even_horizon_on_a_level_roof(height):
    ours = sky.sky_view_profile(AROUND, np.full(360, height), 0.0, 0.0)
    assert ours == pytest.approx(float(sky.sky_view_horizon(height)), rel=1e-9)


@pytest.mark.parametrize("slope", [0.0, 10.0, 45.0, 90.0])
@pytest.mark.parametrize("facing", [0.0, 33.0, 180.0])
def test_open_tilted_roof(slope, facing):
    ours = sky.sky_view_profile(AROUND, np.zeros(360), slope, facing)
    assert ours == pytest.approx(0.5 * (1.0 + np.cos(np.radians(slope))), abs=1e-3)


def test_uneven_horizon_against_rays():
    """Half a million directions even over the half sphere, each weighed by its cosine."""
    rng = np.random.default_rng(1)
    azimuth, sine = rng.uniform(0.0, 360.0, 500_000), rng.uniform(0.0, 1.0, 500_000)
    horizon = 25.0 + 20.0 * np.sin(np.radians(AROUND)) + 10.0 * (AROUND > 250.0)
    slope, facing = np.radians(20.0), 140.0
    cosine = (np.cos(slope) * sine
              + np.sin(slope) * np.sqrt(1.0 - sine**2) * np.cos(np.radians(azimuth - facing)))
    seen = (np.degrees(np.arcsin(sine)) > np.interp(azimuth, AROUND, horizon, period=360.0)) & (cosine > 0.0)
    rays = 2.0 * np.where(seen, cosine, 0.0).mean()
    assert sky.sky_view_profile(AROUND, horizon, 20.0, facing) == pytest.approx(rays, abs=0.004)


def test_sectors_are_centred_on_their_directions():
    """A wall to the north alone hides most from a roof that faces it, and the same from east and west."""
    wall = np.array([60.0, 0.0, 0.0, 0.0])
    north, east, south, west = (sky.sky_view_sectors(wall, 30.0, facing) for facing in (0.0, 90.0, 180.0, 270.0))
    assert north < east == pytest.approx(west, rel=1e-12)
    assert east < south


def test_members_beside_each_other_are_the_members_alone():
    horizon = np.array([[5.0, 20.0, 40.0, 0.0], [0.0, 0.0, 60.0, 10.0]])
    slope, facing = np.array([3.0, 30.0]), np.array([170.0, 10.0])
    together = sky.sky_view_roof(horizon, slope, facing)
    alone = [sky.sky_view_roof(*one) for one in zip(horizon, slope, facing, strict=True)]
    np.testing.assert_allclose(together, alone, rtol=1e-14)


@given(add=st.floats(0.0, 40.0), slope=st.floats(0.0, 60.0))
def test_obstruction_never_adds_sky(add, slope):
    low = 15.0 + 10.0 * np.cos(np.radians(AROUND))
    assert (sky.sky_view_profile(AROUND, low + add, slope, 180.0)
            <= sky.sky_view_profile(AROUND, low, slope, 180.0) + 1e-12)
