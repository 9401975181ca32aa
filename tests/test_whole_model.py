"""What the whole model must do on invented sites, whatever its coefficients."""

from __future__ import annotations

import numpy as np
import pytest
from small_site import run, small_site, steady_weather, total

from sprayroof.auditing import audit
from sprayroof.evidence.weather import read_weather
from sprayroof.model.drivers import cloud_cover, drivers, formulas_of
from sprayroof.model.members import ensemble, rivals
from sprayroof.model.simulate import simulate
from sprayroof.physics import bounds, convection_rivals, moistair
from sprayroof.physics.constants import LEWIS_EXPONENT


def values(site, *ids: str) -> tuple[float, ...]:
    quantities = audit(site, runs=0).periods["year"].quantities
    return tuple(quantities[id].value for id in ids)


def covered(kind: str, **more):
    return small_site(roof=[{"name": "long roof", "area": 400, "surface": "weathered metal", "cover": kind, **more}])


def test_useful_is_no_more_than_delivered_and_delivered_no_more_than_the_demand():
    useful, delivered, load = values(small_site(), "cooling_useful_kWh", "cooling_delivered_kWh", "load_kWh")
    assert 0.0 < useful <= delivered <= load


def test_free_cooling_takes_usefulness_away_not_delivery():
    site = small_site(air_conditioner={"free_cooling_below": 22})
    useful, delivered = values(site, "cooling_useful_kWh", "cooling_delivered_kWh")
    assert useful < delivered


def test_a_site_that_never_sprays_is_credited_with_nothing():
    site = small_site(controls={"season_from": "01-02", "season_to": "01-02", "lockout_frost": 30})
    ids = ("spray_hours_h", "useful_caused_kWh", "electricity_avoided_kWh", "mains_caused_m3", "evaporation_m3")
    assert values(site, *ids) == (0.0, 0.0, 0.0, 0.0, 0.0)


def test_what_is_caused_and_what_comes_unsprayed_make_the_whole():
    caused, unsprayed, useful = values(small_site(), "useful_caused_kWh", "useful_without_spray_kWh",
                                       "cooling_useful_kWh")
    assert caused + unsprayed == pytest.approx(useful, rel=1e-12)


def test_a_tight_cover_all_but_ends_evaporation_and_drift_and_half_a_cover_lies_between():
    bare, half, whole = (values(site, "evaporation_m3", "drift_m3") for site in (
        small_site(), covered("clear film", cover_share=0.5), covered("clear film")))
    for place in (0, 1):
        assert whole[place] < half[place] < bare[place]
        assert whole[place] < 0.15 * bare[place]


def test_an_opaque_sheet_radiates_less_than_a_clear_film():
    clear, opaque = (values(covered(kind), "longwave_kWh")[0] for kind in ("clear film", "opaque sheet"))
    assert opaque < clear


def test_a_wind_screen_lowers_drift():
    screened = small_site(roof=[{"name": "long roof", "area": 400, "screen_height": 1.5}])
    assert values(screened, "drift_m3")[0] < values(small_site(), "drift_m3")[0]


def test_closed_panels_lose_no_water():
    assert values(small_site(panels={"area": 150}), "evaporation_m3", "drift_m3", "dried_m3") == (0.0, 0.0, 0.0)


def test_an_open_store_evaporates():
    assert values(small_site(store={"open_share": 1.0}), "store_evaporation_m3")[0] > 0.0
    assert values(small_site(), "store_evaporation_m3")[0] == 0.0


def test_every_machine_is_spared_something():
    saved = [values(small_site(air_conditioner={"kind": kind}), "electricity_avoided_kWh")[0]
             for kind in ("packaged", "constant", "chiller", "inverter")]
    assert min(saved) > 0.0
    assert len(set(saved)) == 4


def test_the_year_closes_upon_itself_where_the_start_is_not_stated():
    open_year, closed_year = (values(site, "storage_change_m3")[0] for site in (
        small_site(store={"initial_share": 1.0}), small_site()))
    assert abs(closed_year) < 0.2 * abs(open_year) + 0.1


