"""Pages made by a command are what the command makes now."""

from __future__ import annotations

import runpy
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.practice

ROOT = Path(__file__).resolve().parents[2]


def script(name: str) -> dict[str, Any]:
    return runpy.run_path(str(ROOT / "scripts" / "pages" / name))


def test_schemas_are_those_of_the_records() -> None:
    pages = script("schemas.py")["pages"]()
    folder = ROOT / "docs" / "reference" / "schemas"
    assert {path.name for path in folder.iterdir()} == set(pages)
    for name, text in pages.items():
        assert (folder / name).read_text() == text, f"{name}: run scripts/pages/schemas.py"


def test_the_command_page_is_the_programs_help() -> None:
    text = script("commands.py")["page"]()
    assert (ROOT / "docs" / "reference" / "commands.md").read_text() == text, "run scripts/pages/commands.py"


def test_the_deficit_page_is_what_the_model_answers() -> None:
    text = script("deficit.py")["page"]()
    assert (ROOT / "docs" / "reference" / "deficit.md").read_text("utf-8") == text, "run scripts/pages/deficit.py"
