"""Clocks of logs and the order of the pair: what is found, that the line proposed mends it, and that nothing is moved.

Heat by hand: 60 L/min from 21 to 5 are 28.8 m3 a night; 2 K of them are 66.8 kWh (a litre and kelvin: 4176.55 J).
"""

from __future__ import annotations

import dataclasses
import tomllib
from pathlib import Path

import make_data_pack as maker
import numpy as np
import pytest
from measured_makers import KWH_M3_K
from small_site import RECORD, small_site
from test_bad_logs import CASES, site_of
from test_quality import DAY, HOUR, codes, judged, record

from sprayroof.evidence.quality.lag_fits import Piece, agreeing, moved_fits, pieces_of
from sprayroof.evidence.read_logs import read_logs
from sprayroof.evidence.site import read_site, site_from_dict
from sprayroof.model.measured import measure
from sprayroof.model.measured_amounts import Amount, measured_value, months_no_better_than_b, no_better_than_b
from sprayroof.model.measured_open import names_at_stake, widened_by

FOLDER = CASES[0].parent
NIGHT_KWH = 28.8 * 2.0 * KWH_M3_K
CLOCKS = {"cross.clocks-apart", "cross.clock-hour", "cross.clocks-doubtful"}


def read(case: str):
    return read_logs(site_of(FOLDER / case))


def only(findings, code: str):
    (found,) = [finding for finding in findings if finding.code == code]
    return found


def mended(case: str, line: str):
    """The case with the line that a finding proposes written where it says."""
    entries = tomllib.loads((FOLDER / case / "entry.toml").read_text(encoding="utf-8"))
    assignment, _, place = line.partition(" at ")
    number = int(place.partition(",")[0].removeprefix("log.")) - 1
    entries["log"][number] |= tomllib.loads(assignment)
    return site_from_dict({**RECORD, **entries}, FOLDER / case)


# --- arithmetic ---------------------------------------------------------------------------------------------------


def test_fits_at_each_lag_are_the_correlations_of_an_independent_library():
    rng = np.random.default_rng(2)
    first, second = rng.normal(size=300), rng.normal(size=300)
    first[rng.integers(0, 300, 30)] = np.nan
    second[rng.integers(0, 300, 30)] = np.nan
    fits = moved_fits(first, second, 100, 200, 40)
    for lag in (-40, -7, 0, 1, 40):
        a, b = first[100:200], second[100 - lag : 200 - lag]
        both = np.isfinite(a) & np.isfinite(b)
        assert fits[40 + lag] == pytest.approx(np.corrcoef(a[both], b[both])[0, 1], abs=1e-9)


def test_a_record_that_comes_later_has_a_positive_lag():
    rng = np.random.default_rng(2)
    first = np.convolve(rng.normal(size=2000), np.ones(9), "same")
    late = np.concatenate([np.full(6, np.nan), first[:-6]])
    assert moved_fits(late, first, 0, 2000, 30).argmax() - 30 == 6
    assert moved_fits(np.ones(2000), first, 0, 2000, 30) is None


def test_a_lag_that_changes_is_cut_where_it_does_and_a_constant_one_is_not():
    def peak(lag):
        return np.maximum(1.0 - 0.05 * np.abs(np.arange(-20, 21) - lag), 0.0)

    constant = np.array([peak(4)] * 10)
    changed = np.array([peak(0)] * 6 + [peak(12)] * 4)
    assert pieces_of(constant, 0.5, 0.1, 3) == [Piece(0, 10, 4)]
    assert pieces_of(changed, 0.5, 0.1, 3) == [Piece(0, 6, 0), Piece(6, 10, 12)]
    odd = constant.copy()
    odd[5] = peak(15)
    assert pieces_of(odd, 0.5, 0.1, 3) == [Piece(0, 10, 4)], "one window is no change"
    assert agreeing(odd, Piece(0, 10, 4), 2) == 0.9
    assert pieces_of(0.2 * constant, 0.5, 0.1, 3) == [], "what fits nowhere tells nothing"


# --- clocks between files -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("case", "code", "lag_min"), [
    ("clock-an-hour-late-between-files", "cross.clocks-apart", 60.0),
    ("clock-set-an-hour-on-between-files", "cross.clock-hour", 60.0),
    ("water-meters-on-another-clock", "cross.clocks-apart", -300.0),
])
def test_a_lag_between_files_is_told_and_the_proposed_line_ends_it(case, code, lag_min):
    found = only(read(case).findings, code)
    assert found.data["lag_min"] == pytest.approx(lag_min, abs=5.0)
    again = read_logs(mended(case, found.data["line"]))
    assert not CLOCKS & codes(again.findings)


