"""Bills, or a meter read by days or hours, to what was used in each period and how warm it was outdoors."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from sprayroof.evidence.billing.amounts import Amounts, read_amounts
from sprayroof.evidence.billing.outdoor import outdoor_of
from sprayroof.evidence.billing.solar import with_solar
from sprayroof.evidence.files import read_evidence
from sprayroof.evidence.gather import Gather, count_of
from sprayroof.evidence.units import NotAQuantity, Scale, scale_to, unit_words

if TYPE_CHECKING:
    from sprayroof.evidence.logs import Logs
    from sprayroof.evidence.site import Site
    from sprayroof.evidence.site_file.logged import Bills
    from sprayroof.evidence.weather import Weather

UNITS = {"air conditioner": ("kWh", "kW"), "building": ("kWh", "kW"), "mains water": ("m3", "m3/h")}
ODD_FACTOR = 5.0  # a bill so many times above or below the usual use per day is told


@dataclass(frozen=True)
class BillSeries:
    """What a meter counted, by periods in order of time, with the outdoor temperature of each.

    Parameters
    ----------
    name, covers, entry : str
        Name and kind of the meter; its block of the site file ("bills.1").
    unit : str
        "kWh" or "m3".
    every : str
        "bill" or "day".
    starts : ndarray of datetime64[D], shape (n,)
        First day of each period.
    ends : ndarray of datetime64[D], shape (n,)
        The day after its last.
    days : ndarray, shape (n,)
        Its length [d].
    use : ndarray, shape (n,)
        What was used [unit].
    t_out_C : ndarray, shape (n,)
        Mean outdoor temperature [degC].
    temperature_from : str
        Where the temperatures come from.
    changed_on : date or None
        Day on which the sprayed roof came into use.
    inputs : list of dict
        file, sha256, rows, span, use.
    odd : tuple of str
        First days of periods far from the usual use that nobody has checked.
    is_checked : bool
        Whether unit, multiplier and digits of odd amounts were checked against the paper.
    """

    name: str
    covers: str
    entry: str
    unit: str
    every: str
    starts: np.ndarray
    ends: np.ndarray
    days: np.ndarray
    use: np.ndarray
    t_out_C: np.ndarray
    temperature_from: str
    changed_on: datetime.date | None = None
    inputs: list[dict[str, Any]] = field(default_factory=list)
    odd: tuple[str, ...] = ()
    is_checked: bool = False


def read_bills(
    site: Site, bills: Bills, weather: Weather | None, gather: Gather, logs: Logs | None = None
) -> BillSeries | None:
    """What a meter counted, and the outdoor temperatures.

    Parameters
    ----------
    site : Site
    bills : Bills
        One of `site.bills`.
    weather : Weather or None
        Measured weather serves for outdoor temperatures; a typical year never does.
    gather : Gather
        Receives problems and findings.
    logs : Logs or None
        Logged air temperature serves before the weather.

    Returns
    -------
    BillSeries or None
        None after a problem.
    """
    before = len(gather.problems)
    entry = f"bills.{1 + next(place for place, block in enumerate(site.bills) if block is bills)}"
    _check_netted(bills, entry, gather)
    scale, is_rate = _scale(bills, entry, gather)
    file = read_evidence(site.folder, bills.file, None, f"{entry}.file", gather)
    if scale is None or file is None:
        return None
    amounts = read_amounts(site, bills, entry, file, is_rate, gather)
    inputs = [] if amounts is None else [file.entry(amounts.rows, amounts.span(), f"{bills.covers}: {bills.name}")]
    if amounts is not None and bills.netted:
        amounts = with_solar(site, bills, entry, file, amounts, is_rate, inputs, gather)
    if amounts is not None:
        _check_signs(bills, entry, file.where, amounts, gather)
    if amounts is None or len(gather.problems) > before:
        return None
    odd = _tell_odd(bills, file.where, amounts, gather)
    outdoor = outdoor_of(site, bills, entry, (amounts.starts, amounts.ends), weather, logs, gather)
    if outdoor is None:
        return None
    known = np.isfinite(outdoor.t_out_C)
    _tell_without_temperature(amounts.of(~known), len(known), outdoor.source, gather)
    chosen = amounts.of(known)
    return BillSeries(
        bills.name, bills.covers, entry, UNITS[bills.covers][0], "bill" if bills.every == "bill" else "day",
        chosen.starts, chosen.ends, chosen.days, scale(chosen.amounts), outdoor.t_out_C[known], outdoor.source,
        bills.changed_on, [*inputs, *outdoor.inputs], odd, bills.amounts_checked)


def _check_netted(bills: Bills, entry: str, gather: Gather) -> None:
    """Nothing is claimed from a netted meter alone: more sun on the panels would pass for a saving."""
    if bills.netted and bills.solar_file is None:
        gather.problem(
            f"site file, {entry}", "a netted meter: what the solar panels made is taken off its amounts, so that "
            "they do not tell what was used", "what the panels made in the same periods",
            f'add solar_file = "bills/solar.csv" to {entry}, with the same headings and unit')


def _scale(bills: Bills, entry: str, gather: Gather) -> tuple[Scale | None, bool]:
    """Conversion to kWh or m3, and whether the numbers are amounts per hour."""
    amount, rate = UNITS[bills.covers]
    error: NotAQuantity | None = None
    for unit, is_rate in ((amount, False), (rate, True)):
        if is_rate and bills.every == "bill":
            continue
        try:
            return scale_to(bills.unit, unit), is_rate
        except NotAQuantity as why:
            error = error or why
    assert error is not None
    gather.problem(f"site file, {entry}.unit", f'"{bills.unit[:40]}"{error.why}',
                   f"a unit that converts to {unit_words(amount)}", error.do)
    return None, False


# --- checks -------------------------------------------------------------------------------------------------------


def _check_signs(bills: Bills, entry: str, where: str, amounts: Amounts, gather: Gather) -> None:
    """What was used cannot be below zero once the panels are added."""
    below = amounts.of(amounts.amounts < 0.0)
    if len(below.starts) and bills.netted and bills.solar_file is not None:
        gather.problem(
            f"{where}, {bills.solar_file}", f"{count_of(len(below.starts), 'amount')} below zero, first "
            f"{below.starts[0]}: less than nothing was used after the panels were added",
            "what all panels made, in the same unit", f"correct {entry}.solar_file or {entry}.unit")


def _tell_odd(bills: Bills, where: str, amounts: Amounts, gather: Gather) -> tuple[str, ...]:
    """Bills far from the usual use per day, by name; a machine that rests in winter has such bills by nature."""
    if bills.covers == "air conditioner" or bills.every != "bill" or bills.amounts_checked:
        return ()
    per_day = amounts.amounts / amounts.days
    usual = float(np.median(per_day))
    odd = amounts.of((per_day > ODD_FACTOR * usual) | (per_day < usual / ODD_FACTOR))
    if len(odd.starts):
        gather.finding(
            "bills.odd-amount", f"{where} has {count_of(len(odd.starts), 'bill')} more than {ODD_FACTOR:g} times above "
            f"or below the usual use per day ({usual:.3g}): {odd.named()}. They are used, but no verdict rests on "
            "them.", where,
            {"disposition": "warn", "file": where, "rows": len(odd.starts), "first": str(odd.starts[0]),
             "last": str(odd.starts[-1]), "rule": f"{ODD_FACTOR:g} times the median use per day"},
            "One such bill can move the line by more than the roof does: no verdict is given until it is checked.")
    return tuple(str(start) for start in odd.starts)


def _tell_without_temperature(rest: Amounts, of: int, source: str, gather: Gather) -> None:
    if len(rest.starts):
        gather.finding(
            "bills.no-temperature", f"{source} does not cover {len(rest.starts)} of {of} periods: {rest.named()}. "
            "They are not used.", source,
            {"disposition": "exclude", "file": source, "rows": len(rest.starts), "first": str(rest.starts[0]),
             "last": str(rest.starts[-1]), "rule": "less than nine tenths of the period known"},
            "The use of these periods is missing from the comparison.")
