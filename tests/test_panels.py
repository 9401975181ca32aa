"""Closed panels: plug flow against a solver of differential equations, published nights, limits."""

from __future__ import annotations

import math

import CoolProp.CoolProp as CP
import psychrolib
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from solved_anew import PANEL_FRAC, PANEL_K
from test_cover import FILM, SIGMA, Night, air_of, gap_for, planck_window

from sprayroof.physics import panels
from sprayroof.physics.constants import CP_WATER, PANEL_BACK, PANEL_FACTOR
from sprayroof.physics.cover import covered_plate, optics_of

psychrolib.SetUnitSystem(psychrolib.SI)
SMALL = {"length_m": 2.0, "slope_deg": 10.0}
PANEL_FILM = FILM._replace(gap_m=0.05)


def bare(t_in_C, night, flow_kg_s=0.03, area_m2=3.0, factor=0.9, back=0.8, plate=(0.92, 0.92)):
    return panels.bare_panel(t_in_C, flow_kg_s, area_m2, factor, back, *air_of(night), *plate, night.longwave_W_m2)


def covered(t_in_C, night, flow_kg_s=0.03, area_m2=3.0, factor=0.9, back=0.8, plate=(0.92, 0.92), start=math.nan):
    return panels.covered_panel(t_in_C, start, flow_kg_s, area_m2, factor, back, *air_of(night), *plate,
                                night.longwave_W_m2, gap_for(night, PANEL_FILM), optics_of(PANEL_FILM))


# --- solved anew ----------------------------------------------------------------------------------------------------

def flux_anew(t_C: float, night: Night, plate: tuple[float, float], back: float) -> float:
    """Flux of a bare plate from other properties: CoolProp, psychrolib, Planck by quadrature."""
    ratio = psychrolib.GetHumRatioFromRelHum(night.t_C, night.humidity, night.pressure_Pa)
    w, t_K = ratio / (1.0 + ratio), night.t_C + 273.15
    density = psychrolib.GetMoistAirDensity(night.t_C, ratio, night.pressure_Pa)
    k = CP.PropsSI("L", "T", t_K, "P", night.pressure_Pa, "Air")
    nu = CP.PropsSI("V", "T", t_K, "P", night.pressure_Pa, "Air") / density
    forced = night.factor * 0.037 * (night.wind_m_s * night.length_m / nu) ** 0.8 * 0.71 ** (1 / 3) * k / night.length_m
    p_sat = psychrolib.GetSatVapPres(t_C)
    w_sat = 0.621945 * p_sat / (night.pressure_Pa - 0.378055 * p_sat)
    buoyancy = (t_C + 273.15) * (1.0 + 0.6078 * min(w, w_sat)) - t_K * (1.0 + 0.6078 * w)
    if buoyancy > 0.0:
        h = (forced**3 + (0.15 * k) ** 3 * 9.80665 * 0.71 * buoyancy / (t_K * (1.0 + 0.6078 * w) * nu**2)) ** (1 / 3)
    else:
        h = max(forced, 1.81 * (-buoyancy) ** (1 / 3) / (1.382 + math.cos(math.radians(night.slope_deg))))
    cp = 1006.0 + 854.0 * w
    lewis = k / (density * cp) / (1.87e-10 * t_K**2.072 * 101325.0 / night.pressure_Pa)
    dew = h / cp * lewis ** (-2 / 3) * math.log((1.0 - w) / (1.0 - w_sat)) if w > w_sat else 0.0
    black, black_air = SIGMA * (t_C + 273.15) ** 4, SIGMA * t_K**4
    rest_down = (1.0 - planck_window(night.t_C)) * black_air
    window = planck_window(t_C) * black
    radiation = (plate[0] * (window - (night.longwave_W_m2 - rest_down)) + plate[1] * (black - window - rest_down))
    return (h + back) * (t_C - night.t_C) + radiation + dew * (2.50092e6 - 2370.0 * t_C)


@pytest.mark.parametrize("night", [
    Night(12.5, 0.55, 2.0, 0.74, 95000.0, **SMALL), Night(20.0, 0.9, 1.0, 0.85, **SMALL),
    Night(25.0, 0.3, 6.0, 0.8, **SMALL), Night(15.0, 0.5, 0.0, 0.75, **SMALL)])