@pytest.mark.parametrize("case", ["clock-an-hour-late-between-files", "clock-set-an-hour-on-between-files"])
def test_nothing_is_moved_and_the_range_holds_the_truth_until_the_clock_is_settled(case):
    site, logs = site_of(FOLDER / case), read(case)
    total = measure(site, logs).totals["cooling_pipe_kWh"]
    true = total.nights * NIGHT_KWH
    assert total.value < 0.97 * true, "read as declared"
    assert total.low < true < total.high
    assert total.grade not in "AB"
    site = mended(case, next(one for one in logs.findings if one.code in CLOCKS).data["line"])
    total = measure(site, read_logs(site)).totals["cooling_pipe_kWh"]
    assert total.value == pytest.approx(total.nights * NIGHT_KWH, rel=0.01)


def test_two_files_of_the_same_clock_are_left_alone():
    site, logs = site_of(FOLDER / "clock-right-between-files"), read("clock-right-between-files")
    total = measure(site, logs).totals["cooling_pipe_kWh"]
    assert total.value == pytest.approx(total.nights * NIGHT_KWH, rel=0.01)


def moved(column: str, steps: int):
    """An invented record of three weeks with a column that comes some steps late; each column a log of its own."""
    table, _ = record()
    table[column] = np.roll(table[column].to_numpy(), steps)
    return judged(table)[1]


@pytest.mark.parametrize(("column", "steps", "code"), [
    ("return_C", 12, "cross.clocks-apart"), ("return_C", -4, "cross.clocks-apart"), ("spray_L_min", 4,
                                                                                    "cross.clocks-apart"),
    ("return_C", 4, "cross.clocks-doubtful"), ("store_C", 14, "cross.clocks-doubtful")])
def test_clear_lags_are_told_and_what_the_water_s_way_may_be_is_a_doubt(column, steps, code):
    found = only(moved(column, steps), code)
    assert abs(found.data["lag_min"]) == pytest.approx(abs(steps) * 5.0, abs=10.0)


@pytest.mark.parametrize(("column", "steps"), [("return_C", 2), ("spray_L_min", 1), ("store_C", 6)])
def test_what_the_water_needs_on_its_way_is_no_clock(column, steps):
    assert not CLOCKS & codes(moved(column, steps))


def test_an_hour_lost_for_a_few_nights_only_is_seen():
    table, _ = record()
    lost = slice(9 * DAY + 12 * HOUR, 13 * DAY + 12 * HOUR)
    values = table["return_C"].to_numpy(copy=True)
    values[lost] = np.roll(values, HOUR)[lost]
    table["return_C"] = values
    found = only(judged(table)[1], "cross.clock-hour")
    assert [lag for _, lag in found.data["late_min"]] == [0.0, 60.0, 0.0]


@pytest.fixture(scope="module")
def pack_changed(tmp_path_factory):
    """The sample site with entries of its site file replaced."""
    import shutil

    def changed(*changes: tuple[str, str]):
        folder = tmp_path_factory.mktemp("bindery") / "site"
        shutil.copytree(maker.FOLDER, folder)
        text = (folder / "site.toml").read_text(encoding="utf-8")
        for old, new in changes:
            assert text.count(old) == 1
            text = text.replace(old, new)
        Path(folder / "site.toml").write_text(text, encoding="utf-8")
        site = read_site(folder)
        return site, read_logs(site)

    return changed


METERS = ('clock_column = "Clock"\ntime_zone = "Etc/GMT+5"', 'clock_column = "Clock"\ntime_zone = "UTC"')


def test_the_sample_site_has_no_lag_and_its_meters_declared_utc_have_one(pack_changed):
    """13.0 m3 of spray loss are read as 8.2: the finding names the true zone, and the grade falls."""
    site, sound = pack_changed()
    assert not CLOCKS & codes(sound.findings)
    right = measure(site, sound).totals["spray_loss_m3"]
    site, logs = pack_changed(METERS)
    found = only(logs.findings, "cross.clocks-apart")
    assert found.data["line"] == 'time_zone = "Etc/GMT+5" at log.4, in place of "UTC"'
    assert found.data["lag_min"] == -300.0
    total = measure(site, logs).totals["spray_loss_m3"]
    assert total.grade in "CD"
    assert total.high > 0.95 * right.value > total.value


