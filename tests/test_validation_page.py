"""The committed page of check values is the one that the checks write."""

import pytest
from not_reached import WHY, not_reached
from outside_data import or_skip
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


def test_the_check_can_fail():
    text = PAGE.read_text(encoding="utf-8")
    assert skeleton(text.replace("Brutsaert", "Brunt"))[0] != skeleton(text)[0]
    assert skeleton("0.815 W")[1] == [0.815]
    assert skeleton("TMY3 e5 -3.2e-4")[1] == [-3.2e-4]