def test_members_draw_rival_formulas_unless_the_site_file_fixes_them():
    site, fixed = small_site(), small_site(weather={"sky_model": "prata", "convection_model": "plate"})
    weather = read_weather(site)
    drawn = ensemble(site, drivers(site, weather), 60, 1).members
    assert len(set(drawn["sky_column"])) == len(rivals(site)["sky_model"]) > 1
    assert len(set(drawn["convection_column"])) > 1
    assert drawn["sky_column"][0] == drawn["convection_column"][0] == 0
    assert rivals(fixed)["sky_model"] == ["prata"]
    assert set(ensemble(fixed, drivers(fixed, weather), 20, 1).members["sky_column"]) == {0.0}


def test_no_step_beats_the_physical_bound():
    """The model's own cooling stays below the largest that the step's weather allows (drops and sheet together)."""
    site = small_site()
    weather = read_weather(site)
    driven = drivers(site, weather)
    members = ensemble(site, driven, 0, 1)
    trace = simulate(driven, formulas_of(site, weather, rivals(site)), members.draws.cloud_error, members, 600.0)
    runs = np.flatnonzero(trace.steps["spray_s"] > 0.0)[::37]
    table, member = weather.table, members.members[0]
    area = site.roof[0].area_m2.value
    feed = member["flow_kg_s"] / area
    checked = 0
    for step in runs:
        t, p, w = table["t_air_C"].iloc[step], table["pressure_Pa"].iloc[step], driven["w_air"][step]
        dew = table["t_dew_C"].iloc[step]
        viscosity = moistair.air_viscosity_Pa_s(t) / moistair.air_density_kg_m3(t, w, p)
        wind = table["wind_m_s"].iloc[step]
        forced = bounds.largest_forced_W_m2K(wind * member["wind_ratio"], wind, site.roof[0].length_m.value,
                                             moistair.air_conductivity_W_mK(t), viscosity, 1.5)
        lewis = moistair.lewis_number(t, w, p) ** -LEWIS_EXPONENT / moistair.air_heat_capacity_J_kgK(w)
        sky = bounds.coldest_sky_frac(t, dew, moistair.saturation_pressure_Pa(dew), p,
                                      table["solar_hour_h"].iloc[step])
        start = trace.states["t_outlet_C"][step - 1] + 1.0
        bound = bounds.sheet_bound_W_m2(feed, start, t, w, p, forced, driven["unstable_cubed"][step],
                                        member["planes"][0]["stable_cubed"], lewis, sky)
        bound += bounds.drops_bound_W_m2(feed, start, member["drop_exchange_J_kgK"], t, w, p, lewis)
        deck = -trace.steps["deck_J"][step] / 600.0 / area  # the bound leaves out what a cold deck takes
        assert trace.steps["roof_J"][step] / 600.0 / area <= bound + max(0.0, -deck) + 1e-6
        checked += 1
    assert checked > 20
    assert convection_rivals.CONVECTION["plate"].wind == "roof"


# --- water standing on the roof -------------------------------------------------------------------------------------


def night_trace(site):
    """One invented clear, dry, mild week."""
    weather = steady_weather(4, t_air_C=18.0, t_dew_C=8.0, solar_W_m2=0.0)
    driven = drivers(site, weather)
    members = ensemble(site, driven, 0, 1)
    trace = simulate(driven, formulas_of(site, weather, rivals(site)), members.draws.cloud_error, members, 600.0)
    return trace, members.members[0]["planes"][0]


def test_the_level_steps_down_at_the_start_and_up_at_the_stop_by_the_water_on_the_roof():
    site = small_site(controls={"sense": "clock"}, use=None, mains={"rule": "none"}, store={"volume": 60})
    trace, plane = night_trace(site)
    on_roof, store = trace.states["roof_kg"], trace.states["store_kg"]
    running = trace.states["running"] > 0.0
    start = 72 + int(np.argmax(running[72:]))  # the second night, from noon on
    stop = start + int(np.argmin(running[start:]))
    assert on_roof[start - 1] == 0.0
    assert on_roof[stop - 1] == pytest.approx(plane["holdup_kg"], rel=1e-9)
    assert store[start] < store[start - 1] - 0.4 * plane["holdup_kg"]
    # at the stop all but what the surface retains is back; that dries and is lost
    assert on_roof[stop] == pytest.approx(plane["retained_kg"], rel=1e-9)
    assert store[stop] == pytest.approx(store[stop - 1] + plane["holdup_kg"] - plane["retained_kg"], rel=1e-6)
    dry_again = stop + int(np.argmax(on_roof[stop:] == 0.0))
    assert trace.steps["dried_kg"][stop : dry_again + 1].sum() == pytest.approx(plane["retained_kg"], rel=1e-6)


