"""The commands as an auditor runs them."""

from __future__ import annotations

import hashlib
import json
import math
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner
from example_audit import cannot_tell

from sprayroof.auditing import AuditRun
from sprayroof.catalogue import FINDINGS
from sprayroof.check import ASKED_FOR, WITHOUT_READINGS, check
from sprayroof.cli import main
from sprayroof.evidence.site_file.entry_logs import UNITS
from sprayroof.evidence.units import converts
from sprayroof.output import FILES, REPORT_FILES, CannotWrite, write_all, write_rendered

SAMPLES = Path(__file__).parent.parent / "sample_sites"


def run(*words: str, code: int = 0):
    result = CliRunner().invoke(main, list(words), prog_name="sprayroof")
    assert result.exit_code == code, result.output + str(result.exception)
    assert "Traceback" not in result.output
    return result


def digests(folder: Path) -> dict[str, str]:
    return {name: hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in FILES}


@pytest.fixture(scope="module")
def school(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("sites") / "school"
    shutil.copytree(SAMPLES / "tanglewick_school", folder, ignore=shutil.ignore_patterns("audit"))
    run("audit", str(folder), "--runs", "20", "--quiet")
    return folder


def test_new_then_check_passes(tmp_path):
    run("new", str(tmp_path / "mine"))
    checked = run("check", str(tmp_path / "mine"))
    assert "no problems" in checked.output
    assert (tmp_path / "mine" / "logs").is_dir()


def test_new_does_not_overwrite(tmp_path):
    run("new", str(tmp_path / "mine"))
    text = (tmp_path / "mine" / "site.toml").read_bytes()
    run("new", str(tmp_path / "mine"), code=1)
    assert (tmp_path / "mine" / "site.toml").read_bytes() == text


def test_audit_writes_all_five_files_and_nothing_else(school):
    assert sorted(path.name for path in (school / "audit").iterdir()) == sorted(FILES)


def test_same_input_same_bytes_in_another_process(school, tmp_path):
    words = ["audit", str(school), "--runs", "20", "--quiet", "--out", str(tmp_path)]
    command = [sys.executable, "-m", "sprayroof", *words]
    done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stderr
    assert digests(tmp_path) == digests(school / "audit")


def test_the_answer_goes_to_stdout_and_findings_to_stderr(school, tmp_path):
    result = run("audit", str(school), "--runs", "20", "--quiet", "--out", str(tmp_path))
    assert "report.pdf" in result.stdout
    assert "weather.typical-year" in result.stderr
    assert "weather.typical-year" not in result.stdout


def test_failed_run_leaves_an_earlier_result_untouched(school, tmp_path):
    folder = tmp_path / "school"
    shutil.copytree(school, folder)
    before = digests(folder / "audit")
    site = folder / "site.toml"
    site.write_text(site.read_text(encoding="utf-8").replace("volume =", "volum ="), encoding="utf-8")
    result = run("audit", str(folder), "--quiet", code=1)
    assert "volume" in result.stderr
    assert digests(folder / "audit") == before
    assert sorted(path.name for path in (folder / "audit").iterdir()) == sorted(FILES)


def test_report_renders_again_without_computing(school, tmp_path):
    run("report", str(school / "audit" / "audit.json"), "--out", str(tmp_path))
    for name in ("report.pdf", "workbook.xlsx"):
        assert (tmp_path / name).read_bytes() == (school / "audit" / name).read_bytes()


def test_report_of_something_else_is_refused(tmp_path):
    (tmp_path / "audit.json").write_text("{}", encoding="utf-8")
    assert "format" in run("report", str(tmp_path / "audit.json"), code=1).stderr
    run("report", str(tmp_path / "absent.json"), code=1)


def test_a_folder_that_holds_the_record_will_do(school, tmp_path):
    run("report", str(school / "audit"), "--out", str(tmp_path))
    assert (tmp_path / "report.pdf").read_bytes() == (school / "audit" / "report.pdf").read_bytes()
    assert "In this audit" in run("explain", "cooling_useful_kWh", "--audit", str(school / "audit")).stdout
    assert "audit.json" in run("report", str(school), code=1).stderr.rpartition("; ")[2]


def test_a_pdf_for_a_record_is_told_in_one_line(school):
    told = run("report", str(school / "audit" / "report.pdf"), code=1).stderr.splitlines()
    assert len(told) == 2
    assert "it is a PDF" in told[1]


def test_a_replaced_report_is_told(school, tmp_path):
    shutil.copytree(school / "audit", tmp_path / "audit")
    assert "Replaced" not in run("report", str(tmp_path / "audit"), "--out", str(tmp_path / "new")).stderr
    told = run("report", str(tmp_path / "audit"), "--units", "IP").stderr.splitlines()
    assert len(told) == 1
    assert "report.pdf and workbook.xlsx" in told[0]
    assert "--out" in told[0]
    assert (tmp_path / "audit" / "report.pdf").read_bytes() != (school / "audit" / "report.pdf").read_bytes()


# --- all files or none ------------------------------------------------------------------------------------------------


def all_bytes(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, with its bytes."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture
def earlier(tmp_path) -> Path:
    """A folder with the five files of an earlier audit."""
    folder = tmp_path / "earlier"
    folder.mkdir()
    for name in FILES:
        (folder / name).write_bytes(b"earlier " + name.encode())
    return folder


@pytest.fixture
def run_of_an_audit(monkeypatch) -> AuditRun:
    """Something to write: the record of an invented audit; the pages are short here, they are tested elsewhere."""
    import sprayroof.report.write

    def write_report(audit, folder, units):
        for name in REPORT_FILES:
            (folder / name).write_bytes(b"new " + name.encode())

    monkeypatch.setattr(sprayroof.report.write, "write_report", write_report)
    return AuditRun(cannot_tell(), pd.DataFrame({"time": [0.0], "store_C": [17.0]}))


def test_new_files_take_the_place_of_earlier_ones(run_of_an_audit, earlier):
    assert write_all(run_of_an_audit, earlier) == [earlier / name for name in FILES]
    assert sorted(all_bytes(earlier)) == sorted(FILES)
    assert not any(content.startswith(b"earlier") for content in all_bytes(earlier).values())


@pytest.mark.parametrize(("name", "missing"), [
    *((name, "none") for name in FILES), *((name, "audit.json") for name in FILES if name != "audit.json"),
])
def test_a_file_that_cannot_be_moved_brings_all_back(run_of_an_audit, earlier, monkeypatch, name, missing):
    """As where another program holds one of the files open."""
    (earlier / missing).unlink(missing_ok=True)
    before, replace = all_bytes(earlier), os.replace

    def refuse_one(source, target):
        if Path(source) == earlier / name:
            raise PermissionError(13, "Permission denied")
        replace(source, target)

    monkeypatch.setattr(os, "replace", refuse_one)
    with pytest.raises(CannotWrite, match=r"cannot be replaced \(Permission denied\); wanted .*; close it") as caught:
        write_all(run_of_an_audit, earlier)
    assert str(caught.value).startswith(f"{earlier / name}: ")
    assert all_bytes(earlier) == before
    assert not [path for path in earlier.iterdir() if path.is_dir()]


@pytest.mark.parametrize("name", FILES)
def test_a_new_file_that_cannot_be_placed_brings_all_back(run_of_an_audit, earlier, monkeypatch, name):
    before, replace = all_bytes(earlier), os.replace

    def refuse_new(source, target):
        if Path(source).parent.name.startswith(".writing-") and Path(source).name == name:
            raise OSError(28, "No space left on device")
        replace(source, target)

    monkeypatch.setattr(os, "replace", refuse_new)
    with pytest.raises(CannotWrite, match="No space left on device"):
        write_all(run_of_an_audit, earlier)
    assert all_bytes(earlier) == before


def test_a_folder_in_the_place_of_a_result_is_left_alone(run_of_an_audit, earlier):
    (earlier / "report.pdf").unlink()
    (earlier / "report.pdf").mkdir()
    (earlier / "report.pdf" / "mine.txt").write_text("mine", encoding="utf-8")
    before = all_bytes(earlier)
    for write in (lambda: write_all(run_of_an_audit, earlier), lambda: write_rendered(run_of_an_audit.audit, earlier)):
        with pytest.raises(CannotWrite, match=re.escape(f"{earlier / 'report.pdf'}: is a folder")):
            write()
        assert all_bytes(earlier) == before


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="folders are not protected from this user")
def test_a_write_protected_folder_is_told(run_of_an_audit, earlier):
    before = all_bytes(earlier)
    earlier.chmod(0o555)
    try:
        with pytest.raises(CannotWrite, match=re.escape(f"{earlier}: cannot be written (")):
            write_all(run_of_an_audit, earlier)
    finally:
        earlier.chmod(0o755)
    assert all_bytes(earlier) == before


def test_a_file_for_a_folder_is_told_before_any_work(tmp_path):
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")
    for out in (tmp_path / "notes.txt", tmp_path / "notes.txt" / "audit"):
        told = run("audit", str(SAMPLES / "tanglewick_school"), "--out", str(out), code=1).stderr
        assert told.startswith(f"{tmp_path / 'notes.txt'}: is a file; wanted a folder for the results; ")
    assert (tmp_path / "notes.txt").read_text(encoding="utf-8") == "mine"


# --- small helps ------------------------------------------------------------------------------------------------------


def test_the_site_of_this_folder_is_offered(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert "Missing argument" in run("check", code=2).output
    run("new", ".")
    for command in ("check", "audit"):
        assert f"sprayroof {command} ." in run(command, code=2).output


def test_check_strict_fails_on_doubts(tmp_path):
    assert "0 doubts" in run("check", str(SAMPLES / "tanglewick_school")).output
    run("new", str(tmp_path / "mine"))
    doubted = run("check", str(tmp_path / "mine")).output  # ends with 0
    assert "0 doubts" not in doubted
    assert run("check", str(tmp_path / "mine"), "--strict", code=1).exit_code == 1


def logged_school(folder, order=1):
    """The school with two days of air temperature, every ten minutes, stamped in standard time."""
    shutil.copytree(SAMPLES / "tanglewick_school", folder, ignore=shutil.ignore_patterns("audit"))
    rows = [f"2026-06-0{1 + n // 144} {n // 6 % 24:02d}:{n % 6}0,{18.0 + 6.0 * math.sin(n / 22.9) + n % 7 / 10:.2f}"
            for n in range(288)]
    (folder / "logs").mkdir(exist_ok=True)
    (folder / "logs" / "air.csv").write_text("\n".join(["Time,Air", *rows[::order]]) + "\n", encoding="utf-8")
    with (folder / "site.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[log]]\nfile = "logs/air.csv"\ntime_column = "Time"\ntime_zone = "Etc/GMT+5"\nstamp = "end"\n'
                   '[log.columns]\nair_temperature = { column = "Air", unit = "degC" }\n')
    return str(folder)


def test_check_strict_passes_what_is_read_as_it_stands(tmp_path):
    assert "no problems, 0 doubts" in run("check", logged_school(tmp_path / "clean"), "--strict").output


def test_check_strict_fails_on_repairs_that_nobody_asked_for(tmp_path):
    turned = logged_school(tmp_path / "turned", order=-1)
    assert "log.newest-first" in run("check", turned).output
    told = run("check", turned, "--strict", code=1).stderr
    assert "With --strict doubts and repairs count as problems: 0 doubts, 1 repair." in told


def test_check_strict_fails_on_the_logged_sample_and_reads_its_bills():
    shown = run("check", str(SAMPLES / "brindlemoor_bindery"), "--strict", code=1)
    found = check(SAMPLES / "brindlemoor_bindery")
    # Of the notes: what was left out or mended in the files, and nothing that the site file asks for
    assert f"problems: {found.doubts} doubts, {found.repairs} repairs." in shown.stderr
    repaired = {finding.code for finding in found.findings if finding.level == "note"
                and finding.data.get("disposition") in ("repair", "exclude")}
    assert {"log.newest-first", "log.unsorted", "log.daylight-saving", "log.missing-codes", "log.overlap-merged",
            "channel.counter-roll-over", "bills.estimated-joined"} <= repaired
    assert "main electricity meter: 22 bills, 2023-10-08 to 2025-10-13" in shown.output


def test_repairs_that_strict_readers_let_pass_exist():
    assert set(ASKED_FOR + WITHOUT_READINGS) <= set(FINDINGS)
# --- check reads bills and pairs, and may be strict ------------------------------------------------------------------


def bindery(folder: Path, **replaced: str) -> Path:
    """A copy of the sample site with bills; `replaced` gives a file's words, old to new, by its name."""
    site = folder / "bindery"
    shutil.copytree(SAMPLES / "brindlemoor_bindery", site, ignore=shutil.ignore_patterns("audit"))
    for name, words in replaced.items():
        path = next(path for path in site.rglob("*") if path.stem == name)
        old, new = words.split(" -> ")
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new), encoding="utf-8")
    return site


