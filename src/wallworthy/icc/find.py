"""Finding profiles in a file, a ZIP archive or a folder, by content and never by name.

Bounded: so many files, so many bytes, so deep; past a bound comes a refusal, never half a list.
From an archive only what a profile's header asks for is unpacked.
"""

from __future__ import annotations

import hashlib
import os
import zipfile
import zlib
from collections.abc import Generator, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from wallworthy.base.errors import InputError
from wallworthy.icc.read import LARGEST_BYTES, looks_like_profile, parse_profile, read_bytes

MOST_FILES: Final = 20_000
MOST_PROFILES: Final = 500
MOST_BYTES: Final = 256 << 20
"""Of profiles held together."""
DEEPEST: Final = 12
LARGEST_DIRECTORY: Final = 8 << 20
"""Bytes of an archive's own list of files; about 100,000 names."""
START_BYTES: Final = 128
SUFFIXES: Final = (".icc", ".icm")
TOO_LARGE: Final = "archive_too_large"
MANY: Final = f"holds more files than can be looked through ({MOST_FILES})"


@dataclass(frozen=True, slots=True)
class FoundProfile:
    """A profile that was found: `name` is its place inside the folder or archive.

    `problem`: why it can't be read, else None; then `description` is the file's name.
    """

    description: str
    name: str
    data: bytes = field(repr=False)
    problem: str | None = None


def find_profiles(path: str | Path) -> tuple[FoundProfile, ...]:
    """The profiles in a file, a ZIP or a folder (its subfolders and its ZIPs too), ordered by name.

    Files that are no profiles are passed over, copies are listed once, broken profiles carry
    their problem. Raises InputError when the path is missing or unreadable, holds no profile, too many
    profiles, or more files or deeper folders than are looked through: nothing is left out in silence.
    """
    path = Path(path)
    if path.is_dir():
        pieces = _in_folder(path)
    elif _is_zip(start := read_start(path)):
        pieces = _in_zip(path, "")
    elif looks_like_profile(start) or path.suffix.lower() in SUFFIXES:
        pieces = iter([(path.name, read_bytes(path), None)])
    else:
        pieces = iter(())
    found = _listed(pieces)
    if not found:
        raise InputError(
            "no_profile",
            f"There is no ICC profile in {path.name or path}.",
            "Give the profile's file, or the ZIP or folder that holds it.",
            where=str(path),
        )
    return found


Piece = tuple[str, bytes, str | None]
"""Name, bytes, and why the bytes could not be had."""


def _listed(pieces: Iterable[Piece]) -> tuple[FoundProfile, ...]:
    found: dict[str, FoundProfile] = {}
    total = 0
    for name, data, problem in pieces:
        total += len(data)
        if len(found) >= MOST_PROFILES or total > MOST_BYTES:
            raise InputError(
                "too_many_profiles",
                f"There are more profiles here than can be listed ({MOST_PROFILES}, or {MOST_BYTES >> 20} MB).",
                "Name a folder or file further in.",
            )
        digest = hashlib.sha256(data).hexdigest() if data else name
        found.setdefault(digest, _judged(name, data, problem))
    return tuple(sorted(found.values(), key=lambda one: one.name))


def _judged(name: str, data: bytes, problem: str | None) -> FoundProfile:
    short = name.rsplit("/", 1)[-1]
    if problem is None:
        try:
            return FoundProfile(parse_profile(data, short).description, name, data)
        except InputError as error:
            problem = str(error)
    return FoundProfile(short, name, data, problem)


def read_start(path: Path) -> bytes:
    """The first bytes of an ordinary file. Raises InputError when there is none."""
    if not path.is_file():
        return read_bytes(path)
    try:
        with path.open("rb") as file:
            return file.read(START_BYTES)
    except OSError:
        return read_bytes(path)


def _is_zip(start: bytes) -> bool:
    return start[:4] in (b"PK\3\4", b"PK\5\6")


def _worth_reading(name: str, start: bytes) -> bool:
    """A profile by content, or a file that only claims to be one (and will be listed as broken)."""
    return looks_like_profile(start) or (name.lower().endswith(SUFFIXES) and not _is_zip(start))


