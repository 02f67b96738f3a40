"""Files the page takes in: they land beside their place, are checked, and are kept whole or not at all."""

from __future__ import annotations

import os
import re
import secrets
import time
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from wallworthy.base.errors import InputError
from wallworthy.base.files import disk_trouble, make_folder, sha256_of, sweep, write_whole
from wallworthy.base.records import Master
from wallworthy.icc.find import FoundProfile, find_profiles
from wallworthy.icc.standard import grey_profile, srgb_profile
from wallworthy.journey.conditions import output_problem, parsed_of, usable_of
from wallworthy.journey.home import opened
from wallworthy.journey.laid import SPACES, require_content, space_told
from wallworthy.journey.page import MasterFacts, ProfileChoice, ProfileUpload, SpaceTold
from wallworthy.master.describe import describe
from wallworthy.master.open import open_master
from wallworthy.master.source import working_source
from wallworthy.raster.read import inspect

LARGEST_MASTER: Final = 4 << 30
LARGEST_PROFILES: Final = 512 << 20
LARGEST_SCAN: Final = 1 << 30

MASTERS: Final = "masters"
UPLOADS: Final = "uploads"
KEPT_S: Final = 7 * 86400.0
"""Uploaded profiles and scans are of no use after so long: what was taken in of them is in the store."""

_SHA256: Final = re.compile(r"[0-9a-f]{64}")
_UPLOAD: Final = re.compile(r"[0-9a-f]{32}")


class Landing:
    """A file on its way in, hidden until it is whole; a block that is left by an error leaves nothing."""

    def __init__(self, home: Path, at_most: int) -> None:
        self._folder = home / UPLOADS
        self._at_most = at_most
        self._path = self._folder / f".landing.{secrets.token_hex(4)}.part"
        self.size = 0

    def __enter__(self) -> Self:
        make_folder(self._folder)
        sweep(self._folder)
        try:
            self._file = self._path.open("xb")
        except OSError as error:
            raise disk_trouble(error, self._path) from error
        return self

    def write(self, data: bytes) -> None:
        """The next bytes. TroubleError when the disk refuses."""
        self.size += len(data)
        try:
            self._file.write(data)
        except OSError as error:
            raise disk_trouble(error, self._path) from error

    def finished(self) -> Path:
        """The file, its bytes on the disk; move it, or it goes when the block ends."""
        try:
            self._file.flush()
            os.fsync(self._file.fileno())
            self._file.close()
        except OSError as error:
            raise disk_trouble(error, self._path) from error
        return self._path

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        with suppress(OSError):
            self._file.close()
        self._path.unlink(missing_ok=True)


def keep_master(home: Path, landed: Path, name: str) -> MasterFacts:
    """Keep a landed master under its content's SHA-256. Raises InputError for what is no picture or is damaged.

    A file that does not say what its colours mean is kept too: the answer asks for it. One that was kept before and is
    no longer what it was is replaced.
    """
    sha256 = sha256_of(landed)
    known = _file_of(home, sha256)
    if known is not None:
        if not _is_whole(known, sha256):
            _settle(landed, known)
        return master_facts(home, sha256)
    here = landed.with_name(f"{landed.name}{Path(name).suffix.lower()}")
    landed.rename(here)
    try:
        try:
            _check(here)
        except InputError as error:
            raise _renamed(error, here.name, name) from error
        folder = home / MASTERS / sha256
        make_folder(folder)
        _settle(here, folder / name)
    finally:
        here.unlink(missing_ok=True)
    with suppress(InputError), opened(home) as journal:
        journal.masters.add(open_master(folder / name))
    return master_facts(home, sha256)


def _is_whole(kept: Path, sha256: str) -> bool:
    """Whether what is kept still has that content."""
    try:
        return sha256_of(kept) == sha256
    except OSError:
        return False


def _check(path: Path) -> None:
    """Decode every pixel of a master once. Raises InputError."""
    found, _ = _opened(path)
    working_source(found).examine()


def _opened(path: Path) -> tuple[Master, bool]:
    """The master, and whether a space had to be assumed to look at it."""
    try:
        return open_master(path), False
    except InputError as error:
        if error.code != "master_untagged":
            raise
    space = inspect(path).space
    if space == "CMYK":  # inks without a profile can't be shown, not even in grey
        raise InputError(
            "inks_untagged",
            f"{path.name} is CMYK without a profile, so its numbers could mean any colours.",
            "Ask who sent it for the picture with the profile of the press it was separated for, or in RGB.",
            where=str(path),
        )
    assumed = grey_profile() if space == "GRAY" else srgb_profile()
    return open_master(path, assume=assumed), True


def master_facts(home: Path, sha256: str) -> MasterFacts:
    """What a master in this home is. Raises InputError when there is none.

    A file that does not say what its colours mean asks for it each time; what was told the last time is offered.
    """
    kept = _seen(home, sha256)
    if kept is not None and not kept.is_told:
        return facts_of(kept)
    found, needs_space = master_at(home, sha256)
    return _facts_of(found, space_told(kept) if kept and needs_space else None, needs_space=needs_space)


def facts_of(master: Master) -> MasterFacts:
    """A master by the profile it is opened with, as a ticket's page is told of it."""
    return _facts_of(master, space_told(master), needs_space=False)


