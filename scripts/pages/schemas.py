"""Write docs/reference/schemas: a JSON Schema for every answer, from the records themselves.

.venv/bin/python scripts/pages/schemas.py
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from wallworthy.journey import answers, appraised

FOLDER = Path(__file__).resolve().parents[2] / "docs" / "reference" / "schemas"
COMMON = ("notices", "files", "next")
MODULES = (answers, appraised)
"""Where answers are defined; naming them here makes their classes known."""


def answer_classes() -> Iterator[type[answers.Answer]]:
    yield from sorted(answers.Answer.__subclasses__(), key=lambda kind: kind.schema_name)


def schema_of(kind: type[answers.Answer]) -> dict[str, Any]:
    """The record's schema with what the command line adds around it."""
    schema = TypeAdapter(kind).json_schema()
    schema["title"] = f"wallworthy/{kind.schema_name}/1"
    schema["properties"] = {
        "schema": {"const": f"wallworthy/{kind.schema_name}/1"},
        "command": {"type": "string"},
        **schema["properties"],
    }
    named = [name for name in schema["properties"] if name not in COMMON]
    schema["required"] = [*named, *COMMON]
    return schema


def pages() -> dict[str, str]:
    """File name to text."""
    return {f"{kind.schema_name}.json": json.dumps(schema_of(kind), indent=2) + "\n" for kind in answer_classes()}


if __name__ == "__main__":
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, text in pages().items():
        (FOLDER / name).write_text(text)
