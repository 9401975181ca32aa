"""Bills and meters in the forms that auditors are handed, each with what must come of it.

Each folder of bad_inputs/bills holds the file(s), entry.toml (one [[bills]] block and whatever else differs from
`small_site`), and one of

expected.txt
    The whole message of a reading that stops or asks, one problem a line.
expected.toml
    findings : table of code -> how often; every code must be listed
    period : list of {from, days, use, t_out}: all periods in order [d, kWh, degC]

Expected numbers are worked out by hand in the comments of expected.toml. The weather is a typical year, which must
never serve as the weather of bills.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path
from types import SimpleNamespace

import pytest
from small_site import RECORD

from sprayroof.catalogue import FINDINGS
from sprayroof.evidence.bills import read_bills
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.site import site_from_dict

CASES = sorted(path for path in (Path(__file__).parent / "bad_inputs" / "bills").iterdir() if path.is_dir())
TYPICAL = SimpleNamespace(table=None, names={"typical_year": True, "file": "invented"})


def read(case: Path):
    entries = tomllib.loads((case / "entry.toml").read_text(encoding="utf-8"))
    record = {name: {**RECORD.get(name, {}), **part} if isinstance(part, dict) else part
              for name, part in entries.items()}
    site, gather = site_from_dict({**RECORD, **record}, case), Gather()
    return read_bills(site, site.bills[0], TYPICAL, gather), gather


def stopping(case: Path) -> bool:
    return (case / "expected.txt").exists()


@pytest.mark.parametrize("case", [case for case in CASES if stopping(case)], ids=lambda case: case.name)
def test_the_whole_message(case):
    series, gather = read(case)
    assert series is None
    told = "".join(f"{problem}\n" for problem in gather.problems)
    assert told == (case / "expected.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("case", [case for case in CASES if not stopping(case)], ids=lambda case: case.name)
def test_findings_and_periods(case):
    expected = tomllib.loads((case / "expected.toml").read_text(encoding="utf-8"))
    series, gather = read(case)
    assert not gather.problems
    assert Counter(finding.code for finding in gather.findings) == Counter(expected["findings"])
    for finding in gather.findings:
        assert finding.level == FINDINGS[finding.code].level
        assert finding.data["disposition"] in ("repair", "exclude", "warn")
        assert finding.effect
    found = [{"from": str(start), "days": days, "use": use, "t_out": t_out_C} for start, days, use, t_out_C in zip(
        series.starts, series.days, series.use, series.t_out_C, strict=True)]
    assert len(found) == len(expected["period"])
    for one, wanted in zip(found, expected["period"], strict=True):
        assert one["from"] == str(wanted["from"])
        for name in ("days", "use", "t_out"):
            assert one[name] == pytest.approx(wanted[name], abs=1e-4), (wanted, name)


def test_every_case_says_what_must_come_of_it():
    assert not [case.name for case in CASES if stopping(case) == (case / "expected.toml").exists()]
