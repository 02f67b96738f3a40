"""Image file directories: the tags of TIFF and EXIF, read with every offset and count checked.

TIFF Revision 6.0 (1992), section 2; BigTIFF; EXIF uses the same directories (CIPA DC-008).
Values are read only when asked for, so a header that lies takes neither time nor memory.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, field
from typing import Final, Protocol

ENTRIES_LIMIT: Final = 4096
VALUE_LIMIT_BYTES: Final = 64 << 20
PAGES_LIMIT: Final = 4096

TYPE_CODES: Final[dict[int, str]] = {
    1: "B", 2: "s", 3: "H", 4: "I", 5: "II", 6: "b", 7: "B", 8: "h", 9: "i", 10: "ii",
    11: "f", 12: "d", 13: "I", 16: "Q", 17: "q", 18: "Q",
}  # fmt: skip


class TagError(Exception):
    """The directories can't be followed; the message is part of a sentence."""


class Reader(Protocol):
    """Random access to bytes."""

    @property
    def size(self) -> int: ...

    def read(self, offset: int, count: int) -> bytes: ...


@dataclass(frozen=True, slots=True)
class BytesReader:
    """A reader over bytes in memory."""

    data: bytes = field(repr=False)

    @property
    def size(self) -> int:
        return len(self.data)

    def read(self, offset: int, count: int) -> bytes:
        return self.data[offset : offset + count]


@dataclass(frozen=True, slots=True)
class Entry:
    """One tag: its type, number of values, and where they lie."""

    kind: int
    count: int
    offset: int


@dataclass(frozen=True, slots=True)
class Directory:
    """One image file directory."""

    reader: Reader = field(repr=False)
    order: str
    """'<' or '>'."""
    entries: dict[int, Entry]
    big: bool = False

    def raw(self, tag: int) -> bytes:
        """The tag's bytes; empty when absent. Raises TagError beyond the file's end or 64 MB."""
        entry = self.entries.get(tag)
        if entry is None:
            return b""
        length = struct.calcsize("=" + TYPE_CODES[entry.kind]) * entry.count
        if length > VALUE_LIMIT_BYTES:
            raise TagError("a tag claims an absurd length")
        data = self.reader.read(entry.offset, length)
        if len(data) < length:
            raise TagError("a tag points beyond the end of the file")
        return data

    def numbers(self, tag: int) -> tuple[float, ...]:
        """The tag's values as numbers, rationals divided (0/0 is 0); empty when absent or text."""
        entry = self.entries.get(tag)
        if entry is None or entry.kind == 2:
            return ()
        code = TYPE_CODES[entry.kind]
        values = struct.unpack(f"{self.order}{entry.count * len(code)}{code[0]}", self.raw(tag))
        if len(code) == 2:
            return tuple(a / b if b else 0.0 for a, b in zip(values[::2], values[1::2], strict=True))
        return values

    def integers(self, tag: int, default: tuple[int, ...] = ()) -> tuple[int, ...]:
        """The tag's values as whole numbers, or the default."""
        entry = self.entries.get(tag)
        if entry is None or entry.kind in (2, 5, 10, 11, 12):
            return default
        return tuple(int(value) for value in self.numbers(tag))

    def integer(self, tag: int, default: int) -> int:
        """The tag's first value, or the default."""
        return next(iter(self.integers(tag)), default)

    def text(self, tag: int) -> str:
        """The tag's text: printable, one line, at most 120 characters."""
        entry = self.entries.get(tag)
        if entry is None or entry.kind not in (1, 2, 7) or entry.count > 4096:
            return ""
        line = self.raw(tag).split(b"\0", 1)[0].decode("utf-8", "replace")
        return " ".join("".join(c if c.isprintable() else " " for c in line).split())[:120]


@dataclass(frozen=True, slots=True)
class Tags:
    """All top directories of a TIFF or EXIF block, in the order of the chain."""

    directories: tuple[Directory, ...]
    big: bool


def read_tags(reader: Reader) -> Tags:
    """Follow the chain of directories from the header. Raises TagError when it can't be followed."""
    head = reader.read(0, 16)
    order = {b"II": "<", b"MM": ">"}.get(head[:2])
    if order is None or len(head) < 8:
        raise TagError("it has no directory header")
    version = struct.unpack(order + "H", head[2:4])[0]
    big = version == 43
    if big:
        if len(head) < 16 or struct.unpack(order + "HH", head[4:8]) != (8, 0):
            raise TagError("its header is not a header")
        offset = struct.unpack(order + "Q", head[8:16])[0]
    elif version == 42:
        offset = struct.unpack(order + "I", head[4:8])[0]
    else:
        raise TagError("its header is not a header")
    found: list[Directory] = []
    seen: set[int] = set()
    while offset:
        if offset in seen:
            raise TagError("its directories point back at each other")
        if len(found) >= PAGES_LIMIT:
            raise TagError("it has more directories than a picture needs")
        seen.add(offset)
        directory, offset = _directory(reader, order, big, offset)
        found.append(directory)
    if not found:
        raise TagError("it has no directory")
    return Tags(tuple(found), big)


def sub_directory(parent: Directory, tag: int) -> Directory | None:
    """The directory a tag points at (EXIF, interoperability), or None; damage there is no reason to refuse."""
    offset = parent.integer(tag, 0)
    if not offset:
        return None
    try:
        return _directory(parent.reader, parent.order, parent.big, offset)[0]
    except TagError:
        return None


def _directory(reader: Reader, order: str, big: bool, offset: int) -> tuple[Directory, int]:
    counter, entry_form, value_bytes = ("Q", "HHQ8s", 8) if big else ("H", "HHI4s", 4)
    head = struct.calcsize(order + counter)
    raw = reader.read(offset, head)
    if len(raw) < head:
        raise TagError("a directory lies beyond the end of the file")
    count = struct.unpack(order + counter, raw)[0]
    if not 0 < count <= ENTRIES_LIMIT:
        raise TagError("a directory claims an absurd number of tags")
    size = struct.calcsize(order + entry_form)
    body = reader.read(offset + head, count * size + value_bytes)
    if len(body) < count * size:
        raise TagError("a directory lies beyond the end of the file")
    entries: dict[int, Entry] = {}
    for index in range(count):
        tag, kind, number, value = struct.unpack_from(order + entry_form, body, index * size)
        if kind not in TYPE_CODES or number < 1:
            continue
        inside = struct.calcsize("=" + TYPE_CODES[kind]) * number <= value_bytes
        place = offset + head + index * size + size - value_bytes
        at = place if inside else struct.unpack(order + ("Q" if big else "I"), value)[0]
        entries.setdefault(tag, Entry(kind, number, at))
    rest = body[count * size :]
    following = struct.unpack(order + ("Q" if big else "I"), rest)[0] if len(rest) == value_bytes else 0
    return Directory(reader, order, entries, big), following
