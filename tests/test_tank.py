"""The store in layers: plug flow, layers, closed forms."""

import numpy as np
import pytest
from solved_anew import HAND_FRAC

from sprayroof.physics import tank
from sprayroof.physics.constants import CP_WATER


def test_a_column_is_pushed_through_as_a_plug():
    """Eight layers of 10 kg, colder below: what is taken comes from the bottom, layer by layer, worked by hand."""
    mass, temp = np.full(8, 10.0), np.arange(20.0, 12.0, -1.0)
    assert tank.take_bottom(mass, temp, 25.0) == pytest.approx((10 * 13 + 10 * 14 + 5 * 15) / 25)
    assert mass.tolist() == [10, 10, 10, 10, 10, 5, 0, 0]
    tank.add_top(mass, temp, 25.0, 25.0)
    assert temp[0] == pytest.approx((10 * 20 + 25 * 25) / 35)


def test_plug_flow_delays_a_warm_return_by_the_store():
    """Warm water on top of eight layers: the outlet keeps its cold until the store has been turned over."""
    mass, temp, spare = np.full(8, 100.0), np.full(8, 12.0), (np.empty(8), np.empty(8))
    outlets = []
    for _ in range(64):
        outlets.append(tank.take_bottom(mass, temp, 25.0))
        tank.add_top(mass, temp, 25.0, 22.0)
        tank.settle(mass, temp, *spare)
    # half a turnover: still cold; a turnover and a half: warm. A mixed store would be at 12 + 10 (1 - exp(-t/T)).
    assert outlets[16] < 12.5
    assert outlets[16] < 12.0 + 10.0 * (1.0 - np.exp(-16 / 32)) - 3.0
    assert outlets[56] > 21.5


def test_one_layer_is_a_mixed_store():
    """Closed form of a mixed store with a through-flow: 22 - 10 (1 - q)^n."""
    mass, temp = np.array([800.0]), np.array([12.0])
    for _ in range(20):
        tank.take_bottom(mass, temp, 25.0)
        tank.add_top(mass, temp, 25.0, 22.0)
    assert temp[0] == pytest.approx(22.0 - 10.0 * (1.0 - 25.0 / 800.0) ** 20, rel=1e-12)


def test_cold_water_on_top_sinks_and_mixes():
    mass, temp, spare = np.array([10.0, 10.0, 10.0]), np.array([10.0, 20.0, 15.0]), (np.empty(3), np.empty(3))
    tank.settle(mass, temp, *spare)
    assert temp == pytest.approx([15.0, 15.0, 15.0])
    mass, temp = np.array([10.0, 10.0, 10.0]), np.array([30.0, 10.0, 20.0])
    tank.settle(mass, temp, *spare)
    assert temp == pytest.approx([30.0, 15.0, 15.0])


@pytest.mark.parametrize("steps", [1, 24, 1440])
def test_walls_follow_the_exponential_whatever_the_step(steps):
    mass, temp = np.array([2000.0, 2000.0]), np.array([25.0, 15.0])
    lost = sum(tank.lose_heat(mass, temp, 120.0, 10.0, 86400.0 / steps) for _ in range(steps))
    factor = np.exp(-60.0 * 86400.0 / (2000.0 * CP_WATER))
    assert temp == pytest.approx([10.0 + 15.0 * factor, 10.0 + 5.0 * factor], rel=HAND_FRAC)
    assert lost == pytest.approx(2000.0 * CP_WATER * 20.0 * (1.0 - factor), rel=HAND_FRAC)


def test_taking_all_leaves_an_empty_store_that_can_be_filled_again():
    mass, temp = np.array([5.0, 5.0]), np.array([20.0, 10.0])
    assert tank.take_bottom(mass, temp, 10.0) == pytest.approx(15.0)
    assert mass.sum() == 0.0
    tank.settle(mass, temp, np.empty(2), np.empty(2))
    tank.add_top(mass, temp, 4.0, 18.0)
    tank.settle(mass, temp, np.empty(2), np.empty(2))
    assert mass.tolist() == [2.0, 2.0]
    assert temp.tolist() == [18.0, 18.0]
