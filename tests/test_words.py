"""Rounding, units for print, sentences, the verdict's rules, cautions, actions and hand checks of the report."""

from __future__ import annotations

import itertools
from dataclasses import replace

import example_audit as example
import pint
import pypdf
import pytest

from sprayroof.explain import explain
from sprayroof.model.doubts import _freezing
from sprayroof.report import numbers, style, text, words
from sprayroof.report.actions import actions
from sprayroof.report.cautions import CAUTIONS, GROUPS, cautions
from sprayroof.report.effects import ranked_assumptions, unknown_effect
from sprayroof.report.handcheck import hand_checks
from sprayroof.report.method import method_rows
from sprayroof.report.pdf import write_pdf
from sprayroof.report.picture import spread, ticks
from sprayroof.report.terminal import summary_lines
from sprayroof.report.water_rows import water
from sprayroof.report.water_words import wasting
from sprayroof.results import Finding, Quantity

NBSP, MINUS = "\u00a0", "\u2212"


def plain(printed_text: str) -> str:
    return printed_text.replace(NBSP, " ")


# ------------------------------------------------------------------------------------------------ rounding


@pytest.mark.parametrize(
    ("value", "low", "high", "expected"),
    [  # by the rule, worked by hand: two digits of the larger end, finer while the range is under five steps wide
        (38_120.0, 35_120.0, 40_870.0, ("38", "35", "41", "MWh")),
        (9_300.0, 1_200.0, 9_800.0, ("9300", "1200", "9800", "kWh")),
        (1_216.0, 1_198.2, 1_234.4, ("1216", "1198", "1234", "kWh")),
        (101.3, 98.4, 104.2, ("101", "98", "104", "kWh")),
        (-0.4, -5.14, 4.32, (f"{MINUS}0.4", f"{MINUS}5.1", "4.3", "kWh")),
        (0.0, 0.0, 0.0, ("0", "0", "0", "kWh")),
        (-0.004, -0.2, 0.2, ("0.00", f"{MINUS}0.20", "0.20", "kWh")),
        (99.6, 99.6, 99.6, ("99.6", "99.6", "99.6", "kWh")),
    ],
)
def test_value_and_range_share_the_place_that_the_range_deserves(value, low, high, expected):
    shown = numbers.printed_range(value, low, high, "kWh")
    assert (shown.value, shown.low, shown.high, shown.unit) == expected


NOISE = 9.3e-16  # what a reckoning in doubles leaves of nothing


@pytest.mark.parametrize("unit", ["m3", "degC", "kWh", "1", "currency", "L/kWh", "h"])
@pytest.mark.parametrize("ends", [(0.0, 0.0, NOISE), (-NOISE, -2 * NOISE, 0.0), (NOISE, NOISE, NOISE)])
def test_rounding_of_the_reckoning_is_printed_as_nothing(unit, ends):
    shown = numbers.printed_range(*ends, unit)
    assert (shown.value, shown.low, shown.high) == ("0", "0", "0")
    row, other = (Quantity(*row, unit, "x", "modelled", "D") for row in (ends, (3.14, 2.0, 4.0)))
    first, second = numbers.printed_rows([("drift_m3", row), ("evaporation_m3", other)])
    assert not set(first.value + first.range) & set("123456789")
    assert (first.value + first.range).count("0") < 12  # to the place of the row beside it
    assert second.value.startswith("3")
    assert numbers.printed_range(ends[0], None, None, unit).value == "0"


def test_small_amounts_that_are_some_keep_their_digits_down_to_the_finest_step():
    assert numbers.printed_range(0.0042, 0.0031, 0.0055, "m3").value_unit == f"0.004{NBSP}m³"  # litres
    frost = numbers.printed_range(-0.0000065, -0.000007, -0.0000004, "degC")
    assert (frost.value_unit, frost.range) == (f"0{NBSP}°C", "0 to 0")
    assert numbers.printed_range(-0.0000065, -0.000007, -0.0000004, "degC", "ip").range == "32.00 to 32.00"


def test_rounding_of_the_reckoning_makes_no_row_of_water_and_no_part_of_what_is_lost(tmp_path):
    audit = example.changed_year(
        example.works(), drift_m3=(NOISE, 0.0, 2 * NOISE), coldest_store_C=(-4e-7, -6.5e-6, -4e-7))
    assert "drift_m3" not in [row.role for row in water(audit).out]
    assert "blown away" not in wasting(audit)
    write_pdf(audit, tmp_path / "r.pdf")
    said = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(tmp_path / "r.pdf").pages).split())
    assert "0.00000000" not in said
    assert "Blown away 0 m³ always 0" in plain(said)
    assert "Coldest store of the year: 0 °C" in plain(said)
    assert ": 0 m3, 90 % range 0 to 0;" in explain("drift_m3", audit)
    assert "0 degC, 90 % range 0 to 0" in explain("coldest_store_C", audit)


def test_a_store_at_the_freezing_point_is_not_said_to_be_below_it_by_rounding():
    coldest = Quantity(-4e-7, -6.5e-6, -4e-7, "degC", "x", "modelled", "D")
    finding = _freezing(None, None, {"coldest_store_C": coldest}, None)
    assert "comes down to 0.0 degC" in finding.message


def test_a_row_does_not_lose_the_sign_that_makes_the_verdict():
    audit = net(example.without_prices(), 210.0, -30.0, 500.0)  # beside steps of many MWh
    assert words.verdict(audit).word == words.CANNOT_TELL
    assert f"between {MINUS}0.03 and 0.50 MWh" in plain(words.verdict(audit).sentence)
    ids = ("cooling_roof_kWh", "electricity_net_kWh")
    shown = words.page_rows(audit, [(id, words.found(audit, id)) for id in ids])
    assert shown[1].range == f"{MINUS}0.03 to 0.50"
    assert words.found(audit, "cooling_roof_kWh").high > 10_000.0
    assert len(shown[0].high.partition(".")[2]) == 1  # tenths of MWh, as ever


