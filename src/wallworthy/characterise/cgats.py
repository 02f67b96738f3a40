"""CGATS.17 text tables: read with tolerance, written plainly."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from wallworthy.base.errors import InputError

LARGEST_FILE: Final = 64 << 20
STRUCTURE: Final = frozenset(
    {"BEGIN_DATA_FORMAT", "END_DATA_FORMAT", "BEGIN_DATA", "END_DATA", "NUMBER_OF_FIELDS", "NUMBER_OF_SETS", "KEYWORD"}
)
TOKEN: Final = re.compile(r'"((?:[^"]|"")*)"|(#.*)|([^\s"]+)')


@dataclass(frozen=True, slots=True)
class CgatsTable:
    """One table as it stands in the file: its kind, its keywords, its field names and its rows of words."""

    kind: str
    keywords: Mapping[str, str]
    fields: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...] = field(repr=False)


def parse_cgats(data: bytes, origin: str = "the file") -> tuple[CgatsTable, ...]:
    """All tables of a CGATS.17 text. UTF-8 is tried first, then Latin-1.

    Raises InputError when the text is no CGATS table, is cut short or contradicts its own counts.
    Source: CGATS17 (type line, KEY "value", KEYWORD "NEW", comments after #, several tables).

    >>> text = b'CGATS.17\\nBEGIN_DATA_FORMAT\\nSAMPLE_ID RGB_R\\nEND_DATA_FORMAT\\nBEGIN_DATA\\n1 0\\nEND_DATA'
    >>> parse_cgats(text)[0].rows
    (('1', '0'),)
    """
    if len(data) > LARGEST_FILE:
        raise _broken(f"{origin} is larger than any table of measurements.", origin)
    if b"\0" in data.rstrip(b"\0"):
        raise _broken(f"{origin} is not a text file.", origin)
    try:
        text = data.rstrip(b"\0").decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.rstrip(b"\0").decode("latin-1")
    reader = _Reader(origin)
    for line in _lines(text):
        reader.take(line)
    return reader.finish()


def format_cgats(table: CgatsTable) -> bytes:
    """The table as CGATS.17 text, UTF-8, lines ended by a line feed; the required keywords come first."""
    lines = [table.kind, ""]
    standard = ("ORIGINATOR", "FILE_DESCRIPTOR", "CREATED")
    first = [key for key in standard if key in table.keywords]
    rest = [key for key in table.keywords if key not in first and key not in STRUCTURE]
    for key in first + rest:
        if key not in WELL_KNOWN:
            lines.append(f"KEYWORD {_quote(key)}")
        lines.append(f"{key} {_quote(table.keywords[key])}")
    lines += [f"NUMBER_OF_FIELDS {len(table.fields)}", "BEGIN_DATA_FORMAT"]
    lines += [" ".join(table.fields), "END_DATA_FORMAT", f"NUMBER_OF_SETS {len(table.rows)}", "BEGIN_DATA"]
    lines += [" ".join(_word(value) for value in row) for row in table.rows]
    lines += ["END_DATA", ""]
    return "\n".join(lines).encode("utf-8")


def read_cgats(path: Path) -> tuple[CgatsTable, ...]:
    """The tables of a file. Raises InputError as `parse_cgats` does, and when the file can't be read."""
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise _broken(f"{path.name} is larger than any table of measurements.", str(path))
        data = path.read_bytes()
    except OSError as error:
        raise InputError(
            "file_unreadable",
            f"{path} can't be read: {error.strerror or error}.",
            "Check the name and the permissions.",
            where=str(path),
        ) from error
    return parse_cgats(data, path.name)


WELL_KNOWN: Final = frozenset(
    {
        "ORIGINATOR",
        "FILE_DESCRIPTOR",
        "DESCRIPTOR",
        "CREATED",
        "INSTRUMENTATION",
        "MEASUREMENT_SOURCE",
        "PRINT_CONDITIONS",
        "SAMPLE_BACKING",
        "WEIGHTING_FUNCTION",
        "TARGET_TYPE",
        "MANUFACTURER",
        "MATERIAL",
        "SERIAL",
        "PROD_DATE",
    }
)


def _lines(text: str) -> Iterator[list[tuple[str, bool]]]:
    """Each line as its words; the flag says whether the word was quoted."""
    for line in re.split(r"\r\n|\r|\n", text):
        words: list[tuple[str, bool]] = []
        for match in TOKEN.finditer(line):
            quoted, comment, plain = match.groups()
            if comment is not None:
                break
            words.append((quoted.replace('""', '"'), True) if quoted is not None else (plain, False))
        if words:
            yield words


class _Reader:
    """Collects tables line by line; `section` says where in a table we are."""

    def __init__(self, origin: str) -> None:
        self.origin = origin
        self.tables: list[CgatsTable] = []
        self.section = ""
        self.kind = ""
        self._open_table()

    def _open_table(self) -> None:
        self.keywords: dict[str, str] = {}
        self.fields: list[str] = []
        self.values: list[str] = []

    def take(self, words: list[tuple[str, bool]]) -> None:
        first, quoted = words[0]
        if self.section == "format":
            self._inside(words, "END_DATA_FORMAT", self.fields)
        elif self.section == "data":
            self._inside(words, "END_DATA", self.values)
        elif first == "BEGIN_DATA_FORMAT":
            self.section, self.fields = "format", []
            self._inside(words[1:], "END_DATA_FORMAT", self.fields)
        elif first == "BEGIN_DATA":
            if not self.fields:
                raise _broken(f"{self.origin} has data without saying what its columns are.", self.origin)
            self.section = "data"
            self._inside(words[1:], "END_DATA", self.values)
        elif len(words) == 1 and not quoted:
            self._type_line(first)
        elif first != "KEYWORD" and not quoted:
            self.keywords[first] = " ".join(word for word, _ in words[1:])

    def _type_line(self, word: str) -> None:
        if word in STRUCTURE:
            raise _broken(f"{self.origin} has a stray {word}.", self.origin)
        if not self.kind or not (self.fields or self.keywords):
            self.kind = word[:80]
        else:
            self.keywords[word] = ""

    def _inside(self, words: list[tuple[str, bool]], end: str, into: list[str]) -> None:
        for word, quoted in words:
            if word == end and not quoted:
                self.section = ""
                if end == "END_DATA":
                    self._close_table()
                return
            into.append(word)

    def _close_table(self) -> None:
        width = len(self.fields)
        if len(self.values) % width:
            raise _broken(f"{self.origin} has rows of unequal length.", self.origin)
        rows = [tuple(self.values[i : i + width]) for i in range(0, len(self.values), width)]
        for key, count in (("NUMBER_OF_SETS", len(rows)), ("NUMBER_OF_FIELDS", width)):
            claimed = self.keywords.pop(key, str(count))
            if claimed.strip() != str(count):
                raise _broken(f"{self.origin} claims {key} {claimed[:20]} but has {count}.", self.origin)
        fields = tuple(self.fields)
        self.tables.append(CgatsTable(self.kind or "CGATS.17", dict(self.keywords), fields, tuple(rows)))
        previous = fields
        self._open_table()
        self.fields = list(previous)
        self.kind = ""

    def finish(self) -> tuple[CgatsTable, ...]:
        if self.section:
            raise _broken(f"{self.origin} ends in the middle of its {self.section}.", self.origin)
        if not self.tables:
            raise _broken(f"{self.origin} holds no table of measurements.", self.origin)
        return tuple(self.tables)


def _quote(text: str) -> str:
    clean = " ".join(text.split())
    return '"' + clean.replace('"', '""') + '"'


def _word(text: str) -> str:
    plain = text and not re.search(r'[\s"]', text) and not text.startswith("#") and text != "END_DATA"
    return text if plain else _quote(text)


def _broken(text: str, origin: str) -> InputError:
    return InputError(
        "measurements_broken",
        text,
        "Save the measurements again as CGATS text with device values and Lab or XYZ.",
        where=origin,
    )
