"""What the site file says of store covers, layers of cloud and horizons, followed into the loop."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from outside_solutions import Night, Sheet, latent_heat
from small_site import run, small_site, steady_weather, total
from solved_anew import OPEN_STORE_HEAT_FRAC, OPEN_STORE_VAPOUR_FRAC

from sprayroof.evidence.weather_files.cloud_layers import BASES, COVERS
from sprayroof.model.air import Air
from sprayroof.model.drivers import drivers, formulas_of
from sprayroof.model.members import ensemble, rivals
from sprayroof.model.roof import sky_of
from sprayroof.physics import sky

STILL = {"season_from": "07-01", "season_to": "07-02"}  # no spraying in the January of `steady_weather`


# --- a cover on an open store -------------------------------------------------------------------------------------


def open_store(**more):
    return small_site(controls=STILL, store={"volume": 20, "height": 2, "initial_temperature": 22, "open_share": 0.8,
                                             **more})


def first_step(site):
    trace = run(site, steady_weather(1))
    return float(trace.steps["surface_kg"][0]), float(trace.steps["surface_J"][0])


@pytest.mark.parametrize("share", [0.25, 0.5, 0.9])
def test_a_store_cover_cuts_evaporation_by_its_share(share):
    bare, covered = first_step(open_store())[0], first_step(open_store(cover_share=share))[0]
    assert bare > 0.0
    assert covered == pytest.approx((1.0 - share) * bare, rel=1e-9)


def test_a_whole_store_cover_leaves_its_own_heat_transfer():
    """No vapour; 5 W/(m2 K) over 0.8 x 20 m3/2 m = 8 m2 from 22 to 15 degC for 600 s, by hand 168 kJ."""
    vapour_kg, heat_J = first_step(open_store(cover_share=1.0))
    assert vapour_kg == 0.0
    assert heat_J == pytest.approx(5.0 * 8.0 * (22.0 - 15.0) * 600.0, rel=5e-3)  # the walls have cooled it a little


def test_a_store_covers_heat_transfer_is_that_of_the_site_file():
    thin, thick = (first_step(open_store(cover_share=1.0, cover_u=u))[1] for u in (10.0, "1 W/(m2 K)"))
    assert thin == pytest.approx(10.0 * thick, rel=1e-9)


def test_a_store_cover_keeps_the_store_warm_and_full_through_a_week():
    bare, half, whole = (run(open_store(cover_share=share), steady_weather(7)) for share in (0.0, 0.5, 1.0))
    lost = [total(trace, "surface_kg") for trace in (bare, half, whole)]
    assert lost[0] > lost[1] > lost[2] == 0.0
    warm = [float(trace.states["t_outlet_C"][-1]) for trace in (bare, half, whole)]
    assert warm[0] < warm[1] < warm[2]
    for trace in (bare, half, whole):
        assert trace.residual["heat_step_rel"].max() <= 1e-9
        assert trace.residual["water_step_rel"].max() <= 1e-9


def test_a_cover_on_a_closed_store_does_nothing_and_is_told():
    closed = {"initial_temperature": 22}
    plain, covered = (small_site(controls=STILL, store={**closed, **more}) for more in ({}, {"cover_share": 1.0}))
    weather = steady_weather(2)
    one, other = run(plain, weather), run(covered, weather)
    for name in one.steps.dtype.names:
        np.testing.assert_array_equal(one.steps[name], other.steps[name], err_msg=name)
    told, = covered.findings
    assert (told.code, told.data["entry"]) == ("site.entry-unused", "store.cover_share")
    assert not plain.findings
    assert {finding.code for finding in open_store(cover_share=0.5, cover_u=3).findings} == {"store.open-sun"}


def test_a_store_covers_heat_transfer_is_drawn_only_where_there_is_a_cover():
    """A doubt more would reshuffle the draws of every site."""
    assert "store.cover_u" not in open_store().facts()
    drawn = open_store(cover_share=0.5).facts()["store.cover_u"]
    assert (drawn.value, drawn.low, drawn.high) == (5.0, pytest.approx(1.0), pytest.approx(9.0))


def night_over_a_store(wind_m_s, t_air_C, t_dew_C, sky_W_m2):
    """Weather of the small site (station at 10 m in the open, eaves of 6 m in a suburb), over a store 5 m square."""
    vapour, saturated = (psychrolib.GetSatVapPres(t_C) for t_C in (t_dew_C, t_air_C))
    at_roof = wind_m_s * (270.0 / 10.0) ** 0.14 * (6.0 / 370.0) ** 0.22
    return Night(t_air_C, vapour / saturated, at_roof, sky_W_m2, 98000.0, 5.0, 1.3)


class WholeCoefficient(Sheet):
    """McAdams: 5.7 + 3.8 V holds all convection there is."""

    def convection_W_m2K(self, t_C):
        return 5.7 + 3.8 * self.night.wind_m_s


OPEN_CASES = [
    (25.0, 15.0, 8.0, 2.0, "plate"),
    (25.0, 15.0, 8.0, 0.2, "mcadams"),
    (12.0, 24.0, 22.0, 1.0, "plate"),  # dew
    (5.0, 24.0, 20.0, 0.05, "plate"),  # dew in still air
]


@pytest.mark.parametrize("slope", [0.0, 30.0])
@pytest.mark.parametrize(("t_store", "t_air", "t_dew", "wind", "model"), OPEN_CASES)
def test_an_open_store_exchanges_over_its_own_length(t_store, t_air, t_dew, wind, model, slope):
    """50 m3 two metres deep are 5 m square, beside a roof of 20 m; `Sheet` solves the surface anew. The roof's slope is
    not the store's, and the sky here is as warm as the air, so that what either sees of it is the same.
    """
    site = small_site(controls=STILL, use=[], load={"ua": 0.001, "balance_point": 40}, mains={"rule": "none"},
                      weather={"convection_model": model},
                      roof=[{"name": "long roof", "area": 400, "length": 20, "slope": slope, "surface": "gravel"}],
                      store={"volume": 50, "height": 2, "initial_temperature": t_store, "initial_share": 0.9,
                             "open_share": 1.0, "u": 0.02, "placement": "outdoors"})
    sky_W_m2 = 5.670374419e-8 * (t_air + 273.15) ** 4
    trace = run(site, steady_weather(1, t_air_C=t_air, t_dew_C=t_dew, wind_m_s=wind, long_wave_W_m2=sky_W_m2))
    night = night_over_a_store(wind, t_air, t_dew, sky_W_m2)
    surface = (WholeCoefficient if model == "mcadams" else Sheet)(night)
    dry, vapour = surface.fluxes(t_store)
    assert (vapour < 0.0) == (t_dew > t_store)
    assert float(trace.steps["surface_kg"][0]) == pytest.approx(25.0 * 600.0 * vapour, rel=OPEN_STORE_VAPOUR_FRAC)
    assert float(trace.steps["surface_J"][0]) == pytest.approx(25.0 * 600.0 * (dry + vapour * latent_heat(t_store)),
                                                               rel=OPEN_STORE_HEAT_FRAC)
    assert trace.residual["water_step_rel"].max() <= 1e-9


def test_an_open_stores_water_is_smooth_whatever_the_roof_is():
    """Clear's formula takes its surface's roughness; h goes with L^-0.2, 5 m beside 20 m by hand 4^0.2 = 1.3195."""
    weather, factors = steady_weather(1), {}
    for surface in ("gravel", "new coated metal"):
        site = small_site(weather={"convection_model": "clear_et_al"},
                          store={"volume": 50, "height": 2, "open_share": 1.0},
                          roof=[{"name": "long roof", "area": 400, "length": 20, "surface": surface}])
        member = ensemble(site, drivers(site, weather), 0, 1).members[0]
        factors[surface] = float(member["store_forced_factor"]), float(member["planes"]["forced_factor"][0])
    assert factors["gravel"][0] == factors["new coated metal"][0]
    assert factors["gravel"][1] == pytest.approx(2.17 * factors["new coated metal"][1])
    assert factors["new coated metal"][0] == pytest.approx(1.3195 * factors["new coated metal"][1], rel=1e-4)


# --- layers of cloud ----------------------------------------------------------------------------------------------


def layered_weather(covers, bases=(np.nan, np.nan, np.nan), **more):
    return steady_weather(2, cloud_frac=sum(covers), **dict(zip(COVERS, covers, strict=True)),
                          **dict(zip(BASES, bases, strict=True)), **more)


def sky_of_best_estimate(site, weather):
    formulas = formulas_of(site, weather, rivals(site))
    clear, effect = formulas.clear[0, 0], formulas.cloud[0, 0]
    return clear, effect, float(sky.all_sky_emissivity(clear, effect))


def test_layers_with_their_bases_by_hand():
    """e0 + (1 - e0) x sum: 0.3 e^(-0.8/8.2) + 0.2 e^(-3/8.2) + 0.4 x 0.4 e^(-7/8.2) = 0.27211 + 0.13872 + 0.06814."""
    clear, effect, whole = sky_of_best_estimate(
        small_site(), layered_weather((0.3, 0.2, 0.4), (800.0, 3000.0, 7000.0)))
    assert effect == pytest.approx(0.47897, abs=2e-5)
    assert whole == pytest.approx(clear + (1.0 - clear) * 0.47897, abs=1e-5)
    # 0.711 + 0.56 x 0.08 + 0.73 x 0.0064 + 0.013 at midnight + 0.00012 x (980 - 1000): the rest of the hand calculation
    assert whole == pytest.approx(0.77107 + 0.22893 * 0.47897, abs=2e-5)


def test_layers_without_bases_stand_at_standard_heights():
    """0.3 e^(-1/8.2) + 0.2 e^(-4/8.2) + 0.4 x 0.4 e^(-8/8.2) = 0.26556 + 0.12279 + 0.06031."""
    assert sky_of_best_estimate(small_site(), layered_weather((0.3, 0.2, 0.4)))[1] == pytest.approx(0.44867, abs=2e-5)


def test_one_unknown_base_takes_the_standard_height_alone():
    effect = sky_of_best_estimate(small_site(), layered_weather((0.3, 0.2, 0.4), (800.0, np.nan, 7000.0)))[1]
    assert effect == pytest.approx(0.27211 + 0.12279 + 0.06814, abs=2e-5)


def test_where_a_layer_is_unknown_the_whole_cover_counts():
    """0.6 e^(-2/8.2) = 0.47014, the model of one layer."""
    weather = layered_weather((0.3, 0.2, 0.1))
    weather.table.loc[weather.table.index[:10], COVERS[2]] = np.nan
    cloud = formulas_of(small_site(), weather, rivals(small_site())).cloud[:, 0]
    np.testing.assert_allclose(cloud[:10], 0.47014, atol=1e-5)
    np.testing.assert_allclose(cloud[10:], 0.26556 + 0.12279 + 0.04 * 0.37696, atol=2e-5)


def test_without_layers_nothing_changes():
    plain = steady_weather(2, cloud_frac=0.6)
    assert sky_of_best_estimate(small_site(), plain)[1] == pytest.approx(0.47014, abs=1e-5)
    unknown = steady_weather(2, cloud_frac=0.6, **dict.fromkeys((*COVERS, *BASES), np.nan))
    one, other = (run(small_site(), weather) for weather in (plain, unknown))
    np.testing.assert_array_equal(one.steps["longwave_J"], other.steps["longwave_J"])


def test_other_cloud_formulas_keep_to_the_whole_cover():
    site = small_site(weather={"cloud_model": "unsworth_monteith"})
    assert sky_of_best_estimate(site, layered_weather((0.3, 0.2, 0.1)))[1] == pytest.approx(0.84 * 0.6)


def test_high_cloud_leaves_more_of_the_night_sky_in_the_loop():
    always = {"sense": "clock", "lockout_frost": -40}
    low, high = (total(run(small_site(controls=always), layered_weather(covers)), "longwave_J")
                 for covers in ((0.9, 0.0, 0.0), (0.0, 0.0, 0.9)))
    assert high > 1.5 * low > 0.0


# --- horizon ------------------------------------------------------------------------------------------------------

SOUTH_WALL = [0, 0, 0, 20, 40, 20, 0, 0]  # eight sectors: south-east, south and south-west are obstructed


def roofed(**more):
    return small_site(roof=[{"name": "long roof", "area": 400, "surface": "weathered metal", "slope": 25, **more}],
                      controls={"sense": "clock", "lockout_frost": -40})


def views(site, runs=0):
    return ensemble(site, drivers(site, steady_weather(1)), runs, 1).members["planes"]["sky_view"][:, 0]


def hemisphere(sectors, slope_deg, facing_deg):
    """Share of an even sky on the roof, cell by cell of the half sphere: no closed form, no symmetry used."""
    elevation = (np.arange(1500) + 0.5) * (np.pi / 2 / 1500)
    azimuth = (np.arange(1440) + 0.5) * (2 * np.pi / 1440)
    e, a = np.meshgrid(elevation, azimuth, indexing="ij")
    slope, facing = np.radians(slope_deg), np.radians(facing_deg)
    normal = np.array([np.sin(slope) * np.sin(facing), np.sin(slope) * np.cos(facing), np.cos(slope)])
    cosine = np.cos(e) * np.sin(a) * normal[0] + np.cos(e) * np.cos(a) * normal[1] + np.sin(e) * normal[2]
    width = 2 * np.pi / len(sectors)
    sector = np.floor(a / width + 0.5).astype(int) % len(sectors)
    seen = (np.degrees(e) > np.asarray(sectors)[sector]) & (cosine > 0.0)
    solid = np.cos(e) * (np.pi / 2 / 1500) * (2 * np.pi / 1440)
    return float((np.where(seen, cosine, 0.0) * solid).sum() / np.pi)


@pytest.mark.parametrize("sectors", [SOUTH_WALL, [5, 0, 12, 30, 35, 60, 2, 0, 0, 7, 7, 20], [10, 20, 30, 40]])
@pytest.mark.parametrize(("slope", "facing"), [(0, 0), (3, 180), (25, 180), (25, 0), (45, 77), (60, 300)])
def test_horizon_by_sectors_against_the_hemisphere(sectors, slope, facing):
    """Walton's root of the open slope's view stands beside it, see the method's page on the sky."""
    root = np.sqrt(0.5 * (1.0 + np.cos(np.radians(slope))))
    ours = views(roofed(horizon=sectors, slope=slope, facing=facing))[0]
    assert ours == pytest.approx(hemisphere(sectors, slope, facing) * root, abs=5e-4)


