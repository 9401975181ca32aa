"""What must hold everywhere: no driving difference no flux, signs, monotony, no NaN, nothing lost in the store."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sprayroof.physics import convection, droplets, emitters, film, machines, moistair, rain, sky, tank
from sprayroof.physics.constants import CP_WATER
from sprayroof.physics.roots import cube_root

settings.register_profile("sprayroof", max_examples=150, deadline=None, derandomize=True)
settings.load_profile("sprayroof")

AIR = st.floats(-20.0, 50.0)
WATER = st.floats(0.5, 45.0)
WIND = st.floats(0.0, 20.0)
HUMIDITY = st.floats(0.0, 1.0)
PRESSURE = st.floats(70_000.0, 105_000.0)
SKY = st.floats(0.5, 1.0)
FEED = st.floats(1e-4, 0.05)
SHARE = st.floats(0.0, 1.0)


def surroundings(t_C, humidity, wind, pressure=101325.0, sky_share=0.8, slope=3.0, factor=1.3):
    """Arguments of `film.wet_surface` after the temperature."""
    w = moistair.vapour_mass_fraction(humidity * moistair.saturation_pressure_Pa(t_C), pressure)
    nu = moistair.air_viscosity_Pa_s(t_C) / moistair.air_density_kg_m3(t_C, w, pressure)
    k = moistair.air_conductivity_W_mK(t_C)
    tv = moistair.virtual_temperature_K(t_C, w)
    lewis = moistair.lewis_number(t_C, w, pressure)
    return [t_C, w, tv, pressure, factor * convection.plate_turbulent_W_m2K(wind, 20.0, k, nu),
            convection.natural_unstable_cubed(k, nu, tv), convection.natural_stable_cubed(slope),
            lewis ** (-2 / 3) / moistair.air_heat_capacity_J_kgK(w), 0.96, sky_share * sky.black_flux_W_m2(t_C)]


def surface(t_C, *arguments, **more):
    """Convection, evaporation and long-wave of a wet surface, and the whole heat."""
    conv, evaporation, longwave, latent, slope = film.wet_surface(t_C, *surroundings(*arguments, **more))
    return conv, evaporation, longwave, conv + longwave + evaporation * latent, slope


# --- no driving difference, no flux ---------------------------------------------------------------------------------

@given(t=AIR, wind=WIND)
def test_no_difference_no_flux(t, wind):
    """Saturated air and black surroundings of the water's own temperature: nothing flows.

    Below 0 degC the air is saturated over ice, as the water is taken to be there.
    """
    conv, evaporation, longwave, _, _ = surface(t, t, 1.0, wind, sky_share=1.0)
    assert abs(conv) < 1e-9
    assert abs(evaporation) < 1e-9
    assert abs(longwave) < 1e-9


@given(t=AIR, exchange=st.floats(0.0, 4000.0))
def test_a_drop_in_saturated_air_of_its_own_temperature_stays(t, exchange):
    air = surroundings(t, 1.0, 1.0)
    sensible, vapour, latent, mean = droplets.flight(t, exchange, t, air[1], 101325.0, air[7])
    # the air's moisture and the drop's come from two forms of one line, alike within 1e-7
    assert abs(sensible) < 2e-3
    assert abs(vapour) < 1e-8
    assert abs(latent) < 2.5e-2
    assert abs(mean - t) < 1e-6


@given(t=WATER, feed=FEED, ridge=SHARE)
def test_a_sheet_at_rest_leaves_as_it_came(t, feed, ridge):
    air = surroundings(t, 1.0, 2.0, sky_share=1.0)
    mean, conv, evaporation, longwave, _, deck = film.sheet(t, feed, ridge, t, 0.5, t, *air)
    assert abs(mean - t) < 2e-3
    assert abs(conv) + abs(longwave) + abs(deck) < 0.1
    assert abs(evaporation) < 1e-6


# --- signs ----------------------------------------------------------------------------------------------------------

@given(t=AIR, humidity=HUMIDITY, wind=WIND, water=WATER)
def test_signs(t, humidity, wind, water):
    conv, evaporation, longwave, _, slope = surface(water, t, humidity, wind, sky_share=0.8)
    assert conv * (water - t) >= 0.0
    w = moistair.vapour_mass_fraction(humidity * moistair.saturation_pressure_Pa(t), 101325.0)
    excess = moistair.vapour_mass_fraction(moistair.saturation_pressure_Pa(water), 101325.0) - w
    assert evaporation * excess >= 0.0
    if water > t:
        assert longwave > 0.0
    assert slope > 0.0


@given(t=AIR, humidity=HUMIDITY, wind=WIND, feed=st.floats(8e-4, 0.05), ridge=SHARE, water=WATER, sky_share=SKY)
def test_a_sheet_goes_towards_its_equilibrium_and_not_beyond(t, humidity, wind, feed, ridge, water, sky_share):
    air = surroundings(t, humidity, wind, sky_share=sky_share)
    mean, conv, _evaporation, longwave, latent, deck = film.sheet(water, feed, ridge, water, 0.5, 20.0, *air)
    heat = conv + longwave + latent + deck
    assert heat * (water - mean) >= -1e-6 - 1e-2 * abs(heat)
    assert all(math.isfinite(value) for value in (mean, heat))


@given(t=st.floats(-5.0, 40.0), humidity=HUMIDITY, wind=st.floats(0.05, 20.0), feed=st.floats(8e-4, 0.05), water=WATER,
       sky_share=SKY)
def test_the_sheets_answer_balances(t, humidity, wind, feed, water, sky_share):
    """Fed evenly: what the water loses is what the surface gives off, near calm as well (0.05 L/min m2 upwards)."""
    air = surroundings(t, humidity, wind, sky_share=sky_share)
    mean, conv, _, longwave, latent, deck = film.sheet(water, feed, 0.0, water, 0.5, 20.0, *air)
    assert abs(feed * CP_WATER * (water - mean) - (conv + longwave + latent + deck)) < 0.5


# --- monotony -------------------------------------------------------------------------------------------------------

@given(t=AIR, humidity=HUMIDITY, water=WATER, wind=st.tuples(WIND, WIND))
def test_more_wind_never_less_exchange(t, humidity, water, wind):
    low, high = (surface(water, t, humidity, one) for one in sorted(wind))
    assert abs(high[0]) >= abs(low[0]) - 1e-9
    assert abs(high[1]) >= abs(low[1]) - 1e-15


@given(t=AIR, wind=WIND, water=WATER, humidity=st.tuples(HUMIDITY, HUMIDITY))
def test_more_humidity_never_more_cooling(t, wind, water, humidity):
    """In wind, where the air's own lightness does not change the convection."""
    dry, damp = (surface(water, t, one, wind + 3.0) for one in sorted(humidity))
    assert damp[1] <= dry[1] + 0.05 * abs(dry[1]) + 1e-9


