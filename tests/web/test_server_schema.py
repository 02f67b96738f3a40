"""The schema that the page's types are made of is that of the routes, and says what the page may rely on."""

from __future__ import annotations

import json
import re
import runpy
from pathlib import Path
from typing import Any

import pytest

from wallworthy.base import errors
from wallworthy.web.mends import MENDS, OTHERWISE, mend_for_page, where_on_page

pytestmark = pytest.mark.practice

ROOT = Path(__file__).resolve().parents[2]
SCHEMA: dict[str, Any] = json.loads((ROOT / "frontend" / "openapi.json").read_text("utf-8"))


def test_the_schema_is_that_of_the_routes() -> None:
    page = runpy.run_path(str(ROOT / "scripts" / "pages" / "openapi.py"))["page"]
    assert (ROOT / "frontend" / "openapi.json").read_text("utf-8") == page(), "run scripts/pages/openapi.py"


def test_every_route_has_a_name_a_sentence_and_says_what_a_refusal_is() -> None:
    names: list[str] = []
    for path, methods in SCHEMA["paths"].items():
        assert path.startswith("/api/")
        for operation in methods.values():
            names.append(operation["operationId"])
            assert operation["description"].endswith("."), path
            content = operation["responses"]["4XX"]["content"]["application/json"]
            assert content["schema"] == {"$ref": "#/components/schemas/Refused"}
            [good] = [answer for status, answer in operation["responses"].items() if status.startswith("2")]
            assert all(kind["schema"] for kind in good["content"].values()), path
    assert len(names) == len(set(names))
    assert len(names) > 40


def test_answers_always_have_all_of_their_fields() -> None:
    for name, component in SCHEMA["components"]["schemas"].items():
        if not name.endswith(("Asked", "Change")):
            assert sorted(component.get("properties", {})) == component.get("required", []), name


def test_what_is_asked_is_closed_to_unknown_fields() -> None:
    asked = [part for name, part in SCHEMA["components"]["schemas"].items() if name.endswith(("Asked", "Change"))]
    assert len(asked) >= 10
    assert all(part["additionalProperties"] is False for part in asked)


@pytest.mark.parametrize("code", sorted(MENDS))
def test_the_page_s_advice_is_a_sentence_for_a_code_that_exists(code: str) -> None:
    assert MENDS[code].endswith(".")
    sources = [path.read_text("utf-8") for path in (ROOT / "src" / "wallworthy").rglob("*.py")]
    assert sum(f'"{code}"' in text for text in sources) >= 2, "no error has this code any more"


@pytest.mark.parametrize(
    ("mend", "told"),
    [
        ("Check its permissions.", "Check its permissions."),
        ("Choose another name with -o, or add --force to replace it.", OTHERWISE),
        ("Make one with 'wallworthy test T1'.", OTHERWISE),
    ],
)
def test_advice_for_the_command_line_is_not_given_on_the_page(mend: str, told: str) -> None:
    error = errors.InputError("some_code", "It can't be.", mend, where="--border-mm")
    assert mend_for_page(error) == told
    assert where_on_page(error) == "border_mm"
    assert where_on_page(errors.InputError("x", "y", "z", where="/somewhere/picture.tif")) is None
    assert not re.search("--", OTHERWISE)
