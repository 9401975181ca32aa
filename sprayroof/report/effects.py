"""The assumptions by what they move: useful cooling, and the net figure that decides the verdict."""

from __future__ import annotations

import math
from collections import Counter

from sprayroof.report import numbers, words
from sprayroof.results import Audit, Quantity

TOO_SMALL = "too small to tell"


def ranked_assumptions(audit: Audit, key: str = "effect", units: str = "si") -> list[dict]:
    """The assumptions, largest effect first, unknown last; equal labels told apart by their entry. Those that another
    entry makes idle are left out.

    `key` is "effect", on useful cooling, or "effect_net", on what decides the verdict.
    """
    rows = [
        {**row, "label": words.fact_label(audit, row, units)}
        for row in audit.assumptions
        if not words.plays_no_part(audit, str(row.get("entry")))
    ]
    labels = Counter(row["label"] for row in rows)
    named = [
        {**row, "label": f"{row['label']} ({row['entry']})"} if labels[row["label"]] > 1 else row for row in rows
    ]
    return sorted(named, key=lambda row: -abs(row[key]) if row.get(key) is not None else 1.0)


def effect_text(effect: float, unit: str) -> str:
    """An effect on what decides the verdict, without its sign: `110 EUR` or `540 kWh`."""
    return numbers.joined(numbers.significant(abs(effect), 2), unit)


def unknown_effect(audit: Audit) -> str:
    """What stands for an effect that the record leaves open: below the noise of the runs, or told for none."""
    return TOO_SMALL if any(told(row) for row in audit.assumptions) else numbers.NOT_KNOWN


def told(row: dict) -> bool:
    """Whether the record tells an effect of the assumption on either figure."""
    return row.get("effect") is not None or row.get("effect_net") is not None


def effect_texts(rows: list[dict], key: str, units: str) -> list[str]:
    """Effects of one picture or table as text, in one unit and to one place; "" where one is not told."""
    id = "cooling_useful_kWh" if key == "effect" else "net"
    told_rows = [
        (id, Quantity(row[key], math.nan, math.nan, _unit_of(row, key), "", "modelled", "D"))
        for row in rows
        if row.get(key) is not None
    ]
    shown = iter(numbers.printed_rows(told_rows, units))
    return [next(shown).value_unit if row.get(key) is not None else "" for row in rows]


def _unit_of(row: dict, key: str) -> str:
    return "kWh" if key == "effect" else str(row.get("effect_net_unit") or "kWh")
