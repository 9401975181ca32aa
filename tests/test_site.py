"""The site file: reading, ranges, problems with their lines, template, reference page, changes."""

from __future__ import annotations

import copy
import datetime
import json
import math
import os
import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sprayroof.catalogue import FINDINGS
from sprayroof.errors import SiteFileProblems
from sprayroof.evidence.site import LISTS, SECTIONS, Site, read_site, site_from_dict
from sprayroof.evidence.site_file import words as site_words
from sprayroof.evidence.site_file.entries import Section
from sprayroof.evidence.site_file.entry_logs import MomentEntry
from sprayroof.evidence.site_file.entry_numbers import FactEntry, NumberEntry
from sprayroof.evidence.site_file.entry_words import ClockEntry, Column, DateEntry, MonthDay, TableEntry, date_advice
from sprayroof.evidence.site_file.facts import Fact, sectors_of
from sprayroof.evidence.site_file.lines import lines_of

HERE = Path(__file__).parent
BAD = HERE / "bad_inputs" / "site"
DOCS = HERE.parent / "docs" / "reference"
US_GPM_L_MIN = 231 * 2.54**3 / 1000  # 231 cubic inches (NIST Handbook 44), inch 2.54 cm

GOOD = {
    "site": {"name": "Harbour Lane Hall", "report_date": datetime.date(2026, 3, 31)},
    "place": {"latitude": 36.1, "longitude": -79.95, "elevation": 273, "time_zone": "America/New_York"},
    "weather": {"file": "data/723170TYA.CSV", "package": "pvlib"},
    "roof": [{"name": "south", "area": 600}],
    "spray": {"flow": 200, "pump_power": 700},
    "store": {"volume": 60},
    "emitter": [{"name": "floor", "kind": "floor", "area": 300, "flow": 50, "pump_power": 100}],
    "load": {"ua": 2, "balance_point": 17},
}


def good(**changes: object) -> dict:
    """A good record with some dotted entries changed (double underscore for the dot; None takes out)."""
    record = copy.deepcopy(GOOD)
    for name, value in changes.items():
        *way, last = name.split("__")
        table = record
        for part in way:
            table = table[int(part)] if isinstance(table, list) else table.setdefault(part, {})
        table[last] = value
    return record


def problems_of(record: dict) -> list[str]:
    """All problems of a record as text."""
    with pytest.raises(SiteFileProblems) as caught:
        site_from_dict(record)
    return [str(problem) for problem in caught.value.problems]


def codes(site: Site) -> list[str]:
    return [finding.code for finding in site.findings]


# ---------------------------------------------------------------------------------------- facts and their ranges

@pytest.mark.parametrize(("source", "factor"), [
    ("measured", 0.5), ("drawing", 0.75), ("nameplate", 1.0), ("owner", 1.5), ("guess", 2.5), (None, 1.5),
])
def test_range_of_a_stated_number_is_the_spread_times_the_source(source, factor):
    stated = {"value": 60} if source is None else {"value": 60, "source": source}
    fact = site_from_dict(good(store__volume=stated)).store.volume_m3
    # the store's volume has a spread of 5 %
    assert (fact.low, fact.value, fact.high) == pytest.approx((60 - 3 * factor, 60, 60 + 3 * factor))
    assert (fact.source, fact.given, fact.unit) == (source or "unstated", True, "m3")


def test_table_with_range_and_units():
    flow = {"value": "60 US gpm", "low": "55 US gpm", "high": 240, "source": "measured", "note": "bucket, 12 May"}
    fact = site_from_dict(good(spray__flow=flow)).spray.flow_L_min
    assert fact.value == pytest.approx(60 * US_GPM_L_MIN, rel=1e-9)
    assert fact.low == pytest.approx(55 * US_GPM_L_MIN, rel=1e-9)
    assert (fact.high, fact.source, fact.note) == (240.0, "measured", "bucket, 12 May")


def test_defaults_carry_their_own_range_and_are_not_given():
    site = site_from_dict(good())
    expected = {"weather.wind_factor": (0.7, 1.0, 1.4), "roof.1.shelter": (0.8, 1.0, 1.0),
                "spray.drop_size": (0.8, 1.5, 2.5),
                "roof.1.deck_u": (0.3, 0.5, 0.7), "store.leak": (0.0, 0.0, 20.0), "room.temperature": (24, 25, 26),
                "weather.sky_emissivity_offset": (-0.041, 0.0, 0.041), "store.u": (0.3, 1.0, 3.0)}
    facts = site.facts()
    for name, values in expected.items():
        fact = facts[name]
        assert (fact.low, fact.value, fact.high) == pytest.approx(values), name
        assert (fact.given, fact.source) == (False, "default"), name


def test_to_state_a_default_never_widens_its_range():
    silent, stated = site_from_dict(good()), site_from_dict(good(spray__drop_size={"value": 1.5, "source": "guess"}))
    assert (stated.spray.drop_size_mm.low, stated.spray.drop_size_mm.high) == pytest.approx(
        (silent.spray.drop_size_mm.low, silent.spray.drop_size_mm.high))
    assert stated.spray.drop_size_mm.given