def test_check_reads_the_bills(tmp_path):
    told = run("check", str(SAMPLES / "brindlemoor_bindery")).output
    # counted in the file: 24 bills, an estimate joined with the next, and the one that holds the change
    assert "main electricity meter: 22 bills, 2023-10-08 to 2025-10-13, 17 before the change and 5 since" in told
    assert "bills.estimated-joined" in told


def test_check_tells_what_is_odd_in_bills(tmp_path):
    told = run("check", str(bindery(tmp_path, electricity="02/10/2024,2784 -> 02/10/2024,27x84"))).output
    assert "holds words that are no numbers: \"27x84\"" in told
    assert "bills.row-unusable" in told


def test_check_tells_the_problems_of_logs_bills_and_pairs_at_once(tmp_path):
    site = bindery(tmp_path, site='amount_column = "kWh" -> amount_column = "kWh"\nnetted = true')
    text = (site / "site.toml").read_text(encoding="utf-8").replace('column = "T return"', 'column = "T back"')
    (site / "site.toml").write_text(text + """
[[twin]]
name = "rooms"
file = "logs/rooms.csv"
time_column = "Time"
time_zone = "UTC"
unit = "degC"
cooled_column = "A"
control_column = "B"
cooled_from = "2026-06-01 00:00"
cooled_to = "2026-06-11 00:00"
""", encoding="utf-8")
    told = run("check", str(site), code=1).stderr
    for part in ("T back", "a netted meter", "twin.1.file: there is no file logs/rooms.csv"):
        assert part in told


