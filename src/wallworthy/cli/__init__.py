"""The command line: a thin face on journey."""

from __future__ import annotations


def main() -> None:
    """Entry point of the `wallworthy` command."""
    from wallworthy.cli.run import run

    raise SystemExit(run())
