"""Files of at most 400 lines, functions of at most 60: what a reader can hold at once (house rule 4)."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

pytestmark = pytest.mark.practice

SOURCE = Path(__file__).resolve().parents[2] / "src" / "wallworthy"
LONGEST_FILE = 400
LONGEST_FUNCTION = 60

# What is longer, with its length; the list only shrinks.
LONG_FILES: dict[str, int] = {}
LONG_FUNCTIONS: dict[str, int] = {}

MODULES = sorted(path.relative_to(SOURCE).as_posix() for path in SOURCE.rglob("*.py"))


def function_lengths(path: Path) -> dict[str, int]:
    """Lines of each function, signature and docstring included, decorators not; the longest of one name."""
    lengths: dict[str, int] = {}
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            lengths[node.name] = max(length, lengths.get(node.name, 0))
    return lengths


@pytest.mark.parametrize("module", MODULES)
def test_files_and_functions_stay_short(module: str) -> None:
    path = SOURCE / module
    lines = len(path.read_text("utf-8").splitlines())
    assert lines <= LONG_FILES.get(module, LONGEST_FILE)
    for name, length in function_lengths(path).items():
        assert length <= LONG_FUNCTIONS.get(f"{module}:{name}", LONGEST_FUNCTION), name


def test_the_exceptions_are_still_needed() -> None:
    for module in LONG_FILES:
        assert len((SOURCE / module).read_text("utf-8").splitlines()) > LONGEST_FILE
    for entry in LONG_FUNCTIONS:
        module, _, name = entry.partition(":")
        assert function_lengths(SOURCE / module)[name] > LONGEST_FUNCTION
