"""`import wallworthy` and `wallworthy --help` load nothing heavy (house rule 5). Modules are counted, not seconds."""

from __future__ import annotations

import json
import platform
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import Image

from wallworthy.cli import KEPT, keep_memory
from wallworthy.cli.run import run

pytestmark = pytest.mark.practice

HEAVY = {
    "numpy",
    "scipy",
    "pyvips",
    "imagecodecs",
    "PyOpenColorIO",
    "tifffile",
    "cv2",
    "pillow_heif",
    "numba",
    "fastapi",
    "sqlite3",
}

HELP = """
import contextlib, io
from wallworthy.cli import main
answer = io.StringIO()
with contextlib.suppress(SystemExit), contextlib.redirect_stdout(answer):
    main()
assert 'Usage' in answer.getvalue(), answer.getvalue()
"""

QUIET = """
with contextlib.redirect_stdout(io.StringIO()):
    assert run(sys.argv[1:]) == 0
"""

ROOMS = sorted(
    path.parent.name for path in (Path(__file__).resolve().parents[2] / "src" / "wallworthy").glob("*/__init__.py")
)


def loaded_by(code: str, *arguments: str) -> set[str]:
    """Top-level modules a fresh interpreter has after running `code`."""
    last = "\nimport json, sys\nprint(json.dumps(sorted({name.partition('.')[0] for name in sys.modules})))"
    answer = subprocess.run(
        [sys.executable, "-c", code + last, *arguments], capture_output=True, text=True, check=True, timeout=60
    )
    return set(json.loads(answer.stdout.splitlines()[-1]))


def test_importing_the_library_loads_nothing_heavy() -> None:
    loaded = loaded_by("import wallworthy")
    assert "wallworthy" in loaded
    assert not loaded & HEAVY


def test_help_loads_nothing_heavy() -> None:
    loaded = loaded_by(HELP, "--help")
    assert "typer" in loaded
    assert not loaded & HEAVY


@pytest.mark.parametrize("arguments", [("proof", "--help"), ("start", "--help"), ("paper", "--help")])
def test_a_command_s_help_loads_nothing_heavy(arguments: tuple[str, ...]) -> None:
    assert not loaded_by(HELP, *arguments) & HEAVY


def test_opening_the_rooms_loads_nothing_heavy() -> None:
    code = "".join(f"import wallworthy.{room}\n" for room in ROOMS)
    assert not loaded_by(code) & HEAVY


def test_appraising_loads_no_statistics() -> None:
    """They take longer to load than a picture of 24 megapixels to look at."""
    loaded = loaded_by("import wallworthy.journey.appraising")
    assert "cv2" in loaded
    assert "scipy" not in loaded


def test_a_proof_loads_neither_statistics_nor_a_second_reader_of_options(tmp_path: Path) -> None:
    """Each takes longer to load than two megapixels to proof (docs/decisions/0006)."""
    home, picture, proof = (str(tmp_path / name) for name in ("home", "picture.png", "proof.png"))
    vary = np.linspace(0, 255, 24 * 36 * 3).reshape(24, 36, 3).astype(np.uint8)
    Image.fromarray(vary).save(picture)
    assert run(["--home", home, "--json", "start", picture, "--paper", "matt", "--size", "10x15cm"]) == 0
    given = ("--home", home, "--json", "proof", "T1", "-o", proof)
    loaded = loaded_by("from wallworthy.cli.run import run\nimport sys, contextlib, io\n" + QUIET, *given)
    assert Path(proof).stat().st_size > 0
    assert {"numpy", "cv2", "typer"} <= loaded
    assert not loaded & {"scipy", "pydantic"}


def test_a_heavy_import_is_noticed() -> None:
    assert loaded_by("import numpy") & HEAVY == {"numpy"}


def test_memory_is_kept_where_the_c_library_lets_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """mallopt(3) answers 1 for what it takes; where there is none, commands work without."""
    if platform.libc_ver()[0] == "glibc":
        assert keep_memory()
    told: list[tuple[int, int]] = []
    monkeypatch.setattr("ctypes.CDLL", lambda name: SimpleNamespace(mallopt=lambda *asked: told.append(asked) or 1))
    assert keep_memory()
    assert told == list(KEPT.values())
    monkeypatch.setattr("ctypes.CDLL", lambda name: SimpleNamespace())
    assert not keep_memory()
