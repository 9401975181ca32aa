"""Metered nights against what their weather allows, on the invented data pack and its flow read ten times too large."""

from __future__ import annotations

import dataclasses
import json

import make_data_pack as maker
import pandas as pd
import pytest

from sprayroof.evidence.read_logs import read_logs
from sprayroof.evidence.site import read_site
from sprayroof.model import measured_bounds
from sprayroof.model.measured import measure
from sprayroof.model.measured_amounts import Amount
from sprayroof.model.measured_bounds import bounds_of, possible
from sprayroof.model.measured_heat import Heat
from sprayroof.model.measured_totals import NightHeat, both_of


@pytest.fixture(scope="module")
def pack():
    site = read_site(maker.FOLDER)
    return site, read_logs(site)


@pytest.fixture(scope="module")
def plain(pack):
    return measure(*pack)


def flow_times(site, logs, factor):
    """The ledger with the flow column read too large."""
    table = logs.table.copy()
    table["spray_L_min"] *= factor
    return measure(site, dataclasses.replace(logs, table=table))


def told(measured):
    return [found for found in measured.findings if found.code == "ledger.above-bound"]


def test_the_pack_as_logged_is_below_its_bounds(plain):
    assert told(plain) == []


def test_the_true_cooling_lies_below_each_night_and_the_bound_is_of_use(pack):
    """Truth of the pack by its own, independent model; a bound beyond four times the sum could refuse nothing."""
    found = bounds_of(*pack)
    truth = {night["date"]: night["pipe_kWh"]
             for night in json.loads(maker.TRUTH_FILE.read_text(encoding="utf-8"))["nights"]}
    assert len(found) > 20
    assert all(truth[date] <= bound for date, bound in found.items())
    assert sum(found.values()) < 4.0 * sum(truth[date] for date in found)


def test_flow_ten_times_too_large_is_told_with_nights_and_bound(pack):
    found, = told(flow_times(*pack, 10.0))
    assert (found.code, found.level) == ("ledger.above-bound", "doubt")
    assert len(found.data["nights"]) > 10
    assert len(found.data["bound_kWh"]) == len(found.data["nights"])
    assert all(cooling > bound for cooling, bound in zip(found.data["cooling_kWh"], found.data["bound_kWh"],
                                                         strict=True))
    assert found.data["nights"][0] in found.message
    assert "flow" in found.effect


def test_what_the_flow_cannot_have_told_is_refused_and_the_store_counts(pack, plain):
    """Heat by the store does not know the flow meter: on refused nights it stands alone, as it did beside the pipe."""
    wrong = flow_times(*pack, 10.0)
    found, = told(wrong)
    by_store = [night for night in plain.nights if night["date"] in found.data["nights"] and night["tank_why"] == ""]
    rows = {night["date"]: night for night in wrong.nights}
    assert len(by_store) > 5
    for night in by_store:
        row = rows[night["date"]]
        assert (row["valid"], row["heat_by"], row["cooling_pipe_kWh"]) == (True, "store", None)
        assert row["cooling_roof_kWh"] == pytest.approx(night["cooling_tank_kWh"], rel=1e-9)
        assert row["pipe_why"].startswith("more than the night's weather allows: ")
    for date in found.data["left_out"]:
        assert (rows[date]["valid"], rows[date]["cooling_roof_kWh"]) == (False, None)
    assert wrong.totals["cooling_roof_kWh"].grade != "A"
    assert "counted by the other way of measuring alone" in found.message


def test_the_refused_kWh_are_what_the_sum_lost(pack, monkeypatch):
    site, logs = pack
    found, = told(flow_times(site, logs, 10.0))
    counted = flow_times(site, logs, 10.0).totals["cooling_roof_kWh"].value
    monkeypatch.setattr(measured_bounds, "bound_judged_kWh", lambda readings, night: None)
    as_metered = flow_times(site, logs, 10.0)
    assert told(as_metered) == []
    assert found.data["refused_kWh"] == pytest.approx(as_metered.totals["cooling_roof_kWh"].value - counted, rel=1e-9)
    assert found.data["refused_kWh"] > 100.0


def test_one_impossible_night_keeps_the_cooling_from_grade_a(pack, plain):
    """What told the impossible on one night told the others too."""
    site, logs = pack
    night = next(row["date"] for row in plain.nights if row["heat_by"] == "both")
    table = logs.table.copy()
    start = pd.Timestamp(night, tz="UTC") + pd.Timedelta("12h")
    table.loc[start : start + pd.Timedelta("24h"), "spray_L_min"] *= 30.0
    wrong = measure(site, dataclasses.replace(logs, table=table))
    found, = told(wrong)
    assert found.data["nights"] == [night]
    assert plain.totals["cooling_roof_kWh"].grade == "A"
    assert wrong.totals["cooling_roof_kWh"].grade == "B"


def tenth(fact):
    return dataclasses.replace(fact, value=0.1 * fact.value, low=0.1 * fact.low, high=0.1 * fact.high)


def test_the_cooling_of_a_site_ten_times_as_large_is_refused(pack, plain):
    """A tenth of the roof with a tenth of the water cannot have given off what the store lost: most nights leave."""
    site, logs = pack
    roof = site.roof[0].model_copy(update={"area_m2": tenth(site.roof[0].area_m2)})
    spray = site.spray.model_copy(update={"flow_L_min": tenth(site.spray.flow_L_min), "pump_power_W":
                                          tenth(site.spray.pump_power_W)})
    small = measure(site.model_copy(update={"roof": (roof,), "spray": spray}), logs)
    found, = told(small)
    out, rows = found.data["left_out"], {night["date"]: night for night in small.nights}
    assert len(out) > 10
    assert all(not rows[date]["valid"] and rows[date]["cooling_roof_kWh"] is None for date in out)
    left_out, = (one for one in small.findings if one.code == "ledger.nights-left-out")
    assert set(out) <= set(left_out.data["nights"])
    assert "more than the night's weather allows" in left_out.message
    assert f"{len(out)} nights left out of the sum" in found.message
    # what the sum of the nights as metered lost, night by night
    lost = sum(night["cooling_roof_kWh"] - (rows[night["date"]]["cooling_roof_kWh"] or 0.0) for night in plain.nights
               if night["date"] in found.data["nights"])
    assert found.data["refused_kWh"] == pytest.approx(lost, rel=0.05)  # less rain off the smaller roof
    kept = [night for night in small.nights if night["valid"]]
    assert small.totals["cooling_roof_kWh"].nights == len(kept) if kept else "cooling_roof_kWh" not in small.totals


@pytest.mark.parametrize(("pipe", "tank", "by", "left"), [
    (Amount(90.0, {}, 5.0), Amount(90.0, {}, 5.0), "both", 90.0),
    (Amount(120.0, {}, 5.0), Amount(90.0, {}, 5.0), "store", 90.0),
    (Amount(90.0, {}, 5.0), Amount(120.0, {}, 5.0), "pipe", 90.0),
    (Amount(120.0, {}, 5.0), None, "", None),
    (Amount(120.0, {}, 30.0), None, "pipe", 120.0),  # its range still holds what is possible
    # each alone might be 99, their mean of 112 within 10.6 might not
    (Amount(112.0, {}, 15.0), Amount(112.0, {}, 15.0), "", None),
])
def test_what_is_kept_of_a_night_bounded_by_100_kWh(pipe, tank, by, left):
    ways = Heat(pipe), Heat(tank)
    heat = possible(NightHeat(*ways, **both_of(*ways), sprayed_L=None, pump_kWh=None, hours=None), 100.0)
    assert heat.by == by
    assert (None if heat.both is None else heat.both.value) == left
