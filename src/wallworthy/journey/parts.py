"""The parts of answers: what lists in them hold (CONTRACT)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from wallworthy.base.records import Pair, Triple

Corr = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class ConditionFields:
    name: str
    paper: str | None
    profile_sha256: str | None
    profile_description: str
    icc_version: str
    device_space: str
    intents: tuple[str, ...]
    delivery: str
    media: str | None
    white_lab: Triple
    black_lab: Triple
    neutral_tint_ab: Pair
    density_y: float
    range_stops: float
    roundtrip_mean_de00: float
    roundtrip_p95_de00: float
    gamut_volume_lab3: float
    guess: bool
    ink_spread_per_mm: float | None = None


@dataclass(frozen=True, slots=True)
class DisplayFields:
    name: str
    profile_description: str
    white_cd_m2: float | None
    calibrated_on: str | None


@dataclass(frozen=True, slots=True)
class CardFiles:
    text: str
    json: str


@dataclass(frozen=True, slots=True)
class TileFields:
    """A tile of a test sheet: where it lies on the sheet, what of the master it shows, its correction."""

    code: str
    box_mm: tuple[float, float, float, float]
    master_box_px: tuple[int, int, int, int]
    correction: Corr


@dataclass(frozen=True, slots=True)
class SaidFields:
    """A thing that was said, as it was understood; axis is null for what is of none, such as 'right'."""

    code: str | None
    axis: str | None
    direction: str
    grade: str = ""


@dataclass(frozen=True, slots=True)
class TileReadingFields:
    """A tile as expected and as measured: relative to the paper, or absolute when the read-back is."""

    code: str
    expected_lab: Triple
    measured_lab: Triple
    de00: float


@dataclass(frozen=True, slots=True)
class FaultFields:
    """One explanation of the print; the probabilities of all sum to 1."""

    kind: str
    probability: float
    evidence: str
    mend: str


@dataclass(frozen=True, slots=True)
class TickFields:
    """A box found ticked; direction is what was ticked of the best tile, in words."""

    kind: str
    code: str | None
    axis: str | None
    direction: str | None
    confidence: float


@dataclass(frozen=True, slots=True)
class TicketFields:
    ticket: str
    title: str
    size_mm: Pair
    condition: str
    stage: str
    sheets: int
    updated: str


@dataclass(frozen=True, slots=True)
class EventFields:
    at: str
    kind: str
    detail: Mapping[str, Any]
    text: str


@dataclass(frozen=True, slots=True)
class PromiseFields:
    """What a proof promised, beside what was said and measured of the print."""

    promised: Mapping[str, Any] | None
    said: Mapping[str, Any] | None
    measured: Mapping[str, Any] | None


@dataclass(frozen=True, slots=True)
class CheckFields:
    name: str
    ok: bool
    text: str


@dataclass(frozen=True, slots=True)
class FigureFields:
    """What a fit keeps of this picture, at viewing resolution; null where it has no such place."""

    scielab_mean_de00: float
    scielab_p95_de00: float
    similarity: float
    texture_shadows_pct: float | None
    texture_out_of_range_pct: float | None
    hue_shift_deg: float
    halo_lstar: float
    largest_step_de00: float
    own_step_de00: float
    shadow_steps: int
    shadow_steps_of: int


@dataclass(frozen=True, slots=True)
class ToneStep:
    """A step of the tone ladder: a grey of the master, where it lands relative to the paper, how much lies about it."""

    master_lstar: float
    print_lstar: float
    share_pct: float


@dataclass(frozen=True, slots=True)
class GreyFields:
    """A picture in black and white: how near its greys come to the tone that was asked for, and where tones land."""

    tone: str
    off_mean_de00: float
    off_max_de00: float
    """Near the paper's black greys lean to its own tint."""
    largest_step_de00: float
    """Between neighbours of a ramp of 256."""
    key: str
    """high, middle or low, by where half of the picture lies."""
    ladder: tuple[ToneStep, ...]
    shift_mean_de00: float | None
    """How greys shift from D50 to the light, when the spectra of both are known."""
    shift_max_de00: float | None
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PictureRankFields:
    """A picture of a set on a condition; title: its file's name without the ending."""

    title: str
    loss_mean_de00: float
    loss_p95_de00: float


@dataclass(frozen=True, slots=True)
class RankFields:
    """A condition in a ranking. texture_kept_pct: of the fine steps in shadows and where the paper is out of range."""

    condition: str
    loss_mean_de00: float
    loss_p95_de00: float
    out_of_range_pct: float
    texture_kept_pct: float
    text: str
    pictures: tuple[PictureRankFields, ...] = ()
    """Of a set, one by one; the figures above are then its mean loss, its worst picture's 95 % and texture."""
