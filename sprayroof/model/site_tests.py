"""What the tests made on site say and change.

Calibrations, dips, draw-downs and pair tests correct the readings where the logs are read; here they are told, and held
against the corrected logs once more. Leak tests, closed nights, tracers and the hold-up are used by the water ledger.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from sprayroof.catalogue import FINDINGS
from sprayroof.evidence.quality.night_rule import AT_A_TIME_S
from sprayroof.evidence.site_file.channel_table import channel_of, column_of
from sprayroof.model.measured_amounts import Amount
from sprayroof.model.measured_readings import SECOND_ns, moment_ns
from sprayroof.results import Finding

if TYPE_CHECKING:
    from sprayroof.evidence.logs import Logs
    from sprayroof.evidence.site import Site
    from sprayroof.evidence.site_file.logged import Test

BESIDE_ns = 300 * SECOND_ns  # a pump is started and stopped by hand around the noted times
# 90 % half-widths of results whose accuracy is not stated; common practice, no source
LEAK_FRAC, CLOSED_FRAC, TRACER_FRAC, HOLD_UP_FRAC, SPOT_FRAC, GAUGE_FRAC = 0.15, 0.05, 0.02, 0.3, 0.1, 0.05
LEFT_OVER_HALVES = 2.0  # corrected readings may miss a test by so many of their half-widths


@dataclass(frozen=True)
class Lost:
    """Water lost over a span with inlets and users shut [L]."""

    from_ns: int
    to_ns: int
    litres: Amount
    entry: str


@dataclass(frozen=True)
class Tracer:
    """Salts at the start and end of a span [mg/L], and the 90 % half-width of the logarithm of their ratio."""

    from_ns: int
    to_ns: int
    start_mg_L: float
    end_mg_L: float
    half_of_log: float
    entry: str


@dataclass
class SiteTests:
    """The tests of a site.

    Parameters
    ----------
    outcomes : list of dict
        A row a test: entry, kind, from, to, channel, found and changed (in words), value, half_width, unit, used.
    aside : list of (int, int)
        Times [UTC ns] in which the pump ran for a test and sprayed nothing.
    drawn, leaks, closed : list of Lost
        Pumped away in draw-downs; lost while nothing sprayed; lost over a night of spraying.
    tracers : list of Tracer
    hold_up_L : Amount or None
        Water that is on the roof while it sprays and runs back after.
    gauges : list of Amount
        Rain read by hand over rain by the gauge.
    findings : list of Finding
    """

    outcomes: list[dict[str, Any]] = field(default_factory=list)
    aside: list[tuple[int, int]] = field(default_factory=list)
    drawn: list[Lost] = field(default_factory=list)
    leaks: list[Lost] = field(default_factory=list)
    closed: list[Lost] = field(default_factory=list)
    tracers: list[Tracer] = field(default_factory=list)
    hold_up_L: Amount | None = None
    gauges: list[Amount] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)


@dataclass(frozen=True)
class Bench:
    """A test beside the logs of its time."""

    test: Test
    entry: str
    site: Site
    logs: Logs
    found: SiteTests

    @property
    def from_ns(self) -> int:
        """Start [UTC ns]."""
        return moment_ns(self.test.from_time, self.site.place.time_zone)

    @property
    def to_ns(self) -> int:
        """End [UTC ns]; the start where it is a moment."""
        return moment_ns(self.test.to_time or self.test.from_time, self.site.place.time_zone)

    def during(self, column: str, from_ns: int | None = None, to_ns: int | None = None) -> np.ndarray:
        """Readings of steps that lie in a span; of the test unless told."""
        if column not in self.logs.table:
            return np.empty(0)
        starts_ns = self.logs.table.index.as_unit("ns").asi8
        step_ns = self.logs.step_s * SECOND_ns
        low, high = self.from_ns if from_ns is None else from_ns, self.to_ns if to_ns is None else to_ns
        inside = (starts_ns >= low - step_ns // 2) & (starts_ns + step_ns <= high + step_ns // 2)
        return self.logs.table[column].to_numpy(dtype=float)[inside]

    def at(self, column: str, time_ns: int) -> float | None:
        """Mean of a channel near a time; None where the log has none."""
        beside = round(AT_A_TIME_S) * SECOND_ns
        values = self.during(column, time_ns - beside, time_ns + beside)
        known = values[np.isfinite(values)]
        return float(known.mean()) if len(known) else None

    def tell(self, found: str, changed: str, value: float | None = None, half_width: float | None = None,
             unit: str = "", channel: str = "") -> None:
        """Record what a test found and changed."""
        self._row(found, changed, value, half_width, unit, channel, True)

    def cannot(self, why: str) -> None:
        """Record that a test is of no use, and why."""
        self._row(why, "nothing", None, None, "", "", False)
        self.finding("test.unused", f"The {self.test.kind} test ({self.entry}) changes nothing: {why}.",
                  "The result is as if the test had not been made.")

    def finding(self, code: str, message: str, effect: str, **data: Any) -> None:
        """Add a finding about the test."""
        self.found.findings.append(Finding(code, FINDINGS[code].level, message, self.entry, data, effect))

    def _row(self, found: str, changed: str, value: float | None, half_width: float | None, unit: str, channel: str,
             used: bool) -> None:
        test = self.test
        self.found.outcomes.append({
            "entry": self.entry, "kind": test.kind, "from": test.from_time.isoformat(" ", "minutes"),
            "to": "" if test.to_time is None else test.to_time.isoformat(" ", "minutes"),
            "channel": channel or test.channel or "", "found": found, "changed": changed, "value": value,
            "half_width": half_width, "unit": unit, "used": used})


def read_site_tests(site: Site, logs: Logs) -> SiteTests:
    """All tests of a site, held against its logs.

    Parameters
    ----------
    site : Site
    logs : Logs
        As read, corrected by the tests that correct readings.
    """
    found = SiteTests()
    for number, test in enumerate(site.test, start=1):
        _READERS[test.kind](Bench(test, f"test.{number}", site, logs, found))
    return found


def _pair(bench: Bench) -> None:
    bench.found.aside.append((bench.from_ns - BESIDE_ns, bench.to_ns + BESIDE_ns))
    settled_ns = bench.from_ns + min(600 * SECOND_ns, (bench.to_ns - bench.from_ns) // 4)
    both = bench.logs.has("return_C", "supply_C")
    apart = bench.during("return_C", settled_ns) - bench.during("supply_C", settled_ns) if both else np.empty(0)
    apart = apart[np.isfinite(apart)]
    if not len(apart):
        return bench.cannot("the log holds no supply and return temperature at that time")
    left_K = float(np.median(apart))
    supply, back = (bench.logs.instruments[column] for column in ("supply_C", "return_C"))
    raw_K = left_K - back.added + supply.added
    tied = back if back.tied_to else supply
    half_K = tied.offset if tied.tied_to else float(np.hypot(supply.offset, back.offset))
    bench.tell(f"return read {raw_K:+.2f} K beside supply in the same water", f"{-raw_K:+.2f} K on their difference",
               raw_K, half_K, "K", "return_temperature")
    if abs(left_K) > LEFT_OVER_HALVES * max(half_K, 0.02):
        bench.finding("test.left-over", f"In the pair test ({bench.entry}) corrected return and supply still lie "
                   f"{left_K:+.2f} K apart.", "Heat by pipe is off by that difference at the logged flow.",
                   left_K=left_K)
    return None


def _draw_down(bench: Bench) -> None:
    column = _column(bench) or "spray_L_min"
    if column == "spray_L_min":
        bench.found.aside.append((bench.from_ns - BESIDE_ns, bench.to_ns + BESIDE_ns))
    if bench.test.volume_m3 is None:
        return bench.cannot("its volume is not stated")
    litres = 1000.0 * bench.test.volume_m3
    half = 0.02 if bench.test.accuracy_frac is None else bench.test.accuracy_frac
    if column == "spray_L_min":
        bench.found.drawn.append(Lost(bench.from_ns, bench.to_ns,
                                      Amount(litres, {bench.entry: litres * half}), bench.entry))
    flow = bench.during(column)
    if not np.isfinite(flow).any():
        return bench.cannot("the log holds no flow at that time")
    counted = float(np.nanmean(flow)) * (bench.to_ns - bench.from_ns) / (60.0 * SECOND_ns)
    raw = counted / bench.logs.instruments[column].multiplied
    factor = litres / raw if raw > 0.0 else float("nan")
    if not np.isfinite(factor):
        return bench.cannot("the meter counted nothing at that time")
    bench.tell(f"the meter counted {raw:.0f} L of {litres:.0f} L", f"its readings times {factor:.4f}", factor, half,
               "1", "spray_flow")
    if abs(counted / litres - 1.0) > LEFT_OVER_HALVES * max(half, 0.01):
        bench.finding("test.left-over", f"In the draw-down ({bench.entry}) the corrected meter still counts "
                   f"{counted / litres - 1.0:+.1%}.", "Litres sprayed and heat by pipe are off by that share.",
                   left_frac=counted / litres - 1.0)
    return None


def _dip(bench: Bench) -> None:
    level = bench.at("store_m3", bench.from_ns)
    if bench.test.volume_m3 is None or level is None:
        return _calibration(bench)
    instrument = bench.logs.instruments["store_m3"]
    error = level - instrument.added - bench.test.volume_m3
    return bench.tell(f"the level read {error:+.2f} m3 beside the dip of {bench.test.volume_m3:.2f} m3",
                      f"contents by {instrument.added:+.2f} m3 on average", error, instrument.offset, "m3", "level")


def _calibration(bench: Bench) -> None:
    column = _column(bench)
    if column is None or column not in bench.logs.instruments:
        return bench.cannot("its channel is not in the logs")
    said, true, instrument = bench.test.reading, bench.test.reference, bench.logs.instruments[column]
    changed = (f"readings times {instrument.multiplied:.4f}" if instrument.multiplied != 1.0
               else f"readings by {instrument.added:+.3g} on average")
    unit = channel_of(bench.test.channel or "level")[0].unit
    found = "no reading or reference was noted" if said is None or true is None else (
        f"the instrument said {said:g} where it was {true:g}")
    return bench.tell(found, changed, None if said is None or true is None else said - true, instrument.offset, unit)


def _column(bench: Bench) -> str | None:
    name = bench.test.channel or ("level" if bench.test.kind == "dip" else None)
    return column_of(name) if name and channel_of(name) else None


def _leak(bench: Bench) -> None:
    lost = _lost(bench, LEAK_FRAC)
    if lost is None:
        return
    hours = (lost.to_ns - lost.from_ns) / (3600.0 * SECOND_ns)
    if float(np.nansum(bench.during("spray_L_min"))) > 0.0 or float(np.nansum(bench.during("spray_on_frac"))) > 0.0:
        bench.cannot("it sprayed in that time, by the logs")
    elif float(np.nansum(bench.during("rain_mm"))) > 0.5:
        bench.cannot("it rained in that time, by the logs")
    else:
        bench.found.leaks.append(lost)
        bench.tell(f"{lost.litres.value:.0f} L lost in {hours:.0f} h", "leaks are taken off the water lost by spraying",
                   24.0 * lost.litres.value / hours, 24.0 * lost.litres.half_width / hours, "L/day", "level")


def _closed_night(bench: Bench) -> None:
    lost = _lost(bench, CLOSED_FRAC)
    if lost is not None:
        bench.found.closed.append(lost)
        bench.tell(f"{lost.litres.value:.0f} L lost over the night, leaks included", "held against the ledger's water",
                   lost.litres.value, lost.litres.half_width, "L", "level")


def _lost(bench: Bench, usual_frac: float) -> Lost | None:
    """Water lost over the span of a test, as stated or by the level; None, told, where neither says."""
    if bench.to_ns <= bench.from_ns:
        bench.cannot("its end is not stated")
        return None
    start, end = (bench.at("store_m3", time_ns) for time_ns in (bench.from_ns, bench.to_ns))
    if bench.test.volume_m3 is not None:
        litres = 1000.0 * bench.test.volume_m3
        half = litres * (usual_frac if bench.test.accuracy_frac is None else bench.test.accuracy_frac)
    elif start is not None and end is not None:
        litres, instrument = 1000.0 * (start - end), bench.logs.instruments["store_m3"]
        half = float(np.hypot(abs(litres) * instrument.gain, 1000.0 * instrument.resolution))
        half = max(half, abs(litres) * (usual_frac if bench.test.accuracy_frac is None else bench.test.accuracy_frac))
    else:
        bench.cannot("no volume is stated and the level is not known at both ends")
        return None
    return Lost(bench.from_ns, bench.to_ns, Amount(litres, {bench.entry: half}), bench.entry)


def _tracer(bench: Bench) -> None:
    start, end = bench.test.salts_from_mg_L, bench.test.salts_to_mg_L
    if start is None or end is None:
        # conductivity stands in: it goes with the salts
        start, end = (bench.at("conductivity_uS_cm", time_ns) for time_ns in (bench.from_ns, bench.to_ns))
    if not start or not end or bench.to_ns <= bench.from_ns:
        return bench.cannot("salts or conductivity are not known at both ends")
    each = TRACER_FRAC if bench.test.accuracy_frac is None else bench.test.accuracy_frac
    half = float(np.hypot(each, each))
    bench.found.tracers.append(Tracer(bench.from_ns, bench.to_ns, start, end, half, bench.entry))
    return bench.tell(f"salts went from {start:g} to {end:g}", "evaporation is told apart from drift",
                      end / start - 1.0, half, "1", "conductivity")


def _hold_up(bench: Bench) -> None:
    if bench.test.volume_m3 is None:
        return bench.cannot("its volume is not stated")
    litres = 1000.0 * bench.test.volume_m3
    half = litres * (HOLD_UP_FRAC if bench.test.accuracy_frac is None else bench.test.accuracy_frac)
    bench.found.hold_up_L = Amount(litres, {bench.entry: half})
    return bench.tell(f"{litres:.0f} L ran back after a stop", "nothing: levels are taken 60 min after stopping",
                      litres, half, "L", "level")


def _rain_event(bench: Bench) -> None:
    gauge_mm = bench.during("rain_mm", bench.from_ns, bench.to_ns + 3600 * SECOND_ns)
    if bench.test.rain_mm is None or not np.isfinite(gauge_mm).any() or np.nansum(gauge_mm) <= 0.0:
        return bench.cannot("its rain is not stated, or the log holds none at that time")
    ratio = bench.test.rain_mm / float(np.nansum(gauge_mm))
    half = ratio * (GAUGE_FRAC if bench.test.accuracy_frac is None else bench.test.accuracy_frac)
    bench.found.gauges.append(Amount(ratio, {bench.entry: half}))
    return bench.tell(f"{bench.test.rain_mm:g} mm by hand, {float(np.nansum(gauge_mm)):.1f} mm by the gauge",
                      f"rain by the gauge times {ratio:.3f} where the level does not tell it", ratio, half, "1", "rain")


def _spot(bench: Bench) -> None:
    if not bench.test.cooling_kW or not bench.test.power_kW:
        return bench.cannot("cooling or power is not stated")
    ratio = bench.test.cooling_kW / bench.test.power_kW
    half = ratio * (SPOT_FRAC if bench.test.accuracy_frac is None else bench.test.accuracy_frac)
    logged_kW = _running_kW(bench)
    beside = "" if logged_kW is None else f"; the log says {logged_kW:.2f} kW beside {bench.test.power_kW:g} kW"
    bench.tell(f"{ratio:.2f} kWh of cooling per kWh of electricity at that time{beside}",
               "nothing measured; it bears on the electricity avoided", ratio, half, "kWh/kWh", "ac_power")
    left_frac = 0.0 if logged_kW is None else logged_kW / bench.test.power_kW - 1.0
    if abs(left_frac) > LEFT_OVER_HALVES * half / ratio:
        bench.finding("test.left-over", f"In the spot test ({bench.entry}) the air conditioner took "
                      f"{bench.test.power_kW:g} kW, by its log {logged_kW:.2f} kW ({left_frac:+.0%}).",
                      "Its electricity by the log, and what switching nights on and off changes of it, is off by that "
                      "share, unless the meter sees another machine than the test.", left_frac=left_frac)
    return None


def _running_kW(bench: Bench) -> float | None:
    """Power of the air conditioner by its meters while it ran in the test; None where the logs do not say."""
    columns = [column for column in bench.logs.table if column == "ac_W" or column.rpartition("_")[0] == "ac_W"]
    if not columns:
        return None
    values = np.sum([bench.during(column) for column in columns], axis=0)
    values = values[np.isfinite(values) & (values > 0.0)]
    return float(np.median(values[values >= np.median(values)])) / 1000.0 if len(values) else None


def _clock(bench: Bench) -> None:
    return bench.tell("a clock was checked", "nothing here; clock_checks of the log correct its times")


_READERS: dict[str, Callable[[Bench], None]] = {
    "pair": _pair, "draw down": _draw_down, "leak": _leak, "closed night": _closed_night, "dip": _dip, "clock": _clock,
    "tracer": _tracer, "rain event": _rain_event, "spot efficiency": _spot, "calibration": _calibration,
    "hold-up": _hold_up,
}