def test_ranges_end_at_the_physical_bounds():
    facts = site_from_dict(good(roof__0__wetted_share=0.9, store__leak=4)).facts()
    # 0.9 +- 0.25 ends at the whole; a leak of 4 L/day +- 50 %
    assert (facts["roof.1.wetted_share"].low, facts["roof.1.wetted_share"].high) == pytest.approx((0.65, 1.0))
    assert (facts["store.leak"].low, facts["store.leak"].high) == pytest.approx((2.0, 6.0))


@pytest.mark.parametrize(("surface", "wetted", "capacity", "runoff", "loss"), [
    ("new coated metal", 0.55, 8, 0.92, 0.5), ("weathered metal", 0.8, 8, 0.92, 0.5),
    ("concrete", 0.95, 200, 0.82, 0.5),
    ("membrane", 0.95, 20, 0.82, 0.5), ("gravel", 0.95, 100, 0.62, 2.0), ("tile", 0.95, 40, 0.85, 0.5),
])
def test_defaults_by_surface(surface, wetted, capacity, runoff, loss):
    roof = site_from_dict(good(roof__0__surface=surface)).roof[0]
    assert [fact.value for fact in (roof.wetted_share_frac, roof.deck_capacity_kJ_m2K, roof.runoff_coefficient_frac,
                                    roof.initial_loss_mm)] == pytest.approx([wetted, capacity, runoff, loss])


def test_defaults_that_follow_other_entries():
    site = site_from_dict(good(roof__0__area=625, store__volume=80))
    assert site.roof[0].length_m.value == 25.0
    assert (site.store.dead_m3.value, site.store.reserve_m3.value) == pytest.approx((4.0, 12.0))
    assert (site.mains.top_up_below_m3, site.mains.top_up_to_m3) == pytest.approx((8.0, 12.0))
    assert site.emitter[0].minimum_surface_C == 19.0


def test_a_fact_refuses_a_range_without_its_value():
    with pytest.raises(ValueError, match="low <= value <= high"):
        Fact(3.0, 4.0, 5.0, "m3", "guess")
    with pytest.raises(ValueError, match="low <= value <= high"):
        Fact(math.nan, 4.0, 5.0, "m3", "guess")


# ---------------------------------------------------------------------------------------- entries of other kinds

def test_settings_have_the_forms_that_the_model_needs():
    site = site_from_dict(good(
        controls={"season_from": "10-15", "season_to": "04-30", "window_from": "19:30",
                  "window_to": datetime.time(6, 45),
                  "start_difference": "1.8 delta_degF", "lockout_wind": "18 km/h", "lockout_frost": "41 degF"},
        mains={"temperature": [8, 8, 9, 11, 13, 15, 17, "62.6 degF", 16, 14, 11, 9]},
        use=[{"name": "toilets", "draw": "0.9 m3/day", "to": "24:00"}]))
    controls = site.controls
    assert (controls.season_from, controls.season_to) == (MonthDay(10, 15), (4, 30))
    assert str(controls.season_from) == "10-15"
    assert (controls.window_from_h, controls.window_to_h) == (19.5, 6.75)
    assert controls.start_difference_K == pytest.approx(1.0)
    assert controls.lockout_wind_m_s == pytest.approx(5.0)
    assert controls.lockout_frost_C == pytest.approx(5.0)
    assert site.mains.temperature_C == pytest.approx((8, 8, 9, 11, 13, 15, 17, 17, 16, 14, 11, 9))
    assert site.use[0].draw_L_day.value == pytest.approx(900.0)
    assert (site.use[0].from_h, site.use[0].to_h) == (7.0, 24.0)


def test_columns_of_a_table_file(tmp_path):
    (tmp_path / "w.csv").write_text("time,T\n", encoding="utf-8")
    record = good(weather={"file": "w.csv", "format": "table", "time_column": "time", "time_zone": "UTC",
                           "columns": {"air_temperature": {"column": "T", "unit": "degF"}}})
    site = site_from_dict(record, tmp_path)
    assert site.weather.columns == {"air_temperature": Column("T", "degF")}
    assert site.weather_path() == tmp_path / "w.csv"


def test_another_rain_record(tmp_path):
    (tmp_path / "rain.csv").write_text("time,rain\n", encoding="utf-8")
    rain = {"file": "rain.csv", "column": "rain", "unit": "0.2 mm", "time_column": "time", "time_zone": "Etc/GMT+5"}
    site = site_from_dict(good(weather__rain=rain), tmp_path)
    assert (site.weather.rain.unit, site.weather.rain.stamp, site.weather.rain.kind) == ("0.2 mm", "end", "interval")
    assert site.rain_path() == tmp_path / "rain.csv"
    assert site.load_path() is None
    assert site.weather_path().is_file()


def test_markup_and_foreign_letters_stay_as_they_are():
    name = "<b>Hôtel & Größe</b> 東京 {{x}} %s =1+1"
    assert site_from_dict(good(site__name=name)).site.name == name


def test_name_of_exactly_the_longest_length_is_accepted():
    assert len(site_from_dict(good(site__name="x" * 400)).site.name) == 400
    assert "wanted at most 400 characters" in problems_of(good(site__name="x" * 401))[0]


