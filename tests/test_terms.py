"""Words for sites with closed panels, with a booster chiller, and for water that is lost without cooling."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace

import example_audit as example
import openpyxl
import pypdf
import pytest
from reportlab.pdfbase.pdfmetrics import stringWidth

from sprayroof.explain import explain
from sprayroof.report import charts, charts_time, labels, style, words
from sprayroof.report.actions import actions
from sprayroof.report.cautions import CAUTIONS, cautions
from sprayroof.report.charts_time import week_words
from sprayroof.report.handcheck import counted, hand_checks
from sprayroof.report.method import method_rows
from sprayroof.report.pdf import write_pdf
from sprayroof.report.pdf_money import money_rows
from sprayroof.report.terminal import summary_lines
from sprayroof.report.terms import label
from sprayroof.report.water_rows import water
from sprayroof.report.water_words import mains_words, rain_words, wasting
from sprayroof.report.workbook import write_workbook
from sprayroof.results import Finding

ZERO = (0.0, 0.0, 0.0)
# the program's own name stands on every page
SPRAY_LEFT = re.compile(r"spray(?!roof)", re.IGNORECASE)


def tidy(raw: str) -> str:
    return re.sub(r"\s+", " ", raw.replace("\u00a0", " "))


def printed(audit, tmp_path, units: str = "si") -> list[str]:
    """The text of each page."""
    write_pdf(audit, tmp_path / "r.pdf", units)
    return [tidy(page.extract_text()) for page in pypdf.PdfReader(tmp_path / "r.pdf").pages]


# ------------------------------------------------------------------------------------------------ closed panels


def panels(**quantities):
    """The site with closed panels; nothing in its record but figures speaks of spraying."""
    audit = example.with_panels(**quantities)
    findings = (Finding("weather.typical-year", "note", "The weather is a typical year."),)
    flow = "Flow of all nozzles together"  # as the site file's declaration has it
    rows = tuple({**row, "label": flow} if row["entry"] == "spray.flow" else row for row in audit.assumptions)
    return replace(audit, findings=findings, assumptions=rows)


LOSES = {"electricity_net_kWh": (-900.0, -1_300.0, -500.0), "electricity_avoided_kWh": (970.0, 500.0, 1_400.0),
         "money_net": (-700.0, -900.0, -400.0)}
OPEN = {"electricity_net_kWh": (100.0, -500.0, 700.0), "money_net": (-100.0, -600.0, 300.0)}


@pytest.mark.parametrize("units", ["si", "ip"])
@pytest.mark.parametrize("quantities", [{}, LOSES, OPEN])
def test_no_page_of_a_site_with_panels_speaks_of_spraying(tmp_path, quantities, units):
    said = " ".join(printed(panels(**quantities), tmp_path, units))
    said = said.replace("In place of the spray:", "").replace("(spray.flow)", "")  # what panels are; names of entries
    assert [said[max(0, found.start() - 40) : found.end() + 30] for found in SPRAY_LEFT.finditer(said)] == []
    assert "Roof panel audit" in said


@pytest.mark.parametrize(("quantities", "verdict"), [
    ({}, "The panels work: the panel loop is predicted to save between"),
    (LOSES, "The panels do not pay: the panel loop is predicted to cost between"),
    (OPEN, "We cannot tell whether the panels pay: the net electricity saved by the panel loop lies between"),
    ({"mains_caused_m3": (9.0, 4.0, 14.0)}, "The panels work, but the panel loop takes between 4 and 14 m³ of mains"),
])
def test_the_verdict_speaks_of_panels(quantities, verdict):
    assert tidy(words.verdict(panels(**quantities)).sentence).startswith(verdict)


def test_no_caution_action_or_public_sentence_of_panels_speaks_of_spraying():
    for quantities in ({}, LOSES, OPEN):
        audit = panels(**quantities)
        texts = [f"{caution.name} {caution.text(audit, 'si')}" for caution in cautions(audit)]
        texts += [f"{action.do} {action.why}" for action in actions(audit, most=20)]
        texts += [*words.public_sentences(audit), *summary_lines(audit), week_words(audit)]
        assert [text for text in texts if SPRAY_LEFT.search(text)] == []
    names = {caution.name for caution in cautions(panels())}
    assert "Weight and wind on the panels" in names
    assert not {"Drift", "Warm water in drops", "Electricity near spray", "Warranty, corrosion, neighbours"} & names
    assert "Weight and wind on the panels" not in {caution.name for caution in cautions(example.works())}


def test_mains_water_below_zero_is_no_restriction():
    saved = example.changed_year(example.works(), mains_caused_m3=(-3.0, -5.0, -1.0))
    assert "Water restrictions" not in {caution.name for caution in cautions(saved)}
    assert "Water restrictions" in {caution.name for caution in cautions(example.works())}


def test_of_panels_only_rows_that_mean_something_are_shown(tmp_path):
    pages = printed(panels(), tmp_path)
    said = " ".join(pages)
    assert "always 0" not in pages[0]
    for absent in ("Evaporated", "Blown away", "Dried", "Lost for useful", "By evaporation", "Into the roof beneath",
                   "Drift, m³", "Evap.", "booster"):
        assert absent not in said, absent
    assert "To the sky 19.8 MWh" in pages[1]
    assert "Taken out at the panels 23.0 MWh" in pages[1]  # 22 960 kWh
    assert "Is it wasting water? No: the panels are closed, and cooling loses no water." in pages[0]
    assert "Mains water caused by" not in pages[0]
    assert "Water let into the sewer" not in said
    assert [row[0] for row in money_rows(panels())] == [
        "Air-conditioner electricity avoided by the panel loop", "The system's own electricity", "Upkeep"]


def test_mains_water_below_zero_is_explained(tmp_path):
    audit = panels(mains_caused_m3=(-0.8, -1.9, 0.3))
    first, third = (printed(audit, tmp_path)[page] for page in (0, 2))
    assert "Mains water caused by the panel loop −0.8 m³ −1.9 and 0.3" in first
    assert "Below zero it takes less: dew, and a colder open store that dries up less, spare some" in third
    assert "Below zero" not in mains_words(example.works(), "si")


def test_the_numbers_to_redo_of_panels_are_none_of_water():
    checks = {check.title: check for check in hand_checks(panels())}
    assert counted(list(checks.values())) == "Five numbers"
    assert checks["Cooling at the panels"].recomputed == pytest.approx(19_840.0 + 3_120.0)
    assert checks["Useful cooling per own electricity"].recomputed == pytest.approx(12_450.0 / 1_870.0)
    assert not [title for title in checks if "vapor" in title or "Water" in title]
    for check in checks.values():
        assert check.recomputed == pytest.approx(check.target.value, rel=1e-3)
    audit = panels()
    year = audit.periods["year"]
    priceless = {id: quantity for id, quantity in year.quantities.items() if id != "money_net"}
    assert counted(hand_checks(replace(audit, periods={"year": replace(year, quantities=priceless)}))) == "Four numbers"


def test_the_method_of_panels_has_no_sheet_deck_or_drops():
    rows = method_rows(panels())
    assert not {"Sheet on the roof", "Roof deck", "Cover over the roof", "Drops in flight"} & {row[0] for row in rows}
    assert "Without the panel loop" in {row[0] for row in rows}


def test_labels_follow_the_trait():
    audit = panels()
    assert label(audit, "Electric power of the spray pump") == "Electric power of the panel pump"
    assert label(audit, "Spraying") == "Running"
    assert label(example.works(), "Spraying") == "Spraying"
    assert words.fact_label(audit, {"entry": "x", "label": "Hours of spraying"}) == "Hours of the panel loop"


def test_the_workbook_of_panels_speaks_of_panels(tmp_path):
    write_workbook(panels(), tmp_path / "w.xlsx")
    book = openpyxl.load_workbook(tmp_path / "w.xlsx")
    sheets = [book[name] for name in ("Summary", "Months", "Nights", "Hand checks")]
    texts = [str(cell.value) for sheet in sheets for row in sheet.iter_rows()
             for cell in row if cell.value is not None and not str(cell.value).endswith(("_kWh", "_m3", "_h"))]
    meanings = {row[9].value for row in book["Summary"].iter_rows(min_row=9)}  # the catalogue's, of any site
    assert [text for text in texts if SPRAY_LEFT.search(text) and text not in meanings
            and not text.startswith("Why not")] == []
    assert book.properties.title.startswith("Roof panel audit")
    facts = {row[0].value: row[8].value for row in book["Facts"].iter_rows(min_row=2)}
    assert facts["spray.drop_size"] == "assumed, plays no part here"


def test_explain_says_how_to_read_its_paragraphs_of_panels():
    assert "This site has closed panels" in explain("electricity_net_kWh", panels())
    assert "panels" not in explain("electricity_net_kWh", example.works())


# ------------------------------------------------------------------------------------------------ booster


def test_beside_a_booster_the_avoided_electricity_is_told_apart(tmp_path):
    pages = printed(example.with_booster(), tmp_path)
    for page in pages[:2]:
        assert "Avoided, booster's too 10.3 MWh" in page
        # 7 120 of 10 320 kWh
        assert "about 7.1 MWh is not the air conditioner's but the booster chiller's (between 5.1 and 9.0 MWh)" in page
    assert "of it caused by spraying 9.4 MWh 6.0 and 12.8" in pages[0]
    assert "Caused by spraying 9.4 MWh 6.0 to 12.8" in pages[1]
    assert "the difference that spraying makes" in pages[1]
    money = next(page for page in pages if "What does spraying bring and cost" in page)
    # 10 320 - 7 120 = 3 200 kWh; x 0.24 = 768; 7 120 x 0.24 = 1 708.8
    assert "Air-conditioner electricity avoided by spraying 3200 kWh 0.24 EUR/kWh 768" in money
    assert "Booster electricity spared by spraying 7120 kWh 0.24 EUR/kWh 1709" in money
    assert "Spraying spares it and the booster" in money
    said = " ".join(pages)
    assert "Electricity of air conditioner and booster avoided by spraying" in said
    assert words.booster_words(example.works()) == ""
    assert "booster" not in " ".join(printed(example.works(), tmp_path)).lower().replace("water chiller", "")


def test_explain_tells_that_spared_booster_electricity_counts():
    for name in ("electricity_avoided_kWh", "booster_spared_kWh", "booster", "ac_offset_frac"):
        assert "booster" in explain(name)
        assert "spare" in explain(name).lower()


# ------------------------------------------------------------------------------------------------ water


def losing(evaporated, drifted, dried=ZERO, mains=ZERO):
    return example.changed_year(
        example.works(), evaporation_m3=evaporated, drift_m3=drifted, dried_m3=dried, bleed_m3=ZERO, flush_lost_m3=ZERO,
        mains_caused_m3=mains)


@pytest.mark.parametrize(("evaporated", "drifted", "dried", "begins"), [
    # shares that do not cool: 1/11; 3/11, between; 25.1/29.7, at least (4 + 1)/(4 + 1 + 7.3)
    ((10.0, 8.0, 12.0), (1.0, 0.5, 1.5), ZERO,
     "Hardly: spraying loses about 11 m³ of water a year; 1.0 m³ (0.5 to 1.5) of it does not cool: blown away"),
    ((8.0, 6.0, 10.0), (3.0, 1.0, 5.0), ZERO,
     "In part: spraying loses about 11 m³ of water a year; 3.0 m³ (1.0 to 5.0) of it does not cool: blown away"),
    ((4.6, 2.2, 7.3), (18.0, 4.0, 40.0), (7.1, 1.0, 15.0),
     "Yes, mostly: spraying loses about 30 m³ of water a year; about 25 m³ of it does not cool: 18 m³ (4 to 40) blown "
     "away and 7 m³ (1 to 15) left to dry on the roof"),
    # 20 of 30, but it may be 1 of 41: not to be called mostly
    ((10.0, 5.0, 40.0), (20.0, 1.0, 40.0), ZERO,
     "In part, for most likely 67 % of the lost water does not cool, but it may be as little as 2.4 %: spraying loses"),
    # 2 of 12, but it may be 30 of 35: not to be called hardly
    ((10.0, 5.0, 40.0), (2.0, 1.0, 30.0), ZERO,
     "In part, for most likely only 17 % of the lost water does not cool, but it may be as much as 86 %: spraying"),
    # each alone would be printed as 90 and 11, beside a sum of 99: to one place they add up
    ((30.9, 18.0, 61.0), (88.4, 20.0, 220.0), (10.8, 3.0, 20.0),
     "Yes, mostly: spraying loses about 130 m³ of water a year; about 99 m³ of it does not cool: 88 m³ (20 to 220) "
     "blown away and 11 m³ (3 to 20) left to dry on the roof"),
    ((0.3, 0.1, 0.6), (0.4, 0.1, 0.9), ZERO, "No: spraying loses next to nothing, about 0.70 m³ a year"),
    ((10.0, 8.0, 12.0), ZERO, ZERO, "Hardly: spraying loses about 10 m³ of water a year; all of it cools"),
])
def test_whether_water_is_wasted_is_said_in_one_sentence(evaporated, drifted, dried, begins):
    said = tidy(wasting(losing(evaporated, drifted, dried)))
    assert said.startswith(f"Is it wasting water? {begins}")
    assert said.endswith(".")
    assert ". " not in said.removeprefix("Is it wasting water? ").replace("? ", "")


@pytest.mark.parametrize(("mains", "end"), [
    (ZERO, "; no mains water takes its place."),
    ((5.0, 2.0, 8.0), "; the mains gives 5.0 m³ (2.0 to 8.0) on its account."),
    ((5.0, 5.0, 5.0), "; the mains gives 5.00 m³ on its account."),
    ((-2.0, -3.0, -1.0), "; it takes no more from the mains than without."),
    ((1.0, -1.0, 3.0),
     "; from the mains it takes 1.0 m³ (−1.0 to 3.0) more than without, less where there is a minus."),
])
def test_what_takes_the_lost_waters_place(mains, end):
    assert tidy(wasting(losing((10.0, 8.0, 12.0), (3.0, 1.0, 5.0), mains=mains))).endswith(end)


def test_a_record_without_losses_says_nothing_of_waste():
    audit = example.works()
    year = audit.periods["year"]
    left = {id: quantity for id, quantity in year.quantities.items() if id != "drift_m3"}
    assert wasting(replace(audit, periods={"year": replace(year, quantities=left)})) == ""


def test_the_answer_on_waste_stands_on_both_pages_and_dried_water_on_the_first(tmp_path):
    pages = printed(losing((4.6, 2.2, 7.3), (18.0, 4.0, 40.0), (7.1, 1.0, 15.0)), tmp_path)
    assert "Is it wasting water? Yes, mostly" in pages[0]
    assert "Is it wasting water? Yes, mostly" in pages[2]
    assert "Dried on the roof 7 m³ 1 and 15 model D 3" in pages[0]


def test_what_rain_did_not_meet_without_mains_water_is_explained():
    none = {"mains_m3": ZERO, "refill_reliability_frac": (1.0, 0.987, 1.0)}
    drawn = example.changed_year(example.works(), **none, storage_change_m3=(0.0, -3.0, 3.0))
    # 98.7 to 100 %
    assert tidy(rain_words(drawn, "si")) == (
        "Rain met between 98.7 and 100.0 % of all that the store had to supply; where that is not all, the store ended "
        "the year with less than it began with, for no mains water came."
    )
    short = example.changed_year(drawn, storage_change_m3=(1.0, 0.5, 3.0), unmet_uses_m3=(0.5, 0.0, 2.0))
    assert "where that is not all, users went short, for no mains water came." in rain_words(short, "si")
    assert "where that is not all" not in rain_words(example.works(), "si")  # there the mains makes up


def test_no_figure_of_the_first_page_is_cut(tmp_path):
    for audit in (example.works(), example.with_booster(), example.does_not_pay(), panels(**LOSES)):
        for units in ("si", "ip"):
            table = printed(audit, tmp_path, units)[0].partition("From the roof")[2].partition("What to do next")[0]
            assert "…" not in table
            assert "Water beside it" in table or audit.site["traits"].get("panels")


def test_one_bathtub_is_one():
    found = water(losing((0.15, 0.1, 0.2), (0.001, 0.0, 0.002)))  # of 0.150 m3 a bathtub
    said = {row.role: tidy(row.everyday) for row in found.out}
    assert (said["evaporation_m3"], said["drift_m3"]) == ("1 bathtub", "under 1 bathtub")
    assert said["leak_m3"] == "24 bathtubs"  # 3.6 m3


# ------------------------------------------------------------------------------------------------ looks and names


class Recorded:
    """A pen that remembers where it drew lines, blanks and texts, in order."""

    def __init__(self, picture):
        self.width, self.height, self.done = picture.width, picture.height, []
        picture._paint(self)

    def line(self, *points, **looks):
        self.done.append(("line", points))

    def blank(self, *box):
        self.done.append(("blank", box))

    def text(self, x, y, text, **looks):
        self.done.append(("text", (x, y, text)))
        return 10.0

    def box(self, *where, **looks):
        self.done.append(("box", where))

    def upright_whisker(self, *where, **looks):
        self.done.append(("whisker", where))


def test_no_line_of_the_axis_runs_through_the_names_of_the_bars():
    done = Recorded(charts.months(example.works(), 475.0)).done
    (at,) = [place for place, (kind, _) in enumerate(done) if kind == "blank"]
    x, y, width, height = done[at][1]
    names = [where for kind, where in done[at:] if kind == "text"]
    assert {name[2] for name in names} == {"the building's load", "useful from the roof"}
    assert all(x <= name[0] <= x + width and y <= name[1] <= y + height - 6.0 for name in names)
    crossing = [points for kind, points in done[at:] if kind == "line"]
    assert not crossing  # lines come first, and are blanked there
    assert any(y < points[0][1] < y + height for kind, points in done[:at] if kind == "line")


def test_a_line_of_the_week_that_is_never_known_is_not_named(tmp_path):
    audit = example.works()
    unknown = {**example.week(), "values": {**example.week()["values"], "Water off the roof": [None] * 168}}
    said = printed(replace(audit, series={"week": unknown}), tmp_path)[2]
    assert "The spray did not run in this week." in said
    assert "Water off the roof" not in said


def test_facts_that_play_no_part_are_left_out_of_the_pages_unless_stated(tmp_path):
    facts = [{**row, "used": row["entry"] not in ("spray.drop_size", "load.ua")} for row in example.facts()]
    said = " ".join(printed(example.changed_site(example.works(), facts=facts), tmp_path))
    table = said[said.index("Site facts Fact Value") : said.index("Assumptions Which")]
    assert "Drop size (Sauter)" not in table  # assumed
    assert "Heat gain per kelvin 2.1 1.68 to 2.52 kW/K guess; plays no part here" in table  # stated
    assert "One assumed fact that plays no part here" in table
    assumed = said[said.index("Assumptions Which") : said.index("Method The year")]
    assert "Drop size (Sauter)" not in assumed


@pytest.mark.parametrize(("name", "id"), [
    ("Caused by spraying", "useful_caused_kWh"), ("of it caused by spraying", "useful_caused_kWh"),
    ("Caused by the panel loop", "useful_caused_kWh"), ("Taken out at the panels", "cooling_roof_kWh"),
    ("Past the store", "mains_bypass_m3"), ("Mains caused", "mains_caused_m3"), ("To the sky", "longwave_kWh"),
])
def test_every_printed_label_is_explained(name, id):
    assert explain(name).startswith(f"{id}: ")


def test_all_labels_of_the_pages_lead_to_their_figure():
    for table in labels.ALL:
        for id, own in table.items():
            assert id in words.labelled(own)


def test_cautions_of_panels_can_be_written():
    for caution in CAUTIONS:
        assert len(caution.text(panels(), "si")) > 30


@pytest.mark.parametrize("height", [40.0, 98.0, 130.0])
def test_names_and_ticks_of_the_level_stand_clear_of_each_other(height):
    done = Recorded(charts_time.level(example.with_level(), 475.0, "si", height)).done
    texts = [where for kind, where in done if kind == "text"]
    names = sorted(y for x, y, text in texts if text in ("Full", "Content", "Spraying stops"))
    figures = sorted(y for _, y, text in texts if re.fullmatch(r"\d+", str(text)))
    assert len(names) == 3
    assert len(figures) >= 2
    for heights in (names, figures):
        assert min(after - before for before, after in itertools.pairwise(heights)) >= 8.0  # the size of the letters


def test_no_name_in_the_picture_of_the_water_runs_into_the_margin():
    audit = example.changed_year(
        example.works(), store_evaporation_m3=(4.5, 2.0, 9.0), mains_bypass_m3=(20.0, 12.0, 28.0))
    width = 482.0
    style.register_fonts()
    done = Recorded(charts.water_balance(audit, width, "ip", 150.0)).done
    texts = {str(where[2]): where[0] for kind, where in done if kind == "text"}
    rows = {row.label: row.amount for row in water(audit, "ip").out}
    assert "Evaporated from the store" in rows
    for name, amount in rows.items():
        wanted = stringWidth(name, style.SANS, style.SMALL) + 6.0 + stringWidth(amount, style.SANS_BOLD, style.SMALL)
        assert texts[name] + wanted <= width, name
    assert all(texts[row.label] > 60.0 for row in water(audit, "ip").into)
