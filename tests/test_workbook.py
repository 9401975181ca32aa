"""workbook.xlsx and nights.csv, read back with other programs' eyes: openpyxl and the csv module."""

from __future__ import annotations

import csv
import datetime
import re
import zipfile
from dataclasses import replace

import example_audit as example
import openpyxl
import pytest

from sprayroof.report.tables import write_nights_csv
from sprayroof.report.workbook import write_workbook

SHEETS = ["Summary", "Months", "Nights", "Facts", "Assumptions", "Findings", "Inputs", "Hand checks"]


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    path = tmp_path_factory.mktemp("book") / "workbook.xlsx"
    write_workbook(example.works(), path)
    return openpyxl.load_workbook(path)


def written(tmp_path, audit, units="si"):
    write_workbook(audit, tmp_path / "w.xlsx", units)
    return openpyxl.load_workbook(tmp_path / "w.xlsx")


def rows_of(sheet, head_row: int = 1) -> list[dict]:
    heads = [cell.value for cell in sheet[head_row]]
    return [
        dict(zip(heads, (cell.value for cell in row), strict=True)) for row in sheet.iter_rows(min_row=head_row + 1)
    ]


def summary(book) -> dict[str, dict]:
    return {row["Identifier"]: row for row in rows_of(book["Summary"], 8)}


def value_of(book, sheet_name: str, place: str) -> float:
    """What a spreadsheet program would show: follows references and reckons + - * / and brackets."""
    cell = book[sheet_name][place.replace("$", "")].value
    if not (isinstance(cell, str) and cell.startswith("=")):
        return float(cell)
    formula = re.sub(
        r"(?:(\w+)!)?(\$?[A-Z]+\$?\d+)",
        lambda match: f"({value_of(book, match[1] or sheet_name, match[2])!r})",
        cell[1:],
    )
    assert re.fullmatch(r"[-+*/().\de]+", formula), formula
    return eval(formula)


def test_the_sheets(book):
    assert book.sheetnames == SHEETS


def test_the_summary_holds_every_quantity_in_full_as_numbers(book):
    found = summary(book)
    for id, quantity in example.works().periods["year"].quantities.items():
        row = found[id]
        # a workbook keeps 16 digits
        assert [row["Value"], row["Low"], row["High"]] == pytest.approx(
            [quantity.value, quantity.low, quantity.high], rel=1e-15
        )
        assert row["Grade"] == quantity.grade
    assert found["money_net"]["Unit"] == "EUR"
    assert book["Summary"]["A2"].value == "works, but"
    assert "not verified savings" in book["Summary"]["A4"].value


def test_hand_checks_are_live_and_come_out(book):
    sheet = book["Hand checks"]
    labels = {row: sheet.cell(row, 1).value for row in range(1, sheet.max_row + 1)}
    redone = [row for row, label in labels.items() if label == "Redone"]
    assert len(redone) == 5
    shown = [value_of(book, "Hand checks", f"B{row}") for row in redone]
    # by hand from the example's figures: 19 840 + 3 120 - 3 650 + 45.8 x 680.3; 45.8 x 680.3; 10 320 - 1 870;
    # 64.5 x 1000 / 30 960; 8 450 x 0.24 - 22.6 x 2.4 - (6.2 + 1.1) x 2.2 - 420
    assert shown == pytest.approx([50_467.7, 31_157.7, 8_450.0, 2.08333, 1_537.70], rel=1e-4)
    for row in redone:
        assert str(sheet.cell(row, 2).value).startswith("=")
        assert value_of(book, "Hand checks", f"B{row + 1}") == pytest.approx(
            value_of(book, "Hand checks", f"B{row}"), rel=1e-3
        )
        assert abs(value_of(book, "Hand checks", f"B{row + 2}")) <= 1e-3 * abs(value_of(book, "Hand checks", f"B{row}"))
    # terms are links to the other sheets, not copies
    links = [
        sheet.cell(row, 2).value for row in labels if str(sheet.cell(row, 2).value).startswith(("=Summary", "=Facts"))
    ]
    assert len(links) >= 20


def test_formulas_carry_their_results_for_readers_that_do_not_reckon(tmp_path):
    write_workbook(example.works(), tmp_path / "w.xlsx")
    shown = openpyxl.load_workbook(tmp_path / "w.xlsx", data_only=True)
    live = openpyxl.load_workbook(tmp_path / "w.xlsx")
    for row in live["Hand checks"].iter_rows(min_col=2, max_col=2):
        if isinstance(row[0].value, str) and row[0].value.startswith("="):
            cached = shown["Hand checks"][row[0].coordinate].value
            assert cached == pytest.approx(value_of(live, "Hand checks", row[0].coordinate), abs=1e-6)


