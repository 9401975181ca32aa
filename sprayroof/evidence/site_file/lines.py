"""At which line of a TOML text each entry stands, so that a message can send the auditor there.

The standard reader gives values without places. This scanner reads the same text for the places alone: it expects
text that the standard reader has accepted.
"""

from __future__ import annotations

import bisect
import re
import tomllib

Path = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)+")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_STRING = re.compile(r'"""(?:[^"\\]|\\.|"{1,2}(?!"))*"{3,5}' r"|'''(?:[^']|'{1,2}(?!'))*'{3,5}"
                     r'|"(?:[^"\\\n]|\\.)*"' r"|'[^'\n]*'", re.DOTALL)
_SCALAR = re.compile(r"[^,\]}#\n]+")


def lines_of(text: str) -> dict[Path, int]:
    """Line number (from 1) of each table and entry of a TOML text.

    Parameters
    ----------
    text : str
        Text that `tomllib` accepts.

    Returns
    -------
    dict of tuple to int
        Path (keys, and indices from 0 in lists) -> line.
    """
    return _Scanner(text).scan()


class _Scanner:
    """One pass over the text; `lines` grows as tables, keys and list items are met."""

    def __init__(self, text: str):
        self.text = text
        self.at = 0
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}
        self.ends = [match.start() for match in re.finditer("\n", text)]

    def scan(self) -> dict[Path, int]:
        table: Path = ()
        self._skip_blank()
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._entry(table)
            self._skip_blank()
        return self.lines

    def _header(self) -> Path:
        line, is_list = self._line(), self.text.startswith("[[", self.at)
        self.at += 2 if is_list else 1
        keys = self._key()
        self.at = self.text.index("]", self.at) + (2 if is_list else 1)
        path: Path = ()
        for depth, key in enumerate(keys):
            path = (*path, key)
            if is_list and depth == len(keys) - 1:
                self.counts[path] = self.counts.get(path, -1) + 1
            self.lines.setdefault(path, line)
            if path in self.counts:
                # A header below a list of tables belongs to the list's latest table.
                path = (*path, self.counts[path])
                self.lines.setdefault(path, line)
        return path

    def _entry(self, table: Path) -> None:
        line, path = self._line(), table
        for key in self._key():
            path = (*path, key)
            self.lines.setdefault(path, line)
        self.at = self.text.index("=", self.at) + 1
        self._value(path)

    def _value(self, path: Path) -> None:
        self._skip_blank()
        char = self.text[self.at]
        if char == "[":
            self._list(path)
        elif char == "{":
            self._inline_table(path)
        else:
            match = _STRING.match(self.text, self.at) or _SCALAR.match(self.text, self.at)
            self.at = match.end()

    def _list(self, path: Path) -> None:
        self.at += 1
        index = 0
        while self._next_char() != "]":
            self.lines[(*path, index)] = self._line()
            self._value((*path, index))
            index += 1
            self._skip_comma()
        self.at += 1

    def _inline_table(self, path: Path) -> None:
        self.at += 1
        while self._next_char() != "}":
            self._entry(path)
            self._skip_comma()
        self.at += 1

    def _key(self) -> list[str]:
        keys: list[str] = []
        while True:
            self._skip_blank()
            match = _STRING.match(self.text, self.at) or _BARE_KEY.match(self.text, self.at)
            self.at = match.end()
            keys.append(match[0] if match[0][0] not in "\"'" else tomllib.loads("k = " + match[0])["k"])
            if self._next_char() != ".":
                return keys
            self.at += 1

    def _next_char(self) -> str:
        self._skip_blank()
        return self.text[self.at]

    def _skip_comma(self) -> None:
        if self._next_char() == ",":
            self.at += 1

    def _skip_blank(self) -> None:
        match = _BLANK.match(self.text, self.at)
        if match:
            self.at = match.end()

    def _line(self) -> int:
        return bisect.bisect_left(self.ends, self.at) + 1
