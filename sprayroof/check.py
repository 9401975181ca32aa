"""What `sprayroof check` tells: everything is read, nothing is simulated."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sprayroof.results import Finding


@dataclass(frozen=True)
class Checked:
    """Lines to print and findings, in the order found."""

    lines: tuple[str, ...]
    findings: tuple[Finding, ...]


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
    from sprayroof.evidence.load_series import read_load_series
    from sprayroof.evidence.site import read_site
    from sprayroof.evidence.weather import read_weather

    site = read_site(path)
    weather = read_weather(site)
    findings = [*site.findings, *weather.findings]
    lines = [*_site_lines(site), *_weather_lines(weather)]
    if site.load.kind == "metered":
        load = read_load_series(site, weather.table.index, bool(weather.names["typical_year"]))
        findings += load.findings
        lines.append(f"Demand    metered, {load.load_kW.max():.0f} kW at most")
    return Checked(tuple(lines), tuple(findings))


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
        f"{head}    {flow:.0f} L/min on {area:.0f} m2: {flow / area:.2f} L/min per m2",
        f"Store     {site.store.volume_m3.value:.0f} m3: {1000.0 * site.store.volume_m3.value / area:.0f} L per m2 of "
        f"{what}, turned over in {1000.0 * site.store.volume_m3.value / flow / 60.0:.1f} h",
    ]


def _weather_lines(weather: Any) -> list[str]:
    table = weather.table
    rows = [f"Weather   {weather.names['file']} ({weather.names['kind']}), {table.index[0].date()} to "
            f"{table.index[-1].date()}, {len(table)} steps"]
    for name, unit in (("t_air_C", "degC"), ("humidity_frac", ""), ("wind_m_s", "m/s"), ("cloud_frac", ""),
                       ("long_wave_W_m2", "W/m2"), ("rain_mm", "mm in all")):
        column = table[name]
        known = column.notna().mean()
        told = f"{column.sum():.0f}" if name == "rain_mm" else f"{column.min():.2f} to {column.max():.2f}"
        rows.append(f"  {name:16s} {known:4.0%} known" + (f", {told} {unit}".rstrip() if known else ""))
    rows.append(f"  long-wave from the {weather.names['long_wave']}; cloud: {weather.names['cloud']}; "
                f"rain: {weather.names['rain']}")
    return rows