def test_rows_of_one_table_share_unit_and_place():
    rows = [
        ("cooling_roof_kWh", Quantity(50_468.0, 39_870.0, 61_066.0, "kWh", "x", "modelled", "D")),
        ("electricity_own_kWh", Quantity(1_870.0, 1_645.6, 2_094.4, "kWh", "x", "modelled", "D")),
        ("electricity_net_kWh", Quantity(-2_990.0, -3_640.0, -2_200.0, "kWh", "x", "modelled", "D")),
    ]
    shown = [(one.value, one.range, one.unit) for one in numbers.printed_rows(rows)]
    # the own electricity deserves hundredths, three digits of 61 give tenths
    assert shown == [
        ("50.5", "39.9 to 61.1", "MWh"),
        ("1.9", "1.6 to 2.1", "MWh"),
        (f"{MINUS}3.0", f"{MINUS}3.6 to {MINUS}2.2", "MWh"),
    ]
    in_ip = [(one.value, one.unit) for one in numbers.printed_rows(rows, "ip")]
    # heat and electricity have units of their own there: 50.468 x 3.412 = 172.2, alone in its unit
    assert in_ip == [("170", "million Btu"), ("1.87", "MWh"), (f"{MINUS}2.99", "MWh")]


@pytest.mark.parametrize(
    ("parts", "total", "expected"),
    [  # by hand, largest remainders first
        ([408.77, 0.64], 409, [409, 0]),
        ([221.85, 157.54, 4.62, 18.26, 7.15], 409, [222, 157, 5, 18, 7]),
        ([1.5, 1.5], 3, [2, 1]),
        ([312.7, -89.1, -60.0], 164, [313, -89, -60]),
        ([-0.4, 0.4], 0, [0, 0]),
        ([], 0, []),
    ],
)
def test_rounded_parts_add_up(parts, total, expected):
    assert numbers.apportioned(parts, total) == expected
    assert sum(expected) == total


def test_five_digit_numbers_are_parted_and_four_digit_numbers_are_not():
    assert numbers.fixed(12345.4, 0) == f"12{NBSP}345"
    assert numbers.fixed(1234567.0, 3) == f"1{NBSP}235{NBSP}000"
    assert numbers.fixed(-1234.0, 0) == f"{MINUS}1234"


def test_halves_go_to_the_even_digit_and_zero_has_no_sign():
    assert [numbers.fixed(x, 0) for x in (0.5, 1.5, 2.5, -0.4)] == ["0", "2", "2", "0"]


def test_what_is_not_known_is_said():
    assert numbers.fixed(float("nan"), 0) == numbers.NOT_KNOWN
    assert numbers.printed_range(3.0, None, None, "m3").low == numbers.NOT_KNOWN
    lone = Quantity(3.14, float("nan"), float("nan"), "m3", "x", "modelled", "D")
    assert words.quantity_words(lone, "mains_m3") == f"About 3.1{NBSP}m³; its range is not known."


def test_significant_digits_of_single_numbers():
    assert [numbers.significant(x, 2) for x in (467.0, 0.0712, 9.96, 0.0)] == ["470", "0.071", "10", "0"]
    assert [numbers.exact(x) for x in (0.8, 1240.0, 1221.4, 573.5, 0.0)] == ["0.8", "1240", "1221", "573.5", "0"]


# ------------------------------------------------------------------------------------------------ units

PINT_NAMES = {  # our unit -> the same in pint's words, and the IP unit that we print
    "m2": ("m^2", "ft^2"),
    "m3": ("m^3", "US_liquid_gallon"),
    "m3/day": ("m^3/day", "US_liquid_gallon/day"),
    "K": ("delta_degC", "delta_degF"),
    "kWh heat": ("kWh", "kBtu"),
    "L": ("L", "US_liquid_gallon"),
    "L/min": ("L/min", "US_liquid_gallon/min"),
    "L/day": ("L/day", "US_liquid_gallon/day"),
    "L/h": ("L/hour", "US_liquid_gallon/hour"),
    "L/kWh": ("L/kWh", "US_liquid_gallon/kBtu"),
    "m": ("m", "ft"),
    "mm": ("mm", "inch"),
    "mm/h": ("mm/hour", "inch/hour"),
    "m/s": ("m/s", "mile/hour"),
    "kg": ("kg", "lb"),
    "kg CO2e": ("kg", "lb"),
    "m3/h": ("m^3/hour", "ft^3/min"),
    "W/m2K": ("W/m^2/delta_degC", "Btu/hour/ft^2/delta_degF"),
    "kJ/m2K": ("kJ/m^2/delta_degC", "Btu/ft^2/delta_degF"),
    "m2K/W": ("m^2*delta_degC/W", "hour*ft^2*delta_degF/Btu"),
    "W/mK": ("W/m/delta_degC", "Btu/hour/ft/delta_degF"),
    "kW": ("kW", "kBtu/hour"),
    "W/K": ("W/delta_degC", "Btu/hour/delta_degF"),
    "kW/K": ("kW/delta_degC", "kBtu/hour/delta_degF"),
    "W/m2": ("W/m^2", "Btu/hour/ft^2"),
    "s2/m2": ("s^2/m^2", "hour^2/mile^2"),
    "kg/kWh": ("kg/kWh", "lb/kWh"),
}


