"""What a meter of the building says, as the record and the sentences of the report."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from sprayroof.model.whole_building import WholeBuilding

US_GAL_PER_M3 = 264.1720524  # 231 cubic inches a gallon
PLURALS = {"bill": "bills", "day": "days", "week": "weeks"}


def bill_row(meter: WholeBuilding) -> dict[str, Any]:
    """The record of a meter in audit.json."""
    series, line, result, published = meter.series, meter.line, meter.saving, meter.published
    changed = None if series.changed_on is None else series.changed_on.isoformat()
    row: dict[str, Any] = {
        "name": series.name, "covers": series.covers, "unit": series.unit, "every": meter.every, "changed_on": changed,
        "temperature_from": series.temperature_from, "before": int((~meter.is_after).sum()),
        "after": int(meter.is_after.sum()), "verdict": meter.verdict, "why": meter.why, "words": words(meter),
        "words_ip": words(meter, "ip"),
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


def words(meter: WholeBuilding, units: str = "si") -> str:
    """What the meter says, in sentences; `units` is "si" or "ip" (US gallons and degrees Fahrenheit)."""
    series, line, result = meter.series, meter.line, meter.saving
    what = f"{series.name[:1].upper()}{series.name[1:]} ({series.covers})"
    if line is None:
        return f"{what}: no line of use against outdoor temperature can be drawn through its {PLURALS[meter.every]}."
    if meter.verdict == "" or result is None:
        told = f"{what}: {_line_words(meter, units)}"
        return told if meter.verdict == "" else f"{told} Whether it changed cannot be told: {meter.why}."
    span = f"the {int(meter.is_after.sum())} {PLURALS[meter.every]} since {series.changed_on} ({result.days:.0f} days)"
    factor, unit = _unit(series.unit, units)
    step = _step(factor * (result.high - result.low) / 2.0)
    saved, low, high = (_rounded(factor * value, step) for value in (result.saved, result.low, result.high))
    used, expected = (_rounded(factor * value, step) for value in (result.used, result.expected))
    held = (f"{what}: {used} {unit} were used in {span}; by the line of the {line.n} {PLURALS[meter.every]} before, "
        f"the same weather would have taken {expected} {unit}. That is {saved} {unit} less")
    share = f"{100.0 * result.saved_frac:.0f} % of what was to be expected"
    if result.saved < 0.0:
        more = (_rounded(-factor * value, step) for value in (result.saved, result.high, result.low))
        saved, low, high = more
        held = held.rpartition("That is")[0] + f"That is {saved} {unit} more"
        share = f"{-100.0 * result.saved_frac:.0f} % of what was to be expected"
    said = {"less": "Less was used, whatever the cause.", "more": "More was used, whatever the cause.",
            "cannot tell": f"Whether that is a change cannot be told: {meter.why}."}[meter.verdict]
    return f"{held} (90 % range {low} to {high}), {share}. {said}"


def _line_words(meter: WholeBuilding, units: str) -> str:
    line = meter.line
    assert line is not None
    factor, unit = _unit(meter.series.unit, units)
    a_degree, each = (factor / 1.8, "degree Fahrenheit") if units == "ip" else (factor, "kelvin")
    heats = (f" and {_three(line.heating_slope_per_day_K * a_degree)} {unit} more a day for each {each} below "
             f"{_degrees(line.heating_C, units)}" if line.heats else "")
    base, slope = _three(line.base_per_day * factor), _three(line.slope_per_day_K * a_degree)
    return (f"{base} {unit} a day, {slope} {unit} more a day for each {each} above {_degrees(line.change_C, units)} "
            f"outdoors{heats}.")


def _unit(unit: str, units: str) -> tuple[float, str]:
    """Factor and name of the unit of use in print."""
    if unit != "m3":
        return 1.0, unit
    return (US_GAL_PER_M3, "US gal") if units == "ip" else (1.0, "m³")


def _degrees(t_C: float, units: str) -> str:
    return f"{1.8 * t_C + 32.0:.1f} °F" if units == "ip" else f"{t_C:.1f} °C"


def _three(value: float) -> str:
    """Three figures, never with an exponent."""
    return _rounded(value, 10.0 ** (math.floor(math.log10(value)) - 2)) if value > 0.0 else "0"


def _step(half: float) -> float:
    """Two figures of the half-width: more would be noise."""
    return 10.0 ** (math.floor(math.log10(half)) - 1) if half > 0.0 else 1.0


def _rounded(value: float, step: float) -> str:
    number = round(value / step) * step
    if step < 1.0:
        return f"{number:.{-math.floor(math.log10(step))}f}"
    return f"{number:,.0f}".replace(",", "\u00a0") if abs(number) >= 10_000.0 else f"{number:.0f}"
