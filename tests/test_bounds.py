"""The bound is above everything the model can say, and near the ranges known for net long-wave."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from solved_anew import BOUND_OVER_USUAL, BOUND_W_M2

from sprayroof.physics import bounds, convection, droplets, film, moistair, sky
from sprayroof.physics.constants import LEWIS_EXPONENT
from sprayroof.physics.convection_rivals import CONVECTION

settings.register_profile("sprayroof", max_examples=150, deadline=None, derandomize=True)
settings.load_profile("sprayroof")


# Net long-wave with water at air temperature, black, [W/m2]: ranges of the climates
@pytest.mark.parametrize(("t_air", "t_dew", "cloud", "low", "high"), [
    (25.0, 0.5, 0.0, 118.0, 130.0), (20.0, -1.0, 0.0, 118.0, 130.0),  # dry and clear
    (18.0, 12.4, 0.0, 80.0, 90.0),  # temperate
    (28.0, 27.0, 0.0, 35.0, 48.0),  # humid tropics
    (18.0, 12.4, 1.0, 5.0, 30.0), (28.0, 26.0, 1.0, 5.0, 30.0),  # overcast
])
def test_net_longwave_of_climates(t_air, t_dew, cloud, low, high):
    clear = sky.sky_emissivity_berdahl_martin(t_air, t_dew, 0.0, 100000.0, 18.0)
    all_sky = sky.all_sky_emissivity(clear, sky.cloud_effect_martin_berdahl(clear, cloud, 2000.0))
    assert low <= bounds.net_longwave_W_m2(t_air, t_air, 1.0, all_sky) <= high


@given(t_air=st.floats(0.0, 35.0), humidity=st.floats(0.1, 1.0), hour=st.floats(0.0, 24.0))
def test_coldest_sky_is_below_every_formula(t_air, humidity, hour):
    e_Pa = humidity * moistair.saturation_pressure_Pa(t_air)
    t_dew = moistair.dew_point_C(e_Pa)
    coldest = bounds.coldest_sky_frac(t_air, t_dew, e_Pa, 101325.0, hour)
    assert coldest >= 0.0
    for formula in sky.CLEAR_SKY.values():
        assert coldest <= formula(t_air, t_dew, e_Pa, 101325.0, hour)


def test_largest_forced_is_the_largest_of_all():
    air = (20.0, 0.0255, 1.48e-5, 1.0)
    largest = bounds.largest_forced_W_m2K(3.0, 4.0, *air)
    single = [float(rival.factor_median * rival.function(4.0 if rival.wind == "10 m" else 3.0, *air))
              for rival in CONVECTION.values()]
    assert largest == pytest.approx(max(single))
    assert largest > sorted(single)[-2]


class Weather:
    """Air of a step, as the functions want it."""

    def __init__(self, t_air, humidity, wind):
        self.t, self.p, self.wind = t_air, 101325.0, wind
        self.e = humidity * moistair.saturation_pressure_Pa(t_air)
        self.w = moistair.vapour_mass_fraction(self.e, self.p)
        self.k = moistair.air_conductivity_W_mK(t_air)
        self.nu = moistair.air_viscosity_Pa_s(t_air) / moistair.air_density_kg_m3(t_air, self.w, self.p)
        self.tv = moistair.virtual_temperature_K(t_air, self.w)
        self.unstable = convection.natural_unstable_cubed(self.k, self.nu, self.tv)
        self.stable = convection.natural_stable_cubed(3.0)
        self.lewis = (moistair.lewis_number(t_air, self.w, self.p) ** -LEWIS_EXPONENT
                      / moistair.air_heat_capacity_J_kgK(self.w))
        self.sky = (t_air, moistair.dew_point_C(self.e), self.e, self.p, 2.0)

    def arguments(self):
        forced = bounds.largest_forced_W_m2K(self.wind, self.wind, 20.0, self.k, self.nu, 1.0)
        return (self.t, self.w, self.p, forced, self.unstable, self.stable, self.lewis,
                bounds.coldest_sky_frac(*self.sky))

    def bound(self, t_water):
        return bounds.roof_bound_W_m2(t_water, *self.arguments())

    def sheet_bound(self, feed, t_water):
        return bounds.sheet_bound_W_m2(feed, t_water, *self.arguments())

    def sheet(self, t_water, formula, factor, feed, ridge_share=0.0):
        longwave = formula(*self.sky) * sky.black_flux_W_m2(self.t)
        forced = factor * convection.plate_turbulent_W_m2K(self.wind, 20.0, self.k, self.nu)
        _, conv, _, lw, latent, _ = film.sheet(
            t_water, feed, ridge_share, t_water, 0.0, 20.0, self.t, self.w, self.tv, self.p, forced, self.unstable,
            self.stable, self.lewis, 0.96, longwave)
        return conv + lw + latent


@given(t_air=st.floats(2.0, 35.0), humidity=st.floats(0.1, 1.0), wind=st.floats(0.0, 10.0),
       t_water=st.floats(2.0, 40.0), share=st.sampled_from([0.0, 0.5, 1.0]), feed=st.floats(1e-3, 0.02),
       name=st.sampled_from(sorted(sky.CLEAR_SKY)), factor=st.floats(0.7, 1.3))
def test_no_sheet_beats_the_bound(t_air, humidity, wind, t_water, share, feed, name, factor):
    weather = Weather(t_air, humidity, wind)
    heat = weather.sheet(t_water, sky.CLEAR_SKY[name], factor, feed, share)
    assert heat <= weather.sheet_bound(feed, t_water) + BOUND_W_M2
    assert weather.sheet_bound(feed, t_water) <= max(0.0, weather.bound(t_water)) + BOUND_W_M2


@pytest.mark.parametrize("feed", [0.0025, 0.005, 0.02])
def test_bound_is_of_use(feed):
    """Below two and a half times what a good night gives: else it could refuse nothing."""
    weather = Weather(18.0, 0.6, 2.0)
    usual = weather.sheet(24.0, sky.sky_emissivity_berdahl_martin, 1.3, feed)
    assert usual < weather.sheet_bound(feed, 24.0) < BOUND_OVER_USUAL * usual


def test_much_water_gives_off_what_a_roof_of_its_warmth_does():
    weather = Weather(18.0, 0.6, 2.0)
    assert weather.sheet_bound(1e3, 24.0) == pytest.approx(weather.bound(24.0), rel=1e-3)


@given(t_water=st.floats(5.0, 40.0), more=st.floats(0.1, 5.0))
def test_warmer_water_has_the_larger_bound(t_water, more):
    weather = Weather(20.0, 0.7, 2.0)
    assert weather.bound(t_water + more) > weather.bound(t_water)


@given(t_water=st.floats(5.0, 40.0), humidity=st.floats(0.1, 1.0))
def test_drops_stay_below_their_bound(t_water, humidity):
    weather = Weather(20.0, humidity, 2.0)
    exchange = droplets.fall(1.5e-3, 1.0, 1.2, weather.nu, weather.k)[2]
    arguments = (weather.t, weather.w, weather.p, weather.lewis)
    sensible, _, latent, _ = droplets.flight(t_water, exchange, *arguments)
    bound = bounds.drops_bound_W_m2(0.005, t_water, exchange, *arguments)
    assert bound >= 0.0
    assert 0.005 * (sensible + latent) <= bound + 1e-9


def test_night_by_hand():
    """200 and 100 W/m2 for half an hour each over 50 m2, and a step that could only warm: 5 + 2.5 + 0 kWh."""
    assert bounds.night_bound_kWh(np.array([200.0, 100.0, -80.0]), 50.0, 1800.0) == pytest.approx(7.5)
