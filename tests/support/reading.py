"""Reading test modules as syntax trees: which tests there are, whether they assert, what source they name."""

from __future__ import annotations

import ast
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path

Function = ast.FunctionDef | ast.AsyncFunctionDef
CHECKS = ("assert_", "check_")
RAISES = {"raises", "warns", "deprecated_call"}
MARKS = {"source", "practice", "memory"}


def find_tests(tree: ast.AST) -> Iterator[Function]:
    """Test functions of a module and of its test classes, not those inside functions."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.ClassDef) and node.name.startswith("Test"):
            yield from find_tests(node)
        elif isinstance(node, Function) and node.name.startswith("test"):
            yield node


def asserts(function: ast.AST, helpers: Collection[str] = ()) -> bool:
    """Whether a test checks anything: an assert that is not a constant, raises, a helper that is known to
    assert, or one named assert_/check_.
    """
    for node in ast.walk(function):
        if isinstance(node, ast.Assert) and not isinstance(node.test, ast.Constant):
            return True
        if isinstance(node, ast.Call):
            name = last_name(node.func)
            if name in RAISES or name in helpers or name.startswith(CHECKS):
                return True
    return False


def asserting_helpers(trees: Iterable[ast.Module]) -> set[str]:
    """Names of functions and methods, tests apart, that themselves assert something."""
    return {
        node.name
        for tree in trees
        for node in ast.walk(tree)
        if isinstance(node, Function) and not node.name.startswith("test") and asserts(node)
    }


def marks_of(tree: ast.Module, function: Function) -> list[tuple[str, str | None]]:
    """(mark, key) of the source, practice and memory marks on a test, its parameters, or its module."""
    nodes: list[ast.AST] = list(function.decorator_list)
    nodes += [
        node.value
        for node in tree.body
        if isinstance(node, ast.Assign) and any(last_name(target) == "pytestmark" for target in node.targets)
    ]
    return [found for node in nodes for found in _marks(node)]


def _marks(root: ast.AST) -> Iterator[tuple[str, str | None]]:
    for node in ast.walk(root):
        if isinstance(node, ast.Attribute) and node.attr in MARKS and last_name(node.value) == "mark":
            yield node.attr, None
        if isinstance(node, ast.Call) and last_name(node.func) == "source" and node.args:
            key = node.args[0]
            yield "source key", key.value if isinstance(key, ast.Constant) and isinstance(key.value, str) else None


def last_name(node: ast.AST) -> str:
    if isinstance(node, ast.Attribute):
        return node.attr
    return node.id if isinstance(node, ast.Name) else ""


def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text("utf-8"), str(path))
