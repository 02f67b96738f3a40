"""Write frontend/openapi.json: the schema of the page's server, of which its TypeScript types are made.

.venv/bin/python scripts/pages/openapi.py
"""

from __future__ import annotations

import json
from pathlib import Path

from wallworthy.web.app import bare_app

TARGET = Path(__file__).resolve().parents[2] / "frontend" / "openapi.json"


def page() -> str:
    """The schema, sorted, so that the same routes give the same text."""
    schema = bare_app().openapi()
    for name, component in schema["components"]["schemas"].items():
        if not name.endswith(("Asked", "Change")):  # answers always have all of their fields
            component["required"] = sorted(component.get("properties", {}))
    return json.dumps(schema, indent=2, sort_keys=True, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    TARGET.parent.mkdir(parents=True, exist_ok=True)
    TARGET.write_text(page())
