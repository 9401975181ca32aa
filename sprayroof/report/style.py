"""Everything that decides how the report looks: colours, hatches, dashes, markers, type, measures. One place.

Colours are those of Okabe & Ito (2008), chosen by them so that colour-blind readers can tell them apart. No role
relies on colour alone: each also has its own hatch (areas) or dash and marker (lines), so a grey print still reads.
"""

from __future__ import annotations

import importlib.util
from dataclasses import dataclass
from pathlib import Path

# Okabe, M. & Ito, K. (2008), "Color universal design", the eight colours as sRGB.
BLACK, ORANGE, SKY_BLUE, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILION, PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"

INK = "#1B2530"  # text and outlines
MUTED = "#55616D"  # captions, running heads
RULE = "#C9D0D6"  # hairlines
WASH = "#F3F5F6"  # quiet backgrounds
PAPER = "#FFFFFF"


@dataclass(frozen=True)
class Area:
    """How one role is filled: a colour, and a hatch drawn over it (none, / \\ x - | or dots) in `hatch_colour`."""

    colour: str
    hatch: str = ""
    hatch_colour: str = PAPER


@dataclass(frozen=True)
class Line:
    """How one series is drawn: colour, dash lengths in points (empty: unbroken), marker ("", "o", "s", "^", "d")."""

    colour: str
    dash: tuple[float, ...] = ()
    marker: str = ""
    width: float = 1.4


AREAS: dict[str, Area] = {
    # ladder of heat, in the order of its steps
    "cooling_roof_kWh": Area(SKY_BLUE),
    "cooling_stored_kWh": Area(SKY_BLUE, "/", INK),
    "cooling_delivered_kWh": Area(BLUE, "/"),
    "cooling_useful_kWh": Area(BLUE),
    "useful_caused_kWh": Area(BLUE, "-"),
    # ladder of electricity
    "electricity_avoided_kWh": Area(GREEN, "|"),
    "electricity_own_kWh": Area(ORANGE, "x", INK),
    "electricity_net_kWh": Area(GREEN, "\\"),
    # where the heat went
    "longwave_kWh": Area(BLUE),
    "convection_kWh": Area(SKY_BLUE, "/", INK),
    "evaporation_heat_kWh": Area(GREEN, "\\"),
    "roof_conduction_kWh": Area(ORANGE, "x", INK),
    # water in
    "rain_caught_m3": Area(SKY_BLUE),
    "mains_m3": Area(BLUE, "/"),
    "condensation_m3": Area(GREEN, "\\"),
    # water out
    "evaporation_m3": Area(GREEN),
    "drift_m3": Area(YELLOW, ".", INK),
    "dried_m3": Area(YELLOW),
    "store_evaporation_m3": Area(BLUE, "."),
    "bleed_m3": Area(PURPLE, "/", INK),
    "leak_m3": Area(VERMILION, "x"),
    "flush_lost_m3": Area(VERMILION, "-"),
    "other_uses_m3": Area(ORANGE, "\\", INK),
    "mains_bypass_m3": Area(BLUE, "/"),
    "overflow_m3": Area(SKY_BLUE, "|", INK),
    # shared by both sides of the water picture
    "storage": Area(WASH, "-", MUTED),
    "remainder": Area(PAPER, "x", VERMILION),
    # others
    "load": Area("#DDE2E6"),
    "useful": Area(BLUE),
    "effect_up": Area(BLUE),
    "effect_down": Area(ORANGE, "/", INK),
}
PLAIN_AREA = Area(MUTED, "/")

LINES: tuple[Line, ...] = (
    Line(BLUE, (), "", 1.9),
    Line(VERMILION, (5, 2.2), "s"),
    Line(GREEN, (1.4, 1.8), "^"),
    Line(INK, (7, 2, 1.4, 2), "d"),
    Line(ORANGE, (3, 1.5), "o"),
    Line(PURPLE, (9, 3), "s"),
)

# Type. The serif carries what is read, the sans what is looked up. Both come with matplotlib and are free to embed.
SERIF, SERIF_BOLD, SERIF_ITALIC = "Report-Serif", "Report-Serif-Bold", "Report-Serif-Italic"
SANS, SANS_BOLD, SANS_ITALIC = "Report-Sans", "Report-Sans-Bold", "Report-Sans-Italic"
FONT_FILES = {
    SERIF: "STIXGeneral.ttf",
    SERIF_BOLD: "STIXGeneralBol.ttf",
    SERIF_ITALIC: "STIXGeneralItalic.ttf",
    SANS: "DejaVuSans.ttf",
    SANS_BOLD: "DejaVuSans-Bold.ttf",
    SANS_ITALIC: "DejaVuSans-Oblique.ttf",
}
SMALL = 8.0  # the smallest size anywhere in the report, points
BODY = 10.6
LEADING = 14.6

# Measures in points.
PAPERS = {"A4": (595.2756, 841.8898), "Letter": (612.0, 792.0)}
MARGIN_SIDE = 60.0
MARGIN_TOP = 66.0
MARGIN_BOTTOM = 56.0


def font_folder() -> Path:
    """The folder of TrueType files that matplotlib ships, found without importing matplotlib."""
    spec = importlib.util.find_spec("matplotlib")
    if spec is None or spec.origin is None:
        raise FileNotFoundError("matplotlib, whose fonts the report embeds, is not installed")
    return Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf"


def register_fonts() -> None:
    """Make the report's fonts known to reportlab; harmless when called again."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    known = set(pdfmetrics.getRegisteredFontNames())
    folder = font_folder()
    for name, file in FONT_FILES.items():
        if name not in known:
            pdfmetrics.registerFont(TTFont(name, str(folder / file)))
    pdfmetrics.registerFontFamily(SERIF, normal=SERIF, bold=SERIF_BOLD, italic=SERIF_ITALIC, boldItalic=SERIF_BOLD)
    pdfmetrics.registerFontFamily(SANS, normal=SANS, bold=SANS_BOLD, italic=SANS_ITALIC, boldItalic=SANS_BOLD)


def area(role: str) -> Area:
    """The fill of a role; a plain hatched grey for roles without one of their own."""
    return AREAS.get(role, PLAIN_AREA)
