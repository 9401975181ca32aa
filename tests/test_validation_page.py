"""The committed page of check values is the one that the checks write."""

import ast
from pathlib import Path

import pytest
import solved_anew
from not_reached import WHY, not_reached
from outside_data import or_skip
from solved_anew import SOLVED_ANEW
from validation_page import PAGE, page, skeleton


def test_page_is_up_to_date():
    """Same words; numbers apart by no more than a last figure, which a library's next version may move."""
    words, numbers = skeleton(or_skip(page))
    committed_words, committed = skeleton(PAGE.read_text(encoding="utf-8"))
    assert committed_words == words, "run python tests/validation_page.py"
    for new, old in zip(numbers, committed, strict=True):
        assert new == pytest.approx(old, rel=2e-3, abs=1.0 if abs(new) > 3.0 and new == int(new) else 2e-4)


def test_what_no_audit_calls_is_told_and_nothing_else():
    assert not_reached() == set(WHY)


@pytest.mark.parametrize("row", SOLVED_ANEW, ids=lambda row: row.what)
def test_the_tests_of_a_row_hold_to_its_limits(row):
    """Every limit that the page prints stands in a test that the row names, and all named tests use one of them."""
    used = set()
    for name in row.tests:
        names = _names_in(*name.split("."))
        assert names & set(row.limits), f"{name} uses none of {row.limits}"
        used |= names
    assert set(row.limits) <= used
    for limit in row.limits:
        value = getattr(solved_anew, limit)
        assert any(f"{shown:g}" in row.asked for shown in (value, 100.0 * value)), limit


def test_no_limit_is_without_a_row():
    limits = {name for name in vars(solved_anew) if name.isupper() and name != "SOLVED_ANEW"}
    assert limits == {limit for row in SOLVED_ANEW for limit in row.limits}


def _names_in(module: str, function: str) -> set[str]:
    tree = ast.parse((Path(__file__).parent / f"{module}.py").read_text(encoding="utf-8"))
    node, = (node for node in tree.body if isinstance(node, ast.FunctionDef) and node.name == function)
    return {part.id for part in ast.walk(node) if isinstance(part, ast.Name)}


def test_the_check_can_fail():
    text = PAGE.read_text(encoding="utf-8")
    assert skeleton(text.replace("Brutsaert", "Brunt"))[0] != skeleton(text)[0]
    assert skeleton("0.815 W")[1] == [0.815]
    assert skeleton("TMY3 e5 -3.2e-4")[1] == [-3.2e-4]
