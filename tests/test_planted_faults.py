"""Every fault planted in the data pack, one by one, held against what the reading of its logs found.

The list of faults is `planted` of data_pack_truth.json, in the times that each file writes. Here they are put on UTC by
the truth alone: the roof logger's clock by its planted error, the other files by the clock that its maker states.
"""

from __future__ import annotations

import datetime
import json
import zoneinfo
from collections import Counter

import make_data_pack as maker
import numpy as np
import pandas as pd
import pytest

from sprayroof.evidence.bills import read_bills
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.read_logs import read_logs
from sprayroof.evidence.site import read_site
from sprayroof.evidence.steps import runs

TRUTH = json.loads(maker.TRUTH_FILE.read_text(encoding="utf-8"))
PLANTED = TRUTH["planted"]
CHANNEL = {"T supply": "supply_C", "T return": "return_C", "T air": "air_C", "Level": "store_m3", "Wind": "wind_m_s",
           "T store mid": "store_C_2", "Flow": "spray_L_min", "RH": "humidity_frac",
           "Workshop Temp (degF)": "room_C"}
MINUTE = pd.Timedelta(minutes=1)
LOGGER_H = 5.0  # the roof logger is left on Eastern standard time
STARTS = pd.Timestamp("2025-09-26 17:00", tz="UTC")  # noon of the first day


def planted(*faults: str) -> list[dict]:
    return [row for row in PLANTED if row["fault"] in faults]


def named(row: dict) -> str:
    return f"{row['fault']} {row['column']} {row['first']}".replace(" ", "-")


def each(*faults: str):
    rows = planted(*faults)
    assert rows
    return pytest.mark.parametrize("row", rows, ids=map(named, rows))


def logger_utc(stamp: str) -> pd.Timestamp:
    """End of the minute that the roof logger stamped so: its clock was fast by a few minutes, and gained."""
    shown = pd.Timestamp(datetime.datetime.strptime(stamp, "%d.%m.%y %H:%M"), tz="UTC") + pd.Timedelta(hours=LOGGER_H)
    told = TRUTH["instruments"]
    days = (shown - STARTS) / pd.Timedelta(days=1) - 0.5 / 24.0
    return shown - (told["clock_fast_min"] + told["clock_drift_min_day"] * days) * MINUTE


def local_utc(stamp: str, form: str, zone: str) -> pd.Timestamp:
    written = datetime.datetime.strptime(stamp, form).replace(tzinfo=zoneinfo.ZoneInfo(zone))
    return pd.Timestamp(written).tz_convert("UTC")


@pytest.fixture(scope="module")
def logs():
    return read_logs(read_site(maker.FOLDER))


def found(logs, code: str) -> list:
    return [finding for finding in logs.findings if finding.code == code]


def steps(logs, start: pd.Timestamp, stop: pd.Timestamp) -> slice:
    """Steps that lie wholly in a time."""
    index = logs.table.index
    return slice(int(index.searchsorted(start)), int(index.searchsorted(stop - MINUTE, side="right")))


def blocks(logs, column: str, mask: str) -> list[tuple[pd.Timestamp, pd.Timestamp]]:
    index = logs.table.index
    return [(index[start], index[stop - 1] + MINUTE) for start, stop in runs(logs.masks[column][mask])]


def time_of(text: str) -> pd.Timestamp:
    """Time at the end of a row's name."""
    return pd.Timestamp(text.split(", ")[-1].removesuffix(" UTC"), tz="UTC")


def test_every_kind_of_planted_fault_is_asked_for_here():
    asked = {"offset", "gain", "level", "clock", "wetted humidity", "stuck humidity", "gap", "spike", "sentinel",
             "out of order", "doubled day", "repeated hour", "tipped by spray", "roll-over", "counter reset",
             "estimated bill"}
    assert {row["fault"] for row in PLANTED} == asked


# --- instruments ---------------------------------------------------------------------------------------------------


def test_the_offset_of_the_return_is_corrected(logs):
    (row,), tool = planted("offset"), logs.instruments["return_C"]
    assert row["column"] == "T return"
    assert tool.added == pytest.approx(-TRUTH["instruments"]["return_offset_K"], abs=tool.offset)
    assert tool.added < -tool.offset


def test_the_gain_of_the_flow_is_corrected(logs):
    (row,), tool = planted("gain"), logs.instruments["spray_L_min"]
    assert row["column"] == "Flow"
    assert tool.multiplied == pytest.approx(1.0 / (1.0 + TRUTH["instruments"]["flow_gain_frac"]), abs=tool.gain)
    assert tool.multiplied < 1.0 - tool.gain


