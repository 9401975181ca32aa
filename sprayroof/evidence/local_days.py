"""Calendar days of a place and the times at which they begin."""

from __future__ import annotations

import numpy as np

DAY_NS = 86400 * 10**9


def day_starts_ns(days: np.ndarray, zone: str) -> np.ndarray:
    """Beginning of local days in UTC.

    Parameters
    ----------
    days : ndarray of datetime64[D], shape (n,)
    zone : str
        IANA name.

    Returns
    -------
    ndarray of int64, shape (n,)
        Nanoseconds since 1970; where the clock leaves midnight out, the first time that it shows.
    """
    import pandas as pd

    clock = pd.DatetimeIndex(days.astype("datetime64[ns]"))
    local = clock.tz_localize(zone, ambiguous=np.ones(len(clock), dtype=bool), nonexistent="shift_forward")
    return np.array(local.tz_convert("UTC").as_unit("ns").asi8)


def local_clock_ns(times_ns: np.ndarray, zone: str) -> np.ndarray:
    """What the clock of a place shows at times in UTC, both in nanoseconds since 1970."""
    import pandas as pd

    local = pd.DatetimeIndex(np.asarray(times_ns).view("M8[ns]"), tz="UTC").tz_convert(zone).tz_localize(None)
    return np.array(local.as_unit("ns").asi8)


def local_days(times_ns: np.ndarray, zone: str) -> np.ndarray:
    """The local day, datetime64[D], of times in UTC [ns since 1970]."""
    return (local_clock_ns(times_ns, zone) // DAY_NS).astype("datetime64[D]")
