"""What a docstring takes from a published source is held against that source by a marked test (house rule 2)."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from support.reading import Function, find_tests, marks_of, parsed

pytestmark = pytest.mark.practice

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "wallworthy"
MODULES = sorted(path.relative_to(SOURCE).as_posix() for path in SOURCE.rglob("*.py"))

# Standards go by their own names in prose; the key each stands for.
NAMED = {
    "ICC.1:2022": "ICC2022",
    "ICC.1:2001-04": "ICC2001",
    "ISO 18619": "ISO18619",
    "CIE 15:2018": "CIE15",
    "ISO/CIE 11664-4": "ISOCIE11664-4",
    "ASTM E308": "ASTME308",
    "ISO/IEC 18004": "ISO18004",
    "ITU-T T.81": "T81",
    "EN 12464-1": "EN12464",
}
OUR_OWN = "this project's"

# Cited functions that have no such test yet; the list only shrinks.
WANTED: set[tuple[str, str, str | None]] = {
    ("trial/likelihood.py", "choice_probabilities", "Plackett1975"),
}


@dataclass(frozen=True, slots=True)
class Claim:
    """A public function and one source key of its docstring; key None when no key of the bibliography is named."""

    function: str
    key: str | None


def public_functions(tree: ast.AST) -> Iterator[Function]:
    """Functions and methods that others may call: no underscore on the way to them, none inside a function."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from public_functions(node)
        elif isinstance(node, Function) and not node.name.startswith("_"):
            yield node


def claims_of(tree: ast.AST, keys: frozenset[str]) -> Iterator[Claim]:
    """Every key that stands in a 'Source: ...' sentence, up to the end of its paragraph."""
    for function in public_functions(tree):
        text = ast.get_docstring(function) or ""
        for said in re.findall(r"Source(?: of [^:]*)?: (.*?)(?:\n\n|\Z)", text, re.DOTALL):
            named = {key for key in keys if re.search(rf"(?<![\w-]){re.escape(key)}(?![\w-])", said)}
            named |= {key for name, key in NAMED.items() if re.search(rf"{re.escape(name)}(?![\d-])", said)}
            if not named and OUR_OWN not in said:
                yield Claim(function.name, None)
            yield from (Claim(function.name, key) for key in sorted(named))


@cache
def bibliography() -> frozenset[str]:
    text = (ROOT / "docs" / "bibliography.bib").read_text("utf-8")
    return frozenset(re.findall(r"^@\w+\{\s*([^,\s]+)\s*,", text, re.MULTILINE))


def words_of(tree: ast.AST) -> set[str]:
    """Every name that stands in a module: variables, attributes, imports."""
    names = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    names |= {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    return names | {one.name for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) for one in node.names}


@cache
def held() -> frozenset[tuple[str, str]]:
    """(key, name) for every key a test is marked with and every name that stands in that test's module."""
    pairs: set[tuple[str, str]] = set()
    for path in (ROOT / "tests").rglob("test_*.py"):
        tree = parsed(path)
        keys = {key for test in find_tests(tree) for mark, key in marks_of(tree, test) if mark == "source key" and key}
        pairs |= {(key, name) for key in keys for name in words_of(tree)}
    return frozenset(pairs)


@pytest.mark.parametrize("module", MODULES)
def test_every_cited_function_is_held_against_its_source(module: str) -> None:
    claims = set(claims_of(parsed(SOURCE / module), bibliography()))
    missing = {(module, claim.function, claim.key) for claim in claims if (claim.key, claim.function) not in held()}
    assert missing - WANTED == set()
    assert {one for one in WANTED if one[0] == module} - missing == set(), "tested by now: take it off the list"


def test_every_key_of_the_bibliography_is_used() -> None:
    marked = {key for key, _ in held()}
    pages = [*SOURCE.rglob("*.py"), *(ROOT / "docs").rglob("*.md")]
    text = "\n".join(path.read_text("utf-8") for path in pages)
    cited = {key for key in bibliography() if re.search(rf"(?<![\w-]){re.escape(key)}(?![\w-])", text)}
    cited |= {key for name, key in NAMED.items() if name in text}
    assert bibliography() - marked - cited == set()


KEYS = frozenset({"Known1901", "Known1901b", "ISO18619"})


@pytest.mark.parametrize(
    ("docstring", "expected"),
    [
        ("Says nothing of it.", []),
        ("After Known1901, in prose.", []),
        ("Source: Known1901.", ["Known1901"]),
        ("Does it. Source: Known1901b, table 2.", ["Known1901b"]),
        (
            "Does it.\n\n    Source: Known1901,\n    ISO 18619:2015, 4.2.\n\n    >>> 1\n    1\n",
            ["ISO18619", "Known1901"],
        ),
        ("Source of the terms: Known1901.", ["Known1901"]),
        ("Source: Nobody1955.", [None]),
        ("Source: this project's definition.", []),
    ],
)
def test_claims_are_noticed(docstring: str, expected: list[str | None]) -> None:
    tree = ast.parse(f'def planted():\n    """{docstring}"""\n')
    assert [claim.key for claim in claims_of(tree, KEYS)] == expected


def test_private_and_inner_functions_are_not_asked() -> None:
    told = '"""Source: Known1901."""'
    tree = ast.parse(
        f"def _private():\n    {told}\n\nclass Open:\n    def method(self):\n        {told}\n\n"
        f"class _Shut:\n    def method(self):\n        {told}\n\ndef outer():\n    def inner():\n        {told}\n"
    )
    assert [claim.function for claim in claims_of(tree, KEYS)] == ["method"]
