"""Broken weather files, each with its whole message.

Each folder of bad_inputs/weather holds the entries (attribute names), the file, and the message expected. A folder
without a data file has it made by the function of `MAKERS` named in its weather.toml.
"""

import tomllib
from pathlib import Path

import pytest
from weather_makers import epw_rows, epw_text, site_with

from sprayroof.catalogue import FINDINGS
from sprayroof.errors import WeatherProblems
from sprayroof.evidence.weather import read_weather

CASES = sorted(path for path in (Path(__file__).parent / "bad_inputs" / "weather").iterdir() if path.is_dir())


def _changed(cells: dict[tuple[int, int], str]) -> str:
    rows = epw_rows()
    for (row, column), cell in cells.items():
        rows[row][column] = cell
    return epw_text(rows)


MAKERS = {
    "cut in the middle of a line": lambda: epw_text(epw_rows())[:400_000],
    "ends in November": lambda: epw_text(epw_rows()[:8000]),
    "text in a cell": lambda: _changed({(100, 6): "mild", (101, 21): ""}),
    "ten hours absent": lambda: epw_text([row for at, row in enumerate(epw_rows()) if not 500 <= at < 510]),
    "an hour twice": lambda: epw_text(epw_rows()[:50] + epw_rows()[49:]),
    "two days swapped": lambda: epw_text(epw_rows()[:24] + epw_rows()[48:72] + epw_rows()[24:48] + epw_rows()[72:]),
    "rain codes": lambda: epw_text(epw_rows(rain=lambda at: -9900)),
    "500 mm": lambda: epw_text(epw_rows(rain=lambda at: 500 if at == 300 else 3 if at % 7 == 0 else 0)),
    "6 hour depths": lambda: epw_text(epw_rows(rain=lambda at: 3 if at % 7 == 0 else 0, rain_hours=lambda at: 6)),
    "too hot": lambda: _changed({(at, 6): "71.5" for at in range(10, 20)}),
    "cloud in per cent": lambda: epw_text(epw_rows(opaque=lambda at: 45)),
    "hour 25": lambda: _changed({(30, 3): "25"}),
    "no long-wave": lambda: epw_text(epw_rows(infrared=lambda at: 9999)),
    "two an hour": lambda: epw_text(epw_rows(), period="DATA PERIODS,1,2,Data,Sunday,1/1,12/31"),
    "endless number": lambda: _changed({(100, 21): "inf", (200, 9): "1e999"}),
    "good": lambda: epw_text(epw_rows()),
}


def told(case: Path, folder: Path) -> str:
    """All problems, or else all doubts, one a line."""
    entries = tomllib.loads((case / "weather.toml").read_text(encoding="utf-8"))
    maker = entries.pop("made_by", None)
    if maker:
        (folder / entries["file"]).write_text(MAKERS[maker](), encoding="utf-8")
    try:
        weather = read_weather(site_with(folder if maker else case, **entries))
    except WeatherProblems as error:
        return "".join(f"problem {problem}\n" for problem in error.problems)
    for finding in weather.findings:
        assert finding.level == FINDINGS[finding.code].level
    return "".join(
        f"{finding.level} {finding.code}: {finding.message}\n"
        for finding in weather.findings
        if finding.level == "doubt" and finding.code != "weather.constant-column"
    )


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_whole_message_of_a_broken_weather_file(case, tmp_path):
    assert told(case, tmp_path) == (case / "expected.txt").read_text(encoding="utf-8")


def test_every_maker_is_used():
    used = {tomllib.loads((case / "weather.toml").read_text(encoding="utf-8")).get("made_by") for case in CASES}
    assert used - {None} == set(MAKERS)
