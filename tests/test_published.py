"""Every check value of `tests/published/`: printed, or worked by hand from a printed equation, never our own output."""

import pytest
from published_values import MARKS, arguments_of, checks, source_count

CHECKS = checks()


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_value(check):
    assert abs(check.ours() - check.expected) <= check.allowed(), (
        f"{check.function}({check.inputs}) gives {check.ours():.7g} {check.unit}; {check.source}: {check.expected:.7g} "
        f"(allowed {check.allowed():.3g})")


def test_every_entry_is_complete():
    assert len({check.id for check in CHECKS}) == len(CHECKS)
    for check in CHECKS:
        assert check.mark in MARKS, check.id
        assert list(check.inputs) == arguments_of(check.function), check.id
        assert check.tolerance.keys() in ({"relative"}, {"absolute"}), check.id
        if check.mark == "by hand":
            assert check.note or check.expected == 0.0, f"{check.id}: by hand, but the working is not shown"


def test_there_are_many_values_from_many_sources():
    assert len(CHECKS) >= 60
    assert source_count() >= 25