def test_dotted_names_and_fact_table():
    site = site_from_dict(good(roof=[{"name": "south", "area": 600}, {"name": "north", "area": 100}],
                               prices={"electricity": 0.24}, site__currency="USD"))
    facts = site.facts()
    assert facts["roof.2.area"].value == 100.0
    assert "emitter.1.ua" not in facts
    rows = {row["entry"]: row for row in site.fact_table()}
    assert list(rows) == list(facts)
    assert rows["prices.electricity"]["unit"] == "USD/kWh"
    assert set(rows["roof.1.area"]) == {
        "entry", "label", "value", "low", "high", "unit", "source", "note", "given", "used"}
    assert site.sprayed_area_m2() == 700.0


def test_site_is_frozen():
    site = site_from_dict(good())
    with pytest.raises(Exception, match="frozen"):
        site.store.nodes = 2
    with pytest.raises(Exception, match="frozen"):
        site.folder = Path()
    with pytest.raises(AttributeError):
        site.store.volume_m3.value = 3.0


# ---------------------------------------------------------------------------------------- changes

def test_changed_site_is_checked_anew_and_leaves_the_first_alone():
    site = site_from_dict(good(store__dead=3))
    changes = {"store.volume": "40 m3", "roof.1.area": 500, "controls.sense": "clock", "store.dead": None}
    changed = site.with_changes(changes)
    assert (changed.store.volume_m3.value, changed.store.dead_m3.value) == (40.0, 2.0)
    assert changed.roof[0].area_m2.value == 500.0
    assert changed.controls.sense == "clock"
    assert (site.store.volume_m3.value, site.controls.sense) == (60.0, "return water")
    assert changed.changes == changes
    again = changed.with_changes({"spray.flow": Fact(150.0, 140.0, 160.0, "L/min", "measured")})
    assert again.spray.flow_L_min == Fact(150.0, 140.0, 160.0, "L/min", "measured")
    assert set(again.changes) == {*changed.changes, "spray.flow"}


@pytest.mark.parametrize(("name", "value", "part"), [
    ("store.volme", 40, "write volume if that is meant"), ("stor.volume", 40, "write [store] if that is meant"),
    ("store", 40, "this names no entry"), ("roof.3.area", 40, "means none of the 1 tables [[roof]]"),
    ("use.1.draw", 40, "means none of the 0 tables [[use]]"), ("store.volume", 0.0, "found 0"),
    ("store.volume", 5, "reserve 9 m³ is not below volume 5 m³"),
    ("spray.flow.value.x", 3, "this names no entry"), ("spray.flow.value", 3, "this names no entry"),
])
def test_changes_that_do_not_fit_are_refused(name, value, part):
    site = site_from_dict(good(store__reserve=9))
    with pytest.raises(SiteFileProblems, match=re.escape(part)):
        site.with_changes({name: value})


def test_one_item_list_needs_no_number():
    assert site_from_dict(good()).with_changes({"roof.area": 500}).roof[0].area_m2.value == 500.0


# ---------------------------------------------------------------------------------------- findings

@pytest.mark.parametrize(("changes", "code"), [
    ({"spray__flow": 20}, "site.spray-density"),                      # 20 / 600 = 0.033 L/min m2
    ({"spray__flow": 2000}, "site.spray-density"),                    # 3.3
    ({"place__longitude": 79.95}, "site.zone-doubtful"),              # the sun 5.3 h ahead, the clock 5 h behind UTC
    ({"place__latitude": -36.1}, "site.latitude-doubtful"),
    ({"emitter": []}, "site.no-emitter"),
    ({"site__name": "Example House, Lower Fernhollow"}, "site.template-values"),
    # GOOD: 600 m2 of roof, 200 L/min, 60 m3, a floor of 300 m2 with 50 L/min, 2 kW/K
    ({"store__volume": 2.9}, "site.value-unusual"),                   # 4.8 L/m2
    ({"store__volume": 601}, "site.value-unusual"),                   # 1002 L/m2
    ({"load__ua": 61}, "site.value-unusual"),                         # 0.203 kW/K per m2
    ({"load__ua": 101, "emitter__0__kind": "coil", "emitter__0__ua": 900, "emitter__0__air_flow": 900,
      "emitter__0__area": None}, "site.value-unusual"),
    ({"emitter__0__area": 12_001, "emitter__0__flow": 2000}, "site.value-unusual"),  # 20.002 roofs
    ({"emitter__0__flow": 2.9}, "site.value-unusual"),                # 0.0097 L/min m2
    ({"emitter__0__flow": 3000}, "site.value-unusual"),               # 10 L/min m2
    ({"spray__pump_power": 0.75}, "site.value-unusual"),              # 0.004 W per L/min
    ({"prices": {"electricity": 24}}, "site.value-unusual"),
    ({"prices": {"water": 210}, "site__currency": "USD"}, "site.value-unusual"),
    ({"store": {"volume": 60, "placement": "buried", "depth": 0.9}}, "site.value-unusual"),  # 2 m high
])
def test_findings(changes, code):
    site = site_from_dict(without_none(good(**changes)))
    assert codes(site) == [code]
    assert FINDINGS[code].level == site.findings[0].level
    assert site.findings[0].data is not None


