"""Text that others wrote, made safe and visible before it is shown.

Names, notes and messages of an audit are data. They are never taken for markup or formulas, characters that cannot
be seen are shown as a box, and letters that the font lacks are drawn in the fallback font or as a box.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from xml.sax.saxutils import escape

from sprayroof.report import style

BOX = "\u25a1"
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
JOINERS = "\u00ad\u200c\u200d"  # shape a word, carry no meaning of their own in a renderer that joins nothing
LONGEST = 600  # characters of one free text in a table; the whole stands in audit.json
HEBREW_TO_ARABIC = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff]")


def visible(text: object, longest: int = LONGEST) -> str:
    """One line of `text` in which every character can be seen.

    Line ends and tabs become spaces; control characters, direction overrides, private and unassigned code points and
    halves of surrogate pairs become a box; text beyond `longest` characters is cut with an ellipsis.
    """
    plain = unicodedata.normalize("NFC", str("" if text is None else text))
    plain = "".join(_visible_character(character) for character in plain)
    plain = re.sub("[ \u2028\u2029]+", " ", plain).strip(" ")
    return plain if len(plain) <= longest else plain[: longest - 1].rstrip() + "…"


def _visible_character(character: str) -> str:
    if character in "\n\r\t\v\f\x85":
        return " "
    if character in JOINERS:
        return ""
    return BOX if unicodedata.category(character) in ("Cc", "Cf", "Cs", "Co", "Cn") else character


def neutral(text: object) -> str:
    """`text` for a cell of a text file: a leading = + - @ tab or line end gets an apostrophe before it.

    Spreadsheet programs then show the text instead of running it as a formula.
    """
    plain = str("" if text is None else text)
    return "'" + plain if plain.lstrip(" ").startswith(FORMULA_STARTS) or plain.startswith(FORMULA_STARTS) else plain


@cache
def _glyphs(font: str) -> frozenset[int]:
    from reportlab.pdfbase import pdfmetrics

    style.register_fonts()
    return frozenset(pdfmetrics.getFont(font).face.charToGlyph)


def drawn(text: object, font: str, longest: int = LONGEST) -> str:
    """`text` for drawing in `font` alone: visible, in reading order, letters the font lacks as a box."""
    glyphs = _glyphs(font)
    box = BOX if ord(BOX) in glyphs else "?"
    return "".join(
        character if ord(character) in glyphs else box for character in in_reading_order(visible(text, longest))
    )


def marked(text: object, font: str, longest: int = LONGEST) -> str:
    """`text` as paragraph markup in `font`: escaped, and letters the font lacks set in the sans or as a box."""
    own, fallback = _glyphs(font), _glyphs(style.SANS)
    pieces: list[str] = []
    borrowed = ""
    for character in in_reading_order(visible(text, longest)) + "\0":
        if character != "\0" and ord(character) not in own:
            borrowed += character if ord(character) in fallback else BOX
            continue
        if borrowed:
            pieces.append(f'<font name="{style.SANS}">{escape(borrowed)}</font>')
            borrowed = ""
        pieces.append("" if character == "\0" else escape(character))
    return "".join(pieces)


def in_reading_order(text: str) -> str:
    """`text` with its right-to-left stretches turned round, for a renderer that sets from left to right only.

    A rough stand-in for the Unicode bidirectional algorithm: a stretch runs from the first to the last right-to-left
    letter with no left-to-right letter between; digits inside it keep their order. Letters are not joined.
    """
    if not HEBREW_TO_ARABIC.search(text):
        return text
    stretch = re.compile(
        "[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff](?:[^A-Za-z\u00c0-\u058f]*[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff])?"
    )
    return stretch.sub(lambda match: _turned(match.group()), text)


def _turned(stretch: str) -> str:
    return re.sub(r"\d[\d.,:]*", lambda digits: digits.group()[::-1], stretch[::-1])
