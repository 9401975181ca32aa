"""Proposals for undeclared logs: valid to paste, right where certain, asking where not."""

from __future__ import annotations

import datetime
import shutil
import tomllib
from pathlib import Path

import numpy as np
import outside_data
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from sprayroof.check import check
from sprayroof.cli import main
from sprayroof.evidence.billing.propose import propose_bills
from sprayroof.evidence.log_files import propose as propose_module
from sprayroof.evidence.log_files.column_guess import guess_of, guesses_of, seen_of
from sprayroof.evidence.log_files.propose import proposals, propose, propose_together, undeclared
from sprayroof.evidence.site import read_site
from sprayroof.evidence.site_file.logged import Bills, Log
from sprayroof.evidence.units import scale_to

BRINDLEMOOR = Path(__file__).parent.parent / "sample_sites" / "brindlemoor_bindery"
SITE = (BRINDLEMOOR / "site.toml").read_text(encoding="utf-8")
DECLARED = tomllib.loads(SITE)["log"]


def proposal(path: Path, zone: str = "America/New_York") -> tuple[dict, str]:
    """The block as TOML reads it, and the whole text."""
    text = "\n".join(propose(path, path.parent.parent, zone))
    blocks = tomllib.loads(text).get("log", [{}])
    assert len(blocks) == 1
    return blocks[0], text


def written(folder: Path, content: str | bytes, name: str = "roof.csv") -> Path:
    path = folder / "logs" / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    return path


# --- against the declarations of the sample site, which were written by hand -----------------------------------------

FILES = [(path, block) for block in DECLARED for path in sorted(BRINDLEMOOR.glob(block["file"]))]


@pytest.mark.parametrize(("path", "block"), FILES, ids=[path.name for path, _ in FILES])
def test_proposals_for_the_sample_site_agree_with_its_auditor(path, block):
    proposed, text = proposal(path)
    assert proposed["time_column"] == block["time_column"]
    assert proposed.get("clock_column") == block.get("clock_column")
    if "time_format" in proposed:
        assert proposed["time_format"] == block["time_format"]
    by_column = {column["column"]: (name, column) for name, column in block["columns"].items()}
    for name, column in proposed.get("columns", {}).items():
        known, truth = by_column[column["column"]]
        assert name == known
        assert scale_to(column["unit"], truth["unit"]) == (1.0, 0.0)
        assert column.get("kind") == truth.get("kind") or truth.get("kind") == "last value holds"
    # each column of the site file is proposed, or named in a remark
    assert all(f'"{heading}"' in text for heading in by_column)


def test_most_columns_of_the_sample_site_are_certain():
    certain = sum(len(proposal(path)[0].get("columns", {})) for path, _ in FILES)
    assert certain >= 0.85 * sum(len(block["columns"]) for _, block in FILES)


def test_pasted_proposals_make_a_site_file(tmp_path):
    """The blocks of the site file exchanged for the proposals: it is read as a site."""
    text = SITE
    start, end = text.index("# The roof logger"), text.index("# --- Tests on site")
    blocks = [
        "\n".join(propose(path, BRINDLEMOOR, "America/New_York"))
        for path, _ in FILES
        if proposal(path)[0].get("columns")
    ]
    (tmp_path / "site.toml").write_text(text[:start] + "\n\n".join(blocks) + "\n\n" + text[end:], encoding="utf-8")
    for folder in ("logs", "bills"):
        (tmp_path / folder).mkdir()
        for path in (BRINDLEMOOR / folder).iterdir():
            (tmp_path / folder / path.name).write_bytes(path.read_bytes())
    site = read_site(tmp_path)
    assert len(site.log) == len(blocks) >= 4


# --- headings -----------------------------------------------------------------------------------------------------