def without_none(record: dict) -> dict:
    """The record without the entries of the first emitter that are None."""
    if record["emitter"]:
        record["emitter"][0] = {key: value for key, value in record["emitter"][0].items() if value is not None}
    return record


@pytest.mark.parametrize("changes", [
    {"store__volume": 3}, {"store__volume": 600}, {"load__ua": 60}, {"emitter__0__flow": 3.0},
    {"emitter__0__flow": 900}, {"prices": {"electricity": 2, "water": 50}}, {"spray__pump_power": 0},
    {"prices": {"electricity": 30, "water": 500}, "site__currency": "JPY"},  # a yen is worth a hundredth of a dollar
])
def test_values_up_to_the_bounds_of_the_usual_raise_no_doubt(changes):
    assert codes(site_from_dict(good(**changes))) == []


@pytest.mark.parametrize(("changes", "advice"), [
    ({"store__volume": 60_000}, 'write "60000 L"'), ({"load__ua": 2200}, 'write "2200 W/K"'),
    ({"emitter__0__flow": 1.2}, 'write "1.2 m3/h" or "1.2 L/s"'),  # 20 or 72 L/min on 300 m2
    ({"emitter__0__flow": 3000}, 'write "3000 L/h"'),  # 50 L/min
    ({"spray__pump_power": 0.75}, 'write "0.75 kW"'), ({"prices": {"electricity": 24}}, "write 0.24"),
])
def test_the_likely_slip_is_told(changes, advice):
    found, = site_from_dict(good(**changes)).findings
    assert advice in found.message


IDLE = [
    ({"roof__0__facing": 90}, {"roof.1.facing"}),
    ({"roof__0__facing": 90, "roof__0__horizon": 20}, {"roof.1.facing"}),
    ({"roof__0__facing": 90, "roof__0__horizon": [20] * 8}, {"roof.1.facing"}),
    ({"roof__0__facing": 90, "roof__0__horizon": [20, 0, 0, 0]}, set()),
    ({"roof__0__facing": 90, "roof__0__horizon": {"value": [20, 0, 0, 0], "source": "guess"}}, set()),
    ({"roof__0__facing": 90, "roof__0__horizon": [20, 0, 0, 0], "roof__0__slope": 0}, {"roof.1.facing"}),
    ({"roof": [{"name": "south", "area": 600}, {"name": "shed", "area": 90, "sprayed": False, "facing": 90,
                                                "horizon": [20, 0, 0, 0]}]}, {"roof.2.facing", "roof.2.horizon"}),
    ({"store__cover_share": 0.5, "store__cover_u": 2}, {"store.cover_share", "store.cover_u"}),
    ({"store__open_share": 1, "store__cover_u": 2}, {"store.cover_u"}),
    ({"store__open_share": 1, "store__cover_share": 0.5, "store__cover_u": 2}, set()),
    ({"roof__0__cover_age": 2, "roof__0__cover_gap": 0.2, "roof__0__cover_share": 1, "roof__0__cover_unwashed": 1},
     {"roof.1.cover_age", "roof.1.cover_gap", "roof.1.cover_share", "roof.1.cover_unwashed"}),
    ({"roof__0__cover": "clear film", "roof__0__cover_age": 2, "roof__0__cover_gap": 0.2}, set()),
    ({"roof__0__cover": "opaque sheet", "roof__0__cover_age": 2, "roof__0__cover_gap": 0.2}, {"roof.1.cover_age"}),
    ({"roof__0__screen_porosity": 0.4}, {"roof.1.screen_porosity"}),
    ({"roof__0__screen_porosity": 0.4, "roof__0__screen_height": 1}, set()),
    ({"store__depth": 3, "store__ground_swing": 8, "store__coldest_day": 30, "store__soil_conductivity": 1,
      "store__ground_temperature": 12},
     {"store.depth", "store.ground_swing", "store.coldest_day", "store.soil_conductivity", "store.ground_temperature"}),
    ({"store__placement": "buried", "store__depth": 3, "store__coldest_day": 30}, set()),
    ({"emitter__0__kind": "beam", "emitter__0__rated": 9000, "emitter__0__ua": 9},
     {"emitter.1.area", "emitter.1.ua"}),
    ({"emitter__0__rated_difference": 9, "emitter__0__ua": 900}, {"emitter.1.rated_difference", "emitter.1.ua"}),
    ({"load__file": "x.csv"}, {"load.file"}),
    ({"bleed": {"salt_limit": 900}}, {"bleed.salt_limit"}),
    ({"mains": {"rule": "bypass", "top_up_to": 12}}, {"mains.top_up_to"}),
    ({"panels": {"area": 200}, "spray__drop_size": 2}, {"spray.drop_size"}),
    ({"air_conditioner": {"kind": "chiller", "part_load_degradation": 0.1}},
     {"air_conditioner.part_load_degradation"}),
    ({"air_conditioner": {"kind": "inverter", "part_load_degradation": 0.1}}, set()),
]


