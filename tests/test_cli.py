"""The commands as an auditor runs them."""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from sprayroof.cli import main
from sprayroof.output import FILES

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
    command = [sys.executable, "-m", "sprayroof", "audit", str(school), "--runs", "20", "--quiet", "--out", str(tmp_path)]
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


def test_check_strict_fails_on_doubts(tmp_path):
    run("check", str(SAMPLES / "tanglewick_school"))
    run("new", str(tmp_path / "mine"))
    run("check", str(tmp_path / "mine"), "--strict", code=1)


@pytest.mark.parametrize("name", ["cooling_useful_kWh", "weather.rain-implausible", "store.volume"])
def test_explain_knows_each_kind_of_name(school, name):
    assert name.split(".")[-1].split("_")[0] in run("explain", name).output.lower()
    run("explain", name, "--audit", str(school / "audit" / "audit.json"))


def test_explain_names_the_nearest(school):
    assert "store.volume" in run("explain", "store.volum", code=1).stderr


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