@pytest.mark.parametrize("unit", sorted(set(numbers.IP_PRINT) - {"degC", "deg", "1", "kWh/kWh"}))
def test_every_ip_factor_agrees_with_pint(unit):
    registry = pint.UnitRegistry()
    registry.define("kBtu = 1000 * Btu_it")
    ours, theirs = PINT_NAMES[unit]
    theirs = theirs.replace("Btu/", "Btu_it/").replace("/Btu", "/Btu_it")
    expected = registry.Quantity(1.0, ours).to(theirs).magnitude
    assert numbers.IP_PRINT[unit][0] == pytest.approx(expected, rel=2e-6)


def test_temperatures_shift_and_differences_do_not():
    assert numbers.converted(100.0, "degC", "ip") == pytest.approx(212.0)
    assert numbers.converted(-40.0, "C", "ip") == pytest.approx(-40.0)
    assert numbers.converted(5.0, "K", "ip") == pytest.approx(9.0)


def test_ip_turns_heat_into_btu_and_leaves_electricity():
    heat = numbers.printed_range(1000.0, 900.0, 1100.0, "kWh", "ip", heat=True)
    assert (heat.value, heat.unit) == ("3400", "kBtu")  # 1000 kWh is 3412 kBtu; the range deserves hundreds
    electricity = numbers.printed_range(1000.0, 900.0, 1100.0, "kWh", "ip")
    assert (electricity.value, electricity.unit) == ("1000", "kWh")
    # 3.5169 kW is one ton of refrigeration (12 000 Btu/h)
    assert pytest.approx(1 / 3.51685, rel=1e-5) == numbers.TON_HOUR_PER_KWH


def test_prices_of_water_turn_with_the_volume():
    # 1000 US gal is 3.785411784 m3
    assert numbers.converted(2.0, "currency/m3", "ip") == pytest.approx(7.570823568)
    assert numbers.unit_for("EUR/m3", "si")[2] == "EUR/m³"


def test_water_per_heat_in_ip_can_be_reckoned_from_its_parts():
    assert numbers.converted(2.0, "L/kWh", "ip") == pytest.approx(2.0 / 3.785411784 / 3.412141633)


def test_unknown_unit_systems_are_refused():
    with pytest.raises(ValueError, match="metric"):
        numbers.converted(1.0, "m3", "metric")


# ------------------------------------------------------------------------------------------------ sentences


def test_the_sentence_of_a_range():
    quantity = Quantity(38_120.0, 35_120.0, 40_870.0, "kWh", "Useful", "modelled", "D")
    assert plain(words.quantity_words(quantity, "cooling_useful_kWh")) == (
        "Between 35 and 41 MWh; most likely about 38. There are 9 chances in 10 that the true figure lies inside."
    )


def test_a_range_across_zero_is_not_given_a_sign():
    quantity = Quantity(1.0, -4.0, 6.0, "kWh", "Net", "modelled", "D")
    assert words.quantity_words(quantity, "electricity_net_kWh").endswith("We cannot say whether it saves or costs.")
    assert "saves or costs" not in words.quantity_words(quantity, "convection_kWh")


def test_a_figure_without_width_is_one_figure():
    assert words.quantity_words(Quantity(5.0, 5.0, 5.0, "m3", "x", "modelled", "D"), "mains_m3") == f"5.00{NBSP}m³."


# ------------------------------------------------------------------------------------------------ verdict


def net(audit, value, low, high, money=None):
    changed = {"electricity_net_kWh": (value, low, high), "mains_caused_m3": (0.0, 0.0, 0.0)}
    if money:
        changed["money_net"] = money
    return example.changed_year(audit, **changed)


def test_works_in_one_sentence_with_its_numbers():
    found = words.verdict(net(example.works(), 8_450.0, 6_340.0, 10_560.0, (1_500.0, 990.0, 2_010.0)))
    assert found.word == "works"
    assert plain(found.sentence) == (
        "The roof works: spraying is predicted to save between 6.3 and 10.6 MWh of electricity a year after its own "
        "use, most likely about 8.4, and between 1000 and 2000 EUR after water and upkeep, most likely about 1500."
    )


def test_mains_water_caused_makes_a_but():
    found = words.verdict(example.works())
    assert found.word == "works, but"
    assert "between 10 and 35 m³ of mains water a year" in plain(found.sentence)


def test_little_mains_water_makes_no_but():
    # 0.05 of the 66.6 m3 that spraying loses (47.9 + 11.4 + 6.2 + 1.1) is 3.33 m3
    for mains, word in ((3.3, "works"), (3.4, "works, but")):
        audit = example.changed_year(example.works(), mains_caused_m3=(mains, mains - 1, mains + 1))
        assert words.verdict(audit).word == word


def test_users_who_go_short_make_a_but():
    audit = example.changed_year(net(example.works(), 900.0, 700.0, 1_100.0), unmet_uses_m3=(12.0, 4.0, 20.0))
    assert "go short of between 4 and 20 m³" in plain(words.verdict(audit).sentence)


def test_money_decides_where_there_are_prices():
    audit = net(example.works(), 8_450.0, 6_340.0, 10_560.0, (-300.0, -600.0, -40.0))
    found = words.verdict(audit)
    assert (found.word, found.decided_by) == ("does not pay", "money_net")
    assert "cost between 40 and 600 EUR a year more than it saves, most likely about 300" in plain(found.sentence)
    free = net(example.without_prices(), 8_450.0, 6_340.0, 10_560.0)
    assert (words.verdict(free).word, words.verdict(free).decided_by) == ("works", "electricity_net_kWh")
    assert "EUR" not in words.verdict(free).sentence


def test_does_not_pay_without_prices():
    found = words.verdict(net(example.without_prices(), -1_320.0, -1_700.0, -900.0))
    assert found.word == "does not pay"
    assert "use between 0.9 and 1.7 MWh more electricity a year than it saves" in plain(found.sentence)


def test_nothing_saved_at_all_does_not_pay():
    assert words.verdict(net(example.without_prices(), 0.0, 0.0, 0.0)).word == "does not pay"


