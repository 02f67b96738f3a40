"""What people say of tiles, read into a verdict, and verdicts said again in words.

Six axes in plain words: lighter/darker, stronger/softer, shadows more open/deeper, redder/greener,
yellower/bluer, more/less colour. 'A1 too dark' blames the tile; 'A1 lighter' asks for the remedy:
both mean the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.trial.verdict import Grade, Sign, Verdict, Word

Array = NDArray[np.float64]

FAULTS: Final[dict[tuple[int, Sign], str]] = {
    (0, 1): "too light",
    (0, -1): "too dark",
    (1, 1): "too strong",
    (1, -1): "too soft",
    (2, 1): "shadows too open",
    (2, -1): "shadows too deep",
    (3, 1): "too red",
    (3, -1): "too green",
    (4, 1): "too yellow",
    (4, -1): "too blue",
    (5, 1): "too much colour",
    (5, -1): "too little colour",
}
"""What is said of a tile that has too much (+1) or too little (-1) of an axis."""

REMEDIES: Final[dict[tuple[int, Sign], str]] = {
    (0, 1): "lighter",
    (0, -1): "darker",
    (1, 1): "stronger",
    (1, -1): "softer",
    (2, 1): "shadows more open",
    (2, -1): "shadows deeper",
    (3, 1): "redder",
    (3, -1): "greener",
    (4, 1): "yellower",
    (4, -1): "bluer",
    (5, 1): "more colour",
    (5, -1): "less colour",
}
"""What is asked for: more (+1) or less (-1) of an axis."""

_FAULT_PHRASES: Final[dict[tuple[int, Sign], str]] = {
    (0, 1): "light|bright|pale",
    (0, -1): "dark|dim|heavy",
    (1, 1): "strong|hard|harsh|contrasty|much contrast",
    (1, -1): "soft|flat|little contrast",
    (2, 1): "shadows open|shadows light|shadows milky|open shadows|light shadows|milky shadows",
    (2, -1): "muddy|shadows deep|shadows closed|shadows dark|shadows muddy|shadows blocked|shadows heavy|deep shadows|"
    "closed shadows|dark shadows|muddy shadows|blocked shadows",
    (3, 1): "red|reddish|pink",
    (3, -1): "green|greenish",
    (4, 1): "yellow|yellowish",
    (4, -1): "blue|bluish",
    (5, 1): "colourful|garish|gaudy|loud|much colour|strong colours",
    (5, -1): "dull|grey|colourless|little colour|weak colours",
}
_REMEDY_PHRASES: Final[dict[tuple[int, Sign], str]] = {
    (0, 1): "lighter|brighter",
    (0, -1): "darker",
    (1, 1): "stronger|harder|more contrast",
    (1, -1): "softer|flatter|less contrast",
    (2, 1): "shadows more open|shadows lighter|more open shadows|lighter shadows|open up shadows",
    (2, -1): "shadows deeper|shadows darker|deeper shadows|darker shadows|deepen shadows",
    (3, 1): "redder|pinker|more red|less green",
    (3, -1): "greener|more green|less red",
    (4, 1): "yellower|more yellow|less blue",
    (4, -1): "bluer|more blue|less yellow",
    (5, 1): "more colour|more colourful|stronger colours",
    (5, -1): "duller|greyer|less colour|less colourful|weaker colours",
}
_TOUCH: Final = ("a touch", "a little", "a bit", "a trifle", "slightly", "somewhat")
_CLEARLY: Final = ("clearly", "far", "way", "very", "a lot", "really", "definitely", "much")
_FILLER: Final = frozenset(
    ("is", "are", "look", "looks", "seem", "seems", "too", "the", "it", "its", "should", "be", "still", "to", "needs")
)
_CODE: Final = re.compile(r"\b([a-z])[ -]?(\d{1,2})\b")


def _bare(phrase: str) -> str:
    return " ".join(word for word in phrase.split() if word not in _FILLER)


def _table() -> dict[str, tuple[int, Sign]]:
    """Axis and sign of what the tile has too much of, by phrase without its fillers."""
    out: dict[str, tuple[int, Sign]] = {}
    for (axis, sign), text in _FAULT_PHRASES.items():
        out |= {_bare(phrase): (axis, sign) for phrase in text.split("|")}
    for (axis, sign), text in _REMEDY_PHRASES.items():
        out |= {_bare(phrase): (axis, -1 if sign > 0 else 1) for phrase in text.split("|")}
    return out


_TABLE: Final = _table()


@dataclass(frozen=True, slots=True)
class Said:
    """One thing that was said, as it was understood."""

    code: str | None
    axis: str | None
    """None for what is not of an axis."""
    direction: str
    """'too dark', 'right', 'between A1 and B2', 'none is right', 'can't tell'."""
    grade: str = ""

    def __str__(self) -> str:
        graded = self.direction.replace("too ", f"{self.grade} too ", 1) if self.grade else self.direction
        return graded if self.code is None else f"{self.code} {graded}"