def test_check_reads_pairs(tmp_path):
    from test_propose import copied

    site = copied(tmp_path)
    rows = [f"2026-06-{1 + hour // 24:02d} {hour % 24:02d}:00,{21 + hour % 3},{23 + hour % 3}" for hour in range(240)]
    (site / "rooms.csv").write_text("\n".join(["Time,A,B", *rows]) + "\n", encoding="utf-8")
    with (site / "site.toml").open("a", encoding="utf-8") as opened:
        opened.write("""
[[twin]]
name = "rooms"
file = "rooms.csv"
time_column = "Time"
time_zone = "Etc/GMT+5"
unit = "degC"
stamp = "start"
cooled_column = "A"
control_column = "B"
cooled_from = "2026-06-01 00:00"
cooled_to = "2026-06-11 00:00"
""")
    told = run("check", str(site)).output
    assert "Pair      rooms: 10 complete days of temperature with one cooled" in told
    assert "twin.no-like-days" in told




@pytest.mark.parametrize("name", ["cooling_useful_kWh", "weather.rain-implausible", "store.volume"])
def test_explain_knows_each_kind_of_name(school, name):
    assert name.split(".")[-1].split("_")[0] in run("explain", name).output.lower()
    run("explain", name, "--audit", str(school / "audit" / "audit.json"))


