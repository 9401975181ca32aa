"""report.pdf: what it says, that it says it the same way every time, and that nothing an auditor writes breaks it."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import example_audit as example
import pypdf
import pytest

from sprayroof.errors import AuditFileProblems
from sprayroof.report import pdf, workbook
from sprayroof.report.charts_time import week_words
from sprayroof.report.finding_text import finding_text
from sprayroof.report.method import method_rows
from sprayroof.report.pdf import run_mark, write_pdf
from sprayroof.report.water_rows import water
from sprayroof.report.write import write_report
from sprayroof.results import Audit, Finding, Period, audit_from_json

AUDITS = {
    "works": example.works,
    "does_not_pay": example.does_not_pay,
    "cannot_tell": example.cannot_tell,
    "without_prices": example.without_prices,
    "hostile": example.hostile,
    "with_everything": example.with_everything,
}
UNSAID = re.compile(r"\bprove[sdn]?\b|\bproof\b|guarantee|\bup to\b|\bbest in\b", re.IGNORECASE)


@pytest.fixture(scope="module")
def rendered(tmp_path_factory):
    """A function giving the PDF of an audit by name and units, each made once."""
    folder = tmp_path_factory.mktemp("reports")
    made: dict[tuple[str, str], pypdf.PdfReader] = {}

    def reader(name: str, units: str = "si") -> pypdf.PdfReader:
        if (name, units) not in made:
            path = folder / f"{name}_{units}.pdf"
            write_pdf(AUDITS[name](), path, units)
            made[name, units] = pypdf.PdfReader(path)
        return made[name, units]

    return reader


def page_text(reader: pypdf.PdfReader, number: int) -> str:
    return tidy(reader.pages[number].extract_text())


def whole_text(reader: pypdf.PdfReader) -> str:
    return tidy(" ".join(page.extract_text() for page in reader.pages))


def tidy(raw: str) -> str:
    return re.sub(r"\s+", " ", raw.replace("\u00a0", " "))


def outline(reader: pypdf.PdfReader) -> dict[str, int]:
    """Title -> page (from 0) of all bookmarks."""
    found: dict[str, int] = {}

    def walk(items) -> None:
        for item in items:
            if isinstance(item, list):
                walk(item)
            else:
                found[item.title] = reader.get_destination_page_number(item)

    walk(reader.outline)
    return found


# ------------------------------------------------------------------------------------------------ what it says


def test_the_first_page_carries_verdict_table_actions_and_limits(rendered):
    said = page_text(rendered("works"), 0)
    assert "The roof works, but spraying takes between 10 and 35 m³ of mains water a year" in said
    assert "These are predictions, not verified savings." in said
    assert "letter D under “Evidence”" in said
    # value and range by the rounding rule: 30 960 +- 18 %, 8 450 +- 25 %, 22.6 +- 55 %; energies to one place
    assert "Useful cooling 31.0 MWh 25.4 and 36.5 model D 2" in said
    assert "8.4 MWh 6.3 and 10.6 model D 2" in said
    assert "Mains water caused by spraying 23 m³ 10 and 35 model D 3" in said
    for expected in ("What to do next", "backflow protection", "Limits.", "how the next year's weather will differ"):
        assert expected in said


def test_the_page_column_points_at_the_pages(rendered):
    pages = outline(rendered("works"))
    assert pages["The answer"] == 0
    assert pages["Cooling"] == 1
    assert pages["Water"] == 2
    assert pages["Money"] == 3
    assert pages["Safety and upkeep"] == 4
    first = page_text(rendered("works"), 0)
    # each figure is explained on the page that its row names
    for row, number, words_there in (
        ("share of air conditioner's use 20 % 16 and 25 model D", 2, "20 % (16 to 25) of the 41 MWh"),
        ("Lost for useful cooling 2.1 L/kWh 1.5 and 2.7 model D", 3, "costs about 2.1 L (between 1.5 and 2.7)"),
        ("Money after water and upkeep 1500 EUR 1000 and 2100 model D", 4, "between 1000 and 2100 EUR"),
    ):
        assert f"{row} {number}" in first
        assert words_there in page_text(rendered("works"), number - 1)
    assert "Carbon saved by spraying: between 2000 and 3300" in page_text(rendered("works"), 3)
    assert {
        "Technical appendix",
        "Site facts",
        "Assumptions",
        "Method",
        "Months",
        "Nights",
        "Do the balances close?",
        "Findings",
        "Inputs",
        "Five numbers to redo with a calculator",
        "How this was made",
    } <= set(pages)


def test_the_cooling_page_shows_the_ladder_with_its_ranges(rendered):
    said = page_text(rendered("works"), 1)
    # 50 468 +- 21 %, 49 228 +- 21 %, 36 700 +- 19 %, 30 960 +- 18 %
    for row in (
        "Taken out at the roof 50.5 MWh 39.9 to 61.1",
        "Reached the store 49.2 MWh 38.9 to 59.6",
        "Reached the rooms 36.7 MWh 29.7 to 43.7",
        "Useful 31.0 MWh 25.4 to 36.5",
        "Own electricity 1.9 MWh 1.6 to 2.1",
    ):
        assert row in said
    assert "How much of the cooling arrives?" in said
    assert "Of the heat to the air even the direction is open." in said  # 3 120 +- 135 % spans zero
    assert "Heat came in from the roof beneath." in said
    # 31 157 of 19 840 + 3 120 + 31 157 that left the water is 57.6 %
    assert "the largest part, 58 %, went by evaporation" in said


def test_the_water_page_balances_and_shows_what_is_left_over(rendered):
    said = page_text(rendered("works"), 2)
    # in 438 + 41.3 + 2.1 = 481.4; out 188 + 214 + 47.9 + 11.4 + 6.2 + 1.1 + 3.6 + 7.4 = 479.6; 1.8 over
    # of 0.150 m3 a bathtub: 3 209 and 3 197, 12 over
    assert "in Together 481.4 m³ 3209 bathtubs" in said
    assert "out Together 479.6 m³ 3197 bathtubs" in said
    assert "Unexplained remainder, in less out 1.8 m³ 12 bathtubs" in said
    assert "about 55 % of all the mains water" in said  # 22.6 of 41.3
    assert "Spraying takes 14 % of the water that leaves" in said  # 66.6 of 479.6 less the 7.4 left in the store
    assert "Rain caught 438.0 m³ 390 to 480 2920 bathtubs" in said  # 438 / 0.150 = 2920


def with_small_rows():
    """The first site with water that dried on its roof and left its open store, the content made to fit."""
    return example.changed_year(
        example.works(),
        dried_m3=(9.17, 2.0, 16.0),
        store_evaporation_m3=(0.033, 0.01, 0.06),
        overflow_m3=(206.597, 150.0, 260.0),
    )


@pytest.mark.parametrize("audit", [example.works(), example.does_not_pay(), with_small_rows()])
def test_the_printed_water_adds_up(audit):
    for found in (water(audit), water(audit, "ip")):
        for side, total in ((found.into, found.total_in), (found.out, found.total_out)):
            for each in ("amount", "everyday"):
                shown = [getattr(row, each) for row in side]
                numbers = [0.0 if text.startswith("under") else leading(text) for text in shown]
                assert sum(numbers) == pytest.approx(leading(getattr(total, each)), abs=1e-6)
        left = leading(found.remainder.amount) if found.remainder.amount else 0.0
        assert leading(found.total_in.amount) - leading(found.total_out.amount) == pytest.approx(left, abs=1e-6)


def leading(text: str) -> float:
    """The number at the beginning of a printed amount."""
    digits = re.match(r"[−\d.\u00a0]+", text).group().replace("\u00a0", "").replace("−", "-")
    return float(digits)


def test_water_that_dries_and_leaves_the_store_has_its_rows(tmp_path):
    write_pdf(with_small_rows(), tmp_path / "r.pdf")
    said = page_text(pypdf.PdfReader(tmp_path / "r.pdf"), 2)
    assert "out Left on the roof and dried 9.2 m³ 2 to 16" in said
    assert "out Evaporated from the open store under 0.1 m³ 0.010 to 0.060" in said
    assert "in less out none" in said
    # 66.6 + 9.17 of 481.4 - 7.4 that leave the store
    assert "Spraying takes 16 % of the water that leaves" in said


def test_the_money_page_adds_up_and_shows_the_air_conditioner(rendered):
    said = page_text(rendered("works"), 3)
    # 10 320 x 0.24 = 2 476.8; 1 870 x 0.24 = 448.8; 22.6 x 2.4 = 54.24; 7.3 x 2.2 = 16.06; 420: 1 537.7
    for row in (
        "Air-conditioner electricity avoided by spraying 10 320 kWh 0.24 EUR/kWh 2477",
        "The system's own electricity 1870 kWh 0.24 EUR/kWh −449",
        "Mains water caused by spraying 22.6 m³ 2.4 EUR/m³ −54",
        "Water let into the sewer 7.3 m³ 2.2 EUR/m³ −16",
        "Upkeep 420 EUR/year −420",
        "Net 1538",
    ):
        assert row in said
    assert 2477 - 449 - 54 - 16 - 420 == 1538
    # 41 280 kWh +- 20 %, x 0.24 = 9 907; 10 320 x 0.24 = 2 477
    assert "between 33 and 50 MWh of electricity in a year, most likely about 41 MWh: about 9900 EUR" in said
    assert "about 10.3 MWh: about 2500 EUR" in said


def test_money_that_its_rows_do_not_explain_is_shown(tmp_path):
    audit = example.changed_year(example.works(), money_net=(1_500.0, 900.0, 2_100.0))
    write_pdf(audit, tmp_path / "r.pdf")
    said = page_text(pypdf.PdfReader(tmp_path / "r.pdf"), 3)
    assert "Not accounted for by these rows −38" in said  # 1 500 - 1 537.7
    assert "Net 1500" in said


def test_the_week_is_described_as_it_was():
    hours = [f"2001-05-2{day}T{hour:02d}:00:00-04:00" for day in (6, 7) for hour in range(24)]
    store = [12.0 + 0.1 * hour for hour in range(48)]
    series = {"title": "A week", "unit": "degC", "time": hours}
    off = {"week": {**series, "values": {"Store": store, "Water off the roof": [None] * 48}}}
    audit = replace(example.works(), series=off)
    # 12.0 to 16.7
    assert tidy(week_words(audit)) == (
        "A week, 26 May to 27 May. The spray did not run in this week. The store stood between 12.0 and 16.7 °C and "
        "ended warmer than it began, 12.0 before and 16.7 after."
    )
    ran = [15.0 if hour < 6 else None for hour in range(24)] * 2
    saw = [20.0 - hour if hour < 6 else 15.0 + 5.0 * (hour - 5) / 18 for hour in range(24)] * 2
    on = {"week": {**series, "values": {"Store": saw, "Water off the roof": ran}}}
    said = tidy(week_words(replace(audit, series=on)))
    assert "The spray ran in 12 of its 48 hours." in said
    assert "ended as it began" in said
    assert "It cooled in the hours with spraying and warmed in the others." in said
    silent = {"week": {**series, "values": {"Store": store}}}
    assert "spray" not in week_words(replace(audit, series=silent)).lower()


def test_findings_are_rounded_like_all_else(tmp_path):
    told = Finding(
        "result.cools-without-spray",
        "note",
        "The store would give 9288 kWh of useful cooling a year without any spraying, 3.5 m3 beside.",
        "useful_without_spray_kWh",
        {"without_kWh": 9288.0, "useful_kWh": 30960.0},
        "",
    )
    audit = replace(example.with_unsprayed(), findings=(told,))
    assert tidy(finding_text(audit, told)) == (
        "The store would give 9.3 MWh (7.0 to 11.6) of useful cooling a year without any spraying, 3.5 m³ beside."
    )
    ends = Finding("x", "note", "It lies between -480 and 3330 kWh.", "", {"low": -480.0, "high": 3330.0}, "")
    assert tidy(finding_text(example.cannot_tell(), ends)) == "It lies between −500 and 3300 kWh."
    write_pdf(audit, tmp_path / "ip.pdf", "ip")
    assert "Figures in these texts are in SI units." in whole_text(pypdf.PdfReader(tmp_path / "ip.pdf"))


def test_assumptions_too_small_to_tell_are_one_line(tmp_path):
    rows = [{**row, "effect_net": 5.0, "effect_net_unit": "EUR"} for row in example.assumptions()]
    for row in rows[6:9]:
        row |= {"effect": None, "effect_net": None}
    write_pdf(replace(example.works(), assumptions=tuple(rows)), tmp_path / "r.pdf")
    said = whole_text(pypdf.PdfReader(tmp_path / "r.pdf"))
    assert (
        "3 more have effects too small to tell from chance, on either figure: Store wall U-value; Temperature beneath "
        "the roof; Spray flow."
    ) in said
    assert "Effect on net" in said


def test_no_row_of_the_method_or_of_the_findings_is_cut(rendered, tmp_path):
    said = whole_text(rendered("works"))
    method = said[said.index(" Method "):said.index("All quantities")]
    longest = max((row[1] for row in method_rows(example.works())), key=len)
    assert len(longest) > 260
    assert longest[-40:] in method
    assert "…" not in method
    long = Finding("store.freezing", "doubt", "word " * 120 + "last one", "store", {}, "effect " * 80 + "ends here")
    write_pdf(replace(example.works(night_count=0), findings=(long,)), tmp_path / "r.pdf")
    told = whole_text(pypdf.PdfReader(tmp_path / "r.pdf"))
    assert "word last one" in told
    assert "effect ends here" in told


def test_long_lines_of_how_it_was_made_are_not_cut(tmp_path):
    weather = {"interpolation": "readings stand at the end of the hour with a straight line between them, " * 6 + "end"}
    audit = example.works(night_count=0)
    write_pdf(replace(audit, made={**audit.made, "weather": weather}), tmp_path / "r.pdf")
    assert "between them, end" in whole_text(pypdf.PdfReader(tmp_path / "r.pdf"))


def test_the_date_of_creation_is_the_reports(tmp_path):
    for date, expected in (("2024-03-11", "D:20240311000000"), ("sometime", "D:20000101000000")):
        write_pdf(example.changed_site(example.works(night_count=0), report_date=date), tmp_path / "r.pdf")
        assert pypdf.PdfReader(tmp_path / "r.pdf").metadata["/CreationDate"].startswith(expected)


def test_what_comes_without_spraying_stands_on_both_pages(tmp_path):
    write_pdf(example.with_unsprayed(), tmp_path / "r.pdf")
    reader = pypdf.PdfReader(tmp_path / "r.pdf")
    first, second = page_text(reader, 0), page_text(reader, 1)
    assert "of it caused by spraying 21.7 MWh 17.1 and 26.2 model D 2" in first  # 21 672, 17 120 to 26 220
    assert "Caused by spraying 21.7 MWh 17.1 to 26.2" in second
    assert "about 22 MWh or 70 %" in second
    assert "Each kWh of useful cooling that spraying causes costs about" in page_text(reader, 2)


def test_mains_water_past_the_store_closes_the_balance(tmp_path):
    # in 438 + 41.3 + 2.1 = 481.4; out 479.6 - 20 + 20 past the store, and 1.8 less overflow would leave nothing
    audit = example.changed_year(
        example.works(),
        other_uses_m3=(168.0, 140.0, 196.0),
        mains_bypass_m3=(20.0, 12.0, 28.0),
        overflow_m3=(215.8, 150.0, 280.0),
    )
    write_pdf(audit, tmp_path / "r.pdf")
    said = page_text(pypdf.PdfReader(tmp_path / "r.pdf"), 2)
    assert "out Other uses, mains water past the store 20.0 m³ 12 to 28" in said
    assert "in less out none" in said


def test_the_year_of_the_store_is_shown(tmp_path):
    write_pdf(example.with_level(), tmp_path / "r.pdf")
    reader = pypdf.PdfReader(tmp_path / "r.pdf")
    said = whole_text(reader)
    assert "Does the store run dry, and when does it overflow?" in said
    # by the example: ten days at 6 m3 under the reserve of 7 with mains water, five days of overflow, 12 m3 of rain
    counted = (
        "the store ended 10 days with no more water than the reserve at which spraying stops, took mains water on 10 "
        "days and overflowed on 5 days"
    )
    assert counted in said
    assert counted in page_text(reader, 2)
    assert "their tallest day holds 12 m³" in said
    if "Store level" in outline(reader):
        assert f"Page {outline(reader)['Store level'] + 1} shows it day by day" in page_text(reader, 2)


def test_a_short_page_of_water_carries_the_level(tmp_path):
    audit = replace(example.with_level(), series={"level": example.level()})  # no week on that page
    write_pdf(audit, tmp_path / "r.pdf")
    reader = pypdf.PdfReader(tmp_path / "r.pdf")
    assert "Store level" not in outline(reader)
    assert "Does the store run dry" in page_text(reader, 2)


def test_no_mains_water_caused_is_said_plainly(tmp_path):
    none = {id: (0.0, 0.0, 0.0) for id in ("mains_m3", "mains_caused_m3")}
    write_pdf(example.changed_year(example.works(), **none), tmp_path / "r.pdf")
    reader = pypdf.PdfReader(tmp_path / "r.pdf")
    assert "Spraying causes no mains water: in no case reckoned does the store take any." in page_text(reader, 2)
    assert "Mains water caused by spraying 0 m³ always 0" in page_text(reader, 0)


def test_a_remainder_of_nothing_is_said_to_be_nothing(tmp_path):
    audit = example.changed_year(example.works(), overflow_m3=(215.8, 150.0, 280.0))
    write_pdf(audit, tmp_path / "r.pdf")
    said = page_text(pypdf.PdfReader(tmp_path / "r.pdf"), 2)
    assert "less than a thousandth is left unexplained" in said
    assert "in less out none" in said


def test_the_safety_page_puts_codes_first_and_ends_with_what_may_be_said(rendered):
    said = page_text(rendered("works"), 4) + page_text(rendered("works"), 5)
    assert said.index("Local codes and licensed practice come first") < said.index("Legionella")
    assert "212 hours of spraying" in said
    assert "predicts between 25 and 37 MWh of useful cooling a year, with 9 chances in 10" in said


def test_options_have_a_page_only_where_there_are_options(rendered):
    assert "What could change" not in outline(rendered("works"))
    reader = rendered("with_everything")
    said = page_text(reader, outline(reader)["What could change"])
    assert "A second tank of 45 m3 — loses" in said
    assert "Switch the controller's standby off — gains" in said


def test_logged_period_and_claims_are_on_the_first_page(rendered):
    said = page_text(rendered("with_everything"), 0)
    assert "Logged, 2023-07-01 to 2023-08-15" in said
    assert "Taken out at the roof 9.9 MWh 9.4 and 10.4" in said
    assert "Cuts air-conditioner electricity by half 2 % not supported" in said
    assert "These are predictions" not in said


def test_without_prices_no_money_is_shown(rendered):
    said = whole_text(rendered("without_prices"))
    assert "EUR" not in said
    assert "Money" not in said


def test_a_range_across_zero_is_marked(rendered):
    said = page_text(rendered("cannot_tell"), 0)
    assert "after water and upkeep the result lies between a loss of 640 and a gain of 420 EUR" in said
    assert "−640 and 420 *" in said
    assert "* We cannot say whether it saves or costs." in said


def test_ip_units_reach_every_page(rendered):
    reader = rendered("works", "ip")
    said = whole_text(reader)
    assert "106 million Btu 87 and 125" in said  # 30 960 kWh x 3.412 = 105.6 million Btu +- 18 %
    assert "6000 US gal" in said  # 22.6 m3 x 264.17 = 5 970
    assert "8.4 MWh" in said  # electricity stays
    # 30 960 kWh / 3.51685 = 8 803 ton-h; +- 18 % is 7 219 to 10 388
    assert "In ton-hours: between 7200 and 10 400 ton-h." in said
    assert "Store volume 11 888 11 597 to 12 178 US gal" in said  # 45 m3 x 264.172
    assert "Balance point 66.2 63.5 to 68.9 °F" in said
    assert "per unit of useful cooling" in said
    assert "m³" not in said
    assert "gpm" not in said
    assert re.search(r"(?<!US )gal\b", said) is None
    assert "°C" not in said.replace("dew point in °C", "")


@pytest.mark.parametrize("name", sorted(set(AUDITS) - {"hostile"}))
def test_nothing_is_claimed_that_a_model_cannot_claim(rendered, name):
    assert UNSAID.search(whole_text(rendered(name))) is None


def test_the_facts_table_gives_value_range_unit_and_source(rendered):
    said = whole_text(rendered("works"))
    assert "Roof area, long shed 1240 1221 to 1259 m² drawing; sheet A-102" in said
    assert "Share of the roof that stays wet 0.8 0.55 to 1 assumed" in said
    assert "Price of water 2.4 2.28 to 2.52 EUR/m³ owner; bill" in said


def test_roofs_and_emitters_bear_their_names_in_the_table_of_facts(tmp_path):
    names = {"roof.1": "Long <b>shed</b> roof", "emitter.1": "reading room floor"}
    write_pdf(example.changed_site(example.works(night_count=0), names=names), tmp_path / "r.pdf")
    said = whole_text(pypdf.PdfReader(tmp_path / "r.pdf"))
    assert "Roof 1: Long <b>shed</b> roof" in said
    assert "Roof 1 " not in said
    bare = whole_text(rendered_bare(tmp_path))
    assert "Roof 1 " in bare


def rendered_bare(folder) -> pypdf.PdfReader:
    """The same without names, as older records are."""
    write_pdf(example.works(night_count=0), folder / "bare.pdf")
    return pypdf.PdfReader(folder / "bare.pdf")


def test_the_appendix_can_be_redone(rendered):
    said = whole_text(rendered("works"))
    assert "avoided − own: 10 320 − 1870 8450 8450 kWh" in said
    assert "seed 20240311" in said
    assert "sprayroof audit marrow_lane --runs 400" in said
    assert "3c3c3c3c3c3c3c3c" in said
    assert "8.8 × 10^−7 kg" in said


# ------------------------------------------------------------------------------------------------ how it is made


def test_the_document_is_described_and_marked(rendered):
    reader = rendered("works")
    assert reader.metadata.title == "Sprayed roof audit: Marrow Lane Packing Shed"
    assert reader.metadata.author == "T. Ashgrove"
    mark = run_mark(example.works())
    for number, page in enumerate(reader.pages, start=1):
        said = tidy(page.extract_text())
        assert f"run {mark}" in said
        assert f"{number} / {len(reader.pages)}" in said
        if number > 1:
            assert "Marrow Lane Packing Shed" in said


def test_the_mark_follows_the_record():
    audit = example.works()
    assert run_mark(audit) == run_mark(audit_from_json(audit.to_json(), "x"))
    assert run_mark(audit) != run_mark(example.changed_site(audit, owner="Another owner"))


@pytest.mark.parametrize("units", ["si", "ip"])
@pytest.mark.parametrize("name", ["works", "hostile", "with_everything"])
def test_fonts_are_embedded_and_nothing_is_smaller_than_8_points(rendered, name, units):
    reader = rendered(name, units)
    fonts, sizes = set(), set()
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            described = font.get_object()
            fonts.add(described["/BaseFont"])
            assert "/FontFile2" in described["/FontDescriptor"], described["/BaseFont"]
        content = page.get_contents().get_data().decode("latin-1")
        assert " cm" not in re.sub(r"1 0 0 1 [-\d.]+ [-\d.]+ cm", "", content)  # nothing is scaled down
        sizes |= {float(size) for size in re.findall(r"/F\S+ ([\d.]+) Tf", content)}
    assert min(sizes) >= 8.0
    assert len(fonts) >= 5


SIZES = {"A4": (595.28, 841.89), "Letter": (612.0, 792.0)}  # 210 x 297 mm (ISO 216), 8.5 x 11 in; 1/72 in a point


@pytest.mark.parametrize("units", ["si", "ip"])
@pytest.mark.parametrize("paper", sorted(SIZES))
@pytest.mark.parametrize("name", sorted(AUDITS))
def test_answer_cooling_and_water_keep_to_a_page_each(tmp_path, name, paper, units):
    audit = example.changed_site(AUDITS[name](), paper=paper)
    write_pdf(audit, tmp_path / "r.pdf", units)
    reader = pypdf.PdfReader(tmp_path / "r.pdf")
    assert [float(x) for x in reader.pages[0].mediabox[2:]] == pytest.approx(SIZES[paper], abs=0.01)
    assert outline(reader)["Cooling"] == 1
    assert outline(reader)["Water"] == 2
    prices = audit.site["traits"]["has_prices"]
    assert ("Money" in outline(reader)) == prices
    assert outline(reader)["What could change" if audit.options else "Safety and upkeep"] == 3 + prices
    for question in ("How much of the cooling arrives?", "When does the building need", "Where did the heat go?"):
        assert question in page_text(reader, 1)


def lines_under_headings(page) -> list[int]:
    """For each heading of a page, how many lines of other text stand between it and the page's foot."""
    lines: dict[float, float] = {}  # height of the line -> largest type on it

    def visit(piece, matrix, text_matrix, font, size):
        y = round(text_matrix[5] * matrix[3] + matrix[5], 1)
        if piece.strip() and y > 50.0:  # above the running foot
            lines[y] = max(size, lines.get(y, 0.0))

    page.extract_text(visitor_text=visit)
    return [sum(other < y and size < 12.0 for other, size in lines.items()) for y, top in lines.items() if top > 12.0]