def _hidden(name: str) -> bool:
    return any(part.startswith("._") or part == "__MACOSX" for part in name.split("/"))


def _in_folder(folder: Path) -> Generator[Piece]:
    seen = 0
    for place, folders, files in os.walk(folder, followlinks=False):
        here = Path(place)
        folders.sort()
        if folders and len(here.relative_to(folder).parts) >= DEEPEST:
            raise _too_large(folder, f"has folders more than {DEEPEST} deep, which are not looked through")
        for file in sorted(files):
            seen += 1
            if seen > MOST_FILES:
                raise _too_large(folder, MANY)
            path = here / file
            name = _shown(path.relative_to(folder).as_posix())
            if not _hidden(name):
                yield from _one_file(path, name)


def _one_file(path: Path, name: str) -> Generator[Piece]:
    if not path.is_file():
        return
    try:
        start = read_start(path)
        if _is_zip(start):
            yield from _in_zip(path, f"{name}/")
        elif _worth_reading(name, start):
            yield name, read_bytes(path), None
    except InputError as error:
        if path.suffix.lower() in (*SUFFIXES, ".zip") or error.code == TOO_LARGE:
            yield name, b"", str(error)


def _in_zip(path: Path, prefix: str) -> Generator[Piece]:
    _check_directory(path)
    try:
        with zipfile.ZipFile(path) as archive:
            if len(archive.infolist()) > MOST_FILES:
                raise _too_large(path, MANY)
            for entry in sorted(archive.infolist(), key=lambda one: one.filename):
                if not entry.is_dir() and not _hidden(entry.filename):
                    yield from _one_entry(archive, entry, prefix + _shown(entry.filename))
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError) as error:
        raise _bad_archive(path) from error


def _one_entry(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, name: str) -> Generator[Piece]:
    claimed = name.lower().endswith(SUFFIXES)
    if entry.flag_bits & 1:
        if claimed:
            yield name, b"", f"{name} is locked with a password."
        return
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        # The standard library unpacks the other methods without a limit.
        if claimed:
            yield name, b"", f"{name} is packed in a way that can't be read; unpack the archive first."
        return
    try:
        with archive.open(entry) as file:
            data = file.read(START_BYTES)
            if not _worth_reading(name, data):
                return
            if looks_like_profile(data):
                wanted = min(int.from_bytes(data[:4], "big") + START_BYTES, LARGEST_BYTES)
                data += file.read(max(0, wanted - len(data)))
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, RuntimeError) as error:
        if claimed:
            yield name, b"", f"{name} can't be unpacked: {error}."
        return
    yield name, data, None


def _check_directory(path: Path) -> None:
    """Refuse an archive whose own list of files is absurd, before it is read into memory.

    Source: APPNOTE.TXT, end of central directory record and its ZIP64 form.
    """
    with path.open("rb") as file:
        size = file.seek(0, os.SEEK_END)
        file.seek(max(0, size - (1 << 16) - 22))
        tail = file.read()
        at = tail.rfind(b"PK\5\6")
        if at < 0 or len(tail) < at + 22:
            raise _bad_archive(path)
        directory = int.from_bytes(tail[at + 12 : at + 16], "little")
        if tail[max(0, at - 20) : at][:4] == b"PK\6\7" and at >= 76:
            directory = max(directory, int.from_bytes(tail[at - 36 : at - 28], "little"))
    if directory > LARGEST_DIRECTORY:
        raise _too_large(path, MANY)


def _too_large(path: Path, why: str) -> InputError:
    return InputError(
        TOO_LARGE,
        f"{path.name or path} {why}.",
        "Name the profile itself, or a folder further in; unpack an archive first.",
        where=str(path),
    )


def _bad_archive(path: Path) -> InputError:
    return InputError(
        "archive_damaged",
        f"{path.name} is a ZIP archive that can't be opened; it may have been cut short.",
        "Download it again, or unpack it and name the profile itself.",
        where=str(path),
    )


def _shown(name: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in name)
