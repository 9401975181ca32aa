"""What `sprayroof check` tells: everything is read, nothing is simulated."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sprayroof.errors import LogProblems, Problem

if TYPE_CHECKING:
    import numpy as np

    from sprayroof.evidence.logs import Logs
    from sprayroof.evidence.site import Site
    from sprayroof.evidence.weather import Weather
    from sprayroof.results import Finding

# Strict readers let these pass: the site file itself asks for them, or no reading is touched.
ASKED_FOR = ("log.clock-corrected", "channel.clock-corrected", "channel.calibrated", "channel.counter-swap",
             "bills.solar-added")
WITHOUT_READINGS = ("log.title-rows", "bills.rows-left-out")


@dataclass(frozen=True)
class Checked:
    """Lines to print and findings, in the order found."""

    lines: tuple[str, ...]
    findings: tuple[Finding, ...]
    left_over: int = 0  # files, or patterns of files, of the site's folders that are not used

    @property
    def doubts(self) -> int:
        """Findings that weaken the result."""
        return sum(finding.level != "note" for finding in self.findings)

    @property
    def repairs(self) -> int:
        """Files read otherwise than they stand: repaired or left out in part, unasked, and yet no doubt."""
        return sum(finding.level == "note" and finding.data.get("disposition") in ("repair", "exclude")
                   and finding.code not in ASKED_FOR + WITHOUT_READINGS for finding in self.findings)


def check(path: str | Path) -> Checked:
    """Read a site and all that it names.

    Parameters
    ----------
    path : path
        Folder of the site, or the site file.

    Returns
    -------
    Checked

    Raises
    ------
    InputProblems
        Anything that cannot be used as it stands.
    """
    from sprayroof.evidence.site import read_site
    from sprayroof.evidence.site_file.places import problems_placed

    site = read_site(path)
    with problems_placed(site):
        return _checked(site)


def _checked(site: Site) -> Checked:
    from sprayroof.evidence.load_series import read_load_series
    from sprayroof.evidence.weather import read_weather

    weather = read_weather(site)
    findings = [*site.findings, *weather.findings]
    lines = [*_site_lines(site), *_weather_lines(weather)]
    if site.load.kind == "metered":
        load = read_load_series(site, weather.table.index, bool(weather.names["typical_year"]))
        findings += load.findings
        lines.append(f"Demand    metered, {load.load_kW.max():.0f} kW at most")
    measured_lines, measured_findings = _measured(site, weather)
    lines += measured_lines
    findings += measured_findings
    proposed = _proposals(site)
    left_over = sum(line.startswith(("Not declared: ", "Not read: ")) for line in proposed)
    return Checked((*lines, *proposed), tuple(findings), left_over)


def _measured(site: Site, weather: Weather) -> tuple[list[str], list[Finding]]:
    """Logs, bills and pairs: lines and findings of each (raises LogProblems with the problems of all of them)."""
    problems: list[Problem] = []
    lines: list[str] = []
    findings: list[Finding] = []
    logs = None
    if site.log:
        from sprayroof.evidence.read_logs import read_logs

        with _gathered(problems):
            logs = read_logs(site, weather)
            findings += logs.findings
            lines += log_lines(logs)
    if site.bills:
        from sprayroof.model.whole_building import whole_building

        # bills whose temperatures come of logs that cannot be read wait for these
        readable = [bills for bills in site.bills if bills.temperature_file or not problems]
        with _gathered(problems):
            meters = whole_building(site, weather, logs, readable)
            findings += meters.findings
            lines += [_bills_line(meter) for meter in meters.rows]
    if site.twin:
        from sprayroof.model.twin_results import twin_results

        with _gathered(problems):
            pairs = twin_results(site)
            findings += pairs.findings
            lines += [_pair_line(pair) for pair in pairs.rows]
    if problems:
        raise LogProblems(problems)
    return lines, findings


@contextmanager
def _gathered(problems: list[Problem]) -> Iterator[None]:
    """Keeps the problems of one kind of evidence, so that those of the next are told with them."""
    try:
        yield
    except LogProblems as error:
        problems += error.problems


def _bills_line(row: dict[str, Any]) -> str:
    """Periods of a meter, their span, and on which side of the change they lie."""
    from sprayroof.evidence.gather import count_of

    periods = row["periods"]
    last = date.fromisoformat(periods["from"][-1]) + timedelta(days=round(periods["days"][-1]) - 1)
    sides = f", {row['before']} before the change and {row['after']} since" if row["changed_on"] else ""
    return (f"Bills     {row['name']}: {count_of(len(periods['days']), row['every'])}, {periods['from'][0]} to {last}"
            f"{sides}; outdoor temperature from {row['temperature_from']}")


def _pair_line(row: dict[str, Any]) -> str:
    """Complete days of a pair of rooms."""
    like = f", held against {row['like_days']} with neither cooled" if row.get("like_days") else ""
    return f"Pair      {row['name']}: {row.get('days', 0)} complete days of {row['quantity']} with one cooled{like}"


def _proposals(site: Site) -> list[str]:
    """Blocks to paste for files in the folders of logs and bills that the site file does not name."""
    lines: list[str] = []
    if (site.folder / "logs").is_dir():
        from sprayroof.evidence.log_files.propose import not_readable, proposals

        lines += [*proposals(site), *not_readable(site)]
    if (site.folder / "bills").is_dir():
        from sprayroof.evidence.billing.propose import proposals_of_bills
        from sprayroof.evidence.log_files.propose import not_readable

        lines += [*proposals_of_bills(site), *not_readable(site, "bills")]
    return lines


def _site_lines(site: Any) -> list[str]:
    facts = site.facts()
    given = sum(fact.given for fact in facts.values())
    head, area, what = "Spray ", site.sprayed_area_m2(), "sprayed roof"
    if site.panels is not None:
        head, area, what = "Panels", site.panels.area_m2.value, "panels"
    flow = site.spray.flow_L_min.value
    return [
        f"Site      {site.site.name}",
        f"Facts     {given} given, {len(facts) - given} left to their defaults",
        f"{head}    {flow:.0f} L/min on {area:.0f} m2: {_two_digits(flow / area)} L/min per m2",
        f"Store     {site.store.volume_m3.value:.0f} m3: {1000.0 * site.store.volume_m3.value / area:.0f} L per m2 of "
        f"{what}, turned over in {1000.0 * site.store.volume_m3.value / flow / 60.0:.1f} h",
    ]


def _two_digits(value: float) -> str:
    """Two digits, however small, without an exponent."""
    return f"{value:.{max(1 - math.floor(math.log10(value)), 0)}f}" if value > 0.0 else "0"


def _weather_lines(weather: Any) -> list[str]:
    from sprayroof.evidence.weather_files.cloud_layers import COVERS

    table = weather.table
    rows = [f"Weather   {weather.names['file']} ({weather.names['kind']}), {table.index[0].date()} to "
            f"{table.index[-1].date()}, {len(table)} steps"]
    for name, unit in (("t_air_C", "degC"), ("humidity_frac", ""), ("wind_m_s", "m/s"), ("cloud_frac", ""),
                       *((name, "") for name in COVERS if name in table),
                       ("long_wave_W_m2", "W/m2"), ("rain_mm", "mm in all")):
        column = table[name]
        known = column.notna().mean()
        told = f"{column.sum():.0f}" if name == "rain_mm" else f"{column.min():.2f} to {column.max():.2f}"
        rows.append(f"  {name:16s} {known:4.0%} known" + (f", {told} {unit}".rstrip() if known else ""))
    rows.append(f"  long-wave from the {weather.names['long_wave']}; cloud: {weather.names['cloud']}; "
                f"rain: {weather.names['rain']}")
    return rows


def log_lines(logs: Logs) -> list[str]:
    """What was logged: a line for the whole, and one for each channel: days, share known, range, instrument.

    Parameters
    ----------
    logs : Logs
        From `read_logs`.
    """
    index = logs.table.index
    days = len(index) * logs.step_s / 86400.0
    rows = [f"Logs      {len(logs.table.columns)} channels, {index[0]:%Y-%m-%d} to {index[-1]:%Y-%m-%d} UTC, "
            f"{days:.3g} days in steps of {logs.step_s // 60} min"]
    return rows + [_channel_line(column, logs) for column in logs.table]


def _channel_line(column: str, logs: Logs) -> str:
    """Days from the first to the last value, share of them recorded and not masked, range, and instrument."""
    import numpy as np

    values = logs.table[column].to_numpy()
    filled = logs.masks.get(column, {}).get("filled")
    read = np.isfinite(values) if filled is None else np.isfinite(values) & ~filled
    if not read.any():
        return f"  {column:20s} nothing that can be used"
    places = np.flatnonzero(read)
    span = places[-1] - places[0] + 1
    days = f"{span * logs.step_s / 86400.0:.3g}"
    return (f"  {column:20s} {days:>5s} days, {read[places[0]:places[-1] + 1].mean():4.0%} known, "
            f"{_range_words(column, values[read])}; {_instrument_words(column, logs)}")


def _range_words(column: str, values: np.ndarray) -> str:
    if column == "rain_mm":
        return f"{values.sum():.4g} mm in all"
    return f"{values.min():.4g} to {values.max():.4g}"


def _instrument_words(column: str, logs: Logs) -> str:
    """Accuracy (90 %), whether it is stated, and what was corrected."""
    instrument = logs.instruments[column]
    parts = [f"{instrument.offset:.2g}"] if instrument.offset else []
    parts += [f"{instrument.gain:.1%}"] if instrument.gain else []
    words = f"+-{' and '.join(parts)}" if parts else "no error assumed"
    words += "" if instrument.stated or not parts else " assumed"
    if instrument.added:
        words += f", {instrument.added:+.2g} added"
    if instrument.multiplied != 1.0:
        words += f", times {instrument.multiplied:.3f}"
    return words + (f", tied to {instrument.tied_to}" if instrument.tied_to else "")
