"""Sky formulas against the infrared columns of published weather files and against measured nights."""

import numpy as np
import outside_data
import pytest
from outside_data import or_skip
from sky_records import all_nights, clark_allen_column, clear_nights, martin_berdahl_column, miss, rmse

from sprayroof.physics import sky


@pytest.mark.parametrize("city", ["chicago", "northway"])
def test_tmy3_files_carry_martin_and_berdahl(city):
    """Pure rounding to whole W/m2 is 0.29; the file's hour 1 to 24 stands in the diurnal term."""
    table = or_skip(getattr(outside_data, city))
    ours = martin_berdahl_column(table)
    assert len(table) == 8760
    assert rmse(ours, table["infrared"]) < 0.35
    assert np.abs(ours - table["infrared"]).max() < 1.0


@pytest.mark.parametrize("city", ["baltimore", "amsterdam"])
def test_older_files_carry_clark_and_allen(city):
    table = or_skip(getattr(outside_data, city))
    ours = clark_allen_column(table)
    assert len(table) == 8760
    assert rmse(ours, table["infrared"]) < 0.35
    assert np.abs(ours - table["infrared"]).max() < 1.0


def test_a_file_of_one_model_is_not_met_by_the_other():
    """The two checks above can fail: the rival formula misses by tens of W/m2."""
    assert rmse(clark_allen_column(or_skip(outside_data.chicago)), outside_data.chicago()["infrared"]) > 5.0
    assert rmse(martin_berdahl_column(or_skip(outside_data.baltimore)), outside_data.baltimore()["infrared"]) > 5.0


@pytest.mark.parametrize("model", sky.CLEAR_SKY)
def test_clear_nights_of_payerne(model):
    """June 2016, at most one okta: published formulas lie about 8 W/m2 low, about 9 apart; 24 is their hourly doubt."""
    record = or_skip(outside_data.payerne)
    count, bias, apart = miss(record, model, None, clear_nights(record))
    assert count >= 8
    if model == "idso":  # made for other nights: it reads high here, and is not drawn as a rival
        assert 10.0 < bias < 25.0
        return
    assert -15.0 < bias < 8.0
    assert apart < 16.0


def test_the_default_on_clear_nights_of_payerne():
    record = or_skip(outside_data.payerne)
    _, bias, apart = miss(record, "berdahl_martin", None, clear_nights(record))
    assert bias == pytest.approx(-8.0, abs=2.0)
    assert apart == pytest.approx(9.0, abs=2.0)


@pytest.mark.parametrize("cloud", sky.CLOUDS)
def test_clouds_of_payerne(cloud):
    """SYNOP cover: 10 to 13 W/m2 apart with a correction (its own formula), far off without one."""
    record = or_skip(outside_data.payerne)
    nights = all_nights(record)
    clear = "clark_allen" if cloud == "clark_allen" else "berdahl_martin"
    _, bias, apart = miss(record, clear, cloud, nights)
    _, bare_bias, bare = miss(record, clear, None, nights)
    if cloud == "crawford_duchon":  # wants cover from sunshine; with SYNOP cover it reads high, and is not drawn
        assert bias > 0.0
        assert apart < 24.0 < bare
        return
    assert apart < 16.0
    assert abs(bias) < 10.0
    assert bare_bias < -25.0
    assert bare > 1.8 * apart


def test_the_formulas_fail_high_up_in_winter():
    """A documented failure: at 2.3 km under an inversion the usual formulas read some 30 W/m2 too little."""
    record = or_skip(outside_data.alamosa)
    nights = clear_nights(record)
    assert -36.0 < miss(record, "berdahl_martin", None, nights)[1] < -22.0
    assert -45.0 < miss(record, "brutsaert", None, nights)[1] < -30.0
    assert -16.0 < miss(record, "prata", None, nights)[1] < -4.0
