"""A home, a master and a profile for walking through the commands."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from support.commands import Teller
from wallworthy.demo.printer import VirtualPrinter
from wallworthy.demo.profiling import characterised
from wallworthy.icc.standard import srgb_profile


@pytest.fixture
def tell(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Teller:
    """Commands on a fresh home, given from an empty folder."""
    folder = tmp_path / "desk"
    folder.mkdir()
    monkeypatch.chdir(folder)
    monkeypatch.delenv("WALLWORTHY_HOME", raising=False)
    return Teller(tmp_path / "home", capsys)


def picture(height: int = 240, width: int = 360) -> np.ndarray[Any, Any]:
    """An sRGB picture, 16 bits: a colourful slope with a dark and a bright end."""
    rows, columns = np.mgrid[0:height, 0:width].astype(float)
    across, down = columns / width, rows / height
    rgb = np.stack([across, 0.5 + 0.5 * np.sin(6 * down + 4 * across), 1 - down], axis=-1)
    return np.round(np.clip(rgb, 0, 1) * 65535).astype(np.uint16)


@pytest.fixture
def master(tmp_path: Path) -> Path:
    """A tagged 16-bit TIFF."""
    path = tmp_path / "slope.tif"
    tifffile.imwrite(path, picture(), photometric="rgb", iccprofile=srgb_profile())
    return path


@pytest.fixture
def cmyk(tmp_path: Path, published_profile: Callable[[str], bytes]) -> Path:
    """A published CMYK output profile as a file."""
    path = tmp_path / "fogra39.icc"
    path.write_bytes(published_profile("fogra39"))
    return path


@pytest.fixture(scope="session")
def machine() -> VirtualPrinter:
    """The demo's printer with matt paper."""
    return VirtualPrinter("matt", "first")


@pytest.fixture(scope="session")
def profile(machine: VirtualPrinter, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The profile of `machine`, from its own measurements."""
    path = tmp_path_factory.mktemp("profile") / "matt.icc"
    path.write_bytes(characterised(machine))
    return path