@pytest.mark.parametrize("audit", [example.cannot_tell(), net(example.without_prices(), 100.0, -500.0, 700.0)])
def test_cannot_tell_across_zero(audit):
    found = words.verdict(audit)
    assert found.word == "cannot tell"


def test_doubt_about_money_is_said_as_loss_and_gain():
    assert plain(words.verdict(example.cannot_tell()).sentence) == (
        "We cannot tell whether the roof pays: the net electricity saved by spraying lies between "
        f"{MINUS}0.5 and 3.3 MWh a year, and after water and upkeep the result lies between a loss of 640 and a gain "
        "of 420 EUR, most likely a loss of about 140."
    )
    sure = net(example.works(), 1_230.0, 900.0, 1_600.0, (60.0, -100.0, 220.0))
    assert plain(words.verdict(sure).sentence) == (
        "We cannot tell whether the roof pays: spraying is predicted to save between 0.9 and 1.6 MWh of electricity a "
        "year after its own use, but after water and upkeep the result lies between a loss of 100 and a gain of 220 "
        "EUR, most likely a gain of about 60."
    )


def test_doubt_about_electricity_is_said_as_such():
    found = words.verdict(net(example.without_prices(), 100.0, -500.0, 700.0))
    assert plain(found.sentence) == (
        f"We cannot tell: the net electricity saved by spraying lies between {MINUS}0.50 and 0.70 MWh a year, most "
        "likely about 0.10; we cannot say whether it saves or costs."
    )


def test_an_end_that_prints_as_nothing_is_called_nothing():
    sure = net(example.works(), 1_230.0, 900.0, 1_600.0, (90.0, -0.2, 180.0))
    assert "lies between nothing and 180 EUR, most likely a gain of about 90" in plain(words.verdict(sure).sentence)
    poor = net(example.works(), 1_230.0, 900.0, 1_600.0, (-90.0, -180.0, 0.2))
    said = plain(words.verdict(poor).sentence)
    assert "between a loss of 180 EUR and nothing, most likely a loss of about 90" in said


def test_users_who_would_go_short_anyway_make_no_but():
    audit = example.changed_year(
        net(example.works(), 900.0, 700.0, 1_100.0),
        unmet_uses_m3=(12.0, 4.0, 20.0),
        unmet_caused_m3=(0.2, 0.0, 0.6),
    )
    assert words.verdict(audit).word == "works"


def test_a_finding_that_stops_leaves_no_verdict():
    stop = Finding("x.y", "stop", "The flow is not known")
    found = words.verdict(replace(example.works(), findings=(stop,)))
    assert found.word == "cannot tell"
    assert "one finding has to be mended first" in found.sentence


def test_a_record_without_net_figures_leaves_no_verdict():
    audit = example.without_prices()
    year = audit.periods["year"]
    poor = {"cooling_roof_kWh": year.quantities["cooling_roof_kWh"]}
    audit = replace(audit, periods={"year": replace(year, quantities=poor)})
    assert words.verdict(audit).word == "cannot tell"


def test_all_verdicts_are_single_sentences():
    for audit in (example.works(), example.does_not_pay(), example.cannot_tell(), example.without_prices()):
        for units in ("si", "ip"):
            sentence = words.verdict(audit, units).sentence
            assert sentence.endswith(".")
            assert ". " not in sentence


# ------------------------------------------------------------------------------------------------ cautions

ALWAYS = {
    "Legionella",
    "Not drinking water",
    "Work on the roof",
    "Electricity near spray",
    "Independence",
    "Warranty, corrosion, neighbours",
}
QUIET = dict(
    flat_roof=False,
    backflow="air gap sighted",
    hours_store_20_45_spraying_h=0.0,
    frost_hours_spraying_h=0.0,
    dew_limited_hours_h=0.0,
    typical_year=False,
    cop_source="measured",
    drift_measured=True,
    potable_labels="sighted",
)
TRIGGERS = {
    "Structure and ponding": {"flat_roof": True},
    "Backflow into the mains": {"backflow": "tested device"},
    "Backflow protection": {"backflow": "not sighted"},
    "Labels of roof water": {"potable_labels": "not sighted"},
    "Warm water in drops": {"hours_store_20_45_spraying_h": 3.0},
    "Frost": {"frost_hours_spraying_h": 2.0},
    "Condensation indoors": {"dew_limited_hours_h": 5.0},
    "A typical year": {"typical_year": True},
    "Air conditioner's efficiency": {"cop_source": "nameplate"},
    "Drift": {"drift_measured": False},
    "Data repaired": {"data_repaired": True},
    "No rain on record": {"rain_known": False},
    "Covers": {"covers": ["clear film"]},
}


def names(audit) -> set[str]:
    return {caution.name for caution in cautions(audit)}


def quiet_site(**changes):
    audit = example.with_everything()
    audit = replace(audit, options=(), periods={"year": audit.periods["year"]})
    audit = example.changed_site(
        audit,
        traits=example.traits(**QUIET, **changes)
        if not set(changes) & set(QUIET)
        else example.traits(**{**QUIET, **changes}),
    )
    year = audit.periods["year"]
    left = {id: q for id, q in year.quantities.items() if id not in ("mains_caused_m3", "money_net", "leak_m3")}
    left = {id: replace(q, basis="measured") for id, q in left.items()}
    return replace(audit, periods={"logged": replace(year, quantities=left)})


def test_on_a_site_with_all_in_order_the_cautions_that_always_hold_remain():
    assert names(quiet_site()) == ALWAYS


@pytest.mark.parametrize("name", sorted(TRIGGERS))
def test_each_trigger_brings_its_caution(name):
    assert names(quiet_site(**TRIGGERS[name])) == ALWAYS | {name}


