"""What the report calls the thing at work: a spray on a roof, or the loop through closed panels.

Sentences are written with these words in place; labels of figures, facts and columns go through `label`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from sprayroof.results import Audit


@dataclass(frozen=True)
class Terms:
    """Words for sentences. All that name a doer stand in the singular.

    Parameters
    ----------
    doing : str
        What saves, costs and causes ("spraying").
    title : str
        What is audited, for the head of the pages.
    works, fails, pays : str
        The verdict's beginnings.
    source : str
        What takes heat out of the water.
    running, idle, rests : str
        "with spraying"; "while nothing is sprayed"; "the spray did not run".
    runs : str
        What ran for so many hours.
    reserve : str
        What happens at the store's reserve.
    switch : str
        What an action tells to leave off.
    use : str
        What not to do in a month.
    """

    doing: str = "spraying"
    title: str = "Sprayed roof audit"
    works: str = "The roof works"
    fails: str = "The roof does not pay"
    pays: str = "whether the roof pays"
    source: str = "roof"
    running: str = "with spraying"
    idle: str = "while nothing is sprayed"
    rests: str = "The spray did not run"
    runs: str = "The spray ran"
    reserve: str = "spraying stops"
    switch: str = "spray"
    use: str = "spray"

    @property
    def does(self) -> str:
        """`doing` at the beginning of a sentence."""
        return capital(self.doing)


SPRAY = Terms()
PANELS = Terms(
    doing="the panel loop",
    title="Roof panel audit",
    works="The panels work",
    fails="The panels do not pay",
    pays="whether the panels pay",
    source="panel loop",
    running="with the panel loop running",
    idle="while the panel loop stands still",
    rests="The panel loop did not run",
    runs="The panel loop ran",
    reserve="the loop stops",
    switch="panel loop",
    use="run the panel loop",
)
# Of labels: words of a sprayed roof -> those of closed panels, in this order.
PHRASES = (
    ("Hours of spraying", "Hours of the panel loop"),
    ("Flow of all nozzles together", "Flow through the panels"),
    ("spray pump", "panel pump"),
    ("Water sprayed", "Water through the panels"),
    ("Spray water lost", "Water lost"),
    ("Sprayed (circulates)", "Through the panels (circulates)"),
    ("sprayed system", "system"),
    ("Water off the roof", "Water off the panels"),
    ("at the roof", "at the panels"),
    ("At the roof", "At the panels"),
    ("from the roof", "from the panels"),
    ("without the roof", "without the panels"),
)
SPRAYING = re.compile(r"\bspraying\b")
SPRAYING_ALONE = re.compile(r"^Spraying\b")


def has_panels(audit: Audit) -> bool:
    """Whether the site has closed panels in place of a spray."""
    return bool((audit.site.get("traits") or {}).get("panels"))


def terms(audit: Audit) -> Terms:
    """The words for this site."""
    return PANELS if has_panels(audit) else SPRAY


def label(audit: Audit, own: str) -> str:
    """A label of the program's own, in the words for this site."""
    return in_words_of_panels(own) if has_panels(audit) else own


def in_words_of_panels(own: str) -> str:
    """A label of a sprayed roof in the words of closed panels."""
    for spray, panels in PHRASES:
        own = own.replace(spray, panels)
    return SPRAYING_ALONE.sub("Running", SPRAYING.sub("the panel loop", own))


def capital(text: str) -> str:
    """`text` with a capital at its beginning."""
    return text[:1].upper() + text[1:]
