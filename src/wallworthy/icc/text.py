"""Texts of a profile: v2 'desc', v4 'mluc' (ICC.1:2022 section 10.15) and 'text' (section 10.24)."""

from __future__ import annotations

from typing import Final

from wallworthy.icc.span import Span

LONGEST: Final = 2000
"""Characters kept of any text; a description is for reading, not for storage."""


def read_text(span: Span) -> str:
    """The text in `span`, one line, without control characters; English where there is a choice.

    An empty string for a type that holds no text. Raises InputError when the bytes are not there.
    """
    kind = span.bytes(0, 4)
    if kind == b"desc":
        return _tidy(_description(span))
    if kind == b"mluc":
        return _tidy(_multilingual(span))
    if kind == b"text":
        return _tidy(_plain(span.bytes(8, min(span.size - 8, 4 * LONGEST))))
    return ""


def _description(span: Span) -> str:
    length = span.u32(8)
    ascii_text = _plain(span.bytes(12, length)[: 4 * LONGEST])
    if ascii_text.strip() or span.size < 12 + length + 8:
        return ascii_text
    units = span.u32(12 + length + 4)
    return span.bytes(12 + length + 8, 2 * units)[: 4 * LONGEST].decode("utf-16-be", "replace")


def _multilingual(span: Span) -> str:
    count, width = span.u32(8), span.u32(12)
    span.need(16, count * max(width, 12))
    best: tuple[int, int, int] | None = None
    for index in range(min(count, 200)):
        at = 16 + index * max(width, 12)
        language = span.bytes(at, 2)
        entry = (0 if language == b"en" else 1, span.u32(at + 4), span.u32(at + 8))
        if best is None or entry[0] < best[0]:
            best = entry
    if best is None:
        return ""
    _, length, offset = best
    return span.bytes(offset, length)[: 4 * LONGEST].decode("utf-16-be", "replace")


def _plain(raw: bytes) -> str:
    raw = raw.split(b"\0", 1)[0]
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return raw.decode("latin-1")


def _tidy(text: str) -> str:
    text = text.split("\0", 1)[0]
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())[:LONGEST]