@given(t=AIR, humidity=HUMIDITY, wind=WIND, water=WATER, shares=st.tuples(SKY, SKY))
def test_a_brighter_sky_never_cools_more(t, humidity, wind, water, shares):
    cold, warm = (surface(water, t, humidity, wind, sky_share=share) for share in sorted(shares))
    assert warm[2] <= cold[2] + 1e-9
    assert warm[3] <= cold[3] + 1e-9


@given(t=AIR, humidity=HUMIDITY, wind=WIND, feed=FEED, ridge=SHARE, waters=st.tuples(WATER, WATER))
def test_warmer_water_gives_off_more(t, humidity, wind, feed, ridge, waters):
    air = surroundings(t, humidity, wind)
    heats = []
    for water in sorted(waters):
        _, conv, _, longwave, latent, deck = film.sheet(water, feed, ridge, water, 0.5, 20.0, *air)
        heats.append(conv + longwave + latent + deck)
    assert heats[1] >= heats[0] - 0.1 - 0.01 * abs(heats[0])


@given(dew=st.tuples(st.floats(-30.0, 30.0), st.floats(-30.0, 30.0)), hour=st.floats(0.0, 24.0))
def test_every_clear_sky_brightens_with_humidity(dew, hour):
    low, high = sorted(dew)
    assume(high <= 24.0)
    for name, formula in sky.CLEAR_SKY.items():
        if name == "berdahl_martin" and low < -13.0:
            continue  # its parabola turns below -38 degC and is stated from -13 degC
        values = [formula(25.0, one, moistair.saturation_pressure_Pa(one), 101325.0, hour) for one in (low, high)]
        assert values[1] >= values[0] - 1e-12, name