def test_cautions_that_depend_on_results():
    assert "A range across zero" in names(example.cannot_tell())
    assert "A range across zero" not in names(example.works())
    assert "Predictions are not verified savings" in names(example.works())
    assert "A season extrapolated" in names(example.with_everything())
    assert "Water restrictions" in names(example.works())
    assert names(example.works()) - names(example.without_prices()) == {"Prices dated"}


def test_silence_is_not_safety():
    audit = example.changed_site(example.works(), traits={})
    assert {"Frost", "Structure and ponding", "Backflow protection", "Condensation indoors"} <= names(audit)


def test_what_was_not_checked_is_one_list():
    unchecked = {caution.name for caution in cautions(example.works()) if caution.group == GROUPS[0]}
    assert GROUPS[0] == "What was not checked"
    # by the example's traits: flat roof, nothing sighted, efficiency off a nameplate, drift not measured
    assert unchecked == {
        "Legionella",
        "Backflow protection",
        "Labels of roof water",
        "Structure and ponding",
        "Electricity near spray",
        "Warranty, corrosion, neighbours",
        "Air conditioner's efficiency",
        "Drift",
        "Independence",
    }


def test_every_caution_says_who_acts_and_can_be_written_in_both_unit_systems():
    for caution in CAUTIONS:
        for audit in (example.works(), example.changed_site(example.works(), traits={})):
            for units in ("si", "ip"):
                assert len(caution.text(audit, units)) > 30
        assert caution.who


def test_ponding_weighs_what_water_weighs():
    ponding = next(caution for caution in CAUTIONS if caution.name == "Structure and ponding")
    # 0.1 m x 998 kg/m3 x 9.81 m/s2 = 0.979 kPa; 4 in of water: 4/12 ft x 62.3 lb/ft3 = 20.8 lb/ft2
    assert "0.98 kPa" in ponding.text(example.works(), "si")
    assert "21 lb/ft²" in ponding.text(example.works(), "ip")


# ------------------------------------------------------------------------------------------------ actions


def test_backflow_comes_first_and_there_are_three():
    chosen = actions(example.works())
    assert len(chosen) == 3
    assert chosen[0].do.startswith("Have the backflow protection")
    # December, January, February: no spraying; 1 870 kWh / 12 a month, over 90 days of 24 h; 467.5 x 0.24 = 112.2
    assert chosen[1].do == "Switch the system's standing loads off outside the season (December to February)"
    assert "about 470 kWh (about 110 EUR) there, 220 W all the time" in plain(chosen[1].why)
    # 22.6 m3 x 2.4 = 54 EUR
    assert "between 10 and 35 m³ of mains water a year (about 54 EUR)" in plain(chosen[2].why)


def with_net_effects(audit, unit, **effects):
    """Assumptions with their effect on the net by entry (dots as underscores), others too small to tell."""
    rows = [
        {**row, "effect_net": effects.get(row["entry"].replace(".", "_")), "effect_net_unit": unit}
        for row in audit.assumptions
    ]
    return replace(audit, assumptions=tuple(rows))


def test_what_decides_the_verdict_decides_what_to_find_out():
    upkeep = {**example.assumptions()[0], "label": "Upkeep per year", "entry": "prices.upkeep", "effect": None}
    audit = replace(example.works(), assumptions=(*example.assumptions(), upkeep))
    audit = with_net_effects(audit, "EUR", prices_upkeep=-240.0, load_ua=60.0)
    chosen = actions(audit)
    # 240 EUR are more than the 112 EUR of the standing loads; backflow still comes first
    assert chosen[0].do.startswith("Have the backflow protection")
    assert chosen[1].do.startswith("Establish what upkeep really costs")
    assert plain(chosen[1].why) == "Not known well: “Upkeep per year”. It moves the net by about 240 EUR a year."
    assert chosen[2].do.startswith("Switch the system's standing loads off")
    small = with_net_effects(audit, "EUR", prices_upkeep=-24.0)
    assert not any(action.do.startswith("Establish") for action in actions(small))


def test_without_prices_the_net_is_electricity():
    audit = with_net_effects(example.without_prices(), "kWh", load_ua=-610.0, store_u=90.0)
    # 610 kWh against the 467.5 of the standing loads
    chosen = actions(audit)
    assert chosen[1].do.startswith("Meter the heat taken up at the floors")
    assert "It moves the net by about 610 kWh a year" in plain(chosen[1].why)
    assert "EUR" not in "".join(action.why for action in actions(audit, most=9))


def test_a_record_without_effects_on_the_net_falls_back_on_useful_cooling():
    named = [action for action in actions(example.works(), most=9) if "Share of the roof that stays wet" in action.why]
    assert "It moves the useful cooling by about 4.3 MWh a year" in plain(named[0].why)


def with_months(**changes):
    """The first site with some of its months' figures replaced, by month number."""
    rows = [
        {**row, **{id: {"value": v, "low": v, "high": v} for id, v in changes.get(f"m{row['month']}", {}).items()}}
        for row in example.works().months
    ]
    return replace(example.works(), months=tuple(rows))


def test_only_months_with_spraying_are_named_not_to_spray():
    audit = with_months(m11={"electricity_net_kWh": -30.0}, m03={"electricity_net_kWh": -12.0})
    named = [action for action in actions(audit, most=9) if action.do.startswith("Do not spray")]
    assert [action.do for action in named] == ["Do not spray in March and November"]
    assert "about 42 kWh (about 10 EUR) more" in plain(named[0].why)  # 42 x 0.24
    assert not any(action.do.startswith("Do not spray") for action in actions(example.works(), most=9))


