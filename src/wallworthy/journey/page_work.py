"""What the page is told of test sheets, verdicts, long work and the phone: frozen records, as `journey.page`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from wallworthy.base.records import Correction, Notice, Pair
from wallworthy.journey.answers import ReadbackAnswer
from wallworthy.journey.page import Refusal

JobState = Literal["waiting", "running", "done", "failed", "cancelled"]
JobKind = Literal["sheet", "final", "demo", "scan"]


@dataclass(frozen=True, slots=True)
class SheetView:
    """A test sheet as it lies in the hand. expected_*: the error left, dE00, now and after the verdicts so far."""

    ticket: str
    sheet_no: int
    at: str
    mode: str
    sheet_mm: Pair
    density_ppi: float
    tiles: tuple[SheetTile, ...]
    mark_text: str
    dry_from: str
    file_names: tuple[str, ...]
    expected_de00: float
    p90_de00: float
    """What was expected to be left before this sheet was judged, and its 90 % bound."""
    said: SaidOfSheet | None
    verdict: VerdictView | None
    reading: SheetReading | None
    cost: str | None
    wished: Correction | None
    """What was wished on the proof when it was made; its first tile shows that."""


@dataclass(frozen=True, slots=True)
class SheetTile:
    """A tile: its letters, where it lies on its sheet, its correction; `file` counts separate prints from 0."""

    code: str
    box_mm: tuple[float, float, float, float]
    correction: Correction
    file: int


@dataclass(frozen=True, slots=True)
class SaidOfSheet:
    """The last word on a sheet, as it was given."""

    best: str | None
    next: str | None
    say: tuple[str, ...]
    none_right: bool


@dataclass(frozen=True, slots=True)
class SheetReading:
    """What the last scan of a sheet gave in short; `likeliest` explains the print best."""

    at: str
    absolute: bool
    mean_de00: float | None
    scale_error_pct: float | None
    likeliest: str | None
    probability: float | None


@dataclass(frozen=True, slots=True)
class VerdictView:
    """What a verdict taught: the correction believed in, the error expected now and after one more, 90 % bounds."""

    correction: Correction
    sd: Mapping[str, float]
    expected_de00: float
    p90_de00: float
    expected_after_another_de00: float
    after_another_p90_de00: float
    advice: str
    contradicts: bool
    sentences: tuple[str, ...]
    taught: tuple[str, ...]
    notices: tuple[Notice, ...]


@dataclass(frozen=True, slots=True)
class JobView:
    """Long work: its kind, ticket, step in words, share done 0-1, seconds left, and in the end a result or error."""

    job: str
    kind: JobKind
    ticket: str | None
    state: JobState
    step: str
    share: float
    left_s: float | None
    result: JobResult | None
    error: Refusal | None
    at: str


@dataclass(frozen=True, slots=True)
class JobResult:
    """What a job made: the ticket, and by its kind the sheet, the final or what a scan of a sheet gave."""

    ticket: str
    sheet_no: int | None = None
    final_no: int | None = None
    reading: ReadbackAnswer | None = None


@dataclass(frozen=True, slots=True)
class Jobs:
    """All jobs since the program started, the newest last."""

    jobs: tuple[JobView, ...]


@dataclass(frozen=True, slots=True)
class PhoneKey:
    """The address a phone opens for one ticket, its QR code as SVG, and when it stops to work."""

    url: str
    expires: str
    qr_svg: str


@dataclass(frozen=True, slots=True)
class PhoneSheet:
    """What the phone at the wall needs of a sheet: letters and places, no pictures."""

    ticket: str
    title: str
    light: str | None
    """The name of the light the verdict is given in."""
    sheet: SheetView
