"""What each command answers: the frozen records behind the command line's JSON (CONTRACT).

The common fields come last in the output; docs/reference/schemas is generated from these classes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from typing import Any, ClassVar

from wallworthy.base.records import Box, Light, Notice, Pair, Paper, WorstPlace
from wallworthy.base.ticket import WrittenFile
from wallworthy.journey.parts import (
    CardFiles,
    CheckFields,
    ConditionFields,
    Corr,
    DisplayFields,
    EventFields,
    FaultFields,
    FigureFields,
    GreyFields,
    PromiseFields,
    RankFields,
    SaidFields,
    TicketFields,
    TickFields,
    TileFields,
    TileReadingFields,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """Common to all: `notices`, `files`, and `next`, a sentence on what to do now."""

    schema_name: ClassVar[str] = ""

    notices: tuple[Notice, ...] = ()
    files: tuple[WrittenFile, ...] = ()
    next: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperAnswer(Answer):
    schema_name: ClassVar[str] = "paper"
    paper: Paper


@dataclass(frozen=True, slots=True, kw_only=True)
class PapersAnswer(Answer):
    schema_name: ClassVar[str] = "papers"
    papers: tuple[Paper, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ConditionAnswer(Answer):
    schema_name: ClassVar[str] = "condition"
    condition: ConditionFields


@dataclass(frozen=True, slots=True, kw_only=True)
class ConditionsAnswer(Answer):
    schema_name: ClassVar[str] = "conditions"
    conditions: tuple[ConditionFields, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LightAnswer(Answer):
    schema_name: ClassVar[str] = "light"
    light: Light


@dataclass(frozen=True, slots=True, kw_only=True)
class LightsAnswer(Answer):
    schema_name: ClassVar[str] = "lights"
    lights: tuple[Light, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DisplayAnswer(Answer):
    schema_name: ClassVar[str] = "display"
    display: DisplayFields


@dataclass(frozen=True, slots=True, kw_only=True)
class DisplaysAnswer(Answer):
    schema_name: ClassVar[str] = "displays"
    displays: tuple[DisplayFields, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChooseAnswer(Answer):
    """Papers ranked for a picture, with reasons."""

    schema_name: ClassVar[str] = "choose"
    ranking: tuple[RankFields, ...]
    """Best first."""
    light: str | None
    """The light the loss is seen in; without one it is the proof's loss."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StartAnswer(Answer):
    schema_name: ClassVar[str] = "start"
    ticket: str
    condition: str
    size_mm: Pair
    crop_px: Box | None
    """The part of the master that is printed, when it is not all of it."""
    distance_mm: float
    way: str
    correction: Corr
    correction_origin: str
    black_and_white: str | None
    """The tone it is printed in; None for colour."""
    stage: str
    sentences: tuple[str, ...]
    """The master in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofAnswer(Answer):
    schema_name: ClassVar[str] = "proof"
    ticket: str
    way: str
    correction: Corr
    width_px: int
    height_px: int
    out_of_range_pct: float
    loss_mean_de00: float
    loss_p95_de00: float
    loss_max_de00: float
    range_before_lstar: Pair
    range_after_lstar: Pair
    out_of_display_pct: float
    display_white_match_cd_m2: float | None
    lut_size: int | None
    lut_mean_de00: float
    lut_p999_de00: float | None
    lut_max_de00: float
    worst: tuple[WorstPlace, ...]
    sentences: tuple[str, ...]
    must_not_suffer: tuple[str, ...]
    """What the chosen map looks after: kinds by name, places as 'row,column,height,width'."""
    pays: tuple[str, ...]
    """Who gains and who pays for it, in sentences; empty when nothing was asked."""
    black_and_white: GreyFields | None
    """Null for a picture in colour."""
    figures: FigureFields | None
    """What the fit keeps; null unless asked for."""
    keeps: tuple[str, ...]
    """The same in sentences, those that matter here."""
    light: str | None
    """The light it is shown in."""
    offered_correction: Corr | None
    """What a room so dim or so bright wants; never applied unless asked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FinalAnswer(Answer):
    schema_name: ClassVar[str] = "final"
    ticket: str
    width_px: int
    height_px: int
    picture_box_px: tuple[int, int, int, int]
    density_ppi: float
    size_mm: Pair
    margins_mm: tuple[float, float, float, float]
    bits: int
    space: str
    profile_sha256: str
    delivery: str
    way: str
    correction: Corr
    black_and_white: str | None
    sharpen_gain: float
    overshoot_pct: float
    pixels_sha256: str
    beyond_delivery_pct: float
    delivery_lut_size: int | None
    """Nodes an edge of the table that stood for the way back to a standard space; None for numbers or no table."""
    delivery_lut_p999_de00: float | None
    card: CardFiles
    job: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TestAnswer(Answer):
    schema_name: ClassVar[str] = "test"
    ticket: str
    sheet_no: int
    mode: str
    sheet_mm: Pair
    density_ppi: float
    tiles: tuple[TileFields, ...]
    mark_text: str
    judge_after_s: float
    expected_de00: float
    design_s: float
    slot: int | None
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgeAnswer(Answer):
    schema_name: ClassVar[str] = "judge"
    ticket: str
    sheet_no: int
    said: tuple[SaidFields, ...]
    correction: Corr
    sd: Corr
    expected_de00: float
    p90_de00: float
    expected_after_another_de00: float
    advice: str
    stop_at_de00: float
    contradicts: bool
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadbackAnswer(Answer):
    schema_name: ClassVar[str] = "readback"
    ticket: str
    sheet_no: int
    found: bool
    scale_error_pct: float | None
    absolute: bool
    measurement_error_de00: float | None
    tiles: tuple[TileReadingFields, ...]
    faults: tuple[FaultFields, ...]
    ticked: tuple[TickFields, ...]
    verdict_taken: bool
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseAnswer(Answer):
    schema_name: ClassVar[str] = "house"
    condition: str
    light: str | None
    display: str | None
    pictures: int
    correction: Corr
    sd: Corr
    scale: float
    shared_fraction: float
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TogetherAnswer(Answer):
    """Tickets made a set, or prints by themselves again."""

    schema_name: ClassVar[str] = "together"
    tickets: tuple[str, ...]
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TicketsAnswer(Answer):
    schema_name: ClassVar[str] = "tickets"
    tickets: tuple[TicketFields, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShowAnswer(Answer):
    schema_name: ClassVar[str] = "show"
    ticket: str
    title: str
    size_mm: Pair
    condition: str
    stage: str
    sheets: int
    updated: str
    way: str
    correction: Corr
    correction_origin: str
    must_not_suffer: tuple[str, ...]
    black_and_white: str | None
    hangs_with: tuple[str, ...]
    """The other tickets of its set."""
    promise: PromiseFields
    proof_stale: bool
    """Whether what prints has changed since the last proof: `promise.promised` then speaks of another print."""
    events: tuple[EventFields, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DoctorAnswer(Answer):
    schema_name: ClassVar[str] = "doctor"
    checks: tuple[CheckFields, ...]
    versions: Mapping[str, str]
    ok: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoAnswer(Answer):
    schema_name: ClassVar[str] = "demo"
    scenario: str
    sheets_used: int
    proof_print_mean_de00: float
    proof_print_p95_de00: float
    other_unit_mean_de00: float
    other_unit_p95_de00: float
    preference_before_de00: float | None
    """None until the demo's virtual eye judges test sheets."""
    preference_after_de00: float | None
    elapsed_s: float
    sentences: tuple[str, ...]


def as_json(answer: Answer, command: str) -> dict[str, Any]:
    """The answer as plain JSON values, with `schema` and `command` in front."""
    values = _fields(answer)
    common = {name: values.pop(name) for name in ("notices", "files", "next")}
    return {"schema": f"wallworthy/{answer.schema_name}/1", "command": command, **values, **common}


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return _fields(value)
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        return [_plain(item) for item in value]
    return value


def _fields(record: Any) -> dict[str, Any]:
    return {field.name: _plain(getattr(record, field.name)) for field in fields(record)}
