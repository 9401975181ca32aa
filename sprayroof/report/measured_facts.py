"""What the logs and tests of a site have measured already: so that nobody is told to measure it again."""

from __future__ import annotations

import re

from sprayroof.results import Audit

READ_SHARE = 0.5  # of the logged steps; below it a channel is too thin to stand for a measurement
# What measures an entry: beginnings of the entry -> channels that must all have been read.
MEASURED_BY: tuple[tuple[tuple[str, ...], frozenset[str]], ...] = (
    (("weather", "place"), frozenset({"air_C", "humidity_frac", "wind_m_s"})),
    (("rain", "mains", "use", "catchment"), frozenset({"makeup_L_min", "draw_L_min"})),
    (("roof", "model", "panels"), frozenset({"spray_L_min", "supply_C", "return_C"})),
    (("emitter", "load"), frozenset({"cooling_L_min"})),
    (("room",), frozenset({"room_C"})),
    (("air_conditioner",), frozenset({"ac_W"})),
)
METERED_LOSS = frozenset({"makeup_L_min", "store_m3"})  # these tell the water lost, not what became of it


def channels(audit: Audit) -> frozenset[str]:
    """Channels that were read for at least half of the logged time; numbered ones without their number."""
    return frozenset(
        re.sub(r"_[0-9]+$", "", str(row["channel"]))
        for row in audit.logged.get("coverage") or ()
        if (row.get("read_frac") or 0.0) >= READ_SHARE
    )


def tested(audit: Audit, kind: str) -> bool:
    """Whether a test of this kind was made on site and used."""
    return any(test.get("kind") == kind and test.get("used") for test in audit.logged.get("tests") or ())


def is_measured(audit: Audit, entry: str) -> bool:
    """Whether the logs or a test hold already what would be measured for an entry."""
    if entry.startswith("store.leak"):
        return tested(audit, "leak")
    if entry.startswith("spray.flow"):
        return "spray_L_min" in channels(audit)
    return any(entry.startswith(starts) and wanted <= channels(audit) for starts, wanted in MEASURED_BY)