@pytest.mark.parametrize(("changes", "idle"), IDLE)
def test_entries_that_play_no_part_are_told(changes, idle):
    found = [finding for finding in site_from_dict(good(**changes)).findings if finding.code != "store.open-sun"]
    assert {finding.code for finding in found} <= {"site.entry-unused"}
    assert {finding.data["entry"] for finding in found} == idle


def test_effects_are_whole_sentences():
    changes = {"place__longitude": 79.95, "place__latitude": -36.1, "emitter": [], "spray__flow": 20,
               "store__volume": 60_000, "site__name": "Example House, Lower Fernhollow", "roof__0__facing": 90}
    found = site_from_dict(good(**changes)).findings
    assert {finding.code for finding in found} == {code for code in FINDINGS if code.startswith("site.")}
    for finding in found:
        for text in (finding.message, finding.effect):
            assert text.endswith("."), finding.code
        assert finding.effect[0].isupper(), finding.code


def test_a_plain_site_has_no_findings():
    assert codes(site_from_dict(good())) == []


@pytest.mark.parametrize(("latitude", "longitude", "zone"), [
    (43.8, 87.6, "Asia/Shanghai"), (64.1, -21.9, "Atlantic/Reykjavik"), (-13.8, -171.8, "Pacific/Apia"),
    (53.3, -6.3, "Europe/Dublin"), (-0.2, -78.5, "America/Guayaquil"), (10.0, 20.0, "UTC"),
    (1.9, -157.4, "Pacific/Kiritimati"),
])
def test_true_places_raise_no_doubt(latitude, longitude, zone):
    site = site_from_dict(good(place__latitude=latitude, place__longitude=longitude, place__time_zone=zone))
    assert codes(site) == []


# ---------------------------------------------------------------------------------------- numbers by direction

def test_a_horizon_by_sectors_keeps_its_list_and_its_mean():
    fact = site_from_dict(good(roof__0__horizon=[0, "10 deg", 20, 30])).roof[0].horizon_deg
    assert (fact.value, fact.low, fact.high, fact.unit) == (15.0, 15.0, 15.0, "deg")
    assert sectors_of(fact) == (0.0, 10.0, 20.0, 30.0)
    ranged = {"value": [0, 10, 20, 30], "low": 12, "high": "20 deg", "source": "measured", "note": "compass and level"}
    site = site_from_dict(good(roof__0__horizon=ranged))
    fact = site.roof[0].horizon_deg
    assert (fact.low, fact.high, fact.source, sectors_of(fact)) == (12.0, 20.0, "measured", (0.0, 10.0, 20.0, 30.0))
    row, = (row for row in site.fact_table() if row["entry"] == "roof.1.horizon")
    assert (row["value"], row["note"]) == (15.0, "clockwise from north 0, 10, 20, 30; compass and level")
    assert site.with_changes({"roof.horizon": fact}).roof[0].horizon_deg == fact


def test_one_horizon_stays_one_number():
    fact = site_from_dict(good(roof__0__horizon="12 deg")).roof[0].horizon_deg
    assert (fact.value, sectors_of(fact), fact.note) == (12.0, (12.0,), "")
    assert sectors_of(site_from_dict(good()).roof[0].horizon_deg) == (0.0,)


@pytest.mark.parametrize(("horizon", "places"), [
    ([1, 2, 3], [""]), ([1] * 37, [""]), ([], [""]), ([0, 99, "x", 5], [".2", ".3"]),
    ({"value": [0, 0, 0, -1], "nope": 1, "source": "hearsay"}, [".value.4", ".nope", ".source"]),
    ({"value": [10, 10, 10, 10], "low": 12, "high": 20}, [""]), ({"value": [1, 2, 3, 4], "low": 2}, [""]),
])
def test_every_slip_of_a_list_is_told_at_its_place(horizon, places):
    found = problems_of(good(roof__0__horizon=horizon))
    assert sorted(problem.split(": ")[0] for problem in found) == sorted(f"site, roof.1.horizon{one}" for one in places)


@pytest.mark.parametrize(("horizon", "valid"), [
    (12, True), ("12 deg", True), ([0] * 8, True), ({"value": [0] * 8, "source": "guess"}, True), ([0] * 3, False),
    ([0, 0, 0, [1]], False),
])
def test_the_editors_schema_knows_lists_by_direction(horizon, valid):
    schema = site_words.json_schema()["properties"]["roof"]["items"]["properties"]["horizon"]
    assert accepts(schema, horizon) == valid


def accepts(schema: dict, value: object) -> bool:
    """Whether a JSON schema accepts a value: the few keywords that the site file's schema has."""
    if "anyOf" in schema:
        return any(accepts(one, value) for one in schema["anyOf"])
    kinds = {"number": (int, float), "string": str, "array": list, "object": dict}
    wanted = schema.get("type", [])
    names = [wanted] if isinstance(wanted, str) else wanted
    if names and not any(isinstance(value, kinds[name]) for name in names):
        return False
    if isinstance(value, list):
        return schema["minItems"] <= len(value) <= schema["maxItems"] and all(
            accepts(schema["items"], item) for item in value)
    if isinstance(value, dict):
        return all(name in schema["properties"] and accepts(schema["properties"][name], item)
                   for name, item in value.items())
    return value in schema["enum"] if "enum" in schema else True