def test_months_of_which_the_record_does_not_say_whether_they_spray_are_not_named():
    left = ("sprayed_m3", "spray_hours_h")
    rows = tuple({id: cell for id, cell in row.items() if id not in left} for row in example.works().months)
    chosen = actions(replace(example.works(), months=rows), most=9)
    assert not any("spray in" in action.do or "outside the season" in action.do for action in chosen)


def test_a_pump_that_uses_more_than_is_avoided_is_to_rest():
    # 1.15 kW x 1 285 h = 1 478 kWh, against 610 avoided; the whole range of the net is a loss
    first = actions(example.does_not_pay())[1]
    assert first.do == "Leave the spray off until it runs on less power"
    assert "about 1500 kWh a year, more than the 610 kWh" in plain(first.why)
    # (1 478 - 610) kWh x 0.24 + 1.2 m3 x 2.4 = 211
    assert "saves about 210 EUR a year" in plain(first.why)
    assert not any(action.do.startswith("Leave the spray off") for action in actions(example.cannot_tell(), most=9))


@pytest.mark.parametrize(
    ("numbered", "said"),
    [
        ([1, 2, 3, 4, 10, 11, 12], "October to April"),
        ([5, 6], "May and June"),
        ([3, 5, 6, 7, 12], "March, May to July and December"),
        ([12, 1], "December and January"),
        (list(range(1, 13)), "January to December"),
        ([], ""),
    ],
)
def test_months_are_listed_as_runs(numbered, said):
    assert words.months_listed([{"month": f"{month:02d}"} for month in numbered]) == said


def test_what_comes_without_spraying_is_told_apart():
    said = plain(words.caused_words(example.with_unsprayed()))
    # 9 288 of 30 960 come without; the rest 21 672, 70 %
    assert said == (
        "Of the useful cooling, spraying causes between 17 and 26 MWh, most likely about 22 MWh or 70 %; the store "
        "would give the rest, about 9.3 MWh (between 7.0 and 11.6 MWh), without spraying."
    )
    assert words.caused_words(example.works()) == ""
    little = example.changed_year(example.works(), useful_without_spray_kWh=(200.0, 100.0, 300.0))
    assert words.caused_words(little) == ""  # under a hundredth
    boosted = words.caused_words(example.with_booster())  # the chiller's cooling must not be laid to rain and ground
    assert "would give" not in boosted
    assert "the difference that spraying makes" in boosted
    more = example.changed_year(
        example.works(),
        useful_without_spray_kWh=(32_000.0, 30_000.0, 34_000.0),
        useful_caused_kWh=(-1_040.0, -3_000.0, 900.0),
    )
    assert "would give no less useful cooling" in words.caused_words(more)
    first, second = words.public_sentences(example.with_unsprayed())
    assert "between 17 and 26 MWh of it caused by spraying, with 9 chances in 10" in plain(first)
    assert "predicts that spraying saves between 6.3 and 10.6 MWh of electricity a year, net of" in plain(second)


def test_what_spraying_causes_is_reckoned_where_the_record_does_not_tell_it():
    year = example.with_unsprayed().periods["year"]
    left = {id: quantity for id, quantity in year.quantities.items() if id != "useful_caused_kWh"}
    audit = replace(example.works(), periods={"year": replace(year, quantities=left)})
    assert words.caused(audit).value == pytest.approx(21_672.0)
    assert "spraying causes about 22 MWh or 70 %" in plain(words.caused_words(audit))
    assert "about 22 MWh of it caused by spraying" in plain(words.public_sentences(audit)[0])


def test_assumptions_too_small_to_tell_come_last():
    rows = [dict(row) for row in example.assumptions()]
    rows[0]["effect"] = None
    audit = replace(example.works(), assumptions=tuple(rows))
    assert ranked_assumptions(audit)[-1]["entry"] == rows[0]["entry"]
    assert unknown_effect(audit) == "too small to tell"
    none = replace(audit, assumptions=tuple({**row, "effect": None, "effect_net": None} for row in rows))
    assert unknown_effect(none) == numbers.NOT_KNOWN  # too few runs to tell of any


# ------------------------------------------------------------------------------------------------ method


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("packaged", "curves of capacity and power"),
        ("constant", "one efficiency"),
        ("chiller", "a water chiller's capacity"),
        ("inverter", "speed follows the load"),
    ],
)
def test_the_method_names_the_machine_that_was_used(kind, said):
    audit = example.changed_site(example.works(), traits=example.traits(ac_kind=kind))
    machine = next(row for row in method_rows(audit) if row[0] == "Air conditioner")
    assert said in machine[1]
    assert ("Cutler" in machine[2]) == (kind == "packaged")


def test_the_method_names_every_machine_of_the_model():
    from sprayroof.model.records import AC_KINDS
    from sprayroof.report.method import MACHINES

    assert set(AC_KINDS) == set(MACHINES)


def test_the_method_names_the_parts_of_the_model():
    subjects = {row[0] for row in method_rows(example.works())}
    assert {"Cover over the roof", "Rival formulas", "Water held on the roof", "Ground at a buried store"} <= subjects
    assert not {"Closed panels", "Open store"} & subjects
    more = [
        {**example.facts()[0], "entry": "panels.area", "value": 200.0},
        {**example.facts()[0], "entry": "store.open_share", "value": 0.5},
    ]
    subjects = {row[0] for row in method_rows(example.changed_site(example.works(), facts=more))}
    assert {"Closed panels", "Open store"} <= subjects
    assert not {"Drops in flight", "Drift", "Sheet on the roof"} & subjects