def test_explain_names_the_nearest(school):
    assert "store.volume" in run("explain", "store.volum", code=1).stderr


@pytest.mark.parametrize(("name", "part"), [
    ("roof.1.area", "roof.area (entry"), ("standing.1.power", "standing.power (entry"),
    ("Useful", "cooling_useful_kWh:"),
    ("useful cooling", "cooling_useful_kWh:"),  # as the report's first page prints it
    ("Content when full", "store.volume (entry"), ("grade", "A: measured directly"), ("D", "D: from a model"),
    ("Grade B", "B: measured, with"),
])
def test_explain_knows_what_the_program_prints(name, part):
    assert part in run("explain", name).output


@pytest.mark.parametrize(("word", "part"), [
    ("cover", "roof.cover (entry of the site file)"), ("panels", "[panels] (section of the site file)"),
    ("chiller", "chiller: a choice of air_conditioner.kind"), ("beam", "beam: a choice of emitter.kind"),
    ("mcadams", "mcadams: a choice of weather.convection_model"), ("film", "film: a choice of roof.cover"),
    ("Caused by spraying", "useful_caused_kWh:"), ("Dried on the roof", "dried_m3:"),
    ("booster", "[booster] (section of the site file)"), ("placement", "store.placement (entry"),
])
def test_explain_leads_from_a_word_to_where_it_belongs(word, part):
    assert part in run("explain", word).output