def test_the_error_of_the_level_is_corrected(logs):
    """Reading = true x (1 - 0.006) + 0.6 % of 48.4 m3; at 27 m3, amid the weeks' contents, 0.128 m3 too much."""
    (row,), tool = planted("level"), logs.instruments["store_m3"]
    assert row["column"] == "Level"
    told = TRUTH["instruments"]
    error_m3 = 27.0 * told["level_gain_frac"] + 48.4 * told["level_offset_pct"] / 100.0
    assert error_m3 == pytest.approx(0.128, abs=0.001)
    assert tool.added == pytest.approx(-error_m3, abs=0.05)


def test_the_clock_of_both_files_is_put_right(logs):
    (row,) = planted("clock")
    corrected = found(logs, "log.clock-corrected")
    assert [finding.where for finding in corrected] == ["logs/roof_1.csv", "logs/roof_2.csv"]
    for stamp, told_s in ((row["first"], corrected[0].data["new"][0]), (row["last"], corrected[1].data["new"][1])):
        shown = pd.Timestamp(datetime.datetime.strptime(stamp, "%d.%m.%y %H:%M"), tz="UTC")
        true_s = (logger_utc(stamp) - shown).total_seconds() - 3600.0 * LOGGER_H
        assert told_s == pytest.approx(true_s, abs=2.0)


# --- single readings and codes ---------------------------------------------------------------------------------------


@each("spike")
def test_a_spike_is_found_in_its_row_and_lost_to_it_alone(logs, row):
    column, ends = CHANNEL[row["column"]], logger_utc(row["first"])
    (finding,) = (one for one in found(logs, "quality.spikes") if one.where == column)
    assert finding.data["column"] == row["column"]
    assert [line for line in finding.data["lines"] if abs(time_of(line) - ends) < 5.0 * MINUTE / 60.0]
    near = [block for block in blocks(logs, column, "spike") if abs(block[0] + MINUTE / 2 - ends) < 2 * MINUTE]
    assert len(near) == 1
    assert near[0][1] - near[0][0] == MINUTE


def test_as_many_spikes_are_found_as_were_planted(logs):
    wanted = Counter(CHANNEL[row["column"]] for row in planted("spike"))
    assert {one.where: one.data["rows"] for one in found(logs, "quality.spikes")} == dict(wanted)
    assert sum(wanted.values()) == 18


@each("sentinel")
def test_a_code_is_no_reading(logs, row):
    column = CHANNEL[row["column"]]
    if row["file"] == "logs/bms_export.csv":
        start, stop = (local_utc(row[end], "%m/%d/%Y %I:%M:%S %p", "America/New_York") for end in ("first", "last"))
    else:
        start, stop = logger_utc(row["first"]) - MINUTE, logger_utc(row["last"])
    inside = steps(logs, start, stop)
    assert inside.stop - inside.start >= row["rows"] - 1
    assert (logs.known[column][inside] < 1e-3).all()
    assert logs.masks[column]["gap"][inside].all()


def test_as_many_codes_are_counted_as_were_planted(logs):
    wanted, counted = Counter(), Counter()
    for row in planted("sentinel"):
        wanted[row["column"]] += row["rows"]
    for finding in found(logs, "log.missing-codes"):
        counted[finding.data["column"]] += finding.data["rows"]
    assert counted == wanted


# --- what lasts ------------------------------------------------------------------------------------------------------


@each("stuck humidity")
def test_stuck_humidity_is_left_out_from_end_to_end(logs, row):
    ((start, stop),) = blocks(logs, "humidity_frac", "stuck")
    assert abs(start - logger_utc(row["first"])) < 15 * MINUTE  # whole per cents: the same one stood before, too
    assert start <= logger_utc(row["first"])
    assert abs(stop - logger_utc(row["last"])) < 15 * MINUTE
    assert stop >= logger_utc(row["last"]) - MINUTE


@each("wetted humidity")
def test_wetted_humidity_is_left_out_while_it_was_wet(logs, row):
    inside = steps(logs, logger_utc(row["first"]), logger_utc(row["last"]))
    assert inside.stop - inside.start > 400
    assert logs.masks["humidity_frac"]["wetted"][inside].mean() > 0.99


def test_no_other_night_is_called_wet(logs):
    rows = planted("wetted humidity")
    assert len(blocks(logs, "humidity_frac", "wetted")) == len(rows) == 8
    for (start, stop), row in zip(blocks(logs, "humidity_frac", "wetted"), rows, strict=True):
        assert abs(start - logger_utc(row["first"])) < 5 * MINUTE
        assert abs(stop - logger_utc(row["last"]) - 60 * MINUTE) < 5 * MINUTE


