"""What the site reader advises: the value that was most likely meant, headings left as remarks, unlikely covers."""

from __future__ import annotations

import re

import pytest
from test_site import good, problems_of

from sprayroof.errors import SiteFileProblems
from sprayroof.evidence.site import read_site, site_from_dict
from sprayroof.evidence.site_file import words as site_words
from sprayroof.evidence.site_file.facts import Spread
from sprayroof.evidence.site_file.remarks import remark_advice

COVERED = {"roof__0__cover": "clear film"}
BEAM = {"name": "beams", "kind": "beam", "flow": 50, "pump_power": 100}


def advice(**changes) -> str:
    """What the only problem of a changed good site says to do."""
    (problem,) = problems_of(good(**changes))
    return problem.rpartition("; ")[2]


@pytest.mark.parametrize(("changes", "written"), [
    ({"roof__0__screen_porosity": "30"}, '"30 %"'),       # 0.3
    ({"roof__0__screen_porosity": 30}, '"30 %"'),
    ({"roof__0__cover_gap": 100}, '"100 mm"'),            # 0.1 m, as the default; 100 cm and 100 ft are far from it
    ({"roof__0__cover_gap": "100"}, '"100 mm"'),
    ({"roof__0__cover_age": 60}, '"60 months"'),
    ({"store__volume": 60_000_000}, '"60000000 L"'),
    ({"spray__flow": 0.3}, '"0.3 L/s"'),                  # 18 L/min; 0.3 m3/h are 5, farther from the example's 210
    ({"roof__0__beneath_temperature": 75}, '"75 degF"'),
])
def test_a_number_outside_is_offered_in_the_unit_that_was_meant(changes, written):
    told = advice(**changes)
    assert written in told
    # what is advised is accepted
    name, = changes
    site_from_dict(good(**{name: re.search(r'"([^"]+)"', told)[1]}))


@pytest.mark.parametrize("changes", [{"roof__0__area": -5}, {"roof__0__slope": 99}, {"spray__pump_power": -1}])
def test_a_number_that_fits_in_no_unit_gets_no_advice(changes):
    assert advice(**changes) == "correct the entry"


def test_a_fraction_in_quotes_is_not_turned_into_a_hundredth():
    assert advice(roof__0__screen_porosity="0.3") == 'write 0.3 without quotes, or "30 %"'


@pytest.mark.parametrize(("text", "years"), [
    ("6 months", 0.5), ("0.5 years", 0.5), ("1 year", 1.0), ("2 yrs", 2.0), ("26 weeks", 26 * 7 / 365.25),
])
def test_ages_may_be_written_in_months_and_years(text, years):
    # a year of 365.25 days (SI brochure, table 8 has the day; the Julian year of astronomy)
    site = site_from_dict(good(**COVERED, roof__0__cover_unwashed=text, roof__0__cover_age=text))
    assert site.roof[0].cover_unwashed_years.value == pytest.approx(years, rel=1e-3)
    assert site.roof[0].cover_age_years.value == pytest.approx(years, rel=1e-3)


@pytest.mark.parametrize(("changes", "choice"), [
    ({"store__placement": "underground"}, "buried"), ({"store__placement": "Below-ground"}, "buried"),
    ({"store__placement": "cellar"}, "indoors"), ({"store__placement": "outdoor"}, "outdoors"),
    ({"emitter__0__kind": "chilled beam"}, "beam"), ({"emitter__0__kind": "Chilled Beams"}, "beam"),
    ({"emitter__0__kind": "fan coil"}, "coil"), ({"emitter__0__kind": "underfloor"}, "floor"),
    ({"roof__0__cover": "film"}, "clear film"), ({"roof__0__cover": "tarpaulin"}, "opaque sheet"),
])
def test_the_choice_that_was_meant_is_named(changes, choice):
    assert advice(**changes) == f'write "{choice}" if that is meant'


@pytest.mark.parametrize("changes", [{"emitter__0__kind": "radiator"}, {"store__placement": "moon"}])
def test_no_choice_is_guessed_from_far_off(changes):
    assert advice(**changes) == "choose one of them"