@pytest.mark.parametrize("paper", sorted(SIZES))
def test_no_heading_is_left_at_the_foot_of_a_page(tmp_path, paper):
    for count in range(0, 64, 12):  # the nights push what follows them down the page
        audit = example.with_level()
        audit = replace(audit, nights=example.nights(count), assumptions=audit.assumptions[: 3 + count // 10])
        write_pdf(example.changed_site(audit, paper=paper), tmp_path / "r.pdf")
        for page in pypdf.PdfReader(tmp_path / "r.pdf").pages[1:]:
            assert all(under >= 3 for under in lines_under_headings(page)), count


def test_the_same_record_gives_the_same_bytes_in_another_process(tmp_path):
    script = (
        "import sys; sys.path.insert(0, sys.argv[1]); import example_audit as e\n"
        "from sprayroof.report.write import write_report\n"
        "write_report(e.with_everything(), sys.argv[2], sys.argv[3])\n"
    )
    for folder, seed, zone, units in (
        ("a", "1", "UTC", "si"),
        ("b", "77", "Pacific/Auckland", "si"),
        ("c", "5", "UTC", "ip"),
    ):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone}
        subprocess.run(
            [sys.executable, "-c", script, str(Path(__file__).parent), str(tmp_path / folder), units],
            check=True,
            env=environment,
        )
    for name in ("report.pdf", "workbook.xlsx"):
        first, second, other = ((tmp_path / folder / name).read_bytes() for folder in "abc")
        assert first == second
        assert first != other


def test_the_clock_does_not_enter(tmp_path, monkeypatch):
    write_report(example.works(), tmp_path / "now")
    later = time.time() + 4e8
    monkeypatch.setattr(time, "time", lambda: later)
    write_report(example.works(), tmp_path / "later")
    for name in ("report.pdf", "workbook.xlsx"):
        assert (tmp_path / "now" / name).read_bytes() == (tmp_path / "later" / name).read_bytes()


def test_it_is_quick(tmp_path):
    start = time.perf_counter()
    write_report(example.works(night_count=366), tmp_path)
    assert time.perf_counter() - start < 6.0


# ---------------------------------------------------------------------------------------- what may be absent or odd


@pytest.mark.parametrize("count", [0, 1, 75, 140, 366])
def test_any_number_of_nights(tmp_path, count):
    write_pdf(example.works(night_count=count), tmp_path / "r.pdf")
    said = whole_text(pypdf.PdfReader(tmp_path / "r.pdf"))
    if not count:
        assert "Night of" not in said
        return
    nights = example.nights(count)
    sprayed = [night["date"] for night in nights if night["spray_hours_h"] > 0.0]
    assert f"{count} nights, {len(sprayed)} with spraying" in said
    table = said[said.index(f"{len(sprayed)} with spraying") : said.index("Do the balances close?")]
    assert [night["date"] for night in nights if night["date"] in table] == (
        sprayed if len(sprayed) <= 130 else most_cooling(nights)
    )
    assert ("60 with the most cooling" in said) == (len(sprayed) > 130)


def most_cooling(nights) -> list[str]:
    """The dates of the 60 nights with most cooling, in order of time; equals in order of time too."""
    ranked = sorted((-night["cooling_roof_kWh"], night["date"]) for night in nights)
    return sorted(date for _, date in ranked[:60])


def test_a_year_without_spraying_prints_no_nights(tmp_path):
    nights = tuple({**night, "spray_hours_h": 0.0} for night in example.nights(40))
    write_pdf(replace(example.works(), nights=nights), tmp_path / "r.pdf")
    said = whole_text(pypdf.PdfReader(tmp_path / "r.pdf"))
    assert "40 nights, 0 with spraying, 40 without" in said
    assert "Night of" not in said


def test_a_record_with_nearly_nothing_still_prints(tmp_path):
    useful = example.year_quantities()["cooling_useful_kWh"]
    audit = Audit(
        site={"name": "Bare"},
        periods={"year": Period("2001-01-01", "2002-01-01", {"cooling_useful_kWh": useful})},
        findings=(),
        fit={},
        options=(),
        claims=(),
        closure={},
        months=(),
        nights=(),
        inputs=(),
        made={},
    )
    paths = write_report(audit, tmp_path)
    said = whole_text(pypdf.PdfReader(paths["report"]))
    assert "We cannot tell: the record holds no net figure" in said
    assert "Useful cooling 31 MWh 25 and 37" in said


def test_each_part_may_be_absent(tmp_path):
    for part, empty in (
        ("findings", ()),
        ("closure", {}),
        ("months", ()),
        ("nights", ()),
        ("inputs", ()),
        ("made", {}),
        ("assumptions", ()),
        ("series", {}),
    ):
        write_pdf(replace(example.works(night_count=2), **{part: empty}), tmp_path / "r.pdf")
        assert "The roof works" in whole_text(pypdf.PdfReader(tmp_path / "r.pdf"))
    for key in ("place", "owner", "auditor", "report_date", "currency", "paper", "facts", "traits"):
        audit = example.works(night_count=2)
        site = {name: value for name, value in audit.site.items() if name != key}
        write_pdf(replace(audit, site=site), tmp_path / "r.pdf")
        assert "The roof works" in whole_text(pypdf.PdfReader(tmp_path / "r.pdf"))


def test_figures_that_are_not_known_are_not_drawn(tmp_path):
    nan = float("nan")
    audit = example.changed_year(
        example.works(night_count=2),
        convection_kWh=(nan, nan, nan),
        longwave_kWh=(20_000.0, nan, nan),
        sprayed_m3=(nan, nan, nan),
    )
    write_pdf(audit, tmp_path / "r.pdf")
    said = page_text(pypdf.PdfReader(tmp_path / "r.pdf"), 1)
    assert "To the sky 20.0 MWh" in said
    assert "To the air" not in said


def test_no_period_is_refused(tmp_path):
    with pytest.raises(AuditFileProblems, match="reference year"):
        write_report(replace(example.works(), periods={}), tmp_path)


def test_a_logged_period_alone_carries_the_headline(tmp_path):
    audit = example.with_everything()
    logged = Period("2023-07-01", "2023-08-15", audit.periods["year"].quantities)
    write_pdf(replace(audit, periods={"logged": logged}), tmp_path / "r.pdf")
    assert "in the logged period after its own use" in page_text(pypdf.PdfReader(tmp_path / "r.pdf"), 0)


# ------------------------------------------------------------------------------------------------ text of others


def test_hostile_text_is_shown_and_never_obeyed(rendered):
    reader = rendered("hostile")
    said = whole_text(reader)
    assert '</para><b>Roof & Sons</b> <font size=99>“Ünïcødé”□□ =HYPERLINK("' in said
    assert "@SUM(A1:A9) <b>never closed" in said
    assert reader.metadata.author.startswith("□gnp.exe □ half a pair")
    for page in reader.pages:
        assert "/Annots" not in page  # no link was made of it
    assert "/Names" not in reader.trailer["/Root"] or "/JavaScript" not in reader.trailer["/Root"]["/Names"]


def test_long_words_stay_inside_the_page(rendered):
    reader = rendered("hostile")
    right = float(reader.pages[0].mediabox[2]) - 60.0
    starts: list[float] = []

    def visit(piece, matrix, text_matrix, font, size):
        if piece.strip():
            starts.append(text_matrix[4] * matrix[0] + matrix[4])

    for page in reader.pages:
        page.extract_text(visitor_text=visit)
    assert max(starts) < right
    said = re.sub(r"\s", "", reader.pages[0].extract_text())
    assert "Donau" + "dampfschiff" * 5 in said  # broken over lines, not lost


def test_very_long_names_do_not_push_the_answer_off_its_page(tmp_path):
    audit = example.changed_site(example.works(), name="Hall " * 200, owner="Owner " * 300, place="x" * 3000)
    write_pdf(audit, tmp_path / "r.pdf")
    reader = pypdf.PdfReader(tmp_path / "r.pdf")
    assert outline(reader)["Cooling"] == 1
    assert "Limits." in page_text(reader, 0)


# ------------------------------------------------------------------------------------------------ files


def test_paths_are_given_back_and_nothing_else_is_left(tmp_path):
    paths = write_report(example.works(), tmp_path / "deep" / "folder")
    assert paths == {
        "report": tmp_path / "deep" / "folder" / "report.pdf",
        "workbook": tmp_path / "deep" / "folder" / "workbook.xlsx",
    }
    assert sorted(path.name for path in (tmp_path / "deep" / "folder").iterdir()) == ["report.pdf", "workbook.xlsx"]


@pytest.mark.parametrize("module", [pdf, workbook])
def test_a_failure_leaves_the_earlier_files_as_they_were(tmp_path, monkeypatch, module):
    write_report(example.works(), tmp_path)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    name = "lay_out" if module is pdf else "_hand_checks"

    def fail(*arguments):
        raise OSError("disk full")

    monkeypatch.setattr(module, name, fail)
    with pytest.raises(OSError, match="disk full"):
        write_report(example.does_not_pay(), tmp_path)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_unknown_units_are_refused_before_anything_is_written(tmp_path):
    with pytest.raises(ValueError, match="metric"):
        write_report(example.works(), tmp_path / "out", "metric")
    assert not (tmp_path / "out").exists()