def test_a_check_of_a_changed_record_shows_the_difference(tmp_path):
    audit = example.changed_year(example.works(), electricity_net_kWh=(8_000.0, 6_000.0, 10_000.0))
    book = written(tmp_path, audit)
    sheet = book["Hand checks"]
    start = next(row for row in range(1, sheet.max_row + 1) if sheet.cell(row, 1).value == "Net electricity")
    assert value_of(book, "Hand checks", f"B{start + 5}") == pytest.approx(450.0)


def test_months_and_nights_are_numbers(book):
    months = rows_of(book["Months"])
    months = [row for row in months if row["Month"]]
    assert [row["Month"] for row in months][:2] == ["January", "February"]
    assert sum(row["Useful [kWh]"] for row in months) == pytest.approx(30_960.0)
    assert months[6]["Load [kWh]"] == pytest.approx(23_600.0)
    nights = rows_of(book["Nights"])
    assert len(nights) == 153
    assert isinstance(nights[0]["Hours of spraying [h]"], (int, float))
    assert nights[0]["Night of"] == datetime.datetime(2001, 5, 1)
    assert list(nights[0])[:1] + [head for head in nights[0] if head.startswith("Store")] == [
        "Night of",
        "Store at start [°C]",
        "Store at end [°C]",
    ]
    assert nights[4]["Why not sprayed"] == "rain"


def test_facts_keep_value_range_unit_and_source(book):
    fact = next(row for row in rows_of(book["Facts"]) if row["Entry"] == "store.volume")
    assert (fact["Value"], fact["Low"], fact["High"], fact["Unit"], fact["Source"]) == (45.0, 43.9, 46.1, "m³", "owner")


def test_ip_is_converted_and_si_stands_beside(tmp_path):
    book = written(tmp_path, example.works(), "ip")
    useful = summary(book)["cooling_useful_kWh"]
    assert useful["Value"] == pytest.approx(105_640.0, rel=1e-4)  # 30 960 x 3.41214 kBtu
    assert (useful["Unit"], useful["Value, SI"], useful["Unit, SI"]) == ("kBtu", 30_960.0, "kWh")
    assert summary(book)["electricity_net_kWh"]["Unit"] == "kWh"
    assert summary(book)["coldest_store_C"]["Value"] == pytest.approx(11.3 * 1.8 + 32.0)
    assert summary(book)["water_per_useful_L_kWh"]["Quantity"] == "Water lost per unit of useful cooling"
    volume = next(row for row in rows_of(book["Facts"]) if row["Entry"] == "store.volume")
    assert volume["Value"] == pytest.approx(45.0 * 264.172, rel=1e-5)
    assert (volume["Value, SI"], volume["Unit, SI"]) == (45.0, "m³")
    night = rows_of(book["Nights"])[0]
    assert night["Store at start [°F]"] == pytest.approx(example.nights(1)[0]["store_start_C"] * 1.8 + 32.0)
    assert [cell.value for cell in book["Findings"][1]][2] == "What was found (figures in this column are SI)"
    sheet = book["Hand checks"]
    redone = [row for row in range(1, sheet.max_row + 1) if sheet.cell(row, 1).value == "Redone"]
    assert value_of(book, "Hand checks", f"B{redone[4]}") == pytest.approx(1_537.70)  # still in SI
    links = [cell.value for cell in sheet["B"] if str(cell.value).startswith("=Facts")]
    assert len(links) == 4  # the prices


@pytest.mark.parametrize("units", ["si", "ip"])
def test_headings_bear_units_and_no_identifiers(tmp_path, units):
    book = written(tmp_path, example.with_unsprayed(), units)
    heads = [cell.value for name in ("Months", "Nights", "Assumptions") for cell in book[name][1]]
    for head in heads:
        assert "_" not in head
        assert not re.search(r" C\b| m s\b", head), head
    other = "(m³|°C|mm|m/s)" if units == "ip" else "(US gal|°F|kBtu|mph)"
    assert not [head for head in heads if re.search(rf"\[{other}\]", head)]
    assert "Load [kWh]" in heads or units == "ip"


def test_sources_have_the_words_of_the_report(tmp_path):
    facts = [{**example.facts()[0], "source": "unstated"}, *example.facts()[1:]]
    book = written(tmp_path, example.changed_site(example.works(), facts=facts))
    sources = {row["Source"] for name in ("Facts", "Assumptions") for row in rows_of(book[name])}
    assert {"assumed", "not stated", "guess"} <= sources
    assert not {"default", "unstated"} & sources