HEADINGS = [
    ("Vorlauftemperatur (°C)", "supply_temperature"),
    ("Rücklauf [°C]", "return_temperature"),
    ("Température retour (°C)", "return_temperature"),
    ("Temp. impulsión (°C)", "supply_temperature"),
    ("T ritorno (°C)", "return_temperature"),
    ("Speicher unten (°C)", "store_temperature"),
    ("Aussentemperatur (°C)", "air_temperature"),
    ("Buitentemperatuur (°C)", "air_temperature"),
    ("Raumtemperatur (°C)", "room_temperature"),
    ("Ceiling surface (°C)", "surface_temperature"),
    ("Luftfeuchte (%)", "humidity"),
    ("Humidité (%)", "humidity"),
    ("Umidità (%)", "humidity"),
    ("Füllstand Zisterne (%)", "level"),
    ("Niveau cuve (m)", "level"),
    ("Livello serbatoio (m)", "level"),
    ("Débit arrosage (L/min)", "spray_flow"),
    ("Durchfluss Beregnung (l/min)", "spray_flow"),
    ("Caudal de riego (m3/h)", "spray_flow"),
    ("Make-up flow (L/min)", "makeup_flow"),
    ("Windgeschwindigkeit (m/s)", "wind"),
    ("Velocidad del viento (m/s)", "wind"),
    ("Luftdruck (hPa)", "pressure"),
    ("Globalstrahlung (W/m2)", "solar"),
    ("Leitfähigkeit (µS/cm)", "conductivity"),
    ("Pumpe Leistung (W)", "pump_power"),
    ("Chiller power (kW)", "ac_power"),
    ("Puissance pompe (W)", "pump_power"),
    ("Circulation pump (W)", "circulation_power"),
    ("Long-wave down (W/m2)", "long_wave"),
]


@pytest.mark.parametrize(("heading", "channel"), HEADINGS)
def test_headings_of_the_trade_in_several_languages(heading, channel):
    values = {"pressure": 1013.0, "long_wave": 340.0, "solar": 500.0}.get(channel, 20.0)
    cells = np.array([f"{values + k % 5:.1f}" for k in range(40)], dtype=object)
    guess = guess_of(seen_of(heading, None, cells, "."))
    assert guess.channel == channel
    assert guess.certain, guess
    assert guess.reasons


@pytest.mark.parametrize(
    "heading", ["Batt_V", "Signal (dBm)", "Record", "Operator", "Kitchen lights (kWh)", "Sensor 3"]
)
def test_headings_that_say_nothing_of_a_sprayed_roof(heading):
    cells = np.array([f"{412.0 + 7 * k % 5:.1f}" for k in range(40)], dtype=object)
    assert guess_of(seen_of(heading, None, cells, ".")).channel is None


def test_a_column_that_only_rises_is_a_counter():
    rising = np.array([str(1200 + 3 * k) for k in range(60)], dtype=object)
    guess = guess_of(seen_of("Toilets (L)", None, rising, "."))
    assert (guess.channel, guess.kind) == ("draw_flow", "counter")
    varied = np.array([str(3 + 7 * k % 5) for k in range(60)], dtype=object)
    assert guess_of(seen_of("Toilets (L)", None, varied, ".")).kind == "sum"


def test_the_colder_of_two_temperatures_while_water_flows_is_the_return():
    flow = [0.0] * 30 + [100.0] * 60 + [0.0] * 30
    warm = [21.0 + 0.01 * k for k in range(120)]
    cold = [w + (0.4 if f == 0 else -3.2) for w, f in zip(warm, flow, strict=True)]
    columns = [
        seen_of(name, unit, np.array([f"{value:.2f}" for value in values], dtype=object), ".")
        for name, unit, values in (("TC1", "°C", cold), ("TC2", "°C", warm), ("Flow", "L/min", flow))
    ]
    guesses = guesses_of(columns)
    assert [guess.channel for guess in guesses] == ["return_temperature", "supply_temperature", "spray_flow"]
    assert [guess.certain for guess in guesses] == [False, False, True]
    assert "below TC2 in 100% of the rows" in guesses[0].reasons[-1]


def test_numbers_that_cannot_be_are_not_certain():
    cells = np.array([f"{66.0 + k % 9:.1f}" for k in range(40)], dtype=object)
    guess = guess_of(seen_of("T return", "degC", cells, "."))
    assert guess.channel == "return_temperature"
    assert not guess.certain
    guess = guess_of(seen_of("T return", None, cells, "."))
    assert (guess.unit, guess.certain) == ("degF", False)


