"""Taking files in: streamed to the home, bounded, checked, and whole or gone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import TYPE_CHECKING, Final, TypeVar

from anyio import to_thread
from fastapi import Request
from python_multipart.exceptions import FormParserError
from python_multipart.multipart import MultipartParser, parse_options_header
from starlette.requests import ClientDisconnect

from wallworthy.base.errors import InputError
from wallworthy.journey.incoming import Landing

if TYPE_CHECKING:
    from python_multipart.multipart import MultipartCallbacks

Kept = TypeVar("Kept")

HEADERS_AT_MOST: Final = 16 << 10
LONGEST_STEM: Final = 150
LONGEST_SUFFIX: Final = 8


class _Part:
    """Callbacks of the parser: the first part named `file` goes to the landing, everything else is passed over."""

    def __init__(self) -> None:
        self.name: str | None = None
        self.done = False
        self.pieces: list[bytes] = []
        self._field = self._value = b""
        self._inside = False
        self._disposition = b""

    def callbacks(self) -> MultipartCallbacks:
        return {
            "on_part_begin": self._begin,
            "on_part_data": self._data,
            "on_part_end": self._end,
            "on_header_field": self._header_field,
            "on_header_value": self._header_value,
            "on_header_end": self._header_end,
        }

    def _begin(self) -> None:
        self._disposition = b""

    def _header_field(self, data: bytes, start: int, end: int) -> None:
        self._field += data[start:end]
        self._bound()

    def _header_value(self, data: bytes, start: int, end: int) -> None:
        self._value += data[start:end]
        self._bound()

    def _bound(self) -> None:
        if len(self._field) + len(self._value) > HEADERS_AT_MOST:
            raise unclear()

    def _header_end(self) -> None:
        if self._field.lower() == b"content-disposition":
            _, options = parse_options_header(self._value)
            if options.get(b"name") == b"file" and self.name is None:
                self.name = _bare(options.get(b"filename", b"").decode("utf-8", errors="replace"))
                self._inside = True
        self._field = self._value = b""

    def _data(self, data: bytes, start: int, end: int) -> None:
        if self._inside:
            self.pieces.append(data[start:end])

    def _end(self) -> None:
        self.done = self.done or self._inside
        self._inside = False


def _bare(name: str) -> str:
    """A file's own name, without folders, control characters and leading dots, its stem cut to what disks take."""
    bare = PureWindowsPath(PurePosixPath(name).name).name
    bare = "".join(letter for letter in bare if letter.isprintable()).lstrip(". ")
    stem, dot, suffix = bare.rpartition(".")
    if not dot or len(suffix) > LONGEST_SUFFIX:
        return bare.encode()[:LONGEST_STEM].decode(errors="ignore")
    return f"{stem.encode()[:LONGEST_STEM].decode(errors='ignore')}.{suffix}"


async def received(request: Request, home: Path, at_most: int, keep: Callable[[Path, Path, str], Kept]) -> Kept:
    """Stream the request's `file` beside its place, then `keep(home, file, name)` it; refused, nothing stays.

    Raises InputError for a body that is no such form, is cut short, or is larger than `at_most` bytes.
    """
    kind, options = parse_options_header(request.headers.get("content-type", ""))
    boundary = options.get(b"boundary")
    if kind != b"multipart/form-data" or not boundary:
        raise unclear()
    told = request.headers.get("content-length", "")
    if told.isdigit() and int(told) > at_most + HEADERS_AT_MOST:
        raise too_large(at_most)
    part = _Part()
    parser = MultipartParser(boundary, part.callbacks())
    with Landing(home, at_most) as landing:
        try:
            async for piece in request.stream():
                parser.write(piece)
                for data in part.pieces:
                    if landing.size + len(data) > at_most:
                        raise too_large(at_most)
                    await to_thread.run_sync(landing.write, data)
                part.pieces.clear()
            parser.finalize()
        except (FormParserError, ClientDisconnect) as error:
            raise unclear() from error
        if not part.done or not part.name:
            raise unclear()
        name = part.name
        return await to_thread.run_sync(lambda: keep(home, landing.finished(), name))


def unclear() -> InputError:
    return InputError(
        "upload_unclear", "The file did not arrive whole.", "Drop it again; nothing was kept of it.", where="file"
    )


def too_large(at_most: int) -> InputError:
    size = f"{at_most >> 30} GB" if at_most >= 1 << 30 else f"{at_most >> 20} MB"
    return InputError(
        "upload_too_large",
        f"The file is larger than {size}.",
        "Give a smaller one; nothing was kept of it.",
        where="file",
    )
