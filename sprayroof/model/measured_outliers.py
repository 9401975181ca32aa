"""Nights on which the store lost far more than like nights: something else than spraying drew the water.

A draw-down that the site file does not name, a hose or a burst pipe would count as water lost by spraying, and the mean
of few nights does not bear one that is many times the others.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sprayroof.evidence.spread import robust_sd
from sprayroof.model.measured_amounts import Amount
from sprayroof.model.measured_nights import Night
from sprayroof.model.measured_split import Leak
from sprayroof.model.measured_water import NightWater

LEAST_NIGHTS = 8
MOST_TIMES = 3.0  # what the middle night loses for each litre sprayed; own judgement, wind and dry air stay below it
MOST_SIGMA = 8.0  # of the nights' own scatter about their middle, told by the median of the departures
MOST_HALF_WIDTHS = 2.0


@dataclass(frozen=True)
class Outlier:
    """A night that lost too much, and what like nights would have lost in its place [L]."""

    night: Night
    lost_L: float
    usual_L: float


def without_outliers(nights: Sequence[Night], waters: Sequence[NightWater], sprayed: Sequence[Amount | None],
                     leak: Leak) -> tuple[list[NightWater], list[Outlier]]:
    """The nights' water, with the loss by spraying of outliers taken as not known; and the outliers.

    Parameters
    ----------
    nights, waters : sequences
    sprayed : sequence of Amount or None
        Litres sprayed in each night.
    leak : Leak
    """
    lost = {place: water.sprayed_away - leak.L_h.scaled(water.hours)
            for place, (water, litres) in enumerate(zip(waters, sprayed, strict=True))
            if water.sprayed_away is not None and litres is not None and litres.value > 0.0}
    if len(lost) < LEAST_NIGHTS:
        return list(waters), []
    shares = {place: amount.value / sprayed[place].value for place, amount in lost.items()}
    middle = float(np.median(list(shares.values())))
    sigma = robust_sd(np.array(list(shares.values())))
    found: dict[int, Outlier] = {}
    for place, amount in lost.items():
        usual_L = max(middle, 0.0) * sprayed[place].value
        bound_L = max((MOST_TIMES - 1.0) * usual_L, MOST_SIGMA * sigma * sprayed[place].value,
                      MOST_HALF_WIDTHS * amount.half_width)
        if amount.value - usual_L > bound_L:
            found[place] = Outlier(nights[place], amount.value, usual_L)
    return [_unknown(water, found[place]) if place in found else water
            for place, water in enumerate(waters)], list(found.values())


def _unknown(water: NightWater, outlier: Outlier) -> NightWater:
    reason = f"{outlier.lost_L:.0f} L were lost where like nights lose {outlier.usual_L:.0f} L"
    return dataclasses.replace(water, sprayed_away=None, spray_reasons=(*water.spray_reasons, reason))
