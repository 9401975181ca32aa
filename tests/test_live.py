"""Our functions against independent libraries, worked out now."""

import pytest
from live_checks import live_checks

CHECKS = live_checks()


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_agrees(check):
    ours, theirs = float(check.ours()), float(check.theirs())
    assert abs(ours - theirs) <= check.allowed(), (
        f"{check.equation} at {check.at}: ours {ours:.7g}, {check.against} {theirs:.7g} {check.unit} "
        f"(allowed {check.allowed():.3g})")


def test_identities_are_unique():
    assert len({check.id for check in CHECKS}) == len(CHECKS)
