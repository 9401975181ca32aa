"""The order of work: evidence, draws, simulation with and without spray, summary. It calls; it does not reckon."""

from __future__ import annotations

import importlib.metadata
import platform
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sprayroof.results import Audit, Period
from sprayroof.version import VERSION

if TYPE_CHECKING:
    import pandas as pd

    from sprayroof.evidence.site import Site
    from sprayroof.evidence.weather import Weather

RUNS = 300
SEED = 1
VERSIONED = ("numpy", "pandas", "scipy", "numba", "pvlib", "reportlab", "matplotlib", "XlsxWriter")
Progress = Callable[[str], None]


@dataclass(frozen=True)
class AuditRun:
    """An audit and the steps behind its best estimate.

    Parameters
    ----------
    audit : Audit
        The record.
    steps : pandas.DataFrame
        Every step of the best estimate, names with units.
    """

    audit: Audit
    steps: pd.DataFrame


def _quiet(message: str) -> None:
    """Progress that nobody wants to hear."""


def audit(site: Site, runs: int = RUNS, seed: int = SEED, progress: Progress = _quiet) -> Audit:
    """Audit a site over its reference year (arguments and errors as `audit_with_steps`)."""
    return audit_with_steps(site, runs, seed, progress).audit


def audit_with_steps(site: Site, runs: int = RUNS, seed: int = SEED, progress: Progress = _quiet) -> AuditRun:
    """Audit a site over its reference year and keep every step of the best estimate.

    Parameters
    ----------
    site : Site
        From `read_site`.
    runs : int
        Members of the ensemble beside the best estimate, 0 or more (20 or more for ranges worth printing).
    seed : int
        Same site, runs and seed: the same result.
    progress : callable
        Told in words what is being done.

    Returns
    -------
    AuditRun

    Raises
    ------
    WeatherProblems
        A weather, rain or load file cannot be used.
    NotEnough
        The step is too long for the store.
    """
    from sprayroof.evidence.site_file.places import problems_placed

    with problems_placed(site):
        return _audit_with_steps(site, runs, seed, progress)


def _audit_with_steps(site: Site, runs: int, seed: int, progress: Progress) -> AuditRun:
    from sprayroof.evidence.load_series import read_load_series
    from sprayroof.evidence.weather import read_weather
    from sprayroof.model.doubts import refuse_long_step
    from sprayroof.model.drivers import drivers, formulas_of
    from sprayroof.model.logged import logged
    from sprayroof.model.members import ensemble, rivals
    from sprayroof.model.simulate import simulate
    from sprayroof.physics.compiled import is_compiled

    progress("reading the weather")
    weather = read_weather(site)
    load = None
    if site.load.kind == "metered":
        load = read_load_series(site, weather.table.index, bool(weather.names["typical_year"]))
    measured = logged(site, weather, progress)
    if not is_compiled():
        progress("preparing the model for this computer (once only, less than a minute)")
    driven = drivers(site, weather, None if load is None else 1000.0 * load.load_kW)
    formulas = formulas_of(site, weather, rivals(site))
    members = ensemble(site, driven, runs, seed)
    dt_s = 60.0 * site.weather.step_min
    refuse_long_step(members.members, dt_s)
    unsprayed = members.without_spray()
    if not _start_is_stated(site):
        progress("finding the store's content at the start of the year")
        for one in (members, unsprayed):
            one.start_as(simulate(driven, formulas, members.draws.cloud_error, one.only(0), dt_s, keep_steps=False))
    progress(f"simulating {runs + 1} possible sites through the year")
    trace = simulate(driven, formulas, members.draws.cloud_error, members, dt_s)
    progress("the same without spraying")
    without = simulate(driven, formulas, members.draws.cloud_error, unsprayed, dt_s, keep_steps=False)
    progress("summing up")
    return _summed_up(site, weather, load, measured, driven, members, trace, without, runs, seed)


def _start_is_stated(site: Site) -> bool:
    """Whether the site file says what is in the store at the start; else the year is made to close upon itself."""
    return site.store.initial_share_frac.given or site.store.initial_temperature_C.given


def _summed_up(site, weather, load, measured, driven, members, trace, without, runs, seed) -> AuditRun:
    import pandas as pd

    from sprayroof.model import summary
    from sprayroof.model.assumptions import assumptions
    from sprayroof.model.doubts import findings_of_year
    from sprayroof.model.traits import traits

    index = weather.table.index.tz_convert(site.place.time_zone)
    dates = pd.DatetimeIndex(pd.Index(index.date).unique())
    amounts = summary.quantities_of(summary.totals(trace, slice(None)), summary.totals(without, slice(None)))
    summary.add_year_only(amounts, trace)
    summary.add_ratios(amounts)
    summary.add_money(amounts, site, members.draws.values)
    net = amounts["electricity_net_kWh"]
    quantities = {id: summary.quantity(id, values, "modelled", site.site.currency) for id, values in amounts.items()}
    end = index[-1] + (index[-1] - index[-2])
    record = Audit(
        site=_site_record(site, traits(site, weather, trace, quantities)),
        periods={**({"logged": measured.period} if measured.period else {}),
                 "year": Period(index[0].date().isoformat(), end.date().isoformat(), quantities)},
        findings=(*site.findings, *weather.findings, *(load.findings if load else ()), *measured.findings,
                  *findings_of_year(site, trace, quantities, members.members)),
        fit={}, options=(), claims=(), closure=summary.closure_of((trace, without)),
        months=summary.months_of(trace, without, dates),
        nights=summary.nights_of(trace, site, weather, driven),
        inputs=(_site_input(site), *weather.inputs, *(load.inputs if load else ()), *measured.inputs),
        made=_made(site, weather, runs, seed),
        assumptions=assumptions(members.draws, amounts["cooling_useful_kWh"], amounts.get("money_net", net),
                                site.site.currency if "money_net" in amounts else "kWh"),
        series={"week": summary.week_series(trace, weather, driven, site.place.time_zone, site.panels is not None),
                "level": summary.level_series(trace, dates)},
        logged=measured.record,
    )
    return AuditRun(record, summary.steps_table(trace, weather, site.place.time_zone))


def _site_record(site: Site, traits: dict[str, Any]) -> dict[str, Any]:
    about = site.site
    return {
        "name": about.name, "place": about.place, "owner": about.owner, "auditor": about.auditor,
        "report_date": about.report_date.isoformat(), "currency": about.currency, "paper": about.paper,
        "note": about.note, "facts": site.fact_table(), "settings": site.settings_table(),
        "names": site.item_names(), "traits": traits,
    }


def _site_input(site: Site) -> dict[str, Any]:
    return {"file": site.file.name, "sha256": site.text_sha256, "rows": None, "span": "", "use": "site file"}


def _made(site: Site, weather: Weather, runs: int, seed: int) -> dict[str, Any]:
    return {
        "versions": {"sprayroof": VERSION, "Python": platform.python_version(),
                     **{name: importlib.metadata.version(name) for name in VERSIONED}},
        "seed": seed, "runs": runs, "step_min": site.weather.step_min,
        "command": f"sprayroof audit {site.folder.name or '.'} --runs {runs} --seed {seed}",
        "weather": dict(weather.names),
    }