@given(power=st.floats(-80.0, 80.0))
def test_cube_roots_are_those_of_the_library(power):
    x = 10.0**power
    assert cube_root(x) == pytest.approx(np.cbrt(x), rel=1e-8)
    assert cube_root(0.0) == 0.0


@pytest.mark.parametrize(("t_C", "within"), [(80.0, 3e-6), (60.0, 2e-9), (25.0, 2e-9), (0.0, 2e-9), (-20.0, 4e-6),
                                             (-40.0, 1e-4)])
def test_saturation_over_water_is_hyland_and_wexler(t_C, within):
    """The printed equation 6 (ASHRAE Fundamentals 2017, ch. 1), also below its range for supercooled water."""
    t_K = t_C + 273.15
    printed = math.exp(-5.8002206e3 / t_K + 1.3914993 - 4.8640239e-2 * t_K + 4.1764768e-5 * t_K**2
                       - 1.4452093e-8 * t_K**3 + 6.5459673 * math.log(t_K))
    assert moistair.saturation_over_water_Pa(t_C) == pytest.approx(printed, rel=within)


@given(temperatures=st.tuples(st.floats(-60.0, 99.0), st.floats(-60.0, 99.0)))
def test_saturation_rises(temperatures):
    low, high = sorted(temperatures)
    # the two branches meet at 0 degC with a step of 0.05 Pa
    assert moistair.saturation_pressure_Pa(high) >= moistair.saturation_pressure_Pa(low) - 0.06


# --- no NaN in wide ranges ------------------------------------------------------------------------------------------

@given(t=AIR, humidity=HUMIDITY, wind=WIND, pressure=PRESSURE, water=WATER, sky_share=SKY, feed=FEED, ridge=SHARE)
def test_sheet_is_finite(t, humidity, wind, pressure, water, sky_share, feed, ridge):
    air = surroundings(t, humidity, wind, pressure, sky_share)
    assert all(math.isfinite(value) for value in film.sheet(water, feed, ridge, water, 0.5, 20.0, *air))
    assert all(math.isfinite(value) for value in film.wet_surface(water, *air))


@given(t=AIR, humidity=st.floats(0.01, 1.0), pressure=PRESSURE, hour=st.floats(0.0, 24.0), cloud=SHARE)
def test_air_and_sky_are_finite(t, humidity, pressure, hour, cloud):
    e_Pa = humidity * moistair.saturation_pressure_Pa(t)
    dew = moistair.dew_point_C(e_Pa)
    wet = moistair.wet_bulb_C(t, moistair.humidity_ratio(e_Pa, pressure), pressure)
    assert dew - 0.1 <= wet <= t + 1e-6
    for name, clear in sky.CLEAR_SKY.items():
        emissivity = clear(t, dew, e_Pa, pressure, hour)
        assert math.isfinite(emissivity)
        assert emissivity > 0.2
        # no formula was fitted to wetter air than this; beyond, some pass 1 (the loop holds the sky at black)
        assert emissivity < (1.15 if dew < 30.0 and name != "idso" else 1.6)
        for effect in sky.CLOUDS.values():
            assert math.isfinite(sky.all_sky_emissivity(emissivity, effect(emissivity, cloud, 2000.0)))


@settings(max_examples=40)
@given(d_mm=st.floats(0.5, 5.0), height=st.floats(0.05, 5.0), water=WATER, t=AIR, humidity=HUMIDITY)
def test_drops_are_finite_and_slower_than_free_fall(d_mm, height, water, t, humidity):
    air = surroundings(t, humidity, 1.0)
    time, speed, exchange = droplets.fall(1e-3 * d_mm, height, 1.2, 1.5e-5, 0.0257)
    assert 0.0 < speed <= math.sqrt(2 * 9.80665 * height) * 1.001
    assert time >= math.sqrt(2 * height / 9.80665) * 0.999
    assert exchange > 0.0
    sensible, vapour, latent, mean = droplets.flight(water, exchange, t, air[1], 101325.0, air[7])
    assert all(math.isfinite(value) for value in (sensible, vapour, latent, mean))
    assert abs(vapour) < 0.2


@given(load=st.floats(0.0, 1e5), relief=st.floats(0.0, 1.0), out=st.floats(-20.0, 50.0))
def test_less_load_never_more_electricity(load, relief, out):
    capacity = 5e4 * machines.capacity_factor(19.0, out)
    eir = machines.eir_factor(19.0, out) / 3.0
    assert capacity > 0.0
    assert eir > 0.0
    less, more = (machines.air_conditioner_W(one, capacity, eir, 0.25) for one in (load * (1 - relief), load))
    assert 0.0 <= less <= more + 1e-9