def test_words_that_stand_for_a_choice_lead_to_choices():
    for _, section in site_words.SECTIONS.items():
        for entry in section.entries().values():
            assert set(getattr(entry, "meant", {}).values()) <= set(getattr(entry, "choices", ())), entry.entry


# ---------------------------------------------------------------------------------------- headings that are remarks

def uncommented(*lines: str) -> str:
    """The template with some lines (the first of its kind after its heading) no longer remarks."""
    text = site_words.template_text()
    for line in lines:
        heading, _, entry = line.rpartition("|")
        start = text.index(f"# {heading}\n") if heading else 0
        place = text.index(f"# {entry}", start)
        text = text[:place] + text[place + 2 :]
    return text


@pytest.mark.parametrize(("lines", "heading"), [
    (("[booster]|capacity",), "[booster]"), (("[panels]|area",), "[panels]"), (("[[use]]|draw",), "[[use]]"),
    (("[[use]]|name", "[[use]]|draw"), "[[use]]"), (("[weather.rain]|column",), "[weather.rain]"),
    (("[[catchment]]|area",), "[[catchment]]"), (("[[standing]]|power",), "[[standing]]"),
    # twice in one table: told by the reader of the format, not by ours
    (("[panels]|kind", '|kind = "packaged"'), "[panels]"),
])
def test_an_entry_below_a_heading_that_is_a_remark_is_told_so(tmp_path, lines, heading):
    text = uncommented(*lines)
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    number = text.split("\n").index(f"# {heading}") + 1
    with pytest.raises(SiteFileProblems) as caught:
        read_site(tmp_path)
    told = f"the heading {heading} above it, line {number}, is still a remark: take away its #"
    assert all(told in problem.do for problem in caught.value.problems)
    assert len(caught.value.problems) <= len(lines)


def test_with_the_heading_the_entries_are_read(tmp_path):
    text = uncommented("[booster]|capacity", "[booster]|setpoint", "[booster]|from", "[booster]|to")
    (tmp_path / "site.toml").write_text(text.replace("# [booster]", "[booster]"), encoding="utf-8")
    assert read_site(tmp_path).booster.capacity_kW.value == 15.0


@pytest.mark.parametrize("text", [
    "[spray]\nnozzle = 3\n",                                    # no remark above
    "# [booster]\n[spray]\ncapacity = 3\n",                     # a live heading between
    "[spray]\n# [booster]\nnozzle = 3\n",                       # the remark's table knows no such entry
    "[spray]\n# see [booster] below\ncapacity = 3\n",           # a sentence
    "[spray]\n# [boost]\ncapacity = 3\n",                       # no such table
])
def test_other_slips_are_not_laid_to_a_remark(text):
    lines = text.rstrip("\n").split("\n")
    assert remark_advice(text, len(lines), lines[-1].partition(" ")[0]) == ""


# ---------------------------------------------------------------------------------------- doubts

@pytest.mark.parametrize(("changes", "part"), [
    ({"roof__0__screen_height": 10}, 'write "10 ft"'), ({**COVERED, "roof__0__cover_gap": 3}, 'write "3 ft"'),
    ({**COVERED, "roof__0__cover_age": 50}, 'write "50 months"'),
    ({**COVERED, "roof__0__cover_share": 0}, 'write cover = "none"'),
    ({"emitter": [{**BEAM, "rated": 4}]}, 'write "4 kW"'),
])
def test_unlikely_covers_screens_and_beams_are_doubted(changes, part):
    (found,) = site_from_dict(good(**changes)).findings
    assert (found.code, found.level) == ("site.value-unusual", "doubt")
    assert part in found.message


@pytest.mark.parametrize("changes", [
    {"roof__0__screen_height": 4}, {**COVERED, "roof__0__cover_gap": 1, "roof__0__cover_age": 15},
    {"roof__0__cover": "opaque sheet", "roof__0__cover_share": 0.3}, {"emitter": [{**BEAM, "rated": 50}]},
])
def test_usual_covers_screens_and_beams_raise_no_doubt(changes):
    assert not site_from_dict(good(**changes)).findings