# --- times --------------------------------------------------------------------------------------------------------


def test_open_dates_are_asked_for(tmp_path):
    path = written(
        tmp_path, "Time;T return (°C)\n" + "".join(f"0{1 + k // 5}/06/2026 0{k % 5}:00;2{k % 7}.5\n" for k in range(20))
    )
    block, text = proposal(path)
    assert "time_format" not in block
    assert '# time_format = "%d/%m/%Y %H:%M"' in text
    assert '# time_format = "%m/%d/%Y %H:%M"' in text
    assert block["columns"]["return_temperature"] == {"column": "T return (°C)", "unit": "°C"}


@pytest.mark.parametrize(
    ("title", "zone"),
    [
        ("Time zone: UTC+01:00", "Etc/GMT-1"),
        ("Clock in UTC", "UTC"),
        ("Zone America/New_York", "America/New_York"),
        ("Zeit in MEZ", "Etc/GMT-1"),
    ],
)
def test_a_zone_that_the_file_names_is_proposed(tmp_path, title, zone):
    stamps = [f"2026-06-01 {k // 6:02d}:{k % 6}0" for k in range(60)]
    path = written(tmp_path, f"{title}\nTime,T return (°C)\n" + "".join(f"{stamp},20.5\n" for stamp in stamps))
    block, text = proposal(path)
    assert block["time_zone"] == zone
    assert "the file names" in text


@pytest.mark.parametrize(
    ("kind", "zone", "why"),
    [
        ("fixed", "Etc/GMT+5", "it ran on when clocks were changed"),
        ("changed", "America/New_York", "stands there twice"),
    ],
)
def test_a_change_of_the_clocks_tells_the_zone(tmp_path, kind, zone, why):
    first = datetime.datetime(2025, 11, 1, 12, tzinfo=datetime.UTC)
    info = datetime.timezone(datetime.timedelta(hours=-5))
    if kind == "changed":
        from zoneinfo import ZoneInfo

        info = ZoneInfo("America/New_York")
    times = [(first + datetime.timedelta(minutes=10 * k)).astimezone(info) for k in range(288)]
    stamps = [time.strftime("%Y-%m-%d %H:%M") for time in times]
    rows = "".join(f"{stamp},20.{k % 9}\n" for k, stamp in enumerate(stamps))
    path = written(tmp_path, "Time,T return (°C)\n" + rows)
    block, text = proposal(path)
    assert block["time_zone"] == zone
    assert why in text


def test_a_log_of_changes_is_proposed_as_one(tmp_path):
    random = np.random.default_rng(3)
    seconds = np.cumsum(random.integers(20, 4000, 200))
    stamps = np.datetime_as_string(np.datetime64("2026-06-01T00:00:00") + seconds.astype("m8[s]"))
    path = written(
        tmp_path,
        "Time,Spray pump\n" + "".join(f"{stamp},{'ON' if k % 2 else 'OFF'}\n" for k, stamp in enumerate(stamps)),
    )
    block, _ = proposal(path)
    assert block["values"] == "last value holds"
    assert block["columns"]["spray_status"] == {"column": "Spray pump", "unit": "1", "words": {"OFF": 0, "ON": 1}}


def test_the_flow_meter_log():
    """A public log of a pipeline (river, BSD-3 licence)."""
    raw = outside_data.or_skip(outside_data.member, "river==0.26.1", "river/datasets/water-flow.csv")
    path = outside_data.CACHE / "logs" / "water-flow.csv"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(raw)
    block, text = proposal(path, "Europe/Rome")
    assert (block["time_column"], block["time_zone"]) == ("Time", "UTC")
    assert block["columns"] == {"spray_flow": {"column": "Water flow [l/s]", "unit": "l/s"}}
    assert "1268 rows, mostly every 60 min" in text


# --- anything at all ----------------------------------------------------------------------------------------------