def test_the_method_names_the_sky_that_was_used():
    audit = example.changed_site(example.works(), traits=example.traits(sky_model="prata", cloud_model="clark_allen"))
    rows = {row[0]: row for row in method_rows(audit)}
    assert (rows["Clear sky"][2], rows["Cloud"][2]) == ("Prata 1996", "Walton 1983")
    unknown = example.changed_site(example.works(), traits=example.traits(sky_model="new_one"))
    assert "“new one”" in next(row for row in method_rows(unknown) if row[0] == "Clear sky")[1]
    measured = example.changed_site(example.works(), traits=example.traits(long_wave="column of roof.csv"))
    assert method_rows(measured)[0][0] == "Sky"
    assert len(method_rows(example.changed_site(example.works(), traits={}))) > 15


@pytest.mark.parametrize(("cloud_model", "layers"), [("martin_berdahl", True), ("unsworth_monteith", False)])
def test_the_method_names_layers_of_cloud_where_the_formula_knows_them(cloud_model, layers):
    traits = example.traits(cloud_layers=True, cloud_model=cloud_model)
    cloud = next(row for row in method_rows(example.changed_site(example.works(), traits=traits)) if row[0] == "Cloud")
    assert ("high cloud" in cloud[1]) == layers


def test_every_sky_formula_of_the_physics_is_named():
    from sprayroof.physics.sky import CLEAR_SKY as BUILT
    from sprayroof.physics.sky import CLOUDS as BUILT_CLOUDS
    from sprayroof.report.method import CLEAR_SKY, CLOUDS

    assert set(BUILT) <= set(CLEAR_SKY)
    assert set(BUILT_CLOUDS) <= set(CLOUDS)


def test_a_stop_comes_before_all():
    stop = Finding("x.y", "stop", "The flow is not known", effect="No result.")
    assert actions(replace(example.works(), findings=(stop,)))[0].do == "Mend: The flow is not known"


def test_standing_power_is_named_where_own_use_eats_the_benefit():
    standing = next(a for a in actions(example.does_not_pay(), most=9) if "(70 W together)" in plain(a.do))
    # own 1 930 kWh less 1.15 kW x 1 285 h leave 452 kWh, 52 W all year; over 8 760 - 1 285 h that is 386 kWh,
    # x 0.24 = 93 EUR
    assert "While nothing is sprayed they use about 390 kWh (about 93 EUR) a year." in plain(standing.why)
    assert not any("together" in action.do for action in actions(example.works(), most=9))


def test_costs_come_from_options_only():
    options = actions(example.with_everything(), most=9)
    paying = [action for action in options if action.do.startswith("Switch the controller")]
    assert [(plain(a.cost), plain(a.payback)) for a in paying] == [
        ("between 80 and 200 EUR", "between 0.5 and 1.5 years")
    ]
    assert not any(action.do.startswith("A second tank") for action in options)  # it loses
    assert all("known" in a.cost or "None" in a.cost for a in actions(example.works()))


def test_there_are_three_actions_where_all_is_in_order():
    bare = replace(example.works(), months=(), assumptions=(), findings=())
    bare = example.changed_year(bare, mains_caused_m3=(0.0, 0.0, 0.0))
    bare = replace(
        example.changed_site(bare, traits=example.traits(backflow="air gap sighted", potable_labels="sighted")),
        months=(),
    )
    assert len(actions(bare)) == 3


# ------------------------------------------------------------------------------------------------ hand checks


def test_hand_checks_redo_the_record():
    checks = {check.title: check for check in hand_checks(example.works())}
    assert len(checks) == 5
    # by hand: 10 320 - 1 870;
    # (47.9 + 11.4 + 6.2 + 1.1 - 2.1) * 1000 / 30 960;
    # 8 450 * 0.24 - 22.6 * 2.4 - 7.3 * 2.2 - 420
    assert checks["Net electricity"].recomputed == pytest.approx(8_450.0)
    assert checks["Water per kWh useful"].recomputed == pytest.approx(2.08333, abs=1e-5)
    assert checks["Money"].recomputed == pytest.approx(1_537.70)
    # 2453.5 kJ/kg at 20 degC, 998.2 kg/m3: 680.3 kWh a cubic metre
    assert checks["Heat of evaporation"].recomputed == pytest.approx(45.8 * 680.3, rel=1e-4)
    for check in checks.values():
        assert check.recomputed == pytest.approx(check.target.value, rel=1e-3)


def test_without_prices_the_share_takes_the_place_of_money():
    titles = [check.title for check in hand_checks(example.without_prices())]
    assert titles[-1] == "Share of air-conditioner electricity"
    assert len(titles) == 5


# ------------------------------------------------------------------------------------------------ text of others


def test_unseen_characters_are_made_visible():
    assert text.visible("a\x00b\x1b[31m\u202eevil\ud800") == "a□b□[31m□evil□"
    assert text.visible(" two\r\nlines\tand tab ") == "two lines and tab"
    assert text.visible("x" * 700) == "x" * 599 + "…"
    assert text.visible(None) == ""


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", " =1"])
def test_formula_starts_are_neutralised(cell):
    assert text.neutral(cell) == "'" + cell


def test_plain_text_stays():
    assert text.neutral("rain - 3 mm") == "rain - 3 mm"


def test_markup_is_shown_and_not_obeyed():
    style.register_fonts()
    assert text.marked("<b>&</b>", style.SERIF) == "&lt;b&gt;&amp;&lt;/b&gt;"


def test_letters_outside_the_font_fall_back_or_become_a_box():
    # the serif has no Hebrew, the sans has; neither has the ideographs of 冷却
    shown = text.marked("A שלום 冷却", style.SERIF)
    assert f'<font name="{style.SANS}">םולש</font>' in shown  # turned round: it is set from left to right
    assert "□□" in shown
    assert text.drawn("冷", style.SERIF_BOLD) == "?"


def test_digits_in_right_to_left_text_keep_their_order():
    assert text.in_reading_order("קו 17 צפון") == "ןופצ 17 וק"


# ------------------------------------------------------------------------------------------------ looks