@given(room=st.floats(18.0, 32.0), supply=st.floats(5.0, 32.0), flow=st.floats(0.01, 5.0), area=st.floats(1.0, 500.0))
def test_emitters_never_give_cold_they_do_not_get(room, supply, flow, area):
    heat = emitters.panel_capacity_W(room, supply, flow, area, 0.1, 7.0, 17.0)
    assert 0.0 <= heat <= flow * CP_WATER * max(0.0, room - supply) + 1e-6
    coil = emitters.coil_capacity_W(room, supply, flow, 1000.0, 800.0)
    assert 0.0 <= coil <= min(flow * CP_WATER, 800.0) * max(0.0, room - supply) + 1e-6


# --- the store loses and gains nothing of itself --------------------------------------------------------------------

LAYERS = st.integers(1, 8)


@st.composite
def stores(draw):
    """Masses and temperatures of a store, top first; some layers may be empty."""
    n = draw(LAYERS)
    mass = [draw(st.one_of(st.just(0.0), st.floats(0.1, 5000.0))) for _ in range(n)]
    temp = [draw(st.floats(0.0, 40.0)) for _ in range(n)]
    assume(sum(mass) > 0.0)
    return np.array(mass), np.array(temp)


@given(store=stores())
def test_settling_keeps_mass_and_heat_and_order(store):
    mass, temp = (part.copy() for part in store)
    total, heat = mass.sum(), (mass * temp).sum()
    tank.settle(mass, temp, np.empty(mass.size), np.empty(mass.size))
    assert math.isclose(mass.sum(), total, rel_tol=1e-12)
    assert math.isclose((mass * temp).sum(), heat, rel_tol=1e-9, abs_tol=1e-9)
    if mass.size > 1:
        assert np.allclose(mass, total / mass.size, rtol=1e-9)
        assert (np.diff(temp) <= 1e-9).all()


@given(store=stores(), share=SHARE, added=st.floats(0.0, 3000.0), t_added=st.floats(0.0, 40.0), top=st.booleans())
def test_taking_and_adding_keep_mass_and_heat(store, share, added, t_added, top):
    mass, temp = (part.copy() for part in store)
    total, heat = mass.sum(), (mass * temp).sum()
    wanted = share * total
    take = tank.take_top if top else tank.take_bottom
    foreseen = tank.outlet_mean_C(mass, temp, wanted)
    taken_C = take(mass, temp, wanted)
    if not top and wanted > 0.0:
        assert math.isclose(taken_C, foreseen, rel_tol=1e-12, abs_tol=1e-12)
    tank.add_top(mass, temp, added, t_added)
    assert (mass >= -1e-9).all()
    assert math.isclose(mass.sum(), total - wanted + added, rel_tol=1e-12, abs_tol=1e-9)
    assert math.isclose((mass * temp).sum(), heat - wanted * taken_C + added * t_added, rel_tol=1e-9, abs_tol=1e-6)


@given(store=stores(), ua=st.floats(0.0, 5000.0), outside=st.floats(-20.0, 50.0), dt=st.floats(60.0, 86400.0))
def test_walls_lose_what_the_water_loses_and_never_overshoot(store, ua, outside, dt):
    mass, temp = (part.copy() for part in store)
    before = (mass * temp).sum() * CP_WATER
    start = temp.copy()
    lost = tank.lose_heat(mass, temp, ua, outside, dt)
    assert math.isclose(before - (mass * temp).sum() * CP_WATER, lost, rel_tol=1e-9, abs_tol=1e-3)
    full = mass > 0.0
    low, high = np.minimum(start, max(outside, 0.0)), np.maximum(start, outside)
    assert (temp[full] >= low[full] - 1e-9).all()
    assert (temp[full] <= high[full] + 1e-9).all()


@given(depth=st.floats(0.0, 50.0), coefficient=SHARE, loss=st.floats(0.0, 5.0))
def test_runoff_never_exceeds_rain(depth, coefficient, loss):
    runoff, left = rain.runoff_mm(depth, coefficient, loss)
    assert 0.0 <= runoff <= coefficient * depth + 1e-12
    assert math.isclose(loss - left, min(depth, loss), abs_tol=1e-12)
