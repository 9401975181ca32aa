"""Codes that loggers write instead of a reading, told from true readings of the same size.

Some numbers are never readings (-9999). Others may be (a counter passes 9999, a hot roof reaches 85.0 °C): such a
number is a code only where the readings before and after do not lead up to it.
"""

from __future__ import annotations

import numpy as np

MISSING_TEXTS = frozenset(
    (
        "",
        "nan",
        "na",
        "n/a",
        "#n/a",
        "#na",
        "null",
        "none",
        "-",
        "--",
        "---",
        "----",
        "bad",
        "error",
        "err",
        "invalid",
        "fault",
        "no data",
        "nodata",
        "missing",
        "offline",
        "comm fail",
        "timeout",
        "over",
        "under",
        "overrange",
        "underrange",
        "ol",
        "inf",
        "-inf",
        "+inf",
        "1.#qnan",
        "-1.#ind",
        "1.#inf",
        "#value!",
        "#ref!",
        "#div/0!",
        "#num!",
        "#null!",
        "#name?",
        "?",
        "*",
        "***",
        "****",
        "....",
        "n.a.",
        "n. a.",
        "defekt",
        "fehler",
        "ungültig",
        "erreur",
        "errore",
        "fout",
    )
)
NEVER_READINGS = (
    -9999.0,
    -9999.9,
    -999.0,
    -999.9,
    -999.99,
    -9900.0,
    -99999.0,
    -6999.0,
    -7999.0,
    -32768.0,
    -3276.8,
    1e30,
    9.9e37,
    -1e30,
)
PERHAPS_READINGS = (999.9, 9999.0, 9999.9, 99999.0, 6999.0, 7999.0, 32767.0, 65535.0, 3276.7, 6553.5, 327.67, 655.35)
# Thermometers on a digital bus: the number after a restart, and the one of a broken wire.
THERMOMETER_NEVER = {"degC": (-127.0,), "degF": (-196.6,)}
THERMOMETER_PERHAPS = {"degC": (85.0,), "degF": (185.0,)}
STEPS_NEAR = 3.0  # a reading this many of the record's large steps away still leads up to a number
SHARE_NEAR = 0.02
THERMOMETER_NEAR = 5.0  # degrees; no wider, as a pump's start moves water temperatures by several


def codes_in(values: np.ndarray, temperature_unit: str = "") -> dict[float, np.ndarray]:
    """Where the numbers of a column are codes for missing.

    Parameters
    ----------
    values : ndarray, shape (n,)
        As in the file, in order; NaN where there is no number.
    temperature_unit : str
        "degC" or "degF" for thermometers, else "".

    Returns
    -------
    dict of float to ndarray of int
        Code -> its rows; codes that do not occur are left out.
    """
    never = (*NEVER_READINGS, *THERMOMETER_NEVER.get(temperature_unit, ()))
    perhaps = (*PERHAPS_READINGS, *THERMOMETER_PERHAPS.get(temperature_unit, ()))
    rows = np.flatnonzero(np.isin(values, never))
    suspects = np.flatnonzero(np.isin(values, perhaps))
    if len(suspects):
        rows = np.concatenate(
            (rows, suspects[_is_far(values, suspects, np.isin(values, never + perhaps), temperature_unit != "")])
        )
    return {float(code): np.sort(rows[values[rows] == code]) for code in np.unique(values[rows])}


def _is_far(values: np.ndarray, suspects: np.ndarray, is_suspect: np.ndarray, is_thermometer: bool) -> np.ndarray:
    """Whether neither the last reading before nor the first after lies near the suspect number."""
    true_rows = np.flatnonzero(np.isfinite(values) & ~is_suspect)
    if not len(true_rows):
        return np.ones(len(suspects), dtype=bool)
    steps = np.abs(np.diff(values[true_rows]))
    large = float(np.quantile(steps, 0.99)) if len(steps) else 0.0
    reach = min(STEPS_NEAR * large, THERMOMETER_NEAR) if is_thermometer else STEPS_NEAR * large
    near = np.maximum(reach, SHARE_NEAR * np.abs(values[suspects]))
    after = np.searchsorted(true_rows, suspects)
    is_far = np.ones(len(suspects), dtype=bool)
    for place, exists in ((after - 1, after > 0), (after, after < len(true_rows))):
        neighbour = values[true_rows[np.clip(place, 0, len(true_rows) - 1)]]
        is_far &= ~exists | (np.abs(neighbour - values[suspects]) > near)
    return is_far
