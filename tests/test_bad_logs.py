"""Logs in every form that auditors are handed, each with what must come of it.

Each folder of bad_inputs/logs holds the file(s), entry.toml (the [[log]] block and whatever else of the site file
differs from `small_site`), and one of

expected.txt
    The whole message of a reading that stops or asks, one problem a line.
expected.toml
    findings : table of code -> how often; each that begins as in `LISTED` must be listed, others may be
    value : list of {channel, at, is, within}; `at` is the start of a step in UTC; without `is` it must be missing
    total : list of {channel, is, within}: mm of rain, L behind L/min, Wh behind W, over all steps
    steps : list of {channel, mask, count}: how many steps a mask holds

Expected numbers are worked out by hand in the comments of expected.toml.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from small_site import RECORD

from sprayroof.catalogue import FINDINGS
from sprayroof.errors import LogProblems
from sprayroof.evidence.read_logs import read_logs
from sprayroof.evidence.site import site_from_dict

LISTED = ("log.", "channel.", "cross.clock", "cross.pair")
CASES = sorted(path for path in (Path(__file__).parent / "bad_inputs" / "logs").iterdir() if path.is_dir())


def site_of(case: Path):
    """`small_site` with the case's entries laid over it, its files in the case's folder."""
    entries = tomllib.loads((case / "entry.toml").read_text(encoding="utf-8"))
    record = {name: {**RECORD.get(name, {}), **part} if isinstance(part, dict) else part
              for name, part in entries.items()}
    return site_from_dict({**RECORD, **record}, case)


def stopping(case: Path) -> bool:
    return (case / "expected.txt").exists()


def numbers(case: Path) -> dict:
    return tomllib.loads((case / "expected.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", [case for case in CASES if stopping(case)], ids=lambda case: case.name)
def test_the_whole_message(case):
    with pytest.raises(LogProblems) as caught:
        read_logs(site_of(case))
    told = "".join(f"{problem}\n" for problem in caught.value.problems)
    assert told == (case / "expected.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("case", [case for case in CASES if not stopping(case)], ids=lambda case: case.name)
def test_findings_and_numbers(case):
    expected, logs = numbers(case), read_logs(site_of(case))
    for finding in logs.findings:
        assert finding.level == FINDINGS[finding.code].level
        assert finding.data.get("disposition") in ("repair", "exclude", "warn", "note"), finding.code
    codes = Counter(finding.code for finding in logs.findings)
    wanted = Counter(expected.get("findings", {}))
    own = {code: count for code, count in codes.items() if code.startswith(LISTED) or code in wanted}
    assert own == dict(wanted), [str(finding.message) for finding in logs.findings]
    for row in expected.get("value", []):
        value = logs.table[row["channel"]][pd.Timestamp(row["at"], tz="UTC")]
        if "is" in row:
            assert value == pytest.approx(row["is"], abs=row.get("within", 1e-9)), row
        else:
            assert np.isnan(value), row
    for row in expected.get("total", []):
        factor = {"m": logs.step_s / 60.0, "W": logs.step_s / 3600.0, "mm": 1.0}[_unit(row["channel"])]
        assert logs.table[row["channel"]].sum() * factor == pytest.approx(row["is"], abs=row.get("within", 1e-6)), row
    for row in expected.get("steps", []):
        assert int(logs.masks[row["channel"]][row["mask"]].sum()) == row["count"], row


def _unit(channel: str) -> str:
    return "mm" if channel.endswith("_mm") else "W" if "_W" in channel else "m"


def test_every_case_says_what_must_come_of_it():
    assert not [case.name for case in CASES if stopping(case) == (case / "expected.toml").exists()]
