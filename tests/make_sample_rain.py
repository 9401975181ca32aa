"""Writes the invented rain record of the sample site Pelican Row Library: python tests/make_sample_rain.py.

A first-order chain of wet and dry days with exponential depths, wetter from June to October; no place's record.
"""

from __future__ import annotations

import csv
import datetime
from pathlib import Path

import numpy as np

TARGET = Path(__file__).parent.parent / "sample_sites" / "pelican_row_library" / "logs" / "rain.csv"
YEAR = 2025
WET_AFTER_DRY = (0.12, 0.12, 0.13, 0.14, 0.25, 0.38, 0.36, 0.38, 0.40, 0.28, 0.16, 0.12)
WET_AFTER_WET = (0.35, 0.35, 0.35, 0.38, 0.52, 0.64, 0.60, 0.62, 0.64, 0.52, 0.40, 0.35)
MEAN_DEPTH_MM = (8.0, 8.0, 9.0, 10.0, 13.0, 15.0, 11.0, 12.0, 13.0, 13.0, 10.0, 8.0)


def rain_rows(seed: int = 20250101) -> list[tuple[str, float]]:
    """Date and depth [mm] of every day of the invented year."""
    random = np.random.default_rng(seed)
    rows, wet, day = [], False, datetime.date(YEAR, 1, 1)
    while day.year == YEAR:
        chance = (WET_AFTER_WET if wet else WET_AFTER_DRY)[day.month - 1]
        wet = bool(random.random() < chance)
        depth = max(0.2, random.exponential(MEAN_DEPTH_MM[day.month - 1])) if wet else 0.0
        rows.append((day.isoformat(), round(float(depth), 1)))
        day += datetime.timedelta(days=1)
    return rows


def main() -> None:
    """Write the file."""
    with TARGET.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("date", "rain"))
        writer.writerows(rain_rows())


if __name__ == "__main__":
    main()
