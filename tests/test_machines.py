"""Chillers, inverter-driven machines, chilled beams and pumps: printed points, roots, and what must always hold."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize
from solved_anew import BEAM_FRAC

from sprayroof.physics import beams, chillers, machines
from sprayroof.physics.constants import CP_WATER, EN14825_CC

settings.register_profile("sprayroof", max_examples=150, deadline=None, derandomize=True)
settings.load_profile("sprayroof")

SHARE = st.floats(0.01, 1.0)
OUTDOOR = st.floats(13.0, 45.0)
POWER = st.floats(0.0, 5e4)


# --- which printed table the air conditioner's coefficients belong to ----------------------------------------------


def biquadratic(c, x, y):
    return c[0] + c[1] * x + c[2] * x * x + c[3] * y + c[4] * y * y + c[5] * x * y


def test_air_conditioner_coefficients_are_of_the_air_conditioner():
    """Cutler et al. 2013 print two single-speed sets; at 67/95 degF air conditioners give 0.9939 and 1.0092, heat
    pumps in cooling 0.9916 and 1.0109."""
    heat_pump = ((3.68637657, -0.098352478, 0.000956357, 0.005838141, -0.0000127, -0.000131702),
                 (-3.437356399, 0.136656369, -0.001049231, -0.0079378, 0.000185435, -0.0001441))
    assert [round(biquadratic(row, 67.0, 95.0), 4) for row in heat_pump] == [0.9916, 1.0109]
    assert round(float(machines.cutler_capacity_raw(67.0, 95.0)), 4) == 0.9939
    assert round(float(machines.cutler_eir_raw(67.0, 95.0)), 4) == 1.0092


# --- chillers -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("eer", "demand", "capacity", "printed"), [
    (2.41, 593.00, 593.00, 2.41), (3.05, 553.47, 620.00, 3.01), (3.66, 513.93, 660.00, 3.56),
    (4.24, 474.40, 710.00, 4.04),
])
def test_part_load_of_en14825(eer, demand, capacity, printed):
    """Worked sheet of a chiller with fixed capacity steps, published calculator for EN 14825, Cc = 0.9."""
    factor = chillers.part_load_en14825_frac(demand / capacity, EN14825_CC)
    assert eer * factor == pytest.approx(printed, abs=0.0055)


def test_cyclic_part_load_by_hand():
    assert chillers.part_load_cyclic_frac(0.4, 0.25) == pytest.approx(0.85)
    assert chillers.part_load_cyclic_frac(1.0, 0.25) == 1.0


def test_scroll_curves_are_one_at_their_rating():
    """44 degF leaving, 95 degF outdoors: raw values by hand from the printed coefficients."""
    assert chillers.scroll_capacity_raw_frac(44.0, 95.0) == pytest.approx(1.00002, abs=1e-5)
    assert chillers.scroll_eir_raw_frac(44.0, 95.0) == pytest.approx(0.99989, abs=1e-5)
    assert chillers.chiller_capacity_frac(20.0 / 3.0, 35.0) == pytest.approx(1.0, abs=1e-9)
    assert chillers.chiller_eir_frac(20.0 / 3.0, 35.0) == pytest.approx(1.0, abs=1e-9)
    assert chillers.scroll_part_load_frac(1.0) == pytest.approx(1.0)


@given(leaving=st.floats(4.0, 18.0), outdoor=OUTDOOR, more=st.floats(0.5, 5.0))
def test_chiller_works_harder_in_heat(leaving, outdoor, more):
    assert chillers.chiller_eir_frac(leaving, outdoor + more) >= chillers.chiller_eir_frac(leaving, outdoor) - 1e-12
    assert chillers.chiller_capacity_frac(leaving, outdoor + more) <= (
        chillers.chiller_capacity_frac(leaving, outdoor) + 1e-12)


@pytest.mark.parametrize("power", [
    lambda load: chillers.chiller_W(load, 1e4, 0.3, 0.25),
    lambda load: chillers.inverter_W(load, 1e4, 0.3, 0.25, 7.0, 30.0, 7.0, 35.0),
], ids=["chiller", "inverter"])
@given(load=st.floats(0.0, 1e4), less=st.floats(0.0, 1.0))
def test_taking_load_off_never_costs(power, load, less):
    assert power(0.0) == 0.0
    assert power(load * less) <= power(load) + 1e-9
    assert power(2e4) == power(1e4)


@given(outdoor=OUTDOOR, more=st.floats(0.1, 8.0), share=SHARE)
def test_inverter_against_temperature_and_load(outdoor, more, share):
    cool, hot = (chillers.inverter_eir_frac(share, 7.0, t, 7.0, 35.0) for t in (outdoor, outdoor + more))
    assert hot >= cool
    part, full = (chillers.inverter_eir_frac(s, 7.0, outdoor, 7.0, 35.0) for s in (share, 1.0))
    assert part <= full + 1e-12
    assert chillers.carnot_eer_frac(share, 7.0, outdoor) < 280.15 / max(1e-9, outdoor - 7.0) or outdoor <= 17.0


def test_inverter_is_one_at_its_rating():
    assert chillers.inverter_eir_frac(1.0, 13.0, 35.0, 13.0, 35.0) == pytest.approx(1.0)
    assert chillers.inverter_W(1e4, 1e4, 0.3, 0.25, 13.0, 35.0, 13.0, 35.0) == pytest.approx(3000.0)


# Middle 80 % and median of 38 air-to-water machines of a public list of declared values (hplib 1.9), water leaving at
# 7 degC: efficiency at the part-load points of EN 14825 over that at full load and 35 degC
DECLARED = [(0.74, 30.0, 1.25, 1.39, 1.52), (0.47, 25.0, 1.50, 1.79, 2.03), (0.21, 20.0, 1.75, 2.18, 2.55)]


@pytest.mark.parametrize(("share", "outdoor", "low", "median", "high"), DECLARED)
def test_inverter_lies_among_declared_machines(share, outdoor, low, median, high):
    ours = 1.0 / chillers.inverter_eir_frac(share, 7.0, outdoor, 7.0, 35.0)
    assert low <= ours <= high
    assert ours == pytest.approx(median, rel=0.15)


# --- pumps ----------------------------------------------------------------------------------------------------------


def test_pump_slowed_in_a_closed_loop_follows_the_cube():
    assert chillers.pump_slowed_W(800.0, 0.5, 0.0) == pytest.approx(100.0)
    assert chillers.pump_slowed_W(800.0, 1.0, 0.6) == pytest.approx(800.0)
    assert chillers.pump_slowed_W(800.0, 0.5, 1.0) == pytest.approx(400.0)  # nothing but lift: power as flow


@given(flow=SHARE, static=st.floats(0.0, 1.0))
def test_pump_slowed_is_between_cube_and_line(flow, static):
    power = chillers.pump_slowed_W(1000.0, flow, static)
    assert 1000.0 * flow**3 - 1e-9 <= power <= 1000.0 * flow + 1e-9


# --- beams and order ------------------------------------------------------------------------------------------------


@given(room=st.floats(20.0, 30.0), supply=st.floats(5.0, 25.0), flow=st.floats(0.005, 0.5), rated=st.floats(50.0, 5e3),
       exponent=st.floats(1.0, 1.5))
def test_beam_from_a_root_finder(room, supply, flow, rated, exponent):
    ours = float(beams.beam_capacity_W(room, supply, flow, rated, 8.0, exponent))
    if room <= supply:
        assert ours == 0.0
        return

    def lacking(heat):
        mean = room - supply - heat / (2.0 * flow * CP_WATER)
        return rated * max(mean, 0.0) ** exponent / 8.0**exponent - heat

    root = optimize.brentq(lacking, 0.0, 2.0 * flow * CP_WATER * (room - supply), xtol=1e-10, rtol=1e-12)
    assert ours == pytest.approx(root, rel=BEAM_FRAC, abs=1e-6)
    # the return stays colder than the room would be at twice the mean difference
    assert ours <= 2.0 * flow * CP_WATER * (room - supply)


def test_beam_at_its_rating():
    """Much water: the mean is the supply, and the rated difference gives the rated output."""
    assert beams.beam_capacity_W(25.0, 17.0, 1e4, 800.0, 8.0, 1.1) == pytest.approx(800.0, rel=1e-4)


def test_free_cooling_by_hand():
    assert beams.free_cooling_W(25.0, 18.0, 500.0) == 3500.0
    assert beams.free_cooling_W(25.0, 30.0, 500.0) == 0.0


@given(load=POWER, free=POWER, roof=POWER)
def test_order_shares_out_the_whole_load(load, free, roof):
    by_air, by_roof, by_machine = beams.in_order_W(load, free, roof)
    assert by_air + by_roof + by_machine == pytest.approx(load, abs=1e-6)
    assert min(by_air, by_roof, by_machine) >= -1e-9
    assert by_air <= free
    assert by_roof <= roof
    if by_roof > 0.0:
        assert by_air == pytest.approx(min(free, load))  # outdoor air comes first


def test_machines_part_load_differ_from_each_other():
    share = 0.5
    factors = [chillers.part_load_cyclic_frac(share, 0.25), chillers.part_load_en14825_frac(share, 0.9),
               share / chillers.scroll_part_load_frac(share)]
    assert min(np.diff(np.sort(factors))) > 0.01