@pytest.mark.parametrize(("store", "doubted"), [
    ({"open_share": 1}, True), ({"open_share": 0.3, "cover_share": 1, "placement": "outdoors"}, True),
    ({"open_share": 1, "placement": "indoors"}, False), ({"open_share": 0.02}, False), ({}, False),
])
def test_sun_that_is_left_out_of_an_open_store_is_doubted(store, doubted):
    changes = {f"store__{name}": value for name, value in store.items()}
    found = [one for one in site_from_dict(good(**changes)).findings if one.code == "store.open-sun"]
    assert bool(found) == doubted
    assert all(one.level == "doubt" and f"{store['open_share']:.0%}" in one.message for one in found)


# ---------------------------------------------------------------------------------------- what plays a part

def test_facts_say_whether_they_play_a_part():
    used = {row["entry"]: row["used"] for row in site_from_dict(good()).fact_table()}
    assert not any(used[f"roof.1.cover_{part}"] for part in ("share", "age", "unwashed"))
    assert not used["store.depth"]  # it stands outdoors
    assert not used["emitter.1.rated_difference"]
    assert used["roof.1.area"]
    assert used["spray.drop_size"]
    covered = {row["entry"]: row["used"] for row in site_from_dict(good(**COVERED)).fact_table()}
    assert all(covered[f"roof.1.cover_{part}"] for part in ("share", "age", "unwashed"))
    panels = {row["entry"]: row["used"] for row in site_from_dict(good(panels={"area": 200})).fact_table()}
    assert not any(panels[name] for name in ("spray.drop_size", "roof.1.deck_u", "roof.1.emissivity"))
    assert panels["spray.flow"]
    started = {row["entry"]: row["used"] for row in site_from_dict(good(store__initial_share=0.5)).fact_table()}
    assert started["store.initial_share"]
    assert not used["store.initial_share"]


def test_settings_are_told_with_their_values():
    site = site_from_dict(good(**COVERED, controls={"window_from": "21:30", "season_from": "05-01"}))
    rows = {row["entry"]: row for row in site.settings_table()}
    assert (rows["roof.1.cover"]["value"], rows["roof.1.cover"]["given"]) == ("clear film", True)
    assert (rows["controls.window_from"]["value"], rows["controls.season_from"]["value"]) == ("21:30", "05-01")
    assert (rows["controls.window_to"]["value"], rows["controls.window_to"]["given"]) == ("07:00", False)
    assert rows["controls.stop_store"]["value"] == "none"
    assert rows["roof.1.sprayed"]["value"] is True
    assert not {"site.name", "weather.file", "roof.1.area"} & set(rows)


# ---------------------------------------------------------------------------------------- words of an entry

def test_an_entry_tells_what_it_affects_itself():
    for name in ("roof.cover", "roof.cover_gap", "roof.screen_height", "roof.emissivity", "roof.deck_u"):
        assert "rain" not in site_words.explain_entry(name), name
    assert "It affects rain caught and mains water." in site_words.explain_entry("roof.runoff_coefficient")
    assert "next four" not in site_words.explain_entry("roof.cover")


def test_tolerances_are_printed_without_exponents():
    assert "-60 / +300 %" in site_words.explain_entry("roof.cover_unwashed")  # 0.25 years, 0.1 to 1
    assert not re.search(r"\de[+-]\d", site_words.reference_markdown())
    assert Spread(0.6, 3.0, relative=True).around(0.25, 1.0) == pytest.approx((0.1, 1.0))


def test_sections_and_choices_can_be_found():
    told = site_words.section_paragraph("panels")
    assert told.startswith("[panels] (section of the site file)")
    assert "panels.area" in told
    assert site_words.section_paragraph("use").startswith("[[use]]")
    assert site_words.section_paragraph("nothing") is None
    assert "mcadams" in site_words.choices()["weather.convection_model"]
