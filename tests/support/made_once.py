"""Profiles that take seconds are made once in a whole run: its processes share them through its common folder.

Only what tests need as a thing to work with is shared. A test that holds a maker against itself asks for
`inspect.unwrap(maker)`, and a maker that is to tell its progress works anew.
"""

from __future__ import annotations

import fcntl
import hashlib
import os
import pickle
from collections.abc import Callable, Iterator
from functools import lru_cache, wraps
from pathlib import Path
from typing import Any

import pytest

FOLDER: list[Path] = []
"""The run's common folder, once a test has begun."""


def made(key: object, make: Callable[[], bytes]) -> bytes:
    """What is made under a key in this run: by the process that comes first, while the others wait for it."""
    if not FOLDER:
        return make()
    path = FOLDER[0] / hashlib.sha256(pickle.dumps(key)).hexdigest()[:16]
    with path.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not path.exists():
            part = path.with_suffix(".part")
            part.write_bytes(make())
            part.replace(path)
    return path.read_bytes()


@pytest.fixture(scope="session", autouse=True)
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Opens the common folder of all processes of this run."""
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "made-once"
    folder.mkdir(exist_ok=True)
    FOLDER.append(folder)
    yield
    FOLDER.clear()


def pytest_collection(session: pytest.Session) -> None:
    """Stands in for the makers before any test imports them; a process that only hands out tests needs none."""
    if session.config.getoption("dist", "no") != "no" and "PYTEST_XDIST_WORKER" not in os.environ:
        return
    from wallworthy.base.progress import Progress, silent
    from wallworthy.characterise import generic
    from wallworthy.demo import profiling
    from wallworthy.demo.printer import VirtualPrinter

    guess, characterised = generic.generic_profile.__wrapped__, profiling.characterised

    @wraps(guess)
    def shared_guess(surface: Any) -> bytes:
        return made(("generic", surface), lambda: guess(surface))

    @wraps(characterised)
    def shared_characterised(printer: VirtualPrinter, progress: Progress = silent) -> bytes:
        if progress is not silent:
            return characterised(printer, progress)
        return made(printer.parameters, lambda: characterised(printer))

    generic.generic_profile = lru_cache(maxsize=3)(shared_guess)
    profiling.characterised = shared_characterised
