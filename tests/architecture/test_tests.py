"""Tests are held to rules too: each asserts something, and each check against the outside names its source."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

from support.reading import asserting_helpers, asserts, find_tests, marks_of, parsed

pytestmark = pytest.mark.practice

ROOT = Path(__file__).resolve().parents[2]
TESTS = ROOT / "tests"
MODULES = sorted(path.relative_to(TESTS).as_posix() for path in TESTS.rglob("test_*.py"))
OUTSIDE = [module for module in MODULES if module.split("/")[0] in ("published", "oracle")]


@cache
def shared_helpers() -> frozenset[str]:
    """What the tests share that asserts: functions and methods of tests/support and of the conftests."""
    shared = [*(TESTS / "support").glob("*.py"), *TESTS.rglob("conftest.py")]
    return frozenset(asserting_helpers(parsed(path) for path in shared))


def keys_known() -> set[str]:
    bibliography = ROOT / "docs" / "bibliography.bib"
    text = bibliography.read_text("utf-8") if bibliography.exists() else ""
    return set(re.findall(r"^@\w+\{\s*([^,\s]+)\s*,", text, re.MULTILINE))


@pytest.mark.parametrize("module", MODULES)
def test_every_test_asserts_something(module: str) -> None:
    tree = parsed(TESTS / module)
    helpers = shared_helpers() | asserting_helpers([tree])
    silent = [test.name for test in find_tests(tree) if not asserts(test, helpers)]
    assert silent == []


@pytest.mark.parametrize("module", OUTSIDE)
def test_every_outside_check_names_its_source(module: str) -> None:
    tree = parsed(TESTS / module)
    unnamed = [test.name for test in find_tests(tree) if not marks_of(tree, test)]
    assert unnamed == []


@pytest.mark.parametrize("module", MODULES)
def test_every_key_stands_in_the_bibliography(module: str) -> None:
    tree = parsed(TESTS / module)
    keys = {key for test in find_tests(tree) for mark, key in marks_of(tree, test) if mark == "source key"}
    assert None not in keys, "a source key must be written out, so that it can be looked up"
    assert keys - keys_known() == set()


def test_bibliography_keys_are_given_once() -> None:
    text = (ROOT / "docs" / "bibliography.bib").read_text("utf-8")
    keys = re.findall(r"^@\w+\{\s*([^,\s]+)\s*,", text, re.MULTILINE)
    assert len(keys) == len(set(keys))


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ("pass", False),
        ("assert True", False),
        ("x = 1\n    print(x)", False),
        ("assert x == 1", True),
        ("with pytest.raises(ValueError):\n        f()", True),
        ("np.testing.assert_allclose(a, b)", True),
        ("check_whole(path)", True),
        ("f().check()", False),
    ],
)
def test_a_test_that_asserts_nothing_is_noticed(body: str, expected: bool) -> None:
    [test] = find_tests(ast.parse(f"def test_planted():\n    {body}\n"))
    assert asserts(test) is expected


def test_a_helper_counts_when_it_asserts_itself() -> None:
    tree = ast.parse(
        "def close(a):\n    assert a\n\ndef look(a):\n    return a\n\n"
        "def test_one():\n    close(1)\n\ndef test_two():\n    look(1)\n"
    )
    helpers = asserting_helpers([tree])
    assert helpers == {"close"}
    assert [asserts(test, helpers) for test in find_tests(tree)] == [True, False]


@pytest.mark.parametrize(
    ("decorator", "expected"),
    [
        ("", []),
        ("@pytest.mark.parametrize('a', [1])\n", []),
        ("@pytest.mark.practice\n", [("practice", None)]),
        ("@pytest.mark.source('Nobody1901', 'table 9')\n", [("source", None), ("source key", "Nobody1901")]),
    ],
)
def test_a_test_without_a_source_is_noticed(decorator: str, expected: list[tuple[str, str | None]]) -> None:
    tree = ast.parse(f"{decorator}def test_planted():\n    assert f()\n")
    [test] = find_tests(tree)
    assert sorted(marks_of(tree, test), key=lambda mark: mark[0]) == expected
