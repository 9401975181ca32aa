"""Bytes of a logger's export to text: marked encodings, UTF-8, and the single-byte ones that loggers still write."""

from __future__ import annotations

import codecs

from sprayroof.evidence.gather import Gather
from sprayroof.evidence.site_file.entries import shown
from sprayroof.evidence.text import BOMS, decode

# Letters above ASCII that exports hold: signs of units, and letters of European headings
UNIT_SIGNS = frozenset("°µ²³·±½‰–—’“”…€×")
LETTERS = frozenset("ÄÖÜäöüßÀÁÂÃÅÆÇÈÉÊËÌÍÎÏÑÒÓÔÕØÙÚÛÝàáâãåæçèéêëìíîïñòóôõøùúûýÿŒœŠšŽž\u00a0")
# The same signs as old line printers wrote them; read as cp1252 they come out as letters that follow a digit or blank
DOS_CODES = ("cp850", "cp437")
# What a text begins with that is no table, whatever the name of its file ends with
MARKUP = {("<!doctype html", "<html", "<head", "<body", "<table", "<meta", "<style"): "a web page (HTML)",
          ("<?xml", "<!doctype"): "an XML document", ('{"', "{\n", "{\r", "{ ", "[{", "[\n", "[["): "a JSON document",
          ("%pdf-",): "a PDF document"}


def decode_log(raw: bytes, stated: str | None, where: str, entry: str, gather: Gather) -> str | None:
    """The text of a log; None after a problem.

    Parameters
    ----------
    raw : bytes
    stated : str or None
        Encoding as the site file states it.
    where, entry : str
        Shown name of the file; "log.2".
    gather : Gather
        Receives problems, and finding `log.encoding` where the text is not UTF-8.
    """
    text = _text_of(raw, stated, where, entry, gather)
    return None if text is None or _is_markup(text, where, gather) else text


def _text_of(raw: bytes, stated: str | None, where: str, entry: str, gather: Gather) -> str | None:
    marked = any(raw.startswith(mark) for mark, _ in BOMS)
    if not raw.strip():
        return decode(raw, where, gather)
    if stated is not None and not marked:
        return _as_stated(raw, stated, where, entry, gather)
    if marked:
        _tell_wide(raw, where, gather)
        return decode(raw, where, gather)
    encoding = _unmarked(raw)
    if encoding is None:
        return decode(raw, where, gather)
    if encoding != "utf-8":
        _tell(encoding, where, gather)
    return raw.decode(encoding)


def _is_markup(text: str, where: str, gather: Gather) -> bool:
    """Whether the text is a web page or another structure and no table, with a problem."""
    head = text.lstrip("\ufeff \t\r\n")[:200].lower()
    found = next((words for marks, words in MARKUP.items() if head.startswith(marks)), None)
    if found is not None:
        gather.problem(where, f"{found}, not a table of text", "delimited text (CSV) or an XLSX workbook",
                       "open it in a spreadsheet and save it as CSV or XLSX, or export it again as CSV")
    return found is not None


def _as_stated(raw: bytes, stated: str, where: str, entry: str, gather: Gather) -> str | None:
    try:
        codecs.lookup(stated)
        return raw.decode(stated)
    except LookupError:
        gather.problem(
            f"site file, {entry}.encoding",
            f"{shown(stated)} is no known encoding",
            "a name such as utf-8 or cp1252",
            "correct the entry or take it out",
        )
    except (UnicodeError, ValueError) as error:
        line = raw[: getattr(error, "start", 0)].count(b"\n") + 1
        gather.problem(
            f"{where}, line {line}",
            f"bytes that are not {stated}",
            "text in the stated encoding",
            f"correct {entry}.encoding or take it out",
        )
    return None


def _unmarked(raw: bytes) -> str | None:
    """UTF-8, UTF-16 told by its empty bytes, or the single-byte encoding whose letters an export would hold."""
    if b"\x00" in raw[:2000]:
        half = raw[:2000]
        even, odd = half[0::2].count(0), half[1::2].count(0)
        wide = "utf-16-le" if odd > 0.4 * len(half) / 2 else "utf-16-be" if even > 0.4 * len(half) / 2 else None
        return wide if wide and _decodes(raw, wide) else None
    if _decodes(raw, "utf-8"):
        return "utf-8"
    for encoding in ("cp1252", *DOS_CODES, "mac_roman"):
        if _decodes(raw, encoding) and _reads_like_export(raw, encoding):
            return encoding
    return None


def _decodes(raw: bytes, encoding: str) -> bool:
    try:
        raw.decode(encoding)
    except UnicodeDecodeError:
        return False
    return True


def _reads_like_export(raw: bytes, encoding: str) -> bool:
    """Whether all letters above ASCII are signs of units, or letters within words."""
    high = {byte for byte in set(raw) if byte > 127}
    text = raw.decode(encoding)
    for letter in (bytes([byte]).decode(encoding) for byte in high):
        if letter in UNIT_SIGNS:
            continue
        if letter not in LETTERS or not _stands_in_words(text, letter):
            return False
    return True


def _stands_in_words(text: str, letter: str) -> bool:
    """False where a letter stands before a lone C or F, as the degree sign does."""
    at = text.find(letter)
    before = text[at - 1] if at else " "
    after, then = (text + "  ")[at + 1], (text + "  ")[at + 2]
    return not (after in "CFK" and not then.isalpha() and not before.isalpha()) and (
        after.isalpha() or before.isalpha() or letter == "\u00a0"
    )


def _tell_wide(raw: bytes, where: str, gather: Gather) -> None:
    encoding = next((name for mark, name in BOMS if raw.startswith(mark)), "utf-8")
    if encoding == "utf-16":
        _tell("utf-16", where, gather)


def _tell(encoding: str, where: str, gather: Gather) -> None:
    gather.finding(
        "log.encoding",
        f"{where} is not UTF-8; it was read as {encoding}.",
        where,
        {"disposition": "repair", "file": where, "rule": "the encoding whose letters make sense", "new": encoding},
        "None on numbers; headings and signs of units depend on it.",
    )
