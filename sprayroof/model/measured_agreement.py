"""Whether pipe and store tell the same heat; where they do not, the range of both together is widened to hold either.

Two measurements that contradict each other are no better than one: until the cause is found, their mean is not sure to
the width that each claims for itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sprayroof.model.measured_amounts import Amount, total
from sprayroof.model.measured_totals import NightHeat

LEAST_NIGHTS = 4  # of a part of the period that is tested by itself
SOURCE = "pipe against store"


@dataclass(frozen=True)
class Contradiction:
    """A stretch of nights in which pipe and store contradict each other.

    Parameters
    ----------
    nights : tuple of int
        Places of the nights at which both were measured.
    apart : Amount
        Sum of pipe less store [kWh].
    """

    nights: tuple[int, ...]
    apart: Amount


def contradictions(heats: Sequence[NightHeat]) -> list[Contradiction]:
    """Stretches in which the two differ by more than their half-widths allow: the period, else its halves.

    Parameters
    ----------
    heats : sequence of NightHeat
        In the order of the nights.
    """
    both = [place for place, heat in enumerate(heats) if heat.by == "both" and heat.hours is not None
            and heat.hours.value > 0.0]
    if len(both) < LEAST_NIGHTS:
        return []
    middle = len(both) // 2
    found = [_contradiction(heats, part) for part in (both[:middle], both[middle:]) if len(part) >= LEAST_NIGHTS]
    halves = [one for one in found if one is not None]
    whole = _contradiction(heats, both)
    return [whole] if whole is not None and len(halves) != 1 else halves


def _contradiction(heats: Sequence[NightHeat], places: list[int]) -> Contradiction | None:
    apart = total(heats[place].pipe.kWh - heats[place].tank.kWh for place in places)
    return Contradiction(tuple(places), apart) if abs(apart.value) > apart.half_width else None


def widened(heats: Sequence[NightHeat], found: Sequence[Contradiction]) -> list[NightHeat]:
    """The nights, their heat by both widened so that its sum over each contradiction holds pipe and store alone."""
    heats = list(heats)
    for one in found:
        hours = sum(heats[place].hours.value for place in one.nights)
        for place in one.nights:
            shift = abs(one.apart.value) * heats[place].hours.value / hours
            heats[place] = replace(heats[place], both=heats[place].both.with_shift(SOURCE, shift))
    return heats
