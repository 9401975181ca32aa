"""Writes docs/validation.md: every check value, what we say to it, and how the sky formulas meet measured nights.

Run `python tests/validation_page.py` after changing a check value or an equation.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import outside_data
import sky_records
from live_checks import live_checks
from not_reached import WHY
from published_values import PRINTED, Check, checks, works_of
from solved_anew import SOLVED_ANEW

from sprayroof.physics import sky

PAGE = Path(__file__).parents[1] / "docs" / "validation.md"
MEASURED = "## Sky formulas against weather files and measured nights"
FRAME = Path(__file__).parent / "published" / "page.md"
PLACE, ANEW_PLACE = "<!-- values -->", "<!-- solved anew -->"


def page() -> str:
    """The whole page."""
    values = "\n".join([*_printed(), *_live(), *_measured(), *_unused()])
    return FRAME.read_text(encoding="utf-8").replace(PLACE, values).replace(ANEW_PLACE, "\n".join(_anew()))


def _anew() -> Iterable[str]:
    """What the tests solve anew, with the limits that they hold to."""
    yield "| what | how | agreement asked for | in |"
    yield "|---|---|---|---|"
    for row in SOLVED_ANEW:
        yield _row(row.what, row.how, row.asked, ", ".join(f"`{name.split('.')[0]}`" for name in row.tests[:1]))


def _printed() -> Iterable[str]:
    found = checks()
    yield f"## Printed values\n\n{_counted(found)}\n"
    for subject in dict.fromkeys(one.subject for one in found):
        yield f"### {subject[0].upper()}{subject[1:]}\n"
        yield "| equation | at | source | printed | ours | allowed | unit | mark | note |"
        yield "|---|---|---|---|---|---|---|---|---|"
        for one in (one for one in found if one.subject == subject):
            at = ", ".join(f"{name} {_number(value)}" for name, value in one.inputs.items())
            yield _row(
                one.equation,
                at,
                one.source,
                _number(one.expected),
                _number(one.ours()),
                _number(one.allowed(), 2),
                one.unit,
                one.mark,
                one.note,
            )
        yield ""


def _counted(found: list[Check]) -> str:
    """How many values there are, how sure, and from how many works."""
    printed = [one for one in found if one.mark in PRINTED]
    of_mark = {mark: [one for one in printed if one.mark == mark] for mark in PRINTED}
    counts = ", ".join(f"{len(of_mark[mark])} {mark}" for mark in PRINTED)
    seen = of_mark["verified"]
    works = Counter(one.work for one in seen)
    largest, most = works.most_common(1)[0]
    return (f"{len(printed)} values from {len(works_of(printed))} outside works, each counted once: {counts}. The "
            f"{len(seen)} verified ones are of {len(works)} works; {most} of them are of one, {largest}. Beside them "
            f"stand {len(found) - len(printed)} values of forms of this project, which nobody has printed: they hold "
            "the code to its own description.")


def _live() -> Iterable[str]:
    found = live_checks()
    yield "## Independent libraries\n"
    yield f"{len(found)} values, worked out afresh by both sides whenever the tests run.\n"
    for subject in dict.fromkeys(one.subject for one in found):
        yield f"### {subject[0].upper()}{subject[1:]}, by libraries\n"
        yield "| equation | against | at | theirs | ours | allowed | unit | why that much |"
        yield "|---|---|---|---|---|---|---|---|"
        for one in (one for one in found if one.subject == subject):
            yield _row(
                one.equation,
                one.against,
                one.at,
                _number(one.theirs()),
                _number(one.ours()),
                _number(one.allowed(), 2),
                one.unit,
                one.why,
            )
        yield ""


def _measured() -> Iterable[str]:
    yield f"{MEASURED}\n"
    yield (
        "Files and records from published data packages, fetched and not kept here. Published files carry "
        "an infrared column that a formula made; rounding to whole W/m2 alone is 0.29 W/m2.\n"
    )
    yield "| file | formula | hours | RMSE [W/m2] | asked for |"
    yield "|---|---|---|---|---|"
    for name, fetch, column, formula in (
        ("Chicago O'Hare TMY3", outside_data.chicago, sky_records.martin_berdahl_column, "Martin & Berdahl"),
        ("Northway TMY3", outside_data.northway, sky_records.martin_berdahl_column, "Martin & Berdahl"),
        ("Baltimore TMY2", outside_data.baltimore, sky_records.clark_allen_column, "Clark & Allen"),
        ("Amsterdam IWEC", outside_data.amsterdam, sky_records.clark_allen_column, "Clark & Allen"),
    ):
        table = fetch()
        yield _row(name, formula, str(len(table)), f"{sky_records.rmse(column(table), table['infrared']):.2f}", "0.35")
    yield ""
    yield from _stations()


def _unused() -> Iterable[str]:
    """Functions that are checked and that no audit calls."""
    yield ""
    yield "## Checked, but not used by an audit\n"
    yield "| function | what it is there for |"
    yield "|---|---|"
    for name, why in WHY.items():
        yield _row(f"`{name}`", why)


def _stations() -> Iterable[str]:
    payerne, alamosa = outside_data.payerne(), outside_data.alamosa()
    clear, every, high = (
        sky_records.clear_nights(payerne),
        sky_records.all_nights(payerne),
        sky_records.clear_nights(alamosa),
    )
    yield (
        f"Measured nights, bias and RMSE in W/m2 (ours less measured): BSRN Payerne, June 2016, 491 m, {clear.sum()} "
        f"clear hours and {every.sum()} with SYNOP cloud cover (base taken at 2 km); SURFRAD Alamosa, a clear January "
        f"night at 2317 m, {high.sum()} half hours.\n"
    )
    clouds = list(sky.CLOUDS)
    yield _row(
        "clear-sky formula",
        "Payerne, clear",
        *(f"Payerne, all, {name}" for name in clouds),
        "Payerne, all, no cloud",
        "Alamosa, clear",
    )
    yield "|---" * (len(clouds) + 4) + "|"
    for model in sky.CLEAR_SKY:
        cells = [
            _miss(payerne, model, None, clear),
            *(_miss(payerne, model, cloud, every) for cloud in clouds),
            _miss(payerne, model, None, every),
            _miss(alamosa, model, None, high),
        ]
        yield _row(model, *cells)


def _miss(record, model, cloud, chosen) -> str:
    _, bias, apart = sky_records.miss(record, model, cloud, chosen)
    return f"{bias:+.0f} / {apart:.0f}"


def _row(*cells: str) -> str:
    return "| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |"


def _number(value: float | str, figures: int = 5) -> str:
    return value if isinstance(value, str) else f"{value:.{figures}g}"


def skeleton(text: str) -> tuple[str, list[float]]:
    """A page without its numbers, and the numbers: libraries of another version may move a last figure."""
    pattern = r"(?<![\w.])[-+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?"
    return re.sub(pattern, "#", text), [float(number) for number in re.findall(pattern, text)]


if __name__ == "__main__":
    PAGE.parent.mkdir(exist_ok=True)
    PAGE.write_text(page(), encoding="utf-8", newline="\n")