def test_controls_left_on_standard_time_are_found_by_their_changes(pack_changed):
    """Declared so though the clock went with daylight saving: an hour off until 2 November, right from then on."""
    _, logs = pack_changed(('time_zone = "America/New_York"\nstamp', 'time_zone = "Etc/GMT+5"\nstamp'))
    found = only(logs.findings, "cross.clock-hour")
    assert [lag for _, lag in found.data["late_min"]] == [60.0, 0.0]
    assert found.data["line"].startswith('time_zone = "America/New_York" at log.2')


# --- the order of the pair ----------------------------------------------------------------------------------------


def test_an_exchanged_pair_is_proposed_without_a_store_and_its_range_holds_both_signs():
    case = "pair-exchanged-without-a-store"
    found = only(read(case).findings, "cross.pair-swapped")
    assert 'column = "T return" at log.1.columns.supply_temperature' in found.effect
    total = measure(site_of(FOLDER / case), read(case)).totals["cooling_pipe_kWh"]
    assert total.value == pytest.approx(-total.nights * NIGHT_KWH, rel=0.01), "never exchanged unasked"
    assert total.low < -total.value < total.high
    assert total.grade == "D"


def test_water_warmer_than_the_air_that_seems_to_be_warmed_means_an_exchanged_pair():
    found = only(read("pair-exchanged-in-colder-air").findings, "cross.pair-swapped")
    assert "both are warmer than the air" in found.message


def test_nights_that_truly_warm_the_water_survive():
    case = "nights-that-truly-warm-the-water"
    total = measure(site_of(FOLDER / case), read(case)).totals["cooling_pipe_kWh"]
    assert total.value == pytest.approx(-0.5 * total.nights * NIGHT_KWH, rel=0.01)
    assert total.high < 0.0, "one sign, not both"


def without_store(swapped: bool):
    table, on = record()
    table = table.drop(columns=["store_C", "air_C", "humidity_frac"])
    if swapped:
        table[["supply_C", "return_C"]] = table[["return_C", "supply_C"]].to_numpy()
    return table, on


def test_a_hot_deck_at_the_start_tells_the_return_from_the_supply():
    for swapped, wanted in ((False, set()), (True, {"cross.pair-swapped"})):
        table, on = without_store(swapped)
        roof = "supply_C" if swapped else "return_C"
        starts = np.flatnonzero(np.diff(on.astype(int)) == 1) + 1
        # the store's pipe stands in a warm plant room: what it steps by says nothing
        table.loc[~on, "return_C" if swapped else "supply_C"] += 8.0
        for step in range(6):
            table.iloc[starts + step, table.columns.get_loc(roof)] += 6.0 - step
        assert codes(judged(table)[1]) == wanted


def test_mostly_negative_nights_that_nothing_explains_are_asked_about():
    """Both sensors answer the start alike, and no air is logged."""
    table, on = without_store(False)
    table["return_C"] = table["supply_C"] + np.where(on, 0.2, 0.0)
    assert codes(judged(table)[1]) == {"cross.pair-unconfirmed"}


def test_a_warm_room_under_a_thin_deck_may_warm_the_water_in_colder_air():
    """6 W/(m2 K) and a hall 20 K warmer bring more than air 2 K colder takes for sure."""
    from sprayroof.evidence.gather import Gather
    from sprayroof.evidence.quality.masks import judge

    table, on = record()
    table = table.drop(columns=["store_C", "humidity_frac"])
    table["supply_C"] = 18.0 + 0.02 * np.random.default_rng(1).normal(size=len(table))
    table["return_C"] = table["supply_C"] + np.where(on, 0.2, 0.0)
    table["air_C"] = 15.5 + 0.2 * np.random.default_rng(2).normal(size=len(table))
    found = {}
    for deck_u, hall_C in ((0.5, 20.0), (6.0, 38.0)):
        gather = Gather()
        roof = {"name": "long roof", "area": 400, "deck_u": {"value": deck_u, "low": deck_u, "high": deck_u},
                "beneath_temperature": {"value": hall_C, "low": hall_C, "high": hall_C}}
        judge(table, 300, small_site(roof=[roof]), {}, gather, None)
        found[deck_u] = codes(gather.findings)
    assert "cross.pair-swapped" in found[0.5]
    assert "cross.pair-swapped" not in found[6.0]


