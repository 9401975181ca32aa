"""nights.csv: a row a night, full precision, SI units, ids as column names (RFC 4180, UTF-8)."""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path

from sprayroof.report.atomic import replacing
from sprayroof.report.text import neutral, visible
from sprayroof.results import Audit

FIRST_COLUMNS = (
    "date",
    "spray_hours_h",
    "sprayed_m3",
    "cooling_roof_kWh",
    "longwave_kWh",
    "convection_kWh",
    "evaporation_heat_kWh",
    "evaporation_m3",
    "drift_m3",
    "store_start_C",
    "store_end_C",
    "t_air_mean_C",
    "t_wetbulb_mean_C",
    "wind_mean_m_s",
    "rain_mm",
    "reason_off",
)


def night_columns(audit: Audit) -> list[str]:
    """The columns of the nights: the known ones in their order, then any others in the order they come."""
    present = list(dict.fromkeys(key for row in audit.nights for key in row))
    if not present:
        return list(FIRST_COLUMNS)
    return [key for key in FIRST_COLUMNS if key in present] + [key for key in present if key not in FIRST_COLUMNS]


def nights_text(audit: Audit) -> str:
    """The whole text of nights.csv, lines ended as RFC 4180 wants."""
    columns = night_columns(audit)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([_cell(column) for column in columns])
    writer.writerows([[_cell(row.get(column)) for column in columns] for row in audit.nights])
    return out.getvalue()


def _cell(value: object) -> str:
    """Numbers in full; what is not known is empty; texts cannot be taken for formulas."""
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(float(value))
    return neutral(visible(value, 32_000))


def write_nights_csv(audit: Audit, path: str | Path) -> Path:
    """Write the nights of `audit` to `path`, in one move; returns the path."""
    with replacing(path) as (temporary,):
        temporary.write_bytes(nights_text(audit).encode("utf-8"))
    return Path(path)
