"""The job ticket and what is written down about it; frozen, handed between journal and journey."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Final, Literal

from wallworthy.base.records import NO_MARGINS, Box, Correction, Margins, Pair, Way
from wallworthy.base.units import Size

Facts = Mapping[str, Any]
"""JSON-able facts: text, whole and real numbers, true/false, null, lists and mappings of these."""

CorrectionOrigin = Literal["zero", "house", "user"]


class Stage(StrEnum):
    """How far a ticket has come."""

    STARTED = "started"
    PROOFED = "proofed"
    FINAL = "final"


@dataclass(frozen=True, slots=True)
class HangsWith:
    """The set a print belongs to: its tickets, and their tones, which ways chosen for pictures share a curve for."""

    tickets: tuple[str, ...]
    """All of the set, the ticket itself among them; none for a set without tickets."""
    share: tuple[float, ...] = field(repr=False)
    texture: tuple[float, ...] = field(repr=False)
    """Of L* 0, 1, ... 100: the share of pixels and of visible texture; each sums to 1."""
    asked: tuple[float, ...] = field(repr=False)
    """Of the same L*: how much of it must not suffer, 0 to 1."""

    def beside(self, ticket: str) -> tuple[str, ...]:
        """The others of the set."""
        return tuple(one for one in self.tickets if one != ticket)


SET_TONES: Final = ("share", "texture", "asked")


def set_to_facts(hangs_with: HangsWith) -> dict[str, Any]:
    """A set as it is written down."""
    return {name: list(getattr(hangs_with, name)) for name in ("tickets", *SET_TONES)}


def set_from_facts(facts: Facts) -> HangsWith:
    """A set as it was written down by `set_to_facts`; sets of before say nothing of what must not suffer."""
    share, texture, asked = (tuple(float(part) for part in facts.get(name, ())) for name in SET_TONES)
    return HangsWith(tuple(str(ticket) for ticket in facts["tickets"]), share, texture, asked or (0.0,) * len(share))


@dataclass(frozen=True, slots=True, kw_only=True)
class TicketDraft:
    """What a ticket is opened with: one master going to one print."""

    master_sha256: str
    master_path: str
    title: str
    size_mm: Pair
    """Width, height of the picture area as the picture stands."""
    size_asked: Size | None = None
    """The size it was placed in; None in tickets of before that was kept."""
    distance_mm: float
    condition: str
    way: Way
    light: str | None = None
    display: str | None = None
    crop_px: Box | None = None
    fill: bool = False
    correction: Correction = field(default_factory=Correction)
    correction_origin: CorrectionOrigin = "zero"
    margins_mm: Margins = NO_MARGINS
    """Bare paper round the picture."""
    assumed_profile_sha256: str | None = None
    """Profile given with --assume, kept in the content store."""
    black_and_white: str | None = None
    """The tone of a picture printed in greys; None for one in colour."""
    must_not_suffer: tuple[str, ...] = ()
    """What a way chosen for the picture looks after: kinds by name, places as 'row,column,height,width' in pixels."""
    hangs_with: HangsWith | None = None
    """The set it hangs in; None for a print by itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ticket(TicketDraft):
    """An opened ticket; `id` is 'T1', 'T2' ... and never used again."""

    id: str
    stage: Stage
    created: str
    """ISO 8601 UTC, as `updated`."""
    updated: str


@dataclass(frozen=True, slots=True)
class WrittenFile:
    """A file the program wrote: its role, where it was put, and its bytes' SHA-256."""

    role: str
    path: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened to a ticket; written once, never changed."""

    ticket: str
    at: str
    kind: str
    detail: Facts = field(default_factory=dict[str, Any])


@dataclass(frozen=True, slots=True)
class ProofEntry:
    """A proof that was made: `no` counts from 1 on each ticket."""

    ticket: str
    no: int
    at: str
    figures: Facts
    files: tuple[WrittenFile, ...]


@dataclass(frozen=True, slots=True)
class FinalEntry:
    """A final that was made: `no` counts from 1 on each ticket."""

    ticket: str
    no: int
    at: str
    pixels_sha256: str
    settings: Facts
    files: tuple[WrittenFile, ...]


@dataclass(frozen=True, slots=True)
class PartSheet:
    """A place on a large sheet that is printed on slot by slot; slots count from 1."""

    number: int
    slot: int
    slots: int
    size_mm: Pair


@dataclass(frozen=True, slots=True)
class SheetEntry:
    """A test sheet that was made: its layout, the corrections of its tiles and how it was designed."""

    ticket: str
    no: int
    at: str
    layout: Facts
    design: Facts
    files: tuple[WrittenFile, ...]
    part: PartSheet | None = None


@dataclass(frozen=True, slots=True)
class VerdictEntry:
    """What was said of a sheet, and what was then believed."""

    ticket: str
    sheet_no: int
    at: str
    said: Facts
    result: Facts


@dataclass(frozen=True, slots=True)
class ReadingEntry:
    """What was measured on a scan of a sheet."""

    ticket: str
    sheet_no: int
    at: str
    result: Facts


@dataclass(frozen=True, slots=True)
class LessonEntry:
    """What the verdicts on one picture taught about its condition, light and display."""

    ticket: str
    profile_sha256: str
    at: str
    record: Facts