@pytest.mark.parametrize("plate", panels.PLATES.values(), ids=panels.PLATES)
@pytest.mark.parametrize("t_in_C", [11.0, 22.0, 40.0])
def test_plug_flow_solved_anew(night, plate, t_in_C):
    """m c dT/dx = -A F' q(T), no mean taken; slow flow, so that the water changes much on its way."""
    flow, area, factor, back = 0.01, 4.0, 0.85, 1.0

    def along(_x, t):
        return [-area * factor * flux_anew(t[0], night, plate, back) / (flow * CP_WATER)]
    anew = solve_ivp(along, (0.0, 1.0), [t_in_C], rtol=1e-8, atol=1e-8).y[0, -1]
    t_out, heat, _, mean = bare(t_in_C, night, flow, area, factor, back, plate)
    assert t_out == pytest.approx(anew, abs=max(PANEL_K, PANEL_FRAC * abs(anew - t_in_C)))
    assert heat == pytest.approx(flow * CP_WATER * (t_in_C - t_out), rel=1e-12)
    assert min(t_in_C, t_out) <= mean <= max(t_in_C, t_out)


@pytest.mark.parametrize("t_in_C", [8.0, 14.0, 30.0])
def test_covered_plug_flow_by_a_solver(t_in_C):
    """The same plate flux along the panel by a solver: four lengths lose nothing."""
    night = Night(13.0, 0.5, 3.0, 0.75, **SMALL)
    args = (*air_of(night), 0.92, 0.92, night.longwave_W_m2, gap_for(night, PANEL_FILM), optics_of(PANEL_FILM))

    def along(_x, t):
        convection, longwave, *_ = covered_plate(t[0], math.nan, *args)
        return [-3.0 * 0.9 * (convection + longwave + 0.8 * (t[0] - night.t_C)) / (0.01 * CP_WATER)]
    anew = solve_ivp(along, (0.0, 1.0), [t_in_C], rtol=1e-8, atol=1e-8).y[0, -1]
    t_out, *_ = covered(t_in_C, night, flow_kg_s=0.01)
    assert t_out == pytest.approx(anew, abs=PANEL_K)


# --- published and practical nights ---------------------------------------------------------------------------------

@pytest.mark.parametrize(("t_C", "e_kPa", "depression_K"), [(10.0, 0.5, 11.0), (28.0, 2.0, 6.0)])
def test_stagnation_under_polyethylene(t_C, e_kPa, depression_K):
    """Kimball 1985, Acta Horticulturae 148:16 (abstract): black radiators under polyethylene reach 11 to 6 K below air
    with vapour pressures of 0.5 to 2 kPa. Air temperature, wind and insulation are not told: dry winter and humid
    summer nights of the desert are assumed, and the printed value must lie between a well and a badly built box."""
    humidity = 1e3 * e_kPa / psychrolib.GetSatVapPres(t_C)
    dew_C = psychrolib.GetTDewPointFromRelHum(t_C, humidity)
    night = Night(t_C, humidity, 1.5, sky_of(t_C, dew_C, 6.0, 1e5), **SMALL)

    def stagnation_C(back):
        return brentq(lambda t: covered(t, night, plate=(0.95, 0.95), back=back)[1], t_C - 30.0, t_C)
    assert stagnation_C(0.5) < t_C - depression_K < stagnation_C(5.0)


def sky_of(t_air_C: float, dew_C: float, solar_hour_h: float, pressure_Pa: float) -> float:
    """Berdahl & Martin 1984 with its diurnal and pressure terms."""
    return (0.711 + 0.56 * dew_C / 100.0 + 0.73 * (dew_C / 100.0) ** 2
            + 0.013 * math.cos(2.0 * math.pi * solar_hour_h / 24.0) + 0.00012 * (pressure_Pa / 100.0 - 1000.0))