@each("gap")
def test_missing_rows_are_missing_in_every_channel_of_the_logger(logs, row):
    inside = steps(logs, logger_utc(row["first"]), logger_utc(row["last"]) - MINUTE)
    assert inside.stop - inside.start >= row["rows"] - 3
    for column in (*CHANNEL.values(), "store_C_1", "store_C_3"):
        if column != "room_C":
            assert (logs.known[column][inside] == 0.0).all()
            assert logs.masks[column]["gap"][inside].all()
    assert logs.table["spray_L_min"][inside].isna().all()


def test_as_many_rows_are_missing_as_were_planted(logs):
    (finding,) = found(logs, "channel.rows-missing")
    assert finding.data["rows"] == sum(row["rows"] for row in planted("gap"))
    assert finding.data["file"] == "logs/roof_*.csv"


# --- order and time --------------------------------------------------------------------------------------------------


def test_rows_out_of_order_are_found(logs):
    (row,), (finding,) = planted("out of order"), found(logs, "log.unsorted")
    assert finding.where == "logs/roof_2.csv"
    assert logger_utc(row["first"]) - MINUTE <= time_of(finding.data["first"]) <= logger_utc(row["last"]) + MINUTE
    inside = steps(logs, logger_utc(row["first"]) - MINUTE, logger_utc(row["last"]))
    assert (logs.known["spray_L_min"][inside] > 0.99).all(), "no row is lost"


def test_the_doubled_day_is_merged(logs):
    (row,), (finding,) = planted("doubled day"), found(logs, "log.overlap-merged")
    assert finding.data["rows"] == row["rows"]
    assert abs(time_of(finding.data["first"]) - logger_utc(row["first"])) < MINUTE / 12
    assert abs(time_of(finding.data["last"]) - logger_utc(row["last"])) < MINUTE / 12


def test_the_repeated_hour_is_told_apart(logs):
    (row,), (finding,) = planted("repeated hour"), found(logs, "log.daylight-saving")
    assert finding.where == row["file"]
    assert finding.data["date"] == "2025-11-02"
    assert finding.data["rows"] == row["rows"]


# --- rain, meters, bills -------------------------------------------------------------------------------------------


@each("tipped by spray")
def test_tips_by_spray_are_no_rain(logs, row):
    start, stop = (local_utc(row[end], "%Y-%m-%d %H:%M:%S", "Etc/GMT+4") for end in ("first", "last"))
    index = logs.table.index
    inside = slice(int(index.searchsorted(start.floor("min"))), int(index.searchsorted(stop.floor("min"))) + 1)
    sprayed = logs.masks["rain_mm"]["sprayed"][inside]
    assert sprayed[0]
    assert sprayed[-1]
    assert sprayed.sum() == row["rows"]  # no two of a night fall into one minute


def test_few_true_tips_are_taken_for_spray(logs):
    (finding,), rows = found(logs, "channel.rain-sprayed"), sum(row["rows"] for row in planted("tipped by spray"))
    assert rows == 44
    assert rows <= finding.data["rows"] <= rows + 4  # the first drops of a shower, before the spray stops for it


@each("roll-over", "counter reset")
def test_the_counters_fall_is_found(logs, row):
    (finding,) = found(logs, {"roll-over": "channel.counter-roll-over",
                              "counter reset": "channel.counter-reset"}[row["fault"]])
    old, new = (float(word) for word in row["what"].split(" is followed by "))
    assert (finding.where, finding.data["column"]) == (row["file"], row["column"])
    assert (finding.data["old"], finding.data["new"]) == (old, new)
    assert time_of(finding.data["first"]) == local_utc(row["first"], "%Y-%m-%d,%H:%M", "Etc/GMT+5")


def test_the_estimated_bill_is_joined_with_the_one_that_makes_up_for_it():
    (row,), site, gather = planted("estimated bill"), read_site(maker.FOLDER), Gather()
    series = read_bills(site, site.bills[0], None, gather)
    first = np.datetime64(datetime.datetime.strptime(row["first"], "%m/%d/%Y").date())
    (finding,) = (one for one in gather.findings if one.code == "bills.estimated-joined")
    assert finding.where == row["file"]
    place = list(series.starts).index(first)
    each_bill = TRUTH["bills"]["each"]
    at = [bill[0] for bill in each_bill].index(str(first))
    assert series.use[place] == pytest.approx(each_bill[at][2] + each_bill[at + 1][2])
    assert len(series.use) == len(each_bill) - 1
