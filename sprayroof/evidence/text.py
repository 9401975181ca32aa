"""Bytes of unknown encoding to text, and cells to numbers."""

from __future__ import annotations

import math
import re

import numpy as np

from sprayroof.evidence.gather import Gather, some_of

NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
NOT_PLAIN = re.compile(r"[^0-9.eE+\- ]")
BOMS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))


def decode(raw: bytes, where: str, gather: Gather) -> str | None:
    """The text of `raw`; None after a problem (empty, a spreadsheet, not text).

    UTF-8 and UTF-16 with a byte order mark are read as such; other bytes are tried as UTF-8 and then as the encoding
    that fits them best, which is told as finding `table.encoding`.
    """
    if not raw.strip(b"\x00\r\n\t \xef\xbb\xbf\xff\xfe"):
        gather.problem(where, "the file is empty", "a text file with data", "export it again")
        return None
    if raw[:4] == b"PK\x03\x04":
        gather.problem(
            where,
            "a spreadsheet or archive, not text",
            "delimited text (CSV)",
            "save the sheet as CSV (UTF-8) and name that file",
        )
        return None
    encoding = next((name for mark, name in BOMS if raw.startswith(mark)), None)
    text = _decoded(raw, encoding or "utf-8")
    if text is None and encoding is None and b"\x00" not in raw:
        text = _decoded_by_fit(raw, where, gather)
    if text is None or _looks_binary(text):
        gather.problem(where, "the file is not text", "a text file", "name the exported text file itself")
        return None
    return text


def lines_of(text: str) -> list[str]:
    """The lines of `text`, by line feeds and carriage returns only, so that line numbers are those of an editor."""
    lines = re.split(r"\r\n|\n|\r", text.lstrip("\ufeff"))
    return lines[:-1] if lines and not lines[-1] else lines


def _decoded(raw: bytes, encoding: str) -> str | None:
    try:
        return raw.decode(encoding)
    except UnicodeDecodeError:
        return None


def _decoded_by_fit(raw: bytes, where: str, gather: Gather) -> str | None:
    from charset_normalizer import from_bytes

    best = from_bytes(raw[:200_000]).best()
    text = _decoded(raw, best.encoding) if best else None
    if text is not None and best is not None and not _looks_binary(text):
        gather.finding(
            "table.encoding",
            f"{where} is not UTF-8; it was read as {best.encoding}.",
            where,
            {"encoding": best.encoding},
        )
    return text


def _looks_binary(text: str) -> bool:
    head = text[:20_000]
    odd = sum(1 for letter in head if ord(letter) < 32 and letter not in "\r\n\t\x0c\x1a")
    return odd > 0.01 * len(head)


def numbers(
    cells: list[str], lines: np.ndarray, column: str, where: str, gather: Gather, missing: tuple[str, ...] = ("",)
) -> np.ndarray:
    """Cells as floats, NaN where a cell is one of `missing` (compared without blanks and case).

    Cells that are neither are told as one problem that names the lines; they become NaN.
    """
    plain = _all_plain(cells)
    if plain is not None:
        return plain
    values = np.full(len(cells), np.nan)
    bad: list[str] = []
    for position, cell in enumerate(cells):
        text = cell.strip()
        if NUMBER.fullmatch(text) and math.isfinite(value := float(text)):
            values[position] = value
        elif text.casefold() not in missing:
            bad.append(f"line {lines[position]} {text[:40]!r}")
    if bad:
        gather.problem(
            f"{where}, column {column}",
            f"not a number: {some_of(bad)}",
            "a number with a decimal point",
            "correct these cells or empty them",
        )
    return values


def _all_plain(cells: list[str]) -> np.ndarray | None:
    """The numbers of a column that holds nothing else, found at one stroke; None if it holds anything else."""
    if NOT_PLAIN.search(" ".join(cells)):
        return None
    try:
        values = np.array(cells, dtype=float)
    except ValueError:
        return None
    return values if np.isfinite(values).all() else None