@given(heading=st.text(max_size=30), cell=st.text(max_size=12), delimiter=st.sampled_from(",;\t|"))
@settings(max_examples=150, deadline=None)
def test_hostile_headings_stay_text(tmp_path_factory, heading, cell, delimiter):
    text = f"Time{delimiter}{heading}{delimiter}T return (°C)\n" + "".join(
        f"2026-06-01 0{k}:00{delimiter}{cell}{delimiter}20.{k}\n" for k in range(9)
    )
    path = written(tmp_path_factory.mktemp("site"), text.encode("utf-8", errors="replace"))
    block, text = proposal(path)  # tomllib reads it
    # what the file says stands in strings and remarks alone: no other entry
    assert set(block) <= set(Log.entries()), text


@given(raw=st.binary(max_size=300))
@settings(max_examples=100, deadline=None)
def test_any_bytes_give_valid_text(tmp_path_factory, raw):
    folder = tmp_path_factory.mktemp("site")
    for content, name in ((raw, None), (b"Time,T\n2026-06-01 00:00,1\n" + raw, None),
                          (b"PK\x03\x04" + raw, "book.xlsx")):
        block, text = proposal(written(folder, content, *([name] if name else [])))
        assert set(block) <= set(Log.entries()), text
        assert text.strip()  # a block, or a remark why not


def test_a_file_without_times_says_so(tmp_path):
    assert propose(written(tmp_path, "a,b\n1,2\n3,4\n"), tmp_path, "UTC") == [
        "# logs/roof.csv: no table with times was found in it."
    ]


# --- in the check -------------------------------------------------------------------------------------------------


def copied(folder: Path) -> Path:
    from small_site import RECORD

    from sprayroof.evidence.site_file.entries import toml_value

    lines = []
    for section, content in RECORD.items():
        for entries in content if isinstance(content, list) else [content]:
            lines += [
                f"[[{section}]]" if isinstance(content, list) else f"[{section}]",
                *(f"{name} = {toml_value(value)}" for name, value in entries.items()),
            ]
    (folder / "site.toml").write_text("\n".join(lines), encoding="utf-8")
    return folder


LOG = "Time,T return (°C)\n" + "".join(f"2026-06-0{1 + k // 20} {k % 20:02d}:00,2{k % 7}.{k % 9}\n" for k in range(60))


def test_check_proposes_what_is_not_declared(tmp_path):
    site = copied(tmp_path)
    written(site, LOG, "roof_1.csv")
    written(site, LOG.replace("2026-06", "2026-07"), "roof_2.csv")
    written(site, "by hand\n", "notes.md")
    text = "\n".join(check(site).lines)
    assert "Not declared: logs/roof_*.csv." in text
    block = tomllib.loads(text[text.index("[[log]]") :])["log"][0]
    assert block["file"] == "logs/roof_*.csv"
    with (site / "site.toml").open("a", encoding="utf-8") as opened:
        opened.write("\n" + text[text.index("[[log]]") :])
    again = check(site)
    assert not [line for line in again.lines if "Not declared" in line]
    assert [line for line in again.lines if line.startswith("Logs ")]


def test_an_undeclared_copy_of_a_declared_file_is_not_offered(tmp_path):
    site = copied(tmp_path)
    written(site, LOG, "roof.csv")
    text = "\n".join(proposals(read_site(site)))
    with (site / "site.toml").open("a", encoding="utf-8") as opened:
        opened.write("\n" + text[text.index("[[log]]") :])
    written(site, LOG, "roof_copy.csv")
    written(site, LOG.replace("21.0", "21.1"), "roof_edited.csv")
    text = "\n".join(proposals(read_site(site)))
    assert "Not declared: logs/roof_copy.csv. It has the same bytes as logs/roof.csv" in text
    assert "Not declared: logs/roof_edited.csv. If it belongs" in text
    assert text.count("[[log]]") == 1


def test_records_of_a_form_that_is_not_read_are_told(tmp_path):
    site = copied(tmp_path)
    for ending in ("xls", "ods", "json", "pdf", "md"):
        written(site, "anything\n", f"roof.{ending}")
    found = check(site)
    told = [line for line in found.lines if line.startswith("Not read: ")]
    assert [line.split(". ")[0] for line in told] == [
        "Not read: logs/roof.json", "Not read: logs/roof.ods", "Not read: logs/roof.pdf", "Not read: logs/roof.xls"]
    assert found.left_over == 4
    said = CliRunner().invoke(main, ["check", str(site)]).output.splitlines()[-1]
    assert "; 4 files not used (see above): declare them, or leave them out. Then: sprayroof audit " in said