@pytest.mark.parametrize("slope", [0, 3, 20])
@pytest.mark.parametrize("height", [0, 15])
def test_a_list_of_one_height_is_that_height(slope, height):
    one, even = views(roofed(horizon=height, slope=slope)), views(roofed(horizon=[height] * 8, slope=slope, facing=40))
    assert even == pytest.approx(one, rel=1e-6)


def test_an_open_roof_is_waltons():
    assert views(roofed())[0] == pytest.approx(float(sky.sky_view_walton(25.0)), rel=1e-12)


def test_a_roof_that_faces_the_wall_cools_less():
    weather = steady_weather(2)
    north, south, bare = (total(run(roofed(**more), weather), "longwave_J") for more in (
        {"horizon": SOUTH_WALL, "facing": 0}, {"horizon": SOUTH_WALL, "facing": 180}, {}))
    assert 0.0 < south < 0.95 * north
    assert north < bare


def test_an_error_of_the_horizon_moves_every_sector():
    """A range of the mean, drawn: the members see more or less of the sky, the best estimate as stated."""
    seen = views(roofed(horizon={"value": SOUTH_WALL, "low": 5, "high": 15}), runs=20)
    assert seen[0] == views(roofed(horizon=SOUTH_WALL))[0]
    assert seen.min() < seen[0] < seen.max()


def test_what_hides_the_sky_sends_the_flux_of_a_black_body_at_air_temperature():
    """45 degrees all round leave cos^2 = half of the sky: half of its 300 W/m2, half of the air's 400, by hand 350."""
    site = roofed(horizon=[45] * 12, slope=0)
    plane = ensemble(site, drivers(site, steady_weather(1)), 0, 1).members["planes"][0, 0]
    air = Air(**{**dict.fromkeys(Air._fields, 0.0), "longwave_W_m2": 300.0, "black_W_m2": 400.0})
    assert sky_of(plane, air) == pytest.approx(350.0, abs=1e-3)