@pytest.mark.parametrize(("word", "parts"), [
    ("balance point", ("load.balance_point (entry", "a choice of load.kind")),
    ("COP", ("air_conditioner.rated_cop (entry", "booster.cop (entry")),
    ("typical year", ("weather.file (entry",)), ("Dew point", ("condenses",)),
    ("C_D", ("1 - C_D (1 - x)", "air_conditioner.part_load_degradation (entry")),
    ("9 chances in 10", ("1 in 20",)), ("Is it wasting water?", ("blown away",)),
    ("brunt", ("root of the vapour pressure", "Brunt 1932")), ("unsworth_monteith", ("0.84 of the gap",)),
    ("clark_allen", ("logarithm of the dew point", "polynomial in tenths")),
])
def test_explain_knows_the_words_of_the_report_and_what_formulas_say(word, parts):
    told = " ".join(run("explain", word).output.split())
    assert all(part in told for part in parts)


def test_explain_names_the_entries_of_which_a_word_is_the_end():
    told = run("explain", "area", code=1).stderr
    assert "roof.area, catchment.area, emitter.area or panels.area" in told


def test_explain_tells_a_choice_of_the_audit(school):
    record = str(school / "audit" / "audit.json")
    told = run("explain", "roof.cover", "--audit", record).output
    assert "In this audit, roof.1.cover: none, by default." in told
    told = run("explain", "store.placement", "--audit", record).output
    assert "In this audit: buried, as the site file says." in told
    assert "plays no part there" in run("explain", "roof.cover_age", "--audit", record).output
    assert "plays no part" not in run("explain", "store.volume", "--audit", record).output


def test_check_tells_a_thin_flow_with_its_digits(tmp_path):
    run("new", str(tmp_path / "mine"))
    site = tmp_path / "mine" / "site.toml"
    text = site.read_text(encoding="utf-8")
    site.write_text(text + "\n[panels]\narea = 60000\n", encoding="utf-8")
    # the template's 210 L/min over 60 000 m2
    assert "210 L/min on 60000 m2: 0.0035 L/min per m2" in run("check", str(tmp_path / "mine")).output


def test_explain_tells_the_value_of_one_list_item_or_of_all(school):
    record = str(school / "audit" / "audit.json")
    assert run("explain", "standing.2.power", "--audit", record).output.count("In this audit") == 1
    assert "In this audit, standing.2.power: 55 W" in run("explain", "standing.2.power", "--audit", record).output
    assert run("explain", "standing.power", "--audit", record).output.count("In this audit") == 2


def test_explain_offers_nothing_far_off():
    assert "nearest" not in run("explain", "nonsense", code=1).stderr


def test_unknown_command_names_the_nearest():
    assert "audit" in run("audt", code=2).output


def test_every_quantity_of_the_record_is_in_the_catalogue(school):
    from sprayroof.catalogue import QUANTITIES

    record = json.loads((school / "audit" / "audit.json").read_text(encoding="utf-8"))
    ids = set(record["periods"]["year"]["quantities"])
    assert ids <= set(QUANTITIES)
    for quantity in record["periods"]["year"]["quantities"].values():
        assert quantity["low"] <= quantity["value"] <= quantity["high"]
        assert quantity["basis"] == "modelled"
        assert quantity["grade"] == "D"


def test_balances_of_a_written_audit_close(school):
    closure = json.loads((school / "audit" / "audit.json").read_text(encoding="utf-8"))["closure"]
    for part in ("water_kg", "heat_J", "salt_kg"):
        assert closure[part]["step_rel"] <= 1e-9
        assert closure[part]["period_rel"] <= 1e-9


BRINDLEMOOR = SAMPLES / "brindlemoor_bindery"


