"""Live proofs for the page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from wallworthy.journey.page import ReportView, TilesInfo


@dataclass(frozen=True, slots=True)
class Look:
    """How a proof is looked at; what is None is the ticket's own."""

    space: str = "srgb"
    paper_white: bool = True
    lightness: float | None = None
    contrast: float | None = None
    shadow: float | None = None
    green_red: float | None = None
    blue_yellow: float | None = None
    chroma: float | None = None
    light: str | None = None
    condition: str | None = None
    way: str | None = None


@dataclass(frozen=True, slots=True)
class Picture:
    """An encoded picture."""

    data: bytes = field(repr=False)
    media_type: str
    width_px: int
    height_px: int


@dataclass(frozen=True, slots=True)
class Numbers:
    """Plain numbers and how they lie."""

    data: bytes = field(repr=False)
    headers: Mapping[str, str]


class Sessions:
    def __init__(self, home: Path) -> None:
        self._home = home

    def master_picture(self, sha256: str, width: int, space: str) -> Picture:
        raise NotImplementedError

    def view(self, ticket: str, look: Look, width: int, quality: str, kind: str) -> Picture:
        raise NotImplementedError

    def report(self, ticket: str, look: Look, quality: str) -> ReportView:
        raise NotImplementedError

    def loss(self, ticket: str, look: Look) -> Picture:
        raise NotImplementedError

    def table(self, ticket: str, look: Look) -> Numbers:
        raise NotImplementedError

    def pixels(self, ticket: str, look: Look, width: int) -> Numbers:
        raise NotImplementedError

    def tiles_info(self, ticket: str) -> TilesInfo:
        raise NotImplementedError

    def tile(self, ticket: str, look: Look, level: int, column: int, row: int) -> Picture:
        raise NotImplementedError

    def write_down(self, ticket: str) -> None:
        raise NotImplementedError