def store_after_a_night(under_film: bool, wind_m_s: float) -> tuple[float, float]:
    """Store and air [degC] after eleven clear hours: 2 L/min, 3.5 m2, 150 L, air from 22 towards 12.5 degC."""
    flow_kg_s, area_m2, store_kg, wall_W_K = 2.0 / 60.0, 3.5, 150.0, 1.5
    store_C, cover_C, air_C, pressure_Pa, dew_C = 20.0, math.nan, 22.0, 95000.0, 4.0
    for minute in range(660):
        air_C = 12.5 + 9.5 * math.exp(-minute / 150.0)
        humidity = psychrolib.GetSatVapPres(dew_C) / psychrolib.GetSatVapPres(air_C)
        night = Night(air_C, humidity, wind_m_s, sky_of(air_C, dew_C, (20.0 + minute / 60.0) % 24.0, pressure_Pa),
                      pressure_Pa, **SMALL)
        if under_film:
            _, heat, _, _, cover_C = covered(store_C, night, flow_kg_s, area_m2, PANEL_FACTOR, PANEL_BACK,
                                             start=cover_C)
        else:
            heat = bare(store_C, night, flow_kg_s, area_m2, PANEL_FACTOR, PANEL_BACK)[1]
        store_C -= (heat + wall_W_K * (store_C - air_C)) * 60.0 / (store_kg * CP_WATER)
    return store_C, air_C


def test_a_clear_night_of_a_small_closed_loop():
    """Common practice, no source: under a cover such a loop leaves its store near 8 degC, 4 to 5 K below the night's
    air of about 12.5 degC after a day of 22; uncovered in wind it gets nowhere near that."""
    store_C, air_C = store_after_a_night(True, 4.0)
    assert air_C == pytest.approx(12.6, abs=0.2)
    assert store_C == pytest.approx(8.0, abs=0.7)
    assert 4.0 <= air_C - store_C <= 5.5
    bare_C, _ = store_after_a_night(False, 4.0)
    assert bare_C > store_C + 1.6
    assert air_C - bare_C < 3.0


def settles_C(panel, night) -> float:
    """Where water stays as it is in a panel, however long the night lasts."""
    return brentq(lambda t: panel(t, night, factor=PANEL_FACTOR, back=PANEL_BACK)[1], night.t_C - 40.0, night.t_C)


@pytest.mark.parametrize(("wind_m_s", "least_K", "least_settled_K"),
                         [(3.0, 1.2, 7.0), (4.0, 1.6, 7.0), (6.0, 2.0, 7.0)])
def test_an_uncovered_loop_in_wind_gets_nowhere_near_a_covered_one(wind_m_s, least_K, least_settled_K):
    """Common practice, no source. By hand at 3 m/s, air 12.5 degC, clear sky of 0.73: 93 W/m2 against wind 16 to 17,
    radiation 5 and back 0.8 W/(m2 K) settle 4 K below the air, above 8 degC, which no night reaches then; under a film
    three quarters of it against some 6 W/(m2 K) in all settle 11 K or more below. A night is too short
    for either to settle: its store was 20 degC at dusk, and wind helps the bare one while it is warmer than the air."""
    covered_C, air_C = store_after_a_night(True, wind_m_s)
    bare_C, _ = store_after_a_night(False, wind_m_s)
    assert bare_C - covered_C >= least_K
    dew_C, pressure_Pa = 4.0, 95000.0
    humidity = psychrolib.GetSatVapPres(dew_C) / psychrolib.GetSatVapPres(air_C)
    night = Night(air_C, humidity, wind_m_s, sky_of(air_C, dew_C, 6.0, pressure_Pa), pressure_Pa, **SMALL)
    assert settles_C(bare, night) > 8.0
    assert settles_C(covered, night) < 2.0
    assert settles_C(bare, night) - settles_C(covered, night) >= least_settled_K


def test_without_wind_a_cover_gains_little_or_nothing():
    """Below some 1 m/s air lies still on a cold plate anyway, and the film's lost fifth of the sky counts."""
    for wind_m_s in (0.0, 1.0):
        assert abs(store_after_a_night(False, wind_m_s)[0] - store_after_a_night(True, wind_m_s)[0]) < 1.3


def test_wind_hurts_the_bare_panel_and_hardly_the_covered_one():
    calm, windy = (Night(12.5, 0.5, wind, 0.74, **SMALL) for wind in (1.0, 6.0))
    assert bare(9.0, windy)[1] < 0.5 * bare(9.0, calm)[1]
    assert covered(9.0, windy)[1] > 0.9 * covered(9.0, calm)[1]


# --- limits and signs -----------------------------------------------------------------------------------------------

def test_no_difference_no_heat():
    """Black sky at air temperature, water at air temperature, air dry enough for no dew."""
    night = Night(15.0, 0.5, 3.0, 1.0, **SMALL)
    for t_out, heat, *_ in (bare(15.0, night), covered(15.0, night)):
        assert t_out == pytest.approx(15.0, abs=1e-6)
        assert heat == pytest.approx(0.0, abs=1e-4)