def test_named_files_are_declared(tmp_path):
    assert undeclared(read_site(BRINDLEMOOR)) == []
    site = copied(tmp_path)
    written(site, LOG)
    assert [path.name for path in undeclared(read_site(site))] == ["roof.csv"]
    assert proposals(read_site(site))[1].startswith("Not declared: logs/roof.csv.")


# --- bills --------------------------------------------------------------------------------------------------------


def bills_block(path: Path) -> tuple[dict, str]:
    """The block proposed for a file of bills, and its text."""
    text = "\n".join(propose_bills(path, path.parent.parent))
    return tomllib.loads(text).get("bills", [{}])[0], text


def test_the_proposal_for_the_sample_bills_agrees_with_its_auditor():
    block, text = bills_block(BRINDLEMOOR / "bills" / "electricity.csv")
    stated = tomllib.loads(SITE)["bills"][0]
    for name in ("file", "unit", "amount_column", "from_column", "to_column", "estimated_column", "time_format"):
        assert block[name] == stated[name]
    assert '# covers = "building"' in text
    warm, text = bills_block(BRINDLEMOOR / "bills" / "temperature.csv")
    assert warm == {}
    assert 'temperature_column = "Outdoor (degF)", temperature_unit = "degF"' in text


def test_check_proposes_bills_that_a_pasted_block_then_reads(tmp_path):
    site = copied(tmp_path)
    (site / "bills").mkdir()
    for name in ("electricity.csv", "temperature.csv"):
        shutil.copy(BRINDLEMOOR / "bills" / name, site / "bills" / name)
    text = "\n".join(check(site).lines)
    assert "Not declared: bills/electricity.csv." in text
    block = text[text.index("[[bills]]"):text.index("Not declared: bills/temperature.csv")]
    pasted = block.replace('# covers = "building"', 'covers = "building"').replace("# changed_on", "changed_on")
    temperature = text[text.index("temperature_file = \"bills/temperature.csv\", "):].replace(", temp", "\ntemp")
    with (site / "site.toml").open("a", encoding="utf-8") as opened:
        opened.write("\n" + pasted + temperature)
    again = check(site)
    assert not [line for line in again.lines if "Not declared" in line]
    assert [line for line in again.lines if line.startswith("Bills ") and "17 before the change and 5 since" in line]


@pytest.mark.parametrize(("text", "wanted", "said"), [
    ("Meter,From,To,m3,Cost USD\n" + "".join(f"{'AB'[k % 2]},2024-0{1 + k // 2}-01,2024-0{1 + k // 2}-28,{k + 9},5\n"
                                            for k in range(12)),
     {"covers": "mains water", "unit": "m3", "amount_column": "m3", "meter_column": "Meter"}, '"all" if none of them'),
    ("Read on,Import kWh,Export kWh\n" + "".join(f"2024-{k:02d}-03,{300 + k},{k}\n" for k in range(1, 12)),
     {"to_column": "Read on", "amount_column": "Import kWh", "unit": "kWh"}, "netted = true, with solar_file"),
    ("Day,kWh peak,kWh night\n" + "".join(f"2024-01-{k:02d},{30 + k},{k}\n" for k in range(1, 28)),
     {"to_column": "Day", "every": "day"}, "Which column holds what was used?"),
], ids=["two water meters", "panels", "two registers"])
def test_what_is_certain_of_bills_and_what_is_asked(tmp_path, text, wanted, said):
    folder = tmp_path / "bills"
    folder.mkdir()
    block, told = bills_block(written_text(folder / "meter.csv", text))
    assert {name: block.get(name) for name in wanted} == wanted
    assert said in told