def test_holdup_is_the_nusselt_film_worked_by_hand():
    """400 m2, 20 m down 3 degrees, 60 L/min on a wetted share of 0.8: thickness (3 mu G/(rho^2 g sin b))^(1/3).

    Viscosity 1.138e-3 Pa s at 15 degC (IAPWS); evenly fed, so the mean depth is three quarters of that at the eave.
    """
    site = small_site(roof=[{"name": "long roof", "area": 400, "length": 20, "slope": 3, "wetted_share": 0.8}])
    _, plane = night_trace(site)
    flow = 60.0 / 60.0 * 0.998207 / (20.0 * 0.8)
    eave_m = (3.0 * 1.138e-3 * flow / (998.2**2 * 9.80665 * np.sin(np.radians(3.0)))) ** (1.0 / 3.0)
    film_kg = 0.75 * 1000.0 * eave_m * 320.0
    assert plane["holdup_kg"] - plane["retained_kg"] == pytest.approx(film_kg, rel=0.01)


def test_wetted_share_follows_the_flow_only_where_it_is_not_stated():
    def share(flow, **roof):
        _, plane = night_trace(small_site(roof=[{"name": "long roof", "area": 400, **roof}], spray={"flow": flow}))
        return plane["wetted_m2"] / 400.0

    assert share(20) < share(400)
    assert share(20, wetted_share=0.7) == share(400, wetted_share=0.7) == pytest.approx(0.7)


def test_sun_on_the_running_sheet_takes_away_cooling():
    site = small_site(controls={"sense": "clock", "window_from": "09:00", "window_to": "17:00"})
    first_hour = []
    for sun in (0.0, 400.0):
        trace = run(site, steady_weather(1, solar_W_m2=sun))
        start = int(np.argmax(trace.states["running"] > 0.0))
        first_hour.append(trace.steps["roof_J"][start : start + 6].sum())
    taken_up = 0.6 * 400.0 * 0.8 * 400.0 * 3600.0  # absorptance, sun, wetted share and area, an hour
    assert 0.3 * taken_up < first_hour[0] - first_hour[1] < 1.5 * taken_up


def test_a_fine_spray_cannot_take_more_than_the_wind_brings():
    """0.3 mm drops from 5 m: what evaporates stays below what saturating the air that passes would take."""
    site = small_site(spray={"drop_size": 0.3, "fall_height": 5}, controls={"sense": "clock"})
    weather = steady_weather(2, t_air_C=30.0, t_dew_C=5.0, humidity_frac=0.2, wind_m_s=2.0)
    trace = run(site, weather)
    assert 0.0 < total(trace, "evaporation_kg") < 0.25 * total(trace, "sprayed_kg")
    assert np.nanmin(trace.states["t_return_C"]) > 8.0


def test_where_no_cloud_is_reported_the_days_sun_is_carried_into_the_night():
    """The night-cloud ladder: report, else the last daytime clearness, else half."""
    weather = read_weather(small_site())
    reported = cloud_cover(weather.table)
    assert np.array_equal(reported, weather.table["cloud_frac"])
    blind = weather.table.assign(cloud_frac=np.nan)
    by_sun = cloud_cover(blind)
    night = (blind["sun_elevation_deg"] < -5.0).to_numpy()
    assert np.isfinite(by_sun).all()
    assert np.ptp(by_sun[night]) > 0.8
    assert np.corrcoef(by_sun[night], reported[night])[0, 1] > 0.4  # evening tells some of the night
    dark = blind.assign(solar_W_m2=0.0)
    assert set(cloud_cover(dark)) == {0.5}


def test_beside_a_booster_unsprayed_cooling_is_not_laid_to_rain_and_ground():
    boosted = small_site(booster={"capacity": 5, "setpoint": 15, "from": "01:00", "to": "06:00"})
    codes = {finding.code for finding in audit(boosted, runs=0).findings}
    assert "result.booster-left-out" in codes
    assert "result.cools-without-spray" not in codes
