"""The measured part of an audit: night ledger, bills and twins as records. It calls; it does not reckon."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from sprayroof.results import Finding, Period

if TYPE_CHECKING:
    from sprayroof.evidence.logs import Logs
    from sprayroof.evidence.site import Site
    from sprayroof.evidence.weather import Weather

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Logged:
    """What was measured.

    Parameters
    ----------
    record : dict
        The part "logged" of audit.json; empty where nothing was logged, billed or compared.
    period : Period or None
        The measured period with its quantities.
    findings : tuple of Finding
    inputs : tuple of dict
    """

    record: dict[str, Any] = field(default_factory=dict)
    period: Period | None = None
    findings: tuple[Finding, ...] = ()
    inputs: tuple[dict[str, Any], ...] = ()


def logged(site: Site, weather: Weather, progress: Progress) -> Logged:
    """Everything measured of a site, before any model of the roof (raises LogProblems).

    Parameters
    ----------
    site : Site
    weather : Weather
        Measured weather of the same time serves; a typical year is left aside.
    progress : callable
    """
    record: dict[str, Any] = {}
    findings: list[Finding] = []
    inputs: list[dict[str, Any]] = []
    logs, period = None, None
    if site.log:
        from sprayroof.evidence.read_logs import read_logs
        from sprayroof.model.measured import measure, quantities

        logs = read_logs(site, weather, progress)
        progress("measuring the nights")
        measured = measure(site, logs, weather)
        findings += [*logs.findings, *measured.findings]
        inputs += logs.inputs
        period = Period(measured.start, measured.end, quantities(measured))
        record |= {
            "step_s": logs.step_s, "nights": measured.nights, "months": measured.months,
            "totals": {id: dataclasses.asdict(value) for id, value in measured.totals.items()},
            "estimates": {id: dataclasses.asdict(value) for id, value in measured.estimates.items()},
            "tests": measured.tests, "on_off": [dataclasses.asdict(effect) for effect in measured.on_off],
            "pipe_tank_frac": measured.pipe_tank_frac, "notes": measured.notes, "coverage": coverage_of(logs),
        }
    if site.bills:
        from sprayroof.model.whole_building import whole_building

        progress("reading the bills")
        bills = whole_building(site, weather, logs)
        record["bills"], findings, inputs = bills.rows, [*findings, *bills.findings], [*inputs, *bills.inputs]
    if site.twin:
        from sprayroof.model.twin_results import twin_results

        progress("comparing the pairs")
        twins = twin_results(site)
        record["twins"], findings, inputs = twins.rows, [*findings, *twins.findings], [*inputs, *twins.inputs]
    return Logged(plain(record), period, tuple(findings), tuple(inputs))


def coverage_of(logs: Logs) -> list[dict[str, Any]]:
    """A row a channel: share of the steps read, filled and left out, range, and the instrument."""
    rows = []
    for column in logs.table.columns:
        values, masks = logs.table[column].to_numpy(), logs.masks.get(column, {})
        filled = masks.get("filled", np.zeros(len(values), dtype=bool))
        known = np.isfinite(values)
        instrument = logs.instruments[column]
        rows.append({
            "channel": column, "read_frac": float((known & ~filled).mean()), "filled_frac": float(filled.mean()),
            "masks": {name: int(where.sum()) for name, where in masks.items() if where.any()},
            "low": float(np.nanmin(values)) if known.any() else None,
            "high": float(np.nanmax(values)) if known.any() else None,
            "days_frac": _daily_shares(logs, known & ~filled),
            **dataclasses.asdict(instrument),
        })
    return rows


def _daily_shares(logs: Logs, read: np.ndarray) -> list[float]:
    """Share of each UTC day that was read, from the first day on."""
    import pandas as pd

    return [round(float(share), 3) for share in pd.Series(read, index=logs.table.index).resample("1D").mean()]


def plain(value: Any) -> Any:
    """A record of plain numbers, texts, lists and dicts, as it comes back from JSON."""
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if isinstance(value, np.generic):
        return plain(value.item())
    if isinstance(value, float) and not np.isfinite(value):
        return None
    return value
