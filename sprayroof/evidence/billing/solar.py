"""Netted meters: what solar panels made added back, so that more sun does not pass for a saving."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sprayroof.evidence.billing.amounts import Amounts, read_amounts
from sprayroof.evidence.billing.periods import DAY
from sprayroof.evidence.files import EvidenceFile, read_evidence
from sprayroof.evidence.gather import Gather, count_of

if TYPE_CHECKING:
    from sprayroof.evidence.site import Site
    from sprayroof.evidence.site_file.logged import Bills


def with_solar(
    site: Site, bills: Bills, entry: str, file: EvidenceFile, net: Amounts, is_rate: bool,
    inputs: list[dict[str, Any]], gather: Gather
) -> Amounts | None:
    """What was used: net amounts and what the panels made, where both are known; None after a problem.

    Parameters
    ----------
    site : Site
    bills : Bills
        A netted meter.
    entry : str
        Its place, "bills.1".
    file : EvidenceFile
        Of the net amounts.
    net : Amounts
    is_rate : bool
        Whether numbers are amounts per hour.
    inputs : list of dict
        Takes the solar file in.
    gather : Gather
        Receives problems and findings.
    """
    if bills.solar_file is None:
        return None  # told before: nothing is claimed from it
    alone = bills.model_copy(update={"meter_column": None, "meter": None, "estimated_column": None})
    solar_file = read_evidence(site.folder, bills.solar_file, None, f"{entry}.solar_file", gather)
    solar = None if solar_file is None else read_amounts(site, alone, entry, solar_file, is_rate, gather, is_solar=True)
    if solar is None or solar_file is None:
        return None
    inputs.append(solar_file.entry(solar.rows, solar.span(), f"solar electricity: {bills.name}"))
    made = np.array([_made(solar, start, end) for start, end in zip(net.starts, net.ends, strict=True)])
    known = np.isfinite(made)
    if not known.any():
        gather.problem(solar_file.where, f"no amounts for the periods of {file.where}",
                       "what the panels made in the same periods", f"name another file at {entry}.solar_file")
        return None
    if not known.all():
        rest = net.of(~known)
        gather.finding(
            "bills.solar-missing", f"{solar_file.where} does not tell what the panels made in {(~known).sum()} of "
            f"{len(known)} periods: {rest.named()}. They are not used.", solar_file.where,
            {"disposition": "exclude", "file": solar_file.where, "rows": int((~known).sum()),
             "first": str(rest.starts[0]), "last": str(rest.starts[-1]), "rule": "no solar record of these days"},
            "The use of these periods is missing from the comparison.")
    gather.finding(
        "bills.solar-added", f"What the panels made ({solar_file.where}) was added to the netted amounts of "
                             f"{file.where} "
        f"in {count_of(int(known.sum()), 'period')}.", file.where,
        {"disposition": "repair", "file": file.where, "rows": int(known.sum()), "rule": "used = net + made",
         "old": float(net.amounts[known].sum()), "new": float((net.amounts + made)[known].sum())},
        "Use, and no longer use less sun.")
    chosen = net.of(known)
    return Amounts(chosen.starts, chosen.ends, chosen.days, chosen.amounts + made[known], chosen.rows)


def _made(solar: Amounts, start: np.datetime64, end: np.datetime64) -> float:
    """Amount of the rows that lie within a period (a day's play at either end); NaN where they do not fill it."""
    days = int((end - start) / DAY)
    play = DAY if days > 1 else 0 * DAY
    inside = (solar.starts >= start - play) & (solar.ends <= end + play)
    filled = abs(float(solar.days[inside].sum()) - days) <= max(float(play / DAY), 0.1)
    return float(solar.amounts[inside].sum()) if inside.any() and filled else np.nan
