"""Metered nights against what their weather allows, on the invented data pack and its flow read ten times too large."""

from __future__ import annotations

import dataclasses
import json

import make_data_pack as maker
import pytest

from sprayroof.evidence.read_logs import read_logs
from sprayroof.evidence.site import read_site
from sprayroof.model.measured import measure
from sprayroof.model.measured_bounds import above_bound, bounds_of


@pytest.fixture(scope="module")
def pack():
    site = read_site(maker.FOLDER)
    return site, read_logs(site)


def flow_times(site, logs, factor):
    """The logs with the flow column read too large, and what is found then."""
    table = logs.table.copy()
    table["spray_L_min"] *= factor
    wrong = dataclasses.replace(logs, table=table)
    return above_bound(site, wrong, measure(site, wrong).nights)


def test_the_pack_as_logged_is_below_its_bounds(pack):
    site, logs = pack
    assert above_bound(site, logs, measure(site, logs).nights) == []


def test_the_true_cooling_lies_below_each_night_and_the_bound_is_of_use(pack):
    """Truth of the pack by its own, independent model; a bound beyond four times the sum could refuse nothing."""
    found = bounds_of(*pack)
    truth = {night["date"]: night["pipe_kWh"]
             for night in json.loads(maker.TRUTH_FILE.read_text(encoding="utf-8"))["nights"]}
    assert len(found) > 20
    assert all(truth[date] <= bound for date, bound in found.items())
    assert sum(found.values()) < 4.0 * sum(truth[date] for date in found)


def test_flow_ten_times_too_large_is_told_with_nights_and_bound(pack):
    found, = flow_times(*pack, 10.0)
    assert (found.code, found.level) == ("ledger.above-bound", "doubt")
    assert len(found.data["nights"]) > 10
    assert len(found.data["bound_kWh"]) == len(found.data["nights"])
    assert all(cooling > bound for cooling, bound in zip(found.data["cooling_kWh"], found.data["bound_kWh"],
                                                         strict=True))
    assert found.data["nights"][0] in found.message
    assert "flow" in found.effect


def tenth(fact):
    return dataclasses.replace(fact, value=0.1 * fact.value, low=0.1 * fact.low, high=0.1 * fact.high)


def test_the_cooling_of_a_site_ten_times_as_large_is_told(pack):
    """A tenth of the roof with a tenth of the water cannot have given off what the store lost."""
    site, logs = pack
    roof = site.roof[0].model_copy(update={"area_m2": tenth(site.roof[0].area_m2)})
    spray = site.spray.model_copy(update={"flow_L_min": tenth(site.spray.flow_L_min), "pump_power_W":
                                          tenth(site.spray.pump_power_W)})
    small = site.model_copy(update={"roof": (roof,), "spray": spray})
    found, = above_bound(small, logs, measure(site, logs).nights)
    assert found.code == "ledger.above-bound"