def test_a_pair_at_wrong_times_is_not_judged():
    """The return an hour late, and warmer than the supply as it stands: told as a clock, not as an exchanged pair."""
    table, on = without_store(False)
    table["return_C"] = np.roll(np.where(on, table["supply_C"] + 2.0, table["supply_C"]), HOUR)
    table["supply_C"] -= np.where(on, 2.5, 0.0)
    assert "cross.pair-swapped" in codes(judged(table.assign(return_C=np.roll(table["return_C"], -HOUR)))[1])
    assert codes(judged(table)[1]) == {"cross.clocks-apart"}


def test_no_quantity_that_an_open_doubt_could_change_is_graded_a():
    """100 +- 1 is an A; half a kWh of doubt leaves it within 10 % and takes the A; what it cannot change stays."""
    own = [{"cooling_pipe_kWh": Amount(100.0, {}, 1.0), "sprayed_m3": Amount(10.0, {}, 0.1)}]
    other = [{"cooling_pipe_kWh": Amount(100.5, {}, 1.0), "sprayed_m3": Amount(10.0, {}, 0.1)}]
    nights = widened_by(own, [("a clock", other)])
    assert nights[0]["cooling_pipe_kWh"].half_width == pytest.approx(np.hypot(1.0, 0.5))
    totals = {name: measured_value(amount, 1) for name, amount in nights[0].items()}
    months = [{"month": "2026-06", "nights": 1, **{name: dataclasses.asdict(total) for name, total in totals.items()}}]
    at_stake = names_at_stake(nights, ["a clock"])
    rows, held = months_no_better_than_b(months, at_stake), no_better_than_b(totals, at_stake)
    assert totals["cooling_pipe_kWh"].grade == "A"
    assert {name: value.grade for name, value in held.items()} == {"cooling_pipe_kWh": "B", "sprayed_m3": "A"}
    assert (rows[0]["cooling_pipe_kWh"]["grade"], rows[0]["sprayed_m3"]["grade"]) == ("B", "A")


# --- pipes as they are --------------------------------------------------------------------------------------------


def pipes(way_min: int, in_turns: bool, late_min: int, stands_min: float = 120.0):
    """Flow and return of twelve nights in minutes, as means of five: air in the pipe between, a warm first water."""
    rng = np.random.default_rng(way_min)
    minute = np.arange(12 * 1440)
    hour, day = minute / 60.0 % 24.0, minute // 1440
    begins, ends = 21.0 + rng.uniform(-1.0, 1.0, 13), 5.0 + rng.uniform(-1.5, 1.5, 13)
    on = (hour >= begins[day]) | (hour < ends[day])
    if in_turns:
        on &= minute % 60 < 35
    wet = np.concatenate([np.zeros(way_min, dtype=bool), on])[: len(on)]
    standing = 21.0 + 3.0 * np.sin((hour - 10.0) / 24.0 * 2.0 * np.pi)
    warm = wet & ~np.concatenate([np.zeros(15, dtype=bool), wet])[: len(wet)]
    value, back = 20.0, np.empty(len(on))
    for at in range(len(on)):
        value += (17.0 + 2.0 * warm[at] - value) / 2.0 if wet[at] else (standing[at] - value) / stands_min
        back[at] = value
    table, _ = record(days=12)
    table = table[["spray_L_min"]].copy()
    table["spray_L_min"] = 60.0 * on.reshape(-1, 5).mean(axis=1)
    table["return_C"] = np.roll(back.reshape(-1, 5).mean(axis=1) + rng.normal(0.0, 0.05, len(table)), late_min // 5)
    return judged(table)[1]


@pytest.mark.parametrize("in_turns", [False, True])
@pytest.mark.parametrize("way_min", [2, 9, 20])
def test_pipes_that_stand_and_drain_are_no_clock_and_an_hour_is(way_min, in_turns):
    assert not CLOCKS & codes(pipes(way_min, in_turns, 0))
    found = only(pipes(way_min, in_turns, 60), "cross.clocks-apart")
    assert found.data["lag_min"] == pytest.approx(60.0, abs=10.0)