@dataclass(slots=True)
class _Heard:
    """What has been understood so far."""

    best: int | None = None
    next: int | None = None
    words: list[Word] = field(default_factory=list[Word])
    between: tuple[int, int] | None = None
    right: list[int] = field(default_factory=list[int])
    none_right: bool = False
    cannot_tell: bool = False


def read_verdict(
    tiles: Array,
    codes: Sequence[str],
    *,
    best: str | None = None,
    next_best: str | None = None,
    say: Iterable[str] = (),
    none_right: bool = False,
) -> Verdict:
    """The verdict meant by a person's answers; tiles (n, 6) offsets, codes one for each.

    Understood in `say`: "A1 too dark", "A1 a touch too dark", "clearly too red" (of the only tile, else
    of the best), "B2 right", "B2 best", "A1 next", "between B1 and B2", "none is right", "can't tell";
    several joined by commas, semicolons or 'and'. Raises InputError for what is not understood, and
    for one tile called two opposite things.

    >>> tiles = np.zeros((2, 6))
    >>> verdict = read_verdict(tiles, ("A1", "A2"), best="A2", say=["A1 a touch too dark"])
    >>> [str(said) for said in said_of(verdict, ("A1", "A2"))]
    ['A1 a touch too dark']
    """
    known = {code.lower(): place for place, code in enumerate(codes)}
    heard = _Heard(none_right=none_right)
    heard.best = None if best is None else _tile(best.strip().lower(), known)
    heard.next = None if next_best is None else _tile(next_best.strip().lower(), known)
    for text in say:
        _listen(text, known, heard)
    alone = 0 if len(codes) == 1 else heard.best
    if alone is None and any(word.tile is None for word in heard.words):
        raise InputError(
            "say_which",
            "I can't tell which tile the words are about.",
            f"Begin with its code, for instance '{codes[0]} too dark', or name the best tile.",
            where="--say",
        )
    _refuse_opposites(heard.words, alone, codes)
    return Verdict(
        tiles,
        heard.best,
        heard.next,
        tuple(heard.words),
        heard.between,
        tuple(dict.fromkeys(heard.right)),
        heard.none_right,
        heard.cannot_tell,
        alone,
    )


def said_of(verdict: Verdict, codes: Sequence[str]) -> tuple[Said, ...]:
    """What was said in a verdict besides best and next best, as it was understood."""
    words = [
        Said(
            None if verdict.about(word) is None else codes[verdict.about(word) or 0],
            word.axis_name,
            FAULTS[word.axis, word.sign],
            word.grade.value,
        )
        for word in verdict.words
    ]
    right = [Said(codes[tile], None, "right") for tile in verdict.right]
    whole = [] if verdict.between is None else ["between {} and {}".format(*(codes[one] for one in verdict.between))]
    whole += ["none is right"] if verdict.none_right else []
    whole += ["can't tell"] if verdict.cannot_tell else []
    return (*words, *right, *(Said(None, None, text) for text in whole))


