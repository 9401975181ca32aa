"""The rain column of an hourly weather file: used only when it can be believed.

Rain columns are the least cared-for part of such files. Some are filled with the code for missing, some hold tenths of
a millimetre under a header that says millimetres, some mix depths of one, three, six and twenty-four hours.
"""

from __future__ import annotations

import numpy as np

from sprayroof.evidence.gather import Gather
from sprayroof.evidence.weather_files.station import StationRecord

MOST_HOUR_MM = 130.0  # heavier hours happen, but not in a typical year of a place where roofs are audited for water
MOST_YEAR_MM = 6000.0
LEAST_YEAR_MM = 5.0  # a column that is nearly always zero was never filled in
MISSING_ALLOWED_FRAC = 0.05
UNITS = {"mm": 1.0, "0.1 mm": 0.1, "in": 25.4}


def rain_of_column(record: StationRecord, rain_unit: str | None, gather: Gather) -> tuple[np.ndarray, str]:
    """Rain per record, and what was used.

    Parameters
    ----------
    record : StationRecord
        As read; its `rain_mm` holds the column's own numbers.
    rain_unit : str or None
        As declared in the site file: "mm", "0.1 mm", "in", "none"; None where nothing is declared.
    gather : Gather
        Receives `weather.rain-missing`, `weather.rain-implausible`, `weather.rain-gaps`, or the problem of a
        declared unit that still gives impossible rain.

    Returns
    -------
    rain_mm : ndarray, shape (n,)
        Depth in each record, 0 where the column is not used [mm].
    used : str
        For `Weather.names["rain"]`.
    """
    dry = np.zeros(len(record))
    if rain_unit == "none":
        return dry, "none, as declared"
    raw = record.channel("rain_mm")
    known = np.isfinite(raw)
    if not known.any():
        _tell_missing(
            record,
            "no rain column" if "rain_mm" not in record.values else "a rain column of nothing but codes for missing",
            gather,
        )
        return dry, "none: the file carries no rain"
    if not known.all() and np.mean(~known) > MISSING_ALLOWED_FRAC:
        _tell_missing(record, f"a rain column of which {100 * np.mean(~known):.0f} % is missing", gather)
        return dry, "none: most of the file's rain is missing"
    rain = np.where(known, raw, 0.0) * UNITS[rain_unit or "mm"]
    doubt = _why_impossible(rain, record)
    if doubt == "flat" and rain_unit is None:
        _tell_missing(
            record, f"a rain column that is {rain[0]:g} nearly throughout ({rain.sum():.1f} mm a year)", gather
        )
        return dry, "none: the file's rain column was never filled in"
    if doubt and doubt != "flat":
        return dry, _tell_impossible(record, rain, doubt, rain_unit, gather)
    if not known.all():
        gather.finding(
            "weather.rain-gaps",
            f"The rain of {record.where} is missing in {int((~known).sum())} records; none was taken there.",
            record.where,
            {"records": int((~known).sum())},
            "Rain caught is understated a little.",
        )
    return rain, f"column of {record.where} in {rain_unit or 'mm'}"


def _why_impossible(rain: np.ndarray, record: StationRecord) -> str:
    """Why this cannot be rain in mm; "" if it can."""
    years = len(rain) * record.interval_s / (8760.0 * 3600.0)
    if rain.min() < 0.0:
        return f"a depth of {rain.min():g} mm, below zero"
    if record.rain_hours is not None:
        longer = (rain > 0.0) & (np.nan_to_num(record.rain_hours) > 1.0)
        if longer.any():
            return f"{int(longer.sum())} depths gathered over more than an hour, which overlap"
    if rain.max() > MOST_HOUR_MM:
        return f"{rain.max():g} mm in one hour (at {record.when(int(rain.argmax()))}) and {rain.sum():.0f} mm in all"
    if rain.sum() > MOST_YEAR_MM * max(years, 1.0):
        return f"{rain.sum() / max(years, 1.0):.0f} mm a year"
    if np.ptp(rain) == 0.0 or rain.sum() < LEAST_YEAR_MM * years:
        return "flat"
    return ""


def _tell_missing(record: StationRecord, found: str, gather: Gather) -> None:
    gather.finding(
        "weather.rain-missing",
        f"{record.where} has {found}, so rain is taken as none. Name a rain record with "
        '`rain = { file = ..., column = ..., unit = "mm", time_column = ..., kind = "daily" }` under [weather], '
        'or state `rain_unit = "none"` if no rain is wanted.',
        record.where,
        {"found": found},
        "Rain caught is zero and mains water is overstated.",
    )


def _tell_impossible(record: StationRecord, rain: np.ndarray, doubt: str, rain_unit: str | None, gather: Gather) -> str:
    if rain_unit is not None:
        gather.problem(
            f"{record.where}, rain",
            f"{doubt}, read in the declared unit {rain_unit}",
            f"at most {MOST_HOUR_MM:g} mm an hour and {MOST_YEAR_MM:g} mm a year, in depths of one hour",
            'correct `rain_unit` under [weather], or set it to "none" and name a rain record',
        )
        return "none"
    tenth = rain * 0.1
    hint = ""
    if not _why_impossible(tenth, record):
        hint = (
            f" Read in tenths of a millimetre the heaviest hour would be {tenth.max():.1f} mm and the year "
            f'{tenth.sum():.0f} mm: if that is right for the place, add `rain_unit = "0.1 mm"` under [weather].'
        )
    gather.finding(
        "weather.rain-implausible",
        f"The rain column of {record.where} cannot be read as millimetres an hour: {doubt}. It was not "
        f"used and rain is taken as none.{hint} Otherwise name a rain record with `rain = {{ ... }}` under [weather].",
        record.where,
        {"largest_mm": float(rain.max()), "sum_mm": float(rain.sum())},
        "Rain caught is zero and mains water is overstated.",
    )
    return "none: the file's rain column cannot be millimetres an hour"
