"""Ground and buried stores: the heat equation itself, integrals, and another library's shape factors."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sprayroof.physics import ground, tank
from sprayroof.physics.constants import SHAPE_COMPACT, WATER_SIDE_H, YEAR_S

settings.register_profile("sprayroof", max_examples=150, deadline=None, derandomize=True)
settings.load_profile("sprayroof")

DAY_S = 86400.0
SITE = (12.0, 10.0, 20.0 * DAY_S)  # mean, amplitude, coldest
DEPTH = st.floats(0.2, 8.0)
TIME = st.floats(0.0, YEAR_S)
DIFFUSIVITY = st.floats(2.5e-7, 1.2e-6)


def at(depth_m, time_s, diffusivity=6e-7):
    return float(ground.ground_temperature_C(depth_m, time_s, *SITE, diffusivity))


def test_surface_is_coldest_and_warmest_when_told():
    assert at(0.0, 20.0 * DAY_S) == pytest.approx(2.0)
    assert at(0.0, 20.0 * DAY_S + 0.5 * YEAR_S) == pytest.approx(22.0)
    assert at(15.0, 100.0 * DAY_S) == pytest.approx(12.0, abs=0.2)


@given(depth=DEPTH, time=TIME, diffusivity=DIFFUSIVITY)
def test_ground_obeys_the_heat_equation(depth, time, diffusivity):
    dz, dt = 0.01, 3600.0
    by_time = (at(depth, time + dt, diffusivity) - at(depth, time - dt, diffusivity)) / (2.0 * dt)
    by_depth = (at(depth + dz, time, diffusivity) - 2.0 * at(depth, time, diffusivity)
                + at(depth - dz, time, diffusivity)) / dz**2
    assert by_time == pytest.approx(diffusivity * by_depth, abs=1e-10)


def test_form_of_the_paper():
    """Kasuda & Archenbach as it is printed everywhere, in days and m2/day."""
    a, z, t, t0 = 6e-7 * DAY_S, 2.0, 150.0, 20.0
    printed = 12.0 - 10.0 * math.exp(-z * math.sqrt(math.pi / (365.0 * a))) * math.cos(
        2.0 * math.pi / 365.0 * (t - t0 - 0.5 * z * math.sqrt(365.0 / (math.pi * a))))
    assert at(z, t * DAY_S) == pytest.approx(printed, abs=1e-9)


@given(top=st.floats(0.0, 3.0), high=st.floats(0.3, 4.0), time=TIME, diffusivity=DIFFUSIVITY)
def test_mean_over_a_wall(top, high, time, diffusivity):
    depths = top + high * (np.arange(4000) + 0.5) / 4000
    ours = ground.ground_temperature_between_C(top, top + high, time, *SITE, diffusivity)
    assert ours == pytest.approx(ground.ground_temperature_C(depths, time, *SITE, diffusivity).mean(), abs=1e-4)


@pytest.mark.parametrize(("diameter", "depth", "length"), [(2.0, 1.5, 10.0), (3.0, 4.0, 12.0), (1.0, 0.8, 20.0)])
def test_shape_factor_of_another_library(diameter, depth, length):
    ht = pytest.importorskip("ht")
    assert ground.shape_cylinder_lying_m(diameter, depth, length) == pytest.approx(
        ht.S_isothermal_pipe_to_plane(diameter, depth, length))


@given(diameter=st.floats(0.5, 4.0), more=st.floats(1.05, 5.0))
def test_compact_body_near_a_ball(diameter, more):
    """A ball's own rate is 1, the mean of compact bodies 0.95: no further apart than that and its mirror image."""
    depth = 0.5 * diameter * more
    ball = 2.0 * math.pi * diameter / (1.0 - diameter / (4.0 * depth))  # Incropera, table 4.1, case 1
    body = ground.shape_compact_m(math.pi * diameter**2, depth)
    assert SHAPE_COMPACT**2 * ball < body < ball


def test_compact_body_is_a_cube_in_print():
    """Incropera table 4.1: a cube of 2 m far from everything, 0.956 sqrt(4 pi A)."""
    far = ground.shape_compact_m(24.0, 1e6)
    assert far == pytest.approx(0.956 * math.sqrt(4.0 * math.pi * 24.0), rel=0.01)


@given(shape=st.floats(5.0, 100.0), soil=st.floats(0.5, 2.5), wall=st.floats(0.2, 50.0), area=st.floats(5.0, 200.0))
def test_soil_and_wall_stand_in_a_row(shape, soil, wall, area):
    ua = ground.buried_ua_W_K(shape, soil, wall, area)
    assert ua < min(shape * soil, wall * area)
    assert ua > 0.5 * min(shape * soil, wall * area) - 1e-9


def test_buried_store_is_slower_than_its_wall_alone():
    """27 m3, 2 m high, 1 m of ground over it: soil takes over where the wall is thin."""
    area = float(tank.wall_area_box_m2(27.0, 2.0))
    ua = ground.buried_ua_W_K(ground.shape_compact_m(area, 2.0), 1.5, 5.0, area)
    assert 20.0 < ua < 100.0
    assert ua < 0.5 * 5.0 * area


def test_wall_in_a_row_by_hand():
    """1/(1/150 + 0.5 + 1/25) = 1/0.546667."""
    assert ground.wall_series_W_m2K(150.0, 0.5, 25.0) == pytest.approx(1.829268, rel=1e-6)


def test_water_side_prior_is_a_wall_in_natural_convection():
    """Nu = 0.10 Ra^(1/3) with the properties of water at 20 degC and a difference of 1 K."""
    import CoolProp.CoolProp as coolprop

    k, mu, rho, cp, beta = (coolprop.PropsSI(name, "T", 293.15, "P", 1e5, "Water")
                            for name in ("L", "V", "D", "C", "ISOBARIC_EXPANSION_COEFFICIENT"))
    h = 0.10 * k * (9.80665 * beta * rho**2 * cp / (mu * k)) ** (1 / 3)
    assert h == pytest.approx(WATER_SIDE_H, rel=0.05)


def test_air_side():
    assert ground.air_side_W_m2K(4.0) == pytest.approx(20.0)  # ISO 6946: 4 + 4 v, its table value at 4 m/s