def luminance(colour: str) -> float:
    """Relative luminance of WCAG 2.1."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    brighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (brighter + 0.05) / (darker + 0.05)


# Machado, Oliveira & Fernandes 2009, table of severity 1.0, on linear RGB.
BLINDNESS = {
    "protanopia": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deuteranopia": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritanopia": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
    "normal": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
}
# sRGB to XYZ (IEC 61966-2-1), white D65
TO_XYZ = ((0.4124564, 0.3575761, 0.1804375), (0.2126729, 0.7151522, 0.0721750), (0.0193339, 0.1191920, 0.9503041))
WHITE = (0.95047, 1.0, 1.08883)


def lab(colour: str, kind: str) -> tuple[float, float, float]:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    seen = [min(max(sum(m * c for m, c in zip(row, linear, strict=True)), 0.0), 1.0) for row in BLINDNESS[kind]]
    xyz = [sum(m * c for m, c in zip(row, seen, strict=True)) / w for row, w in zip(TO_XYZ, WHITE, strict=True)]
    f = [v ** (1 / 3) if v > 216 / 24389 else (24389 / 27 * v + 16) / 116 for v in xyz]
    return 116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])


def difference(one: str, other: str, kind: str) -> float:
    """CIE 1976 colour difference."""
    return sum((a - b) ** 2 for a, b in zip(lab(one, kind), lab(other, kind), strict=True)) ** 0.5


TOGETHER = (
    (
        "cooling_roof_kWh",
        "cooling_stored_kWh",
        "cooling_delivered_kWh",
        "cooling_useful_kWh",
        "useful_caused_kWh",
        "electricity_avoided_kWh",
        "electricity_own_kWh",
        "electricity_net_kWh",
    ),
    ("longwave_kWh", "convection_kWh", "evaporation_heat_kWh", "roof_conduction_kWh"),
    ("rain_caught_m3", "mains_m3", "condensation_m3", "storage", "remainder"),
    (
        "evaporation_m3",
        "drift_m3",
        "dried_m3",
        "store_evaporation_m3",
        "bleed_m3",
        "leak_m3",
        "flush_lost_m3",
        "other_uses_m3",
        "mains_bypass_m3",
        "overflow_m3",
        "storage",
        "remainder",
    ),
    ("load", "useful"),
    ("effect_up", "effect_down"),
)


@pytest.mark.parametrize("roles", TOGETHER)
def test_areas_of_one_picture_differ_in_grey_and_for_the_colour_blind(roles):
    for i, one in enumerate(roles):
        for other in roles[i + 1 :]:
            a, b = style.AREAS[one], style.AREAS[other]
            if a.hatch != b.hatch:
                continue
            assert contrast(a.colour, b.colour) >= 1.5, (one, other)
            for kind in BLINDNESS:
                assert difference(a.colour, b.colour, kind) >= 20.0, (one, other, kind)


def test_hatches_stand_out_from_their_fill():
    for role, area in style.AREAS.items():
        if area.hatch:
            assert contrast(area.colour, area.hatch_colour) >= 2.5, role


def test_lines_differ_without_colour():
    assert len({(line.dash, line.marker) for line in style.LINES}) == len(style.LINES)
    for line in style.LINES[:4]:
        assert contrast(line.colour, style.PAPER) >= 3.0  # WCAG 2.1, 1.4.11


def test_text_colours_can_be_read():
    for colour in (style.INK, style.MUTED):
        for ground in (style.PAPER, style.WASH):
            assert contrast(colour, ground) >= 4.5  # WCAG 2.1, 1.4.3


def test_labels_are_spread_and_keep_their_order():
    placed = spread([10.0, 10.0, 10.5, 90.0], 12.0, 0.0, 100.0)
    assert sorted(placed) == placed
    assert all(b - a >= 12.0 - 1e-9 for a, b in itertools.pairwise(placed))
    assert spread([5.0] * 11, 12.0, 0.0, 100.0)[-1] == pytest.approx(100.0)
    assert spread([200.0], 12.0, 0.0, 100.0) == [100.0]


def test_ticks_are_round_and_inside():
    assert ticks(0.0, 23.6) == [0.0, 10.0, 20.0]
    assert ticks(-3.0, 4.0)[0] == -2.0


def test_the_answer_for_a_terminal_follows_the_ladder_with_water_beside_it():
    lines = summary_lines(example.with_unsprayed())
    assert lines[0].startswith("The roof works, but")
    assert "  Useful cooling: 31.0 MWh (25.4 to 36.5)" in lines  # to the place of the net electricity beside it
    assert "    of it caused by spraying: 21.7 MWh (17.1 to 26.2)" in lines  # goes on from the line above
    labelled = [line.partition(":")[0].strip() for line in lines[1:-3]]
    assert labelled == [
        "From the roof to the money, a year",
        "Taken out at the roof",
        "Reached the store",
        "Reached the rooms",
        "Useful cooling",
        "of it caused by spraying",
        "Electricity avoided",
        "Own electricity",
        "Net electricity saved",
        "share of air conditioner's use",
        "Money after water and upkeep",
        "Water beside it, a year",
        "Sprayed (circulates)",
        "Evaporated",
        "Blown away",
        "Mains water caused by spraying",
        "Lost for useful cooling",
    ]
    assert lines[-3].startswith("Is it wasting water? ")
    assert lines[-1] == "These are predictions, not verified savings."
    assert not any(NBSP in line for line in lines)


def test_method_names_the_convection_formula_that_the_site_file_states():
    stated = example.traits(convection_model="mcadams", convection="McAdams, small plate")
    row = next(row for row in method_rows(example.changed_site(example.works(), traits=stated))
               if row[0] == "Heat to the air")
    assert "McAdams" in row[1]
    assert "0.037" not in row[1]
