"""Fixtures shared by all tests: the published profiles and data, fetched by scripts/fetch-published."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from support.made_once import made_once, pytest_collection  # noqa: F401

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the commands have it: numpy's own threads wait busily
ROOT = Path(__file__).resolve().parent.parent
PUBLISHED = ROOT / ".cache" / "published"

PROFILES = {
    "fogra39": "ISOcoated_v2_300_bas.icc",
    "gs_cmyk": "icc/ghostscript/default_cmyk.icc",
    "gs_ps_cmyk": "icc/ghostscript/ps_cmyk.icc",
    "gs_srgb": "icc/ghostscript/srgb.icc",
    "gs_romm": "icc/ghostscript/rommrgb.icc",
    "gs_a98": "icc/ghostscript/a98.icc",
    "gs_lab": "icc/ghostscript/lab.icc",
    "gs_gray": "icc/ghostscript/sgray.icc",
    "lstar_rgb": "icc/LStar-RGB.icc",
}


LONGEST_FIRST = ("walk", "web", "property")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Files that take long come first: several processes share them, and none waits long for another at the end."""

    def rank(item: pytest.Item) -> int:
        room = item.path.parent.name
        return LONGEST_FIRST.index(room) if room in LONGEST_FIRST else len(LONGEST_FIRST)

    items.sort(key=rank)


def _present(path: Path) -> Path:
    if not path.is_file():
        if os.environ.get("CI"):
            pytest.fail(f"{path.name} is missing: scripts/fetch-published did not bring it")
        pytest.skip(f"{path.name} is not here: run scripts/fetch-published")
    return path


@pytest.fixture(scope="session")
def published_profile() -> Callable[[str], bytes]:
    """A published ICC profile's bytes by short name."""

    def bytes_of(name: str) -> bytes:
        if name == "vips_cmyk":
            import pyvips

            return bytes(pyvips.Operation.call("profile_load", "cmyk"))
        return _present(PUBLISHED / PROFILES[name]).read_bytes()

    return bytes_of


@pytest.fixture(scope="session")
def published_data() -> Callable[[str], Path]:
    """A published CGATS file's path by its name, FOGRA39L.ti3 for example."""

    def path_of(name: str) -> Path:
        return _present(PUBLISHED / "icc" / name)

    return path_of
