"""Turning records to columns and back: exact JSON, and names as people compare them."""

from __future__ import annotations

import difflib
import json
import unicodedata
from collections.abc import Generator, Iterable, Mapping
from contextlib import contextmanager
from dataclasses import asdict, is_dataclass
from pathlib import Path
from typing import Any, Final

from wallworthy.base.errors import InputError
from wallworthy.base.ticket import WrittenFile
from wallworthy.journal.database import damaged

LONGEST_NAME: Final = 120
MOST_NAMED: Final = 20
"""Names told where none is near to what was said."""


def to_json(value: Any) -> str:
    """JSON text that reads back to the same numbers exactly; NaN and infinity are refused (ValueError)."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False, default=_plain)


def from_json(text: str) -> Any:
    return json.loads(text)


def files_to_json(files: Iterable[WrittenFile]) -> str:
    return to_json([asdict(file) for file in files])


def files_from_json(text: str) -> tuple[WrittenFile, ...]:
    return tuple(WrittenFile(**entry) for entry in from_json(text))


def clean_name(kind: str, name: str) -> str:
    """The name as it is kept: ends trimmed, runs of space made one. Raises InputError for an unusable one."""
    name = " ".join(unicodedata.normalize("NFC", name).split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise InputError(
            "name_unusable",
            f"A {kind} can't have that name." if name else f"A {kind} needs a name.",
            f"Choose a name of 1 to {LONGEST_NAME} printable characters.",
            where=name[:LONGEST_NAME] or None,
        )
    return name


def name_key(name: str) -> str:
    """The name as it is compared: 'Bright  Gloss' and 'BRIGHT gloss' are one paper."""
    return unicodedata.normalize("NFKC", " ".join(name.split()).casefold())


def unknown_name(kind: str, name: str, known: Iterable[str]) -> InputError:
    """The refusal for a name nobody has, with the nearest names."""
    by_key = {name_key(other): other for other in known}
    near = [by_key[key] for key in difflib.get_close_matches(name_key(name), by_key, n=3, cutoff=0.6)]
    if not by_key:
        mend = f"There are no {kind}s yet; add one with 'wallworthy {kind} add'."
    elif near:
        mend = f"Did you mean {_either(near)}?"
    else:
        names = [f"'{other}'" if "," in other else other for other in sorted(by_key.values())]
        more = len(names) - MOST_NAMED
        rest = f" and {more} more: 'wallworthy {kind} list' names all" if more > 0 else ""
        mend = f"The {kind}s I know: {', '.join(names[:MOST_NAMED])}{rest}."
    return InputError(f"{kind}_unknown", f"There is no {kind} called '{name}'.", mend, where=name)


@contextmanager
def as_written(path: Path) -> Generator[None]:
    """A row that can't be turned into its record was damaged: say so instead of failing obscurely."""
    try:
        yield
    except (ValueError, TypeError, KeyError, IndexError) as error:
        raise damaged(path) from error


def _either(names: list[str]) -> str:
    quoted = [f"'{name}'" for name in names]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"


def _plain(value: Any) -> Any:
    """What JSON does not know: records, paths, mappings, and numbers of array libraries."""
    if is_dataclass(value) and not isinstance(value, type):
        return asdict(value)
    if isinstance(value, Path):
        return str(value)
    if isinstance(value, Mapping):
        return dict(value)  # pyright: ignore[reportUnknownVariableType]
    item = getattr(value, "item", None)
    if callable(item):
        return item()
    raise TypeError(f"{type(value).__name__} can't be written as JSON")
