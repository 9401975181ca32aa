"""What a meter of the building says, as the record and the sentences of the report."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from sprayroof.model.whole_building import WholeBuilding

PLURALS = {"bill": "bills", "day": "days", "week": "weeks"}


def bill_row(meter: WholeBuilding) -> dict[str, Any]:
    """The record of a meter in audit.json."""
    series, line, result, published = meter.series, meter.line, meter.saving, meter.published
    changed = None if series.changed_on is None else series.changed_on.isoformat()
    row: dict[str, Any] = {
        "name": series.name, "covers": series.covers, "unit": series.unit, "every": meter.every, "changed_on": changed,
        "temperature_from": series.temperature_from, "before": int((~meter.is_after).sum()),
        "after": int(meter.is_after.sum()), "verdict": meter.verdict, "why": meter.why, "words": words(meter),
        "cv_limit": meter.cv_limit, "cv_met": meter.cv_met, "line": None, "saving": None, "published": None,
    }
    if line is not None:
        row["line"] = {
            "base_per_day": line.base_per_day, "slope_per_day_K": line.slope_per_day_K, "change_C": line.change_C,
            "heating_slope_per_day_K": line.heating_slope_per_day_K,
            "heating_C": line.heating_C if line.heats else None,
            "cv_rmse": line.cv_rmse, "rho": line.rho, "n": line.n, "n_effective": line.n_effective,
        }
    if result is not None:
        row["saving"] = {
            "saved": result.saved, "low": result.low, "high": result.high, "expected": result.expected,
            "used": result.used, "days": result.days, "saved_frac": result.saved_frac, "shares": dict(result.shares),
        }
    if published is not None:
        row["published"] = {"independent": published.independent, "correlated": published.correlated}
    row["periods"] = _periods(meter)
    return row


def _periods(meter: WholeBuilding) -> dict[str, list[Any]]:
    """Use, temperature and line of each period."""
    series, line = meter.series, meter.line
    fitted = np.full(len(series.days), np.nan) if line is None else line.use_per_day(series.t_out_C)
    return {
        "from": [str(day) for day in series.starts], "days": series.days.tolist(),
        "use_per_day": (series.use / series.days).tolist(), "t_out_C": series.t_out_C.tolist(),
        "line_per_day": fitted.tolist(), "after": meter.is_after.tolist(),
    }


def words(meter: WholeBuilding) -> str:
    """What the meter says, in sentences."""
    series, line, result = meter.series, meter.line, meter.saving
    what = f"{series.name[:1].upper()}{series.name[1:]} ({series.covers})"
    if line is None:
        return f"{what}: no line of use against outdoor temperature can be drawn through its {PLURALS[meter.every]}."
    if meter.verdict == "" or result is None:
        told = f"{what}: {_line_words(meter)}"
        return told if meter.verdict == "" else f"{told} Whether it changed cannot be told: {meter.why}."
    span = f"the {int(meter.is_after.sum())} {PLURALS[meter.every]} since {series.changed_on} ({result.days:.0f} days)"
    unit = "m³" if series.unit == "m3" else series.unit
    step = _step((result.high - result.low) / 2.0)
    saved, low, high = (_rounded(value, step) for value in (result.saved, result.low, result.high))
    used, expected = (_rounded(value, step) for value in (result.used, result.expected))
    held = (f"{what}: {used} {unit} were used in {span}; by the line of the {line.n} {PLURALS[meter.every]} before, "
        f"the same weather would have taken {expected} {unit}. That is {saved} {unit} less")
    share = f"{100.0 * result.saved_frac:.0f} % of what was to be expected"
    if result.saved < 0.0:
        more = (_rounded(-value, step) for value in (result.saved, result.high, result.low))
        saved, low, high = more
        held = held.rpartition("That is")[0] + f"That is {saved} {unit} more"
        share = f"{-100.0 * result.saved_frac:.0f} % of what was to be expected"
    said = {"less": "Less was used, whatever the cause.", "more": "More was used, whatever the cause.",
            "cannot tell": f"Whether that is a change cannot be told: {meter.why}."}[meter.verdict]
    return f"{held} (90 % range {low} to {high}), {share}. {said}"


def _line_words(meter: WholeBuilding) -> str:
    line, unit = meter.line, meter.series.unit
    assert line is not None
    heats = f" and {line.heating_slope_per_day_K:.3g} {unit} more a day for each kelvin below {line.heating_C:.1f} °C" \
        if line.heats else ""
    return (f"{line.base_per_day:.3g} {unit} a day, {line.slope_per_day_K:.3g} {unit} more a day for each kelvin above "
            f"{line.change_C:.1f} °C outdoors{heats}.")


def _step(half: float) -> float:
    """Two figures of the half-width: more would be noise."""
    return 10.0 ** (math.floor(math.log10(half)) - 1) if half > 0.0 else 1.0


def _rounded(value: float, step: float) -> str:
    number = round(value / step) * step
    if step < 1.0:
        return f"{number:.{-math.floor(math.log10(step))}f}"
    return f"{number:,.0f}".replace(",", "\u00a0") if abs(number) >= 10_000.0 else f"{number:.0f}"