def changed_brindlemoor(folder: Path, *changes: tuple[str, str]) -> tuple[str, list[str]]:
    """Text of a changed site file beside the logs, and the lines that `check` says of it."""
    site = folder / "site"
    shutil.copytree(BRINDLEMOOR, site)
    text = (site / "site.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    (site / "site.toml").write_text(text, encoding="utf-8")
    result = CliRunner().invoke(main, ["check", str(site)])
    return text, result.output.replace(str(site), "SITE").splitlines()


def line_with(text: str, words: str) -> int:
    return next(number for number, line in enumerate(text.splitlines(), start=1) if words in line)


def test_a_missing_log_is_told_with_its_line(tmp_path):
    text, said = changed_brindlemoor(tmp_path, ("logs/bms_export.csv", "logs/bms_exportx.csv"))
    at = line_with(text, "bms_exportx")
    assert said[1].strip() == (f"SITE/site.toml, line {at}, log.2.file: there is no file logs/bms_exportx.csv; wanted "
                               "the path of a file, relative to the site file; correct the entry or put the file there")


def test_a_test_that_cannot_be_is_told_with_its_line_and_a_log_with_its_file(tmp_path):
    text, said = changed_brindlemoor(
        tmp_path, ('reading = 76.4\nreference = 75.3', 'reading = 76.4'), ('unit = "kWh"', 'unit = "gallons"'))
    at, unit = line_with(text, "ac_power = { column = \"kWh\""), line_with(text, 'reading = 76.4') - 3
    entry = 'log.5.columns.ac_power.unit ("logs/ac_meter.csv")'
    assert any(line.strip().startswith(f"SITE/site.toml, line {at}, {entry}: ") for line in said), said
    _, said = changed_brindlemoor(tmp_path / "again", ('reading = 76.4\nreference = 75.3', 'reading = 76.4'))
    assert any(line.strip().startswith(f"SITE/site.toml, line {unit - 1}, test.12: a calibration without ")
               for line in said), said


def test_a_block_whose_columns_are_all_remarks_and_a_unit_left_open(tmp_path):
    text, said = changed_brindlemoor(
        tmp_path, ('ac_power = { column = "kWh"', '# ac_power = { column = "kWh"'),
        ('{ column = "T supply", unit = "degC"', '{ column = "T supply", unit = ""'))
    place = line_with(text, "# ac_power = { column") - 1
    assert [line.strip() for line in said if "log." in line] == [
        f'SITE/site.toml, line {line_with(text, "T supply")}, log.1.columns.supply_temperature.unit '
        '("logs/roof_*.csv"): found ""; wanted the unit of water to the nozzles in quotes: degC, degF or K; write the '
        "unit in which the file has it",
        f'SITE/site.toml, line {place}, log.5.columns ("logs/ac_meter.csv"): no column is declared; wanted at '
        "least one column of the file with its unit; take the # off the lines of columns that are meant, "
        "or take the block out"]


def test_units_that_messages_offer_are_read():
    for unit, words in UNITS.items():
        rates = words.split(";")[0] if unit != "m3" else "m3, L or US gal"
        for offered in re.split(r", | or ", rates):
            assert converts(offered.strip(), unit), (offered, unit)


def test_a_pair_test_before_the_log_begins_tells_when_that_is(tmp_path):
    _, said = changed_brindlemoor(tmp_path, ('from = "2025-09-26 15:00"\nto = "2025-09-26 15:40"',
                                             'from = "2025-09-26 06:00"\nto = "2025-09-26 06:40"'))
    # the logger's first row, 12:07 by its clock that was six minutes fast, on Etc/GMT+5
    told = "0 readings of both temperatures in the time of the pair test; both were read from 2025-09-26 17:0"
    assert any(told in line for line in said), said


@pytest.mark.parametrize(("written", "do"), [
    ("20266-04-20", "write the date as year-month-day, such as 2026-03-31 (other problems"),
    ("0001-01-01", "correct the year"), ("9999-12-31", "correct the year"), ('"1066-10-14"', "correct the year")])
def test_report_dates_that_cannot_be(tmp_path, written, do):
    text, said = changed_brindlemoor(tmp_path, ("report_date = 2026-01-20", f"report_date = {written}"))
    line = line_with(text, "report_date")
    assert f"SITE/site.toml, line {line}" in said[1], said
    assert f"; {do}" in said[1], said


@pytest.mark.parametrize("word", ["\u00fc", "25 \u00b0C", "Sainte-Th\u00e9r\u00e8se", "Tr\u00fcb \u2013 3 \u00b0C"])
def test_a_site_file_in_the_encoding_of_western_editors_is_named(tmp_path, word):
    (tmp_path / "site.toml").write_bytes(f'[site]\nname = "{word}"\n'.encode("cp1252"))
    assert "(it seems to be cp1252)" in CliRunner().invoke(main, ["check", str(tmp_path)]).output