def test_a_trickle_reaches_stagnation():
    night = Night(15.0, 0.4, 2.0, 0.75, **SMALL)
    for panel in (bare, covered):
        stagnation = brentq(lambda t, panel=panel: panel(t, night)[1], -20.0, 15.0)
        assert panel(25.0, night, flow_kg_s=1e-5)[0] == pytest.approx(stagnation, abs=0.05)


def test_dew_never_warms_water_above_the_air():
    """A trickle of cold water in a gale of saturated hot air: far from linear, and still bounded by the air."""
    night = Night(45.0, 1.0, 15.0, 1.0, 70000.0, **SMALL)
    for flow in (0.002, 0.01, 0.05):
        assert 0.0 < bare(0.0, night, flow)[0] < 45.0 + 1e-6


def test_dew_warms_a_bare_plate():
    """Plate below the dew point: latent heat comes in; above it none does."""
    night = Night(20.0, 0.9, 2.0, 0.85, **SMALL)
    args = (*air_of(night), 0.92, 0.92, night.longwave_W_m2)
    assert panels.bare_plate(14.0, *args)[2] < -20.0
    assert panels.bare_plate(19.5, *args)[2] == 0.0


def test_a_selective_plate_gains_far_below_air_only():
    """Well below air temperature the rest of the spectrum brings heat in, which a selective plate turns away; at air
    temperature the black plate gives off at least as much for the same window."""
    night, same = Night(15.0, 0.3, 1.0, 0.74, **SMALL), (0.85, 0.25)
    black = (0.85, 0.85)
    args = (*air_of(night), night.longwave_W_m2)
    far = [panels.bare_plate(0.0, *args[:-1], *plate, args[-1])[1] for plate in (same, black)]
    near = [panels.bare_plate(15.0, *args[:-1], *plate, args[-1])[1] for plate in (same, black)]
    assert far[0] > far[1]
    assert near[0] == pytest.approx(near[1], abs=1e-6)


def test_plate_factor_limits():
    assert panels.plate_factor(5.0, 1e6, 0.1, 0.012, 0.0, 1e7, 0.01) == pytest.approx(1.0, abs=1e-4)
    assert panels.fin_efficiency(5.0, 1e9, 0.1, 0.012) == pytest.approx(1.0, abs=1e-6)
    thick, thin = (panels.plate_factor(5.0, plate, 0.1, 0.012, 0.01, 300.0, 0.01) for plate in (0.4, 0.05))
    assert thin < thick < 1.0


AIRS = st.builds(Night, t_C=st.floats(-20.0, 50.0), humidity=st.floats(0.0, 1.0), wind_m_s=st.floats(0.0, 20.0),
                 sky=st.floats(0.55, 1.05), pressure_Pa=st.floats(70000.0, 105000.0), slope_deg=st.floats(0.0, 45.0),
                 length_m=st.floats(1.0, 5.0))


@settings(max_examples=200, deadline=None)
@given(t_in_C=st.floats(-20.0, 50.0), night=AIRS, flow=st.floats(1e-3, 0.2), plate=st.sampled_from(
    sorted(panels.PLATES.values())))
def test_any_weather_gives_numbers(t_in_C, night, flow, plate):
    for t_out, heat, longwave, mean, *_ in (bare(t_in_C, night, flow, plate=plate),
                                            covered(t_in_C, night, flow, plate=plate)):
        assert all(math.isfinite(value) for value in (t_out, heat, longwave, mean))
        assert heat == pytest.approx(flow * CP_WATER * (t_in_C - t_out))
        assert min(t_in_C, night.t_C) - 40.0 < t_out < max(t_in_C, night.t_C) + 8.0


@settings(max_examples=100, deadline=None)
@given(t_in_C=st.floats(0.0, 35.0), night=AIRS, flow=st.floats(5e-3, 0.1))
def test_warmer_water_gives_off_more(t_in_C, night, flow):
    """Air up to 15 K warmer than the water; beyond, in saturated air, four lengths are good to a few thousandths."""
    assume(night.t_C < t_in_C + 15.0)
    colder, warmer = (bare(t_C, night, flow)[1] for t_C in (t_in_C, t_in_C + 1.0))
    assert warmer > colder
