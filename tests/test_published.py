"""Every check value of `tests/published/`: printed, or worked by hand from a printed equation, never our own output."""

import pytest
from published_values import MARKS, PRINTED, arguments_of, checks, works_of

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
    assert sum(check.mark in PRINTED for check in CHECKS) >= 60
    assert len(works_of(CHECKS)) >= 25


def test_a_work_counts_once_and_this_project_never():
    """By the title on the cover: whatever edition, part or author's list a source names, it is one work."""
    works: dict[str, set[str]] = {}
    for check in CHECKS:
        if check.mark in PRINTED and check.work:
            words = check.source.lower()
            title = next((name for name in COVERS if name in words), check.work)
            works.setdefault(title, set()).add(check.work)
    assert {title: names for title, names in works.items() if len(names) > 1} == {}
    assert not [check.id for check in CHECKS if ("this project" in check.source) != (check.mark not in PRINTED)]
    assert not [work for work in works_of(CHECKS) if "project" in work or "sprayroof" in work or "any text" in work]


# Titles, publishers and numbers under which several sources stand
COVERS = ("ahri 210/240", "handbook fundamentals", "fao irrigation and drainage paper 56", "fao-56",
          "fundamentals of heat and mass transfer", "nbsir 83-2655", "iapws", "compact heat exchangers",
          "nrel/tp-5500-56354", "supplement s19", "en 14825")
