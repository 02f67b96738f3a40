"""Write docs/reference/commands.md: every command's help, as the program prints it.

.venv/bin/python scripts/pages/commands.py
"""

from __future__ import annotations

import contextlib
import io
import os
from pathlib import Path

PAGE = Path(__file__).resolve().parents[2] / "docs" / "reference" / "commands.md"
COMMANDS = (
    "",
    "demo",
    "open",
    "appraise",
    "choose",
    "start",
    "together",
    "proof",
    "test",
    "judge",
    "readback",
    "final",
    "tickets",
    "show",
    "house",
    "paper add",
    "condition add",
    "condition ink-spread",
    "light add",
    "display add",
    "doctor",
)


def help_of(command: str) -> str:
    """A command's help, at 100 columns."""
    from wallworthy.cli.run import run

    os.environ["COLUMNS"] = "100"
    os.environ.pop("WALLWORTHY_HOME", None)
    caught = io.StringIO()
    with contextlib.redirect_stdout(caught):
        status = run([*command.split(), "--help"])
    assert status == 0, command
    return caught.getvalue().rstrip()


def page() -> str:
    """The whole page."""
    parts = ["# The commands", "", "Made by `.venv/bin/python scripts/pages/commands.py`; do not edit.", ""]
    for command in COMMANDS:
        parts += [f"## wallworthy {command}".rstrip(), "", "```", help_of(command), "```", ""]
    parts += ["`paper`, `condition`, `light` and `display` also have `list` and `show NAME`.", ""]
    return "\n".join(parts)


if __name__ == "__main__":
    PAGE.write_text(page())