# ---------------------------------------------------------------------------------------- problems and their text

@pytest.mark.parametrize("name", sorted(path.stem for path in BAD.glob("*.toml")))
def test_broken_files_say_exactly_what_is_wrong(name, monkeypatch):
    monkeypatch.chdir(BAD)
    with pytest.raises(SiteFileProblems) as caught:
        read_site(f"{name}.toml")
    assert f"{caught.value}\n" == Path(f"{name}.expected.txt").read_text(encoding="utf-8")


def test_there_are_enough_broken_files_and_each_has_its_text():
    assert len(list(BAD.glob("*.toml"))) >= 18
    texts = {path.name.removesuffix(".expected.txt") for path in BAD.glob("*.txt")}
    assert {path.stem for path in BAD.glob("*.toml")} == texts


def test_marked_lines_are_the_lines_reported(monkeypatch):
    """In places.toml the wrong lines bear a "!": the numbers in the messages are checked against these marks."""
    monkeypatch.chdir(BAD)
    written = Path("places.toml").read_text(encoding="utf-8").splitlines()
    marked = {number for number, line in enumerate(written, start=1) if "# !" in line}
    with pytest.raises(SiteFileProblems) as caught:
        read_site("places.toml")
    reported = {int(re.search(r"line (\d+)", problem.where)[1]) for problem in caught.value.problems}
    # the table "load" is on line 14 and holds two wrong entries; the text that spans lines begins there
    assert reported == marked | {14}


@pytest.mark.parametrize(("text", "part"), [
    ("a = [" + "[" * 5000, "nested"), ("a = " + "[" * 3000 + "]" * 3000, "nested|no section"),
    ("\x00", "not readable as TOML"),
    ("a = 1\rb = 2", "not readable as TOML"), ("[roof]\n[[roof]]", "not readable as TOML"),
])
def test_strange_texts_are_refused_in_words(tmp_path, text, part):
    (tmp_path / "site.toml").write_text(text, encoding="utf-8", newline="")
    with pytest.raises(SiteFileProblems, match=part):
        read_site(tmp_path)


def test_files_that_cannot_be_read(tmp_path):
    for path in (tmp_path / "none", tmp_path, tmp_path / ("x" * 300), "nul\0byte"):
        with pytest.raises(SiteFileProblems, match=r"wanted a folder that holds site\.toml"):
            read_site(path)
    big = tmp_path / "big.toml"
    big.write_bytes(b"#" * 2_000_001)
    with pytest.raises(SiteFileProblems, match="more than 2000000 bytes"):
        read_site(big)


@pytest.mark.skipif(os.sep != "/", reason="there a backslash parts folders")
def test_a_path_with_backslashes_is_told(tmp_path, monkeypatch):
    site_words.write_site_folder(tmp_path / "my_site")
    monkeypatch.chdir(tmp_path)
    with pytest.raises(SiteFileProblems, match=r'write "my_site/site\.toml" with / instead of'):
        read_site("my_site\\site.toml")


def test_the_path_that_was_tried_is_told(tmp_path):
    text = (BAD / "files_absent.toml").read_text(encoding="utf-8")
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    with pytest.raises(SiteFileProblems) as caught:
        read_site(tmp_path)
    assert f'(looked for "{(tmp_path / "logs" / "rain.csv").as_posix()}")' in str(caught.value)


@pytest.mark.parametrize(("text", "day"), [
    ("31.3.2026", "2026-03-31"), ("3/31/2026", "2026-03-31"), ("31/3/2026", "2026-03-31"), ("2026-3-5", "2026-03-05"),
    ("2026/03/31", "2026-03-31"), ("3/3/2026", "2026-03-03"), ("3.4.2026", "2026-04-03"),
])
def test_dates_in_another_order_are_understood(text, day):
    assert date_advice(text) == f"write the date as year-month-day: {day}"


@pytest.mark.parametrize(("text", "advice"), [
    ("3/4/2026", "write the date as year-month-day, such as 2026-03-31"),  # March or April
    ("32.13.2026", "write the date as year-month-day, such as 2026-03-31"), ("0.5.1", ""), ("60 m3", ""), ("1.5", ""),
])
def test_dates_that_may_be_two_days_are_not_guessed(text, advice):
    assert date_advice(text) == advice


@pytest.mark.parametrize(("zone", "part"), [
    ("EST5", "America/New_York"), ("CEST", "Europe/Berlin"), ("PDT", "America/Los_Angeles"),
    ("GMT-5", '"Etc/GMT+5"'), ("UTC+1", '"Etc/GMT-1"'),  # signs as in the time zone database: POSIX
    ("New York", '"America/New_York"'), ("America/New_Yrok", '"America/New_York"'),
])
def test_zone_that_was_meant(zone, part):
    assert part in problems_of(good(place__time_zone=zone))[0].rpartition("; ")[2]


def test_beam_calls_for_its_output():
    assert "emitter.1.rated: the entry is missing" in problems_of(good(emitter__0__kind="beam"))[0]


