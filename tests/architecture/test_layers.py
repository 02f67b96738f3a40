"""The layers and doors of .importlinter hold, and the linter notices when they don't."""

from __future__ import annotations

import configparser
import importlib.util
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

pytestmark = pytest.mark.practice

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "wallworthy"

LAYERS = "Upper rooms import lower ones, siblings never"
PICTURES = "Picture files are opened in raster only"
CODECS = "The colour engine's binding is called in icc, its codecs in raster too"
TABLES = "OpenColorIO is called in icc only"
DATABASE = "SQLite is called in journal only"
PROGRAMS = "Other programs are started in dispatch only"
TERMINAL = "The command line's libraries stay in cli"
PAGE = "The page's server libraries stay in web"
ORACLES = "What judges the program never becomes part of it"
JOURNAL = "Only journey speaks to the journal"
FACE = "No room leans on the library face"

UNDER_TYPE_CHECKING = "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    "
INSIDE_A_FUNCTION = "def planted() -> None:\n    "

# module to plant in, text to plant, contract that must break
PLANTED = {
    "sideways": ("proof/__init__.py", "from wallworthy.render import planted", LAYERS),
    "sideways below": ("raster/__init__.py", "from wallworthy.icc import read", LAYERS),
    "upward": ("colour/lab.py", "import wallworthy.icc.read", LAYERS),
    "upward by two": ("fit/__init__.py", "from wallworthy.journey import things", LAYERS),
    "upward from the bottom": ("base/units.py", "from wallworthy.colour import lab", LAYERS),
    "inside a function": ("master/__init__.py", INSIDE_A_FUNCTION + "from wallworthy.journal import store", LAYERS),
    "under TYPE_CHECKING": ("icc/__init__.py", UNDER_TYPE_CHECKING + "from wallworthy.fit import ways", LAYERS),
    "relative": ("dispatch/__init__.py", "from ..proof import lights", LAYERS),
    "a room nobody listed": ("lounge/__init__.py", "X = 1", LAYERS),
    "a module outside every room": ("helpers.py", "X = 1", LAYERS),
    "the journal from the demo": ("demo/__init__.py", "from wallworthy.journal import journal", JOURNAL),
    "the journal from the command line": ("cli/__init__.py", "from wallworthy.journal import journal", JOURNAL),
    "the face from a room": ("fit/__init__.py", "from wallworthy import __version__", FACE),
    "pyvips": ("master/__init__.py", "import pyvips", PICTURES),
    "tifffile": ("proof/__init__.py", INSIDE_A_FUNCTION + "from tifffile import imread", PICTURES),
    "cv2": ("render/__init__.py", "import cv2", PICTURES),
    "pillow_heif": ("master/__init__.py", "import pillow_heif", PICTURES),
    "imagecodecs": ("fit/__init__.py", "from imagecodecs import cms_transform", CODECS),
    "PyOpenColorIO": ("raster/__init__.py", "import PyOpenColorIO", TABLES),
    "sqlite3": ("journey/__init__.py", "import sqlite3", DATABASE),
    "subprocess": ("cli/__init__.py", INSIDE_A_FUNCTION + "import subprocess", PROGRAMS),
    "typer": ("journey/__init__.py", "import typer", TERMINAL),
    "rich": ("demo/__init__.py", "from rich.console import Console", TERMINAL),
    "fastapi": ("journey/__init__.py", "import fastapi", PAGE),
    "starlette": ("cli/__init__.py", "from starlette.responses import Response", PAGE),
    "pydantic": ("base/__init__.py", "import pydantic", PAGE),
    "uvicorn": ("cli/__init__.py", INSIDE_A_FUNCTION + "import uvicorn", PAGE),
    "python_multipart": ("raster/__init__.py", "import python_multipart", PAGE),
    "anyio": ("journey/__init__.py", "import anyio", PAGE),
    "the command line from the page": ("web/__init__.py", "from wallworthy.cli import run", LAYERS),
    "the page from journey": ("journey/__init__.py", "from wallworthy.web import guard", LAYERS),
    "colour": ("icc/__init__.py", "import colour", ORACLES),
    "skimage": ("colour/__init__.py", UNDER_TYPE_CHECKING + "import skimage", ORACLES),
    "coloraide": ("colour/__init__.py", "from coloraide import Color", ORACLES),
    "choix": ("base/__init__.py", "import choix", ORACLES),
    "PIL": ("raster/__init__.py", "from PIL import Image", ORACLES),
    "hypothesis": ("base/__init__.py", "import hypothesis", ORACLES),
    "pytest": ("journal/__init__.py", "import pytest", ORACLES),
}


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    """The linter on the package under `folder`, by the repository's contracts."""
    command = [Path(sys.executable).with_name("lint-imports"), "--no-logo"]
    environment = {**os.environ, "PYTHONPATH": str(folder), "COLUMNS": "200"}
    return subprocess.run(
        [*command, "--cache-dir", folder / ".cache", ROOT / ".importlinter"],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A copy of the package, plain modules only."""
    folder = tmp_path_factory.mktemp("planted")
    shutil.copytree(PACKAGE, folder / "wallworthy", ignore=shutil.ignore_patterns("__pycache__", "static", "data"))
    yield folder
    shutil.rmtree(folder)


def test_the_package_keeps_every_contract(tmp_path: Path) -> None:
    shutil.copytree(PACKAGE, tmp_path / "wallworthy", ignore=shutil.ignore_patterns("__pycache__"))
    answer = lint(tmp_path)
    assert answer.returncode == 0, answer.stdout
    assert "0 broken" in answer.stdout


ALONE = ("a room nobody listed", "a module outside every room")
"""These are found before any import is looked at, and so keep the others from being told."""
IMPORTED = tuple(name for name in PLANTED if name not in ALONE)


def plant(package: Path, place: str, text: str) -> None:
    module = package / place
    module.parent.mkdir(exist_ok=True)
    with module.open("a", encoding="utf-8") as file:
        file.write(f"\n{text}\n")


@pytest.fixture(scope="module")
def told(copy: Path) -> str:
    """What the linter says of a copy with every import planted that no contract allows."""
    folder = copy / "planted"
    shutil.copytree(copy / "wallworthy", folder / "wallworthy")
    for name in IMPORTED:
        place, text, _ = PLANTED[name]
        plant(folder / "wallworthy", place, text)
    answer = lint(folder)
    assert answer.returncode != 0, answer.stdout
    return answer.stdout


@pytest.mark.parametrize("name", IMPORTED)
def test_a_planted_import_breaks_its_contract(told: str, name: str) -> None:
    place, text, contract = PLANTED[name]
    found = re.match(r"(?:from|import) (?:wallworthy)?\.*(\w+)", text.splitlines()[-1].strip())
    assert found, text
    importer = "wallworthy." + place.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
    assert f"{contract} BROKEN" in told, told
    section = told.split("Broken contracts")[1].split(f"\n{contract}\n")[1].split("\n---")[0]
    line = re.compile(rf"{re.escape(importer)} -> (wallworthy\.)?{found[1]}\b")
    assert line.search(section), section


@pytest.mark.parametrize("name", ALONE)
def test_a_room_that_no_layer_names_is_refused(copy: Path, tmp_path: Path, name: str) -> None:
    place, text, contract = PLANTED[name]
    shutil.copytree(copy / "wallworthy", tmp_path / "wallworthy")
    plant(tmp_path / "wallworthy", place, text)
    answer = lint(tmp_path)
    assert answer.returncode != 0, answer.stdout
    assert f"{contract} BROKEN" in answer.stdout, answer.stdout


def named(*kinds: str) -> list[tuple[str, str]]:
    """(contract, module) for every module that contracts of these types forbid or protect."""
    config = configparser.ConfigParser()
    config.read_string((ROOT / ".importlinter").read_text("utf-8"))
    sections = [config[name] for name in config.sections() if config[name].get("type") in kinds]
    return [
        (section.name.rpartition(":")[2], module)
        for section in sections
        for module in section.get(f"{section['type']}_modules", "").split()
    ]


@pytest.mark.parametrize(("contract", "module"), named("forbidden", "protected"))
def test_every_module_a_contract_names_can_be_imported(contract: str, module: str) -> None:
    """A forbidden list takes a misspelt name in silence, and would then keep nothing out."""
    assert importlib.util.find_spec(module) is not None, f"{contract} names {module}, which is not there"


def test_the_contracts_name_what_they_should() -> None:
    forbidden = {module for _, module in named("forbidden")}
    assert forbidden >= {"subprocess", "colour", "skimage", "coloraide", "PIL", "hypothesis", "pytest", "choix"}
    assert {module for _, module in named("protected")} >= {"pyvips", "tifffile", "imagecodecs", "sqlite3", "typer"}


def test_the_copy_itself_is_clean(copy: Path) -> None:
    """Otherwise the planted imports would prove nothing."""
    answer = lint(copy)
    assert answer.returncode == 0, answer.stdout
