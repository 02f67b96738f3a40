"""What the eye can say of a test sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.records import CORRECTION_AXES

Array = NDArray[np.float64]
Sign = Literal[-1, 1]


class Grade(StrEnum):
    """How much of it: without a grade when the person gave none."""

    TOUCH = "a touch"
    PLAIN = ""
    CLEARLY = "clearly"


@dataclass(frozen=True, slots=True)
class Word:
    """A tile lies off on one axis: `sign` +1 when the tile has too much of the axis ('too light').

    tile: index on the sheet, or None when said of the print as a whole.
    """

    tile: int | None
    axis: int
    sign: Sign
    grade: Grade = Grade.PLAIN

    @property
    def axis_name(self) -> str:
        return CORRECTION_AXES[self.axis]


@dataclass(frozen=True, slots=True, eq=False)
class Verdict:
    """All that was said of one sheet; nothing is required.

    tiles: (n, 6) offsets from the plain fit. best, next: indices. between: two tiles the right
    one lies between. right: tiles called right. none_right: no tile is. cannot_tell: the nearest
    tiles look alike. whole: index of the tile that words without a code are about.
    Raises InputError when a tile named is not on the sheet or one tile is named twice.
    """

    tiles: Array = field(repr=False)
    best: int | None = None
    next: int | None = None
    words: tuple[Word, ...] = ()
    between: tuple[int, int] | None = None
    right: tuple[int, ...] = ()
    none_right: bool = False
    cannot_tell: bool = False
    whole: int | None = None

    def __post_init__(self) -> None:
        about = {word.tile for word in self.words} | {self.best, self.next, self.whole} | set(self.right)
        if any(tile is not None and not 0 <= tile < len(self.tiles) for tile in about | set(self.between or ())):
            raise InputError(
                "tile_unknown", "A tile was named that is not on this sheet.", "Use the sheet's own codes."
            )
        if self.next is not None and (self.best is None or self.next == self.best):
            raise InputError(
                "next_without_best",
                "The next best tile needs another one that is the best.",
                "Name two different tiles, or only the best.",
            )
        if self.between is not None and self.between[0] == self.between[1]:
            raise InputError("between_itself", "A tile was said to lie between itself.", "Name two different tiles.")
        if self.none_right and self.right:
            raise InputError(
                "right_and_none", "One tile was called right, and also that none is.", "Say only one of the two."
            )

    @property
    def is_empty(self) -> bool:
        """Nothing was said at all."""
        said = self.best is not None or bool(self.words) or self.between is not None or bool(self.right)
        return not (said or self.none_right or self.cannot_tell)

    def about(self, word: Word) -> int | None:
        """Index of the tile a word is about."""
        return word.tile if word.tile is not None else self.whole


def as_record(verdict: Verdict) -> dict[str, Any]:
    """A verdict as plain JSON values, tiles included; `from_record` gives it back."""
    return {
        "tiles": [[float(value) for value in tile] for tile in verdict.tiles],
        "best": verdict.best,
        "next": verdict.next,
        "words": [[word.tile, word.axis_name, word.sign, word.grade.value] for word in verdict.words],
        "between": None if verdict.between is None else list(verdict.between),
        "right": list(verdict.right),
        "none_right": verdict.none_right,
        "cannot_tell": verdict.cannot_tell,
        "whole": verdict.whole,
    }


def from_record(record: Mapping[str, Any]) -> Verdict:
    """The verdict of `as_record`."""
    words: Sequence[Sequence[Any]] = record["words"]
    between = record["between"]
    return Verdict(
        np.array(record["tiles"], dtype=np.float64).reshape(-1, len(CORRECTION_AXES)),
        record["best"],
        record["next"],
        tuple(Word(tile, CORRECTION_AXES.index(axis), sign, Grade(grade)) for tile, axis, sign, grade in words),
        None if between is None else (int(between[0]), int(between[1])),
        tuple(record["right"]),
        record["none_right"],
        record["cannot_tell"],
        record["whole"],
    )
