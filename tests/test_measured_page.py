"""The page on what was measured: it says what audit.json holds, rounded, and nothing is lost on the way there."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import example_audit as example
import pypdf
import pytest
from reportlab.lib.pagesizes import A4

import sprayroof
from sprayroof.report import numbers
from sprayroof.report.actions import actions
from sprayroof.report.measured_beside import agreement_in_brief, beside_words, cooling_beside, weeks_of_model
from sprayroof.report.pdf import write_pdf
from sprayroof.report.pdf_layout import Sheet
from sprayroof.report.pdf_measured import measured_page
from sprayroof.results import Audit, audit_from_json

ROOT = Path(__file__).parent.parent
SITE = ROOT / "sample_sites" / "brindlemoor_bindery"
# In the order of the page's table
SHOWN = ("cooling_roof_kWh", "cooling_stored_kWh", "electricity_own_kWh", "sprayed_m3", "spray_loss_m3", "leak_m3",
         "other_uses_m3", "rain_caught_m3", "mains_m3", "storage_change_m3", "water_remainder_m3")


@pytest.fixture(scope="module")
def measured() -> Audit:
    """The sample with logs and bills, audited without draws."""
    return sprayroof.audit(sprayroof.read_site(SITE), runs=0)


def text_of(audit: Audit, tmp_path: Path, units: str = "si", pages: int | None = None) -> str:
    """The text of the PDF, or of its first pages, spaces made one."""
    file = tmp_path / f"report_{units}.pdf"
    write_pdf(audit, file, units)
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(file).pages[:pages])
    return re.sub(r"\s+", " ", text.replace("\u00a0", " ").replace("\u202f", " "))


def test_what_was_measured_comes_back_from_json(measured):
    assert audit_from_json(measured.to_json(), "audit.json") == measured
    assert all(measured.logged[part] for part in ("nights", "bills", "tests"))


@pytest.mark.parametrize("units", ["si", "ip"])
def test_the_page_carries_the_measured_totals_as_rounded(measured, tmp_path, units):
    text, period = text_of(measured, tmp_path, units), measured.periods["logged"]
    assert f"From {period.start} to {period.end} the loggers followed {len(measured.logged['nights'])} nights" in text
    for id in SHOWN:
        printed = numbers.printed(period.quantities[id], id, units)
        wanted = re.sub(r"\s+", " ", f"{printed.value_unit} {printed.range}".replace("\u00a0", " "))
        assert wanted in text, (id, wanted)


def test_the_appendix_has_a_row_for_every_night_and_the_reason_for_what_is_not_known(measured, tmp_path):
    text = text_of(measured, tmp_path)
    for night in measured.logged["nights"]:
        assert str(night["date"]) in text
        why = night["pipe_why"].split(";")[0]
        assert not why or why in text, night["date"]


def test_the_first_page_says_when_and_on_how_many_nights_heat_was_measured(measured, tmp_path):
    nights = measured.logged["nights"]
    valid = sum(night["valid"] for night in nights)
    assert 30 < valid < len(nights) == 42
    first = text_of(measured, tmp_path, pages=1)
    assert f"Heat was measured on {valid} of 42 nights, 2025-09-26 to 2025-11-07." in first
    # Logged nights do not make a year's figures measured: no model was fitted to them
    assert "The figures of a year are predictions, not verified savings." in first
    assert "Predictions are not verified savings" in text_of(measured, tmp_path)
    assert "Fit a water meter on the make-up" not in first  # it has one


def test_nights_that_do_not_count_are_not_said_to_measure(measured, tmp_path):
    none = [{**night, "valid": False} for night in measured.logged["nights"]]
    first = text_of(replace(measured, logged={**measured.logged, "nights": none}), tmp_path, pages=1)
    assert "Heat could not be measured on any of the 42 nights logged" in first


def test_differences_of_switched_nights_are_printed_in_either_system(measured, tmp_path):
    store = next(effect for effect in measured.logged["on_off"] if effect["id"] == "store_C")
    kelvin, fahrenheit = -store["value"], -1.8 * store["value"]
    assert f"Store at the end of the night: {kelvin:.0f} K lower" in text_of(measured, tmp_path)
    assert f"Store at the end of the night: {fahrenheit:.0f} °F lower" in text_of(measured, tmp_path, "ip")


@pytest.mark.parametrize("units", ["si", "ip"])
def test_bills_and_pairs_are_told_in_the_units_asked_for(measured, tmp_path, units):
    rows = {"bills": [{"words": "Water: 3 m³.", "words_ip": "Water: 793 US gal."}],
            "twins": [{"words": "Huts: 2.40 K.", "words_ip": "Huts: 4.31 °F."}]}
    text = text_of(replace(measured, logged=rows), tmp_path, units)
    told = {"si": ("Water: 3 m³.", "Huts: 2.40 K."), "ip": ("Water: 793 US gal.", "Huts: 4.31 °F.")}
    assert all(words in text for words in told[units])
    assert not any(words in text for words in told["ip" if units == "si" else "si"])


def test_bills_and_tests_are_told(measured, tmp_path):
    text = text_of(measured, tmp_path)
    for row in measured.logged["bills"]:
        assert re.sub(r"\s+", " ", row["words"].replace("\u00a0", " ")) in text
    for test in measured.logged["tests"]:
        assert re.sub(r"\s+", " ", str(test["found"])) in text


def test_the_how_to_shows_what_the_bills_say_and_its_bill_by_hand_is_one_of_them(measured):
    page = (ROOT / "docs" / "how_to" / "read_bills.md").read_text(encoding="utf-8").replace("\n> ", " ")
    row = measured.logged["bills"][0]
    assert row["words"].replace("\u00a0", " ") in page
    periods, shares = row["periods"], row["saving"]["shares"]
    place = periods["from"].index("2025-06-13")
    assert f"{periods['line_per_day'][place]:.1f} kWh" in page
    less = periods["line_per_day"][place] - periods["use_per_day"][place]
    assert f"{periods['days'][place] * less:.0f} kWh" in page
    assert all(f"{100.0 * share:.0f} %" in page for share in shares.values())
    truth = json.loads((ROOT / "tests" / "data_pack_truth.json").read_text(encoding="utf-8"))["bills"]["saved_kWh"]
    assert f"spraying saved {truth:.0f} kWh" in page
    assert row["saving"]["low"] < truth < row["saving"]["high"]


def test_without_anything_measured_there_is_no_such_page(tmp_path):
    text = text_of(example.works(), tmp_path)
    assert "No model stands behind this table" not in text


@pytest.mark.parametrize("part", ["bills", "twins"])
def test_bills_or_twins_alone_make_a_page(measured, tmp_path, part):
    words = {"bills": measured.logged["bills"], "twins": [{"words": "Huts by the pond: 6 days cannot tell."}]}[part]
    alone = replace(measured, logged={part: words},
                    periods={name: period for name, period in measured.periods.items() if name != "logged"})
    text = text_of(alone, tmp_path)
    assert re.sub(r"\s+", " ", words[0]["words"].replace("\u00a0", " ")) in text
    assert "No model stands behind this table" not in text


def test_panels_are_not_said_to_spray(measured, tmp_path):
    traits = {**measured.site["traits"], "panels": True}
    audit = replace(measured, site={**measured.site, "traits": traits})
    sheet = Sheet(A4, "", "", "", "", "", "")
    said = " ".join(flowable.getPlainText() for flowable in measured_page(audit, sheet, "si")
                    if hasattr(flowable, "getPlainText"))
    assert "loggers followed" in said
    assert "pray" not in said


# ------------------------------------------------------------------------------------------------ what to do next


@pytest.fixture(scope="module")
def moved(measured) -> Audit:
    """The same, with effects of what is assumed: wind first, drift next."""
    effects = {"weather.wind_factor": -119.0, "spray.drift_base": -109.0}
    rows = tuple({**row, "effect_net": effects.get(row["entry"]), "effect_net_unit": "USD"}
                 for row in measured.assumptions)
    assert {row["entry"] for row in rows} >= set(effects)
    return replace(measured, assumptions=rows)


def done(audit: Audit, most: int = 12) -> list[str]:
    return [action.do for action in actions(audit, most=most)]


def test_nothing_that_was_measured_is_asked_for_again(moved):
    asked = " ".join(done(moved))
    for never in ("Log humidity, wind and air", "Read the make-up meter", "Check pump power", "air conditioner's",
                  "pair test", "leak test"):
        assert never not in asked, never
    assert "Follow the salts of the store as a tracer" in asked  # the record: no tracer was followed
    assert "2025-09-28, 2025-10-08 and 2025-10-12" in next(
        action.why for action in actions(moved, most=12) if "warm the water" in action.do)
    unlogged = replace(moved, logged={})
    assert any("Log humidity, wind and air" in one for one in done(unlogged))
    assert "Check pump power and running hours" in done(unlogged)


def test_a_channel_that_was_hardly_read_is_still_asked_for(moved):
    thin = [{**row, "read_frac": 0.2} if row["channel"] == "wind_m_s" else row for row in moved.logged["coverage"]]
    asked = done(replace(moved, logged={**moved.logged, "coverage": thin}))
    assert any("Log humidity, wind and air" in one for one in asked)


def test_tests_on_which_the_logged_nights_rest_are_asked_for_first(measured):
    untested = replace(measured, logged={**measured.logged, "tests": []})
    first = done(untested, most=3)
    assert "(pair test)" in first[0]
    assert "(leak test)" in first[1]
    row = measured.logged["estimates"]["cooling_pipe_kWh"]
    share = numbers.significant(100.0 * row["systematic"] / row["value"], 2)
    assert f"±{share}\u00a0%" in actions(untested)[0].why
    unused = [{**test, "used": False} for test in measured.logged["tests"]]
    assert "(pair test)" in done(replace(measured, logged={**measured.logged, "tests": unused}))[0]
    assert not [one for one in done(replace(measured, logged={})) if "test)" in one]


# ------------------------------------------------------------------------------------------------ added up, and beside


def ranged(audit: Audit) -> Audit:
    """The audit with a range of a fifth about every figure of its year: one made without draws has none."""
    year = audit.periods["year"]
    wide = {id: replace(one, low=one.value - 0.2 * abs(one.value), high=one.value + 0.2 * abs(one.value))
            for id, one in year.quantities.items()}
    return replace(audit, periods={**audit.periods, "year": replace(year, quantities=wide)})


def reckoned(side: str) -> float:
    """`18.68 rain + 4.90 out of the store` with a calculator."""
    total = 0.0
    for sign, figure in re.findall(r"(^|[+\u2212] )[a-z ]*?(\d[\d ]*\.?\d*)", side):
        total += -float(figure) if sign.startswith("\u2212") else float(figure)
    return total


@pytest.mark.parametrize("units", ["si", "ip"])
def test_the_measured_water_adds_up_on_paper(measured, tmp_path, units):
    text = text_of(measured, tmp_path, units, pages=2)
    pattern = (r"Added up, in [^:]+: in (.+?) = ([\d .]+); out (.+?) = ([\d .]+)\. No meter saw ([\d .]+) leave"
               r"(?:, ([\d .]+) with [^:]+)?: (.+?) = ([\d.]+)\.")
    into, came, out, went, left, filled, parts, unseen = re.search(pattern, text).groups()
    assert "out of the store" in into  # the content fell by 4.9 m3
    assert "pumped away in tests" in out
    came, went, left, unseen = (float(figure.replace(" ", "")) for figure in (came, went, left, unseen))
    assert reckoned(into.replace(" ", " ")) == pytest.approx(came, abs=1e-6)
    assert reckoned(out) == pytest.approx(went, abs=1e-6)
    assert came - went == pytest.approx(left, abs=1e-6)
    assert reckoned(parts) == pytest.approx(unseen, abs=1e-6)
    assert unseen == pytest.approx(float((filled or str(left)).replace(" ", "")), abs=1e-6)
    factor = 264.172 if units == "ip" else 1.0
    assert unseen == pytest.approx(factor * measured.periods["logged"].quantities["water_remainder_m3"].value, rel=1e-2)


def test_heat_by_pipe_and_by_store_and_what_the_counts_of_nights_mean_stand_on_the_page(measured, tmp_path):
    text, logged = text_of(measured, tmp_path, pages=2), measured.periods["logged"].quantities
    for id, way in (("cooling_pipe_kWh", "in the pipes"), ("cooling_tank_kWh", "in the store")):
        assert f"{way} ({numbers.printed(logged[id], id).value_unit})".replace("\u00a0", " ") in text
    assert "the others are put at the mean of like nights" in text
    assert "the nights of the switched blocks, all of them" in text
    first = text_of(measured, tmp_path, pages=1)
    lost = numbers.printed(logged["spray_loss_m3"], "spray_loss_m3")
    assert f"Water lost by spraying {lost.value_unit} {lost.low} and".replace("\u00a0", " ") in first


def test_measured_and_modelled_cooling_of_the_same_weeks_stand_side_by_side(measured, tmp_path):
    audit = ranged(measured)
    rows = [row for row in audit.nights if "09-26" <= row["date"][5:] < "11-07"]
    assert len(rows) == 42
    total = sum(row["cooling_roof_kWh"] for row in rows)
    one = cooling_beside(audit)
    assert (one.value, one.low, one.high) == pytest.approx((total, 0.8 * total, 1.2 * total))
    shown = numbers.printed_range(total, 0.8 * total, 1.2 * total, "kWh", heat=True)
    text = text_of(audit, tmp_path, pages=2)
    assert f"by the model {shown.value_unit} ({shown.range})".replace("\u00a0", " ") in text
    assert "Measured and modelled cooling of these weeks: they agree within their ranges" in text


@pytest.mark.parametrize(("share", "said"), [
    (1.0, "they agree within their ranges"), (3.0, "they do not agree, the model lies above"),
    (0.2, "they do not agree, the model lies below")])
def test_where_the_model_lies_beside_what_was_measured(measured, share, said):
    audit = ranged(measured)
    was, has = audit.periods["logged"].quantities["cooling_roof_kWh"].value, cooling_beside(audit).value
    nights = [{**row, "cooling_roof_kWh": row["cooling_roof_kWh"] * share * was / has} for row in audit.nights]
    assert said in agreement_in_brief(replace(audit, nights=tuple(nights)))


def test_logged_weeks_across_the_turn_of_the_year_find_their_nights(measured):
    logged = replace(measured.periods["logged"], start="2025-12-20", end="2026-01-11")
    audit = replace(measured, periods={**measured.periods, "logged": logged})
    days = [row["date"][5:] for row in weeks_of_model(audit)]
    assert len(set(days)) == 22  # 20 December to 10 January
    assert {"12-20", "12-31", "01-01", "01-10"} <= set(days)
    assert not {"12-19", "01-11"} & set(days)


def test_nothing_is_set_beside_where_nothing_was_logged():
    assert beside_words(example.works()) == agreement_in_brief(example.works()) == ""


@pytest.mark.parametrize("units", ["si", "ip"])
def test_the_first_two_pages_keep_to_a_page_each(measured, tmp_path, units):
    for paper in ("A4", "Letter"):
        audit = ranged(replace(measured, site={**measured.site, "paper": paper}))
        file = tmp_path / "r.pdf"
        write_pdf(audit, file, units)
        pages = [page.extract_text() for page in pypdf.PdfReader(file).pages[:3]]
        assert "What was measured" in pages[1].replace("\u00a0", " "), paper
        assert "How much of the cooling arrives?" in re.sub(r"\s+", " ", pages[2]), paper


def test_the_record_carries_the_names_of_roofs_and_emitters(measured):
    assert measured.site["names"] == {"roof.1": "binding hall", "use.1": "toilets", "emitter.1": "hall floor"}