def written_text(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


@given(heading=st.text(max_size=30), cell=st.text(max_size=12), delimiter=st.sampled_from(",;\t|"))
@settings(max_examples=100, deadline=None)
def test_hostile_bills_stay_text(tmp_path_factory, heading, cell, delimiter):
    folder = tmp_path_factory.mktemp("hostile") / "bills"
    folder.mkdir()
    rows = "".join(f"2024-0{k}-01{delimiter}2024-0{k}-28{delimiter}{cell}{delimiter}{k}\n" for k in range(1, 9))
    path = folder / "bills.csv"
    path.write_text(f"From{delimiter}To{delimiter}{heading}{delimiter}kWh\n{rows}", encoding="utf-8", newline="")
    told = tomllib.loads("\n".join(propose_bills(path, tmp_path_factory.getbasetemp())))
    assert set(told) <= {"bills"}
    assert all(set(block) <= set(Bills.entries()) for block in told.get("bills", []))


# --- several devices in one file --------------------------------------------------------------------------------------


def two_devices() -> str:
    rows = [f"2026-06-01 {k // 6:02d}:{k % 6}0,{device},{20 + k % 7 / 10:.1f}" for device in ("A-7", "B-9")
            for k in range(60)]
    return "Time,Node ID,T supply (degC)\n" + "\n".join(rows) + "\n"


def test_a_file_of_two_devices_gets_the_lines_that_choose_one(tmp_path):
    block, text = proposal(written(tmp_path, two_devices()))
    assert (block["device_column"], block["device"]) == ("Node ID", "A-7")
    assert '"A-7" (60 rows), "B-9" (60 rows)' in text
    assert "device_column" not in proposal(written(tmp_path, two_devices().replace("B-9", "A-7")))[0]


def test_files_of_two_devices_get_the_question(tmp_path):
    files = [written(tmp_path, two_devices().replace("B-9", name).replace("A-7", name), f"roof_{number}.csv")
             for number, name in ((1, "A-7"), (2, "B-9"))]
    block, text = together(files)
    assert block["device_column"] == "Node ID"
    assert '"A-7" (120 rows), "B-9" (120 rows)' in text


# --- several files of one form ----------------------------------------------------------------------------------------


def together(files: list[Path], zone: str = "America/New_York") -> tuple[dict, str]:
    """The block proposed for all files, and its text."""
    text = "\n".join(propose_together(files, files[0].parent.parent, zone, "logs/roof_*.csv"))
    (block,) = tomllib.loads(text)["log"]
    return block, text


def rows_of(start: datetime.datetime, count: int, form: str = "%Y-%m-%d %H:%M", twice: bool = False) -> str:
    """Ten-minute rows; `twice` repeats the hour from 01:00 of the last day of daylight saving."""
    times = [start + datetime.timedelta(minutes=10 * k) for k in range(count)]
    if twice:
        place = times.index(datetime.datetime(2026, 11, 1, 2))
        times = times[:place] + times[place - 6 : place] + times[place:]
    rows = [f"{time:{form}},{20 + k % 7 / 10:.1f},{90 + k % 5}" for k, time in enumerate(times)]
    return "Time,T supply (degC),Flow (L/min)\n" + "\n".join(rows) + "\n"


def test_a_later_file_shows_the_clock_of_all(tmp_path):
    """The first file ends before the clocks change: by itself it would get the site's clock, which stops the second."""
    summer = written(tmp_path, rows_of(datetime.datetime(2026, 10, 20), 900), "roof_1.csv")
    autumn = written(tmp_path, rows_of(datetime.datetime(2026, 10, 27), 1400), "roof_2.csv")
    assert proposal(summer)[0]["time_zone"] == "America/New_York"
    block, text = together([summer, autumn])
    assert block["time_zone"] == "Etc/GMT+5"
    assert 'time_zone = "Etc/GMT+5"  # logs/roof_2.csv: it ran on' in text
    assert "# 2300 rows in 2 files, mostly every 10 min, 2026-10-20 00:00 to 2026-11-05 17:10" in text


def test_the_clock_of_the_sample_sites_logger_needs_both_of_its_files():
    (stated,) = (block for block in DECLARED if block["file"] == "logs/roof_*.csv")
    block, _ = together(sorted((BRINDLEMOOR / "logs").glob("roof_*.csv")))
    assert (block["time_zone"], block["time_format"]) == (stated["time_zone"], stated["time_format"])


def test_files_that_disagree_on_the_clock_are_told_and_none_is_chosen(tmp_path):
    runs_on = written(tmp_path, rows_of(datetime.datetime(2026, 10, 27), 1400), "roof_1.csv")
    changed = written(tmp_path, rows_of(datetime.datetime(2026, 10, 27), 1400, twice=True), "roof_2.csv")
    block, text = together([runs_on, changed])
    assert "time_zone" not in block
    assert "# the files disagree on the clock: " in text
    assert '"Etc/GMT+5" (logs/roof_1.csv: it ran on' in text
    assert '"America/New_York" (logs/roof_2.csv: the hour of 2026-11-01 stands there twice)' in text
    assert '\n# time_zone = "Etc/GMT+5"\n# time_zone = "America/New_York"\n' in text


def test_a_later_file_settles_day_and_month(tmp_path):
    early = written(tmp_path, rows_of(datetime.datetime(2026, 3, 4), 100, "%d/%m/%Y %H:%M"), "roof_1.csv")
    late = written(tmp_path, rows_of(datetime.datetime(2026, 3, 18), 100, "%d/%m/%Y %H:%M"), "roof_2.csv")
    assert "Day or month first?" in proposal(early, "UTC")[1]
    block, text = together([early, late], "UTC")
    assert block["time_format"] == "%d/%m/%Y %H:%M"
    assert "# the only reading that logs/roof_2.csv allows" in text
    assert "2026-03-04 00:00 to 2026-03-18 16:30" in text
    other = written(tmp_path, rows_of(datetime.datetime(2026, 3, 18), 100, "%m/%d/%Y %H:%M"), "roof_3.csv")
    block, text = together([early, late, other], "UTC")
    assert "the files disagree on the form of their times" in text
    assert '"%m/%d/%Y %H:%M" (logs/roof_3.csv)' in text
    assert "time_format" not in block


def test_a_column_that_only_a_later_file_fills_is_found(tmp_path):
    empty = rows_of(datetime.datetime(2026, 6, 1), 60).splitlines()
    empty = "\n".join([empty[0], *(row.rsplit(",", 1)[0] + "," for row in empty[1:])]) + "\n"
    files = [written(tmp_path, empty, "roof_1.csv"), written(tmp_path, rows_of(datetime.datetime(2026, 6, 2), 60),
                                                              "roof_2.csv")]
    assert "spray_flow" not in proposal(files[0])[0]["columns"]
    assert together(files)[0]["columns"]["spray_flow"] == {"column": "Flow (L/min)", "unit": "L/min"}


def test_files_of_other_columns_get_blocks_of_their_own(tmp_path):
    site = copied(tmp_path)
    head = "Roof logger\n"
    written(site, head + rows_of(datetime.datetime(2026, 6, 1), 60), "roof_1.csv")
    written(site, head + rows_of(datetime.datetime(2026, 6, 2), 60).replace("Time,", "Clock,"), "roof_2.csv")
    text = "\n".join(check(site).lines)
    assert "Not declared: logs/roof_1.csv." in text
    assert "Not declared: logs/roof_2.csv." in text


def test_of_a_heap_of_files_some_are_looked_into_and_it_is_said(tmp_path, monkeypatch):
    files = [written(tmp_path, rows_of(datetime.datetime(2026, 6, day), 144), f"roof_{day:02d}.csv")
             for day in range(1, 11)]
    monkeypatch.setattr(propose_module, "MOST_TOGETHER_BYTES", 4 * files[0].stat().st_size + 100)
    text = together(files)[1]
    assert "# 4 of 10 files were looked into, the first and the last among them." in text
    assert "2026-06-01 00:00 to 2026-06-10 23:50" in text


def test_hostile_names_of_files_stay_text(tmp_path):
    files = [written(tmp_path, rows_of(datetime.datetime(2026, 10, 20), 900), "roof_1.csv"),
             written(tmp_path, rows_of(datetime.datetime(2026, 10, 27), 1400), "roof_2\nfile = 7.csv")]
    block, _ = together(files)
    assert block["file"] == "logs/roof_*.csv"
    assert block["time_zone"] == "Etc/GMT+5"