def test_latin_text_is_named_and_the_line_told(tmp_path):
    text = '# remark\n[site]\nname = "Größe über Äußeres, Märkte für Öl und Gemüse"\n'
    (tmp_path / "site.toml").write_bytes(text.encode("latin-1"))
    with pytest.raises(SiteFileProblems, match=r"site\.toml, line 3: the text is not UTF-8 \(it seems to be "):
        read_site(tmp_path)


def test_byte_order_mark_and_line_ends_of_other_systems(tmp_path):
    text = site_words.template_text().replace("\n", "\r\n")
    (tmp_path / "site.toml").write_bytes(b"\xef\xbb\xbf" + text.encode("utf-8"))
    assert read_site(tmp_path).store.volume_m3.value == 60.0


def test_lines_are_right_with_line_ends_of_other_systems():
    text = '[a]\r\nb = """x\r\ny"""\r\nc = [\r\n 1,\r\n 2]\r\n[[d]]\r\n[d.e]\r\nf = 1\r\n'
    lines = lines_of(text)
    assert lines[("a", "c", 1)] == 6
    assert lines[("d", 0, "e", "f")] == 9


KEYS = st.sampled_from(["a", "b-1", '"quoted key"', "'x.y'"])
VALUES = st.recursive(
    st.sampled_from(["1", "-0.5e3", '"te\\"xt # [no]"', "'[lit]'", "true", "2026-03-31", "07:30:00", '""',
                     '"""a\n"b" \\" c"""', "'''x\n''y'''"]),
    lambda inner: st.lists(inner, max_size=3).map(lambda items: "[ # list\n" + ",\n".join(items) + "\n]"), max_leaves=6)


@given(st.lists(st.tuples(KEYS, VALUES), max_size=6))
@settings(max_examples=60, deadline=None)
def test_scanner_finds_each_line_that_the_standard_reader_reads(pairs):
    """Every entry is put below a marker line; the scanner must give the marker's number plus one."""
    text, wanted = "", {}
    for number, (key, value) in enumerate(pairs):
        text += f"[t{number}]\n"
        wanted[(f"t{number}", next(iter(tomllib.loads(f"{key} = 1"))))] = text.count("\n") + 1
        text += f"{key} = {value}\n"
    tomllib.loads(text)
    lines = lines_of(text)
    assert {path: lines[path] for path in wanted} == wanted


@given(st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=30) | st.dates() | st.times(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(
        st.sampled_from(["value", "low", "high", "source", "name", "area", "kind"]) | st.text(max_size=8), inner,
        max_size=3), max_leaves=8), st.sampled_from(site_words.entry_names()))
@settings(max_examples=300, deadline=None)
def test_anything_in_any_entry_is_accepted_or_refused_in_words(value, name):
    record = good()
    section, *rest = name.split(".")
    table = record.setdefault(section, [{}] if section in LISTS else {})
    table = table[0] if section in LISTS else table
    if not isinstance(table, dict):
        return
    for part in rest[:-1]:
        table = table.setdefault(part, {})
    table[rest[-1]] = value
    try:
        site_from_dict(record)
    except SiteFileProblems as error:
        problems = error.problems
    else:
        problems = ()
    assert all(part and part.isprintable() for problem in problems
               for part in (problem.where, problem.found, problem.wanted, problem.do))


# ---------------------------------------------------------------------------------------- template, page, schema

def test_template_passes_and_holds_every_entry(tmp_path):
    file = site_words.write_site_folder(tmp_path / "new site")
    site = read_site(tmp_path / "new site")
    assert codes(site) == ["site.template-values"]
    assert list((tmp_path / "new site" / "logs").iterdir()) == []
    assert sorted(path.name for path in (tmp_path / "new site").iterdir()) == ["logs", "site.toml"]
    text = file.read_text(encoding="utf-8")
    for name in site_words.entry_names():
        entry = name.rsplit(".", 1)[1]
        in_braces = rf"|^(#   {entry}: |# .*\bmay stand, besides .*{entry})" if name.startswith("log.columns.") else ""
        assert re.search(rf"^(# )?(\[\w+\.)?{entry}( = |\]){in_braces}", text, re.MULTILINE), name
    assert max(map(len, text.splitlines())) <= 110


def test_template_with_all_remarks_taken_away_reads_too(tmp_path):
    """Every commented entry is valid as it stands: nothing but the files that it names is missing."""
    text = re.sub(r"^# (\w+ = |\[)", r"\1", site_words.template_text(), flags=re.MULTILINE)
    (tmp_path / "logs").mkdir()
    for name in ("rain.csv", "load.csv"):
        (tmp_path / "logs" / name).write_text("time\n", encoding="utf-8")
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    site = read_site(tmp_path)
    assert (len(site.use), len(site.catchment), len(site.standing), site.booster.capacity_kW.value) == (1, 1, 1, 15.0)


def test_an_existing_site_file_is_left_alone(tmp_path):
    (tmp_path / "site.toml").write_text("mine", encoding="utf-8")
    with pytest.raises(SiteFileProblems, match="is there already"):
        site_words.write_site_folder(tmp_path)
    assert (tmp_path / "site.toml").read_text(encoding="utf-8") == "mine"
    assert not (tmp_path / "logs").exists()


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(SiteFileProblems, match="cannot be written"):
        site_words.write_site_folder(tmp_path / "file" / "site")