def remedy(axis: int, change: float) -> str:
    """What a change along an axis is called: `remedy(0, 1.5)` is 'lighter'."""
    return REMEDIES[axis, 1 if change > 0 else -1]


def _listen(text: str, known: dict[str, int], heard: _Heard) -> None:
    plain = re.sub(r"[’`]", "'", text.lower()).replace("color", "colour").replace("gray", "grey")
    plain = " ".join(re.sub(r"[.!?:\"]", " ", plain).split())
    if not plain:
        raise _not_understood(text)
    if found := re.fullmatch(r"(?:it's |it is |right is )?between ([a-z]\s?\d+) (?:and|&) ([a-z]\s?\d+)", plain):
        heard.between = (_tile(found[1], known), _tile(found[2], known))
        return
    if re.fullmatch(r"none(?: of them)?(?: is| are)?(?: right)?|nothing(?: is)? right|all (?:are )?wrong", plain):
        heard.none_right = True
        return
    if re.fullmatch(r"(?:i )?(?:can't|cannot|can not|cant) (?:tell|say)|no difference|(?:they )?all look alike", plain):
        heard.cannot_tell = True
        return
    tile: int | None = None
    for part in re.split(r"\s*[,;]\s*(?:and )?|\s+(?:and|but)\s+", plain):
        tile = _part(part, text, tile, known, heard)


def _part(part: str, text: str, tile: int | None, known: dict[str, int], heard: _Heard) -> int | None:
    """Take one statement in; returns the tile it was about, which the next one is about too unless it names another."""
    if code := _CODE.search(part):
        tile = _tile(code[0], known)
        part = f"{part[: code.start()]} {part[code.end() :]}"
    rest = " ".join(word for word in part.split() if word not in ("is", "the"))
    if rest in ("right", "just right", "fine", "good", "best", "next", "next best", "second", "second best"):
        if tile is None:
            raise _not_understood(text)
        if rest in ("best", "next", "next best", "second", "second best"):
            setattr(heard, "best" if rest == "best" else "next", tile)
        else:
            heard.right.append(tile)
        return tile
    heard.words.append(_word(part, text, tile))
    return tile


def _word(part: str, text: str, tile: int | None) -> Word:
    """The one word of a statement: a known phrase, with or without a grade, and nothing else."""
    graded = [(Grade.TOUCH, each) for each in _TOUCH] + [(Grade.CLEARLY, each) for each in _CLEARLY]
    spaced = f" {' '.join(part.split())} "
    for grade, each in [(Grade.PLAIN, ""), *graded]:
        if not each or f" {each} " in spaced:
            bare = _bare(spaced.replace(f" {each} ", " ", 1) if each else spaced)
            if bare in _TABLE:
                return Word(tile, *_TABLE[bare], grade)
    raise _not_understood(text)


def _tile(code: str, known: dict[str, int]) -> int:
    place = known.get(re.sub(r"[ -]", "", code))
    if place is None:
        names = ", ".join(name.upper() for name in known)
        raise InputError(
            "tile_unknown",
            f"There is no tile '{code.upper()}' on this sheet.",
            f"Its tiles are {names}.",
        )
    return place


def _refuse_opposites(words: Sequence[Word], alone: int | None, codes: Sequence[str]) -> None:
    said: dict[tuple[int | None, int], Word] = {}
    for word in words:
        tile = word.tile if word.tile is not None else alone
        other = said.setdefault((tile, word.axis), word)
        if other.sign != word.sign:
            raise InputError(
                "say_opposites",
                f"{codes[tile or 0]} was called {FAULTS[word.axis, other.sign]} and {FAULTS[word.axis, word.sign]}.",
                "Say only one of the two.",
                where="--say",
            )


def _not_understood(text: str) -> InputError:
    pairs = ", ".join(FAULTS.values())
    return InputError(
        "say_unknown",
        f"I don't understand '{text.strip()}'.",
        f"Say a tile's code and one of: {pairs}; with 'a touch' or 'clearly' before it. Or 'B2 right', "
        "'between B1 and B2', 'none is right', 'can't tell'.",
        where="--say",
    )