def test_effects_on_the_net_have_their_column(tmp_path):
    rows = [{**row, "effect_net": None, "effect_net_unit": "EUR"} for row in example.assumptions()]
    rows[1]["effect_net"] = -240.0
    book = written(tmp_path, replace(example.works(), assumptions=tuple(rows)))
    by_entry = {row["Entry"]: row for row in rows_of(book["Assumptions"]) if row["Entry"]}
    assert by_entry["load.ua"]["Effect on net [EUR]"] == -240.0
    assert by_entry["load.ua"]["Effect on useful cooling [kWh]"] == 2_980.0
    assert by_entry["spray.flow"]["Effect on net [EUR]"] == "too small to tell"


def test_there_are_native_charts(tmp_path):
    write_workbook(example.works(), tmp_path / "w.xlsx")
    with zipfile.ZipFile(tmp_path / "w.xlsx") as archive:
        charts = [
            archive.read(name).decode("utf-8") for name in archive.namelist() if name.startswith("xl/charts/chart")
        ]
    assert len(charts) == 2
    assert "Months!" in "".join(charts)
    assert "Assumptions!" in "".join(charts)


def test_the_date_of_creation_is_the_reports(book):
    assert book.properties.created == datetime.datetime(2024, 3, 11)
    assert book.properties.title == "Sprayed roof audit: Marrow Lane Packing Shed"


@pytest.mark.parametrize("report_date", ["", "sometime", None])
def test_an_odd_date_is_not_replaced_by_today(tmp_path, report_date):
    book = written(tmp_path, example.changed_site(example.works(night_count=0), report_date=report_date))
    assert book.properties.created == datetime.datetime(2000, 1, 1)


def test_text_is_never_a_formula_or_a_link(tmp_path):
    book = written(tmp_path, example.hostile())
    formulas = [
        (sheet.title, cell.coordinate)
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    ]
    assert {title for title, _ in formulas} == {"Hand checks"}
    assert not any(cell.hyperlink for sheet in book for row in sheet.iter_rows() for cell in row)
    assert rows_of(book["Nights"])[0]["Why not sprayed"] == '=CMD("calc")'
    assert rows_of(book["Facts"])[0]["Note"].startswith("=1+2 <img")
    assert "□" in book["Summary"]["A1"].value


def test_empty_parts_leave_sheets_with_heads(tmp_path):
    audit = replace(example.works(), months=(), nights=(), findings=(), assumptions=(), inputs=(), made={})
    book = written(tmp_path, example.changed_site(audit, facts=[]))
    assert book.sheetnames == SHEETS
    assert book["Months"].max_row == 1
    assert book["Nights"]["A1"].value == "Night of"


def test_what_is_not_known_is_an_empty_cell(tmp_path):
    nan = float("nan")
    book = written(tmp_path, example.changed_year(example.works(night_count=0), sprayed_m3=(nan, nan, nan)))
    assert summary(book)["sprayed_m3"]["Value"] is None


# ------------------------------------------------------------------------------------------------ nights.csv


def test_nights_csv_is_rfc_4180_and_complete(tmp_path):
    audit = example.works()
    assert write_nights_csv(audit, tmp_path / "nights.csv") == tmp_path / "nights.csv"
    raw = (tmp_path / "nights.csv").read_bytes()
    assert raw.count(b"\r\n") == raw.count(b"\n") == 154
    with open(tmp_path / "nights.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 153
    for row, night in zip(rows, audit.nights, strict=True):
        assert row["date"] == night["date"]
        for key, value in night.items():
            if isinstance(value, float):
                assert float(row[key]) == value  # full precision, negative numbers stay numbers


def test_nights_csv_neutralises_formulas(tmp_path):
    write_nights_csv(example.hostile(), tmp_path / "nights.csv")
    with open(tmp_path / "nights.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows[0]["reason_off"] == '\'=CMD("calc")'
    assert rows[1]["reason_off"] == '\'+1+1; rain, "quoted" second line'


def test_nights_csv_of_no_nights_has_its_head(tmp_path):
    write_nights_csv(example.works(night_count=0), tmp_path / "nights.csv")
    assert (tmp_path / "nights.csv").read_text(encoding="utf-8").startswith("date,spray_hours_h,")


def test_nights_csv_leaves_unknown_cells_empty_and_keeps_new_columns(tmp_path):
    audit = example.works(night_count=1)
    audit = replace(audit, nights=({**audit.nights[0], "drift_m3": None, "rain_mm": float("nan"), "note": "x, y"},))
    write_nights_csv(audit, tmp_path / "n.csv")
    with open(tmp_path / "n.csv", encoding="utf-8", newline="") as file:
        row = next(csv.DictReader(file))
    assert (row["drift_m3"], row["rain_mm"], row["note"]) == ("", "", "x, y")