def master_at(home: Path, sha256: str, told: bytes | None = None) -> tuple[Master, bool]:
    """The master opened by the profile that was told, and whether one had to be assumed. Raises InputError."""
    path = master_path(home, sha256)
    found, needs_space = _opened(path) if told is None else (open_master(path, assume=told), False)
    return require_content(found, sha256), needs_space


def told_profile(home: Path, sha256: str, assume: str | None) -> bytes | None:
    """The profile a master is to be shown by: as it is asked for, else as it was told last; None for the file's own."""
    if assume:
        return assumed_path(home, assume).read_bytes()
    kept = _seen(home, sha256)
    return kept.profile if kept is not None and kept.is_told else None


def _seen(home: Path, sha256: str) -> Master | None:
    with opened(home) as journal:
        return journal.masters.get(sha256) if sha256 in journal.masters else None


def master_path(home: Path, sha256: str) -> Path:
    """Where a master lies: taken in here, or where the command line saw it last. Raises InputError."""
    known = _file_of(home, sha256)
    if known is not None:
        return known
    seen = _seen(home, sha256)
    if seen is not None and Path(seen.path).is_file():
        return Path(seen.path)
    raise InputError(
        "master_unknown", "This picture is not here (any more).", "Drop its file on the page again.", where=sha256
    )


def _file_of(home: Path, sha256: str) -> Path | None:
    if not _SHA256.fullmatch(sha256):
        return None
    folder = home / MASTERS / sha256
    if not folder.is_dir():
        return None
    return next((path for path in sorted(folder.iterdir()) if not path.name.startswith(".")), None)


def _facts_of(master: Master, told: SpaceTold | None, *, needs_space: bool) -> MasterFacts:
    return MasterFacts(
        sha256=master.sha256,
        name=Path(master.path).name,
        format=master.format,
        width_px=master.width_px,
        height_px=master.height_px,
        bits=master.bits,
        floating=master.floating,
        space=master.space,
        profile_description=None if needs_space else master.profile_description,
        captured=dict(master.capture),
        sentences=describe(master)[:1] if needs_space else describe(master),
        notices=master.notices,
        needs_space=needs_space,
        told=told,
    )


def keep_profiles(home: Path, landed: Path, name: str) -> ProfileUpload:
    """Keep a landed ICC profile or ZIP, and list what it holds. Raises InputError when there is no profile in it."""
    upload = sha256_of(landed)[:32]
    target = home / UPLOADS / upload
    try:
        found = find_profiles(landed)
    except InputError as error:
        raise _renamed(error, landed.name, name) from error
    _settle(landed, target)
    return ProfileUpload(upload, name, _choices(found))


def _choices(found: tuple[FoundProfile, ...]) -> tuple[ProfileChoice, ...]:
    """Usable profiles first, numbered as `pick_profile` counts them; the others with why not."""
    usable = usable_of(found)
    choices = [
        ProfileChoice(number, item.description, parsed_of(item).space, True, None)
        for number, item in enumerate(usable, 1)
    ]
    for item in found:
        if item not in usable:
            problem = item.problem or output_problem(item)
            choices.append(ProfileChoice(len(choices) + 1, item.description, None, False, str(problem)))
    return tuple(choices)


def upload_path(home: Path, upload: str) -> Path:
    """Where an upload lies. Raises InputError when it is gone."""
    path = home / UPLOADS / upload
    if not _UPLOAD.fullmatch(upload) or not path.is_file():
        raise InputError("upload_unknown", "The profile is not here any more.", "Drop its file again.", where=upload)
    return path


def assumed_path(home: Path, assume: str) -> Path:
    """The profile to assume for a master: srgb, display-p3, grey (sRGB's curve), an upload, or one told before by its
    SHA-256."""
    if _SHA256.fullmatch(assume):
        with opened(home) as journal:
            journal.store.get(assume)
            return journal.store.path_of(assume)
    if assume not in SPACES:
        return upload_path(home, assume)
    path = home / UPLOADS / f"{assume}.icc"
    if not path.is_file():
        make_folder(path.parent)
        write_whole(path, SPACES[assume](), overwrite=True)
    return path


def keep_scan(home: Path, landed: Path, name: str) -> str:
    """Keep a landed scan until it has been read; its place in the home."""
    target = home / UPLOADS / f"{sha256_of(landed)[:32]}{Path(name).suffix.lower()}"
    _settle(landed, target)
    return str(target)


def sweep_uploads(home: Path) -> None:
    """Remove profiles and scans that were taken in long ago."""
    folder = home / UPLOADS
    sweep(folder)
    if folder.is_dir():
        for path in folder.iterdir():
            with suppress(OSError):
                if time.time() - path.stat().st_mtime > KEPT_S:
                    path.unlink()


def _settle(landed: Path, target: Path) -> None:
    """Give a file that is whole its name; one of that name and content may be there."""
    try:
        landed.replace(target)
    except OSError as error:
        raise disk_trouble(error, target) from error


def _renamed(error: InputError, hidden: str, name: str) -> InputError:
    """The refusal with the file's own name instead of the hidden one."""
    return InputError(error.code, error.text.replace(hidden, name), error.mend, where="file")