def test_reference_page_and_schema_are_up_to_date():
    assert (DOCS / "site_file.md").read_text(encoding="utf-8") == site_words.reference_markdown()
    assert json.loads((DOCS / "site_schema.json").read_text(encoding="utf-8")) == site_words.json_schema()


def test_schema_asks_for_what_the_reader_asks_for():
    schema = site_words.json_schema()
    assert set(schema["properties"]) == set(SECTIONS)
    missing = {re.search(r"\[(\w+)\]", line)[1] for line in problems_of({}) if "is missing" in line}
    assert set(schema["required"]) == missing | {"roof"}
    store = schema["properties"]["store"]["properties"]
    assert store["volume"]["anyOf"][0] == {"type": "number", "minimum": 0.2, "maximum": 1_000_000.0}
    assert schema["properties"]["roof"]["items"]["properties"]["surface"]["enum"][0] == "new coated metal"


def test_every_entry_can_be_explained():
    for name in site_words.entry_names():
        text = site_words.explain_entry(name)
        assert text.startswith(text[0].upper())
        assert "It affects" in text, name
        assert "None" not in text, name
    assert site_words.explain_entry("roof.12.area") == site_words.explain_entry("roof.area")
    assert "5 %" in site_words.explain_entry("store.volume")
    assert site_words.explain_entry("store.nothing") is None
    assert site_words.entry_labels()["store.volume"] == "Content when full"


# ---------------------------------------------------------------------------------------- agreement with the rest

SUFFIX = {"1": "frac", "degC": "C", "K": "K", "m": "m", "m2": "m2", "m3": "m3", "mm": "mm", "deg": "deg", "h": "h",
          "L/min": "L_min", "L/day": "L_day", "W": "W", "kW": "kW", "W/K": "W_K", "kW/K": "kW_K", "W/(m2 K)": "W_m2K",
          "kJ/(m2 K)": "kJ_m2K", "m2 K/W": "m2K_W", "m3/h": "m3_h", "mm/h": "mm_h", "m/s": "m_s", "mg/L": "mg_L",
          "W/(m K)": "W_mK", "year": "years", "day": "",  # a day of the year: the name says it
          "s2/m2": "s2_m2", "kg/kWh": "kg_kWh", "kWh/kWh": "", "currency/kWh": "per_kWh", "currency/m3": "per_m3",
          "currency/year": "per_year", "min": "min", "own": ""}


def all_sections() -> list[type[Section]]:
    inner = [entry.section for section in SECTIONS.values() for entry in section.entries().values()
             if isinstance(entry, TableEntry)]
    return [*SECTIONS.values(), *inner]


def test_attribute_names_carry_the_unit():
    for section in all_sections():
        for attribute, entry in section.entries().items():
            unit = "h" if isinstance(entry, ClockEntry) else getattr(entry, "unit", "")
            suffix = SUFFIX[unit] if isinstance(entry, (NumberEntry, ClockEntry)) else unit
            if entry.entry in ("from", "to"):  # "from" is a word of the language: what it is stands behind it
                suffix = {DateEntry: "date", MomentEntry: "time"}.get(type(entry), suffix)
            assert attribute == f"{entry.entry}_{suffix}".rstrip("_"), (section.__name__, attribute)


def test_declared_examples_and_defaults_are_themselves_accepted():
    for section in all_sections():
        for entry in section.entries().values():
            line = entry.example_line()
            if isinstance(entry, TableEntry):
                continue
            if entry.example is not None or entry.default not in (None, ""):
                assert entry.read(tomllib.loads(line)[entry.entry]) is not None, (section.__name__, line)
            if isinstance(entry, FactEntry) and entry.default is not None:
                assert entry.bounds[0] <= entry.default_fact(entry.default).low, entry.entry
                assert entry.default_fact(entry.default).high <= entry.bounds[1], entry.entry


def test_choices_are_those_that_the_physics_knows():
    from sprayroof.evidence.site_file import checks, place, system
    from sprayroof.model import records
    from sprayroof.physics import convection, sky
    assert set(place.SKY_MODELS) == set(sky.CLEAR_SKY)
    assert set(place.CLOUD_MODELS) == set(sky.CLOUDS)
    assert set(place.TERRAINS) == set(convection.TERRAINS)
    assert checks.MOST_PARTS == records.MAX_USES
    assert system.Store.entries()["nodes"].bounds[1] == records.MAX_LAYERS


def test_every_finding_of_the_site_has_its_paragraph():
    files = [HERE.parent / "sprayroof" / "evidence" / "site_file" / f"{name}.py" for name in ("findings", "values")]
    source = "".join(file.read_text(encoding="utf-8") for file in files)
    used = set(re.findall(r'Finding\("(site\.[a-z-]+)", "(\w+)"', source))
    assert len(used) == 7
    assert used == {(code, meaning.level) for code, meaning in FINDINGS.items() if code.startswith("site.")}
