"""One run of the command line: parse, carry out, tell; every failure in one sentence.

Exit codes: 0 done, 2 wrong usage, 3 the input can't be used, 4 disk, printer or network
trouble, 130 interrupted.
"""

from __future__ import annotations

import io
import json
import os
import sys
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any, Final

import typer
from typer.exceptions import TyperException

from wallworthy.base.errors import WallworthyError

INTERRUPTED: Final = 130


def run(arguments: Sequence[str] | None = None) -> int:
    """Carry out one command line and return its exit code."""
    words = _json_first(sys.argv[1:] if arguments is None else arguments)
    as_json = "--json" in _before_command(words)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # UTF-8 whatever the locale; odd file names are told escaped
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    command = _command_of(words)
    try:
        left = _parser()(words, prog_name="wallworthy", standalone_mode=False)
        if left == INTERRUPTED:
            raise KeyboardInterrupt
    except WallworthyError as error:
        return _refuse(as_json, command, error.code, error.text, error.mend, error.where, error.exit_status)
    except TyperException as error:
        return _usage(as_json, command, error)
    except typer.Exit as leave:
        return leave.exit_code
    except (KeyboardInterrupt, typer.Abort):
        text = "Interrupted; nothing was half-written."
        return _refuse(
            as_json, command, "interrupted", text, "Give the same command again to go on.", None, INTERRUPTED
        )
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except MemoryError:
        text = "This machine has not enough memory for that picture."
        return _refuse(as_json, command, "memory", text, "Close other programs, or print it smaller.", None, 4)
    except Exception as error:
        if os.environ.get("WALLWORTHY_DEBUG"):
            raise
        text = f"Something went wrong inside the program ({type(error).__name__}: {error})."
        mend = "Nothing is lost. Set WALLWORTHY_DEBUG=1 and give the command again to see where, and report it."
        return _refuse(as_json, command, "internal", text, mend, None, 4)
    return 0


@cache
def _parser() -> Callable[..., Any]:
    """The commands, read from their functions once, however many a process gives."""
    from wallworthy.cli.app import app

    return typer.main.get_command(app)


def _usage(as_json: bool, command: str, error: TyperException) -> int:
    context: typer.Context | None = getattr(error, "ctx", None)
    path = context.command_path if context else "wallworthy"
    text = str(getattr(error, "format_message", error.__str__)())
    if "Usage:" in text:  # a bare group: its help is the answer
        if not as_json:
            sys.stderr.write(text + "\n")
            return 2
        text = "The command is not complete."
    mend = f"'{path} --help' shows what it takes."
    sentence = " ".join(text.split())
    return _refuse(as_json, command, "usage", sentence if sentence.endswith(".") else f"{sentence}.", mend, None, 2)


def _refuse(as_json: bool, command: str, code: str, text: str, mend: str, where: str | None, status: int) -> int:
    if as_json:
        error = {"code": code, "text": text, "where": where, "mend": mend}
        sys.stdout.write(json.dumps({"schema": "wallworthy/error/1", "command": command, "error": error}) + "\n")
    else:
        sys.stderr.write(f"{text}\n{mend}\n")
    return status


def _json_first(words: Sequence[str]) -> list[str]:
    """`--json` belongs before the command; given after it, it is understood all the same."""
    end = list(words).index("--") if "--" in words else len(words)
    said, rest = [*words[:end]], [*words[end:]]
    if "--json" not in said:
        return said + rest
    return ["--json", *(word for word in said if word != "--json"), *rest]


def _before_command(words: Sequence[str]) -> list[str]:
    """The words before the command's name; the value of --home is not a command."""
    before: list[str] = []
    left = iter(words)
    for word in left:
        if not word.startswith("-"):
            break
        before.append(word)
        if word == "--home":
            before.append(next(left, ""))
    return before


def _command_of(words: Sequence[str]) -> str:
    """The command's name as far as the words show it, for error objects."""
    from wallworthy.cli.names import GROUPS

    left = iter(words)
    found: list[str] = []
    for word in left:
        if word == "--home":
            next(left, None)
        elif not word.startswith("-"):
            found.append(word)
            if len(found) == 2 or found[0] not in GROUPS:
                break
    return " ".join(found)
