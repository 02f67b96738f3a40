"""What the page is told: frozen records, of which its schema and its TypeScript types are made.

Units and names as in the command line's contract. Sizes are [width, height] in mm as the picture stands.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from wallworthy.base.records import Box, Correction, Light, Margins, Notice, Pair, Paper
from wallworthy.journey.answers import ConditionFields, DisplayFields, EventFields, GreyFields

StageName = Literal["master", "paper", "proof", "test", "print"]
Standing = Literal["done", "here", "needs", "open"]
MasterPlace = Literal["here", "gone", "changed"]
LengthUnit = Literal["cm", "mm", "in"]

STAGES: tuple[StageName, ...] = ("master", "paper", "proof", "test", "print")


@dataclass(frozen=True, slots=True)
class Units:
    """What lengths are shown in, and what prices are told in: a code or sign as the person wrote it, or none."""

    length: LengthUnit
    currency: str = ""


@dataclass(frozen=True, slots=True)
class PathStep:
    """A stage on the path and how it stands; `text` is at most 22 characters."""

    stage: StageName
    state: Standing
    text: str


@dataclass(frozen=True, slots=True)
class TicketLine:
    """A ticket as it stands on the shelf."""

    ticket: str
    title: str
    master_sha256: str
    assume: str | None
    """The space that was told for the master, as it is asked for; None when its file says it."""
    size_mm: Pair
    margins_mm: Margins
    """Top, right, bottom, left, as everywhere."""
    condition: str
    light: str | None
    stage: StageName
    """The stage that is open now."""
    status: str
    sheets: int
    printed: bool
    updated: str


@dataclass(frozen=True, slots=True)
class TicketLines:
    """All tickets, the newest first."""

    tickets: tuple[TicketLine, ...]


@dataclass(frozen=True, slots=True)
class PageState:
    """What the page needs when it opens."""

    version: str
    stages: tuple[StageName, ...]
    units: Units
    tickets: tuple[TicketLine, ...]
    empty: bool
    lan: bool


@dataclass(frozen=True, slots=True)
class SpaceTold:
    """A space that was told for a picture; `assume` names it again."""

    assume: str
    description: str


@dataclass(frozen=True, slots=True)
class MasterFacts:
    """A master in this home. `needs_space`: the file does not say what its colours mean; name it with `assume`.

    `told`: what was said of them, for the ticket or, where there is none yet, the last time.
    """

    sha256: str
    name: str
    format: str
    width_px: int
    height_px: int
    bits: int
    floating: bool
    space: str
    profile_description: str | None
    captured: Mapping[str, str]
    sentences: tuple[str, ...]
    notices: tuple[Notice, ...]
    needs_space: bool
    told: SpaceTold | None


@dataclass(frozen=True, slots=True)
class ProfileChoice:
    """A profile in an uploaded file; `pick` names it when it is used."""

    pick: int
    description: str
    device_space: str | None
    usable: bool
    reason: str | None


@dataclass(frozen=True, slots=True)
class ProfileUpload:
    """What an uploaded ICC profile or ZIP holds; `upload` names it until the program ends."""

    upload: str
    name: str
    profiles: tuple[ProfileChoice, ...]


@dataclass(frozen=True, slots=True)
class ConditionShown(ConditionFields):
    """A condition with its paper's white and its darkest steps as an sRGB screen shows them, darkest last."""

    white_hex: str = ""
    steps_hex: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Things:
    """What the person owns, and the words for lights that are understood."""

    papers: tuple[Paper, ...]
    conditions: tuple[ConditionShown, ...]
    lights: tuple[Light, ...]
    displays: tuple[DisplayFields, ...]
    generic_surfaces: tuple[str, ...]
    light_words: tuple[LightWords, ...]
    ways: tuple[str, ...]
    tones: tuple[str, ...]
    """Of black and white."""


@dataclass(frozen=True, slots=True)
class LightWords:
    """A light that is understood by its words."""

    words: str
    illuminance_lx: float


@dataclass(frozen=True, slots=True)
class RankedPaper:
    """A condition in a ranking. `text` is the whole reason: `lost_text` (what is lost), then the sentences of `why`.

    alike: nobody would see what lies between it and the best. white_hex, picture: its bare paper and the print on it in
    the ranking's light, for an sRGB screen; `picture` is an address under /api that lasts while the ranking is kept.
    """

    condition: str
    place: int
    alike: bool
    loss_mean_de00: float
    loss_p95_de00: float
    out_of_range_pct: float
    texture_kept_pct: float
    text: str
    lost_text: str
    why: tuple[str, ...]
    white_hex: str
    picture: str


@dataclass(frozen=True, slots=True)
class RankingView:
    """The papers ranked for a picture, best first; empty when there is none. light: the loss is that seen in it."""

    ranking: tuple[RankedPaper, ...]
    light: str | None
    way: str
    notices: tuple[Notice, ...]


@dataclass(frozen=True, slots=True)
class SheetLine:
    """A test sheet of a ticket in short."""

    sheet_no: int
    at: str
    mode: str
    tiles: int
    judged: bool
    dry_from: str
    """The earliest moment to judge it, were it printed as soon as it was made."""


@dataclass(frozen=True, slots=True)
class FinalLine:
    """A final of a ticket: how it was made, and whether the ticket has changed since."""

    final_no: int
    at: str
    file_name: str
    bytes: int | None
    """None when the file is no longer where it was written."""
    format: str
    bits: int
    density_ppi: float
    sharpen: str
    delivery: str
    way: str
    correction: Correction
    current: bool


@dataclass(frozen=True, slots=True)
class Beside:
    """Another print of a set."""

    ticket: str
    title: str
    condition: str


@dataclass(frozen=True, slots=True)
class HangsBeside:
    """The set a print hangs in. one_curve: whether its own way follows the tones of the set."""

    others: tuple[Beside, ...]
    one_curve: bool


@dataclass(frozen=True, slots=True)
class TicketView:
    """A ticket with everything its stages show."""

    ticket: str
    title: str
    master: MasterFacts
    master_place: MasterPlace
    """Whether its file is where it was and what it was."""
    size_mm: Pair
    sheet_mm: Pair
    margins_mm: Margins
    distance_mm: float
    density_ppi: float
    """The master's own pixels on an inch of the print."""
    crop_px: Box | None
    fill: bool
    condition: ConditionShown
    guess: bool
    delivery: str
    way: str
    must_not_suffer: tuple[str, ...]
    """What a way chosen for the picture looks after: kinds by name, places as 'row,column,height,width' in pixels."""
    black_and_white: str | None
    """The tone it is printed in; null for colour."""
    hangs_with: HangsBeside | None
    """Null for a print by itself."""
    correction: Correction
    correction_origin: Literal["zero", "house", "user"]
    light: Light | None
    display: str | None
    shown: str
    """Changes with whatever else decides what its proof shows: size, distance, crop, set and the paper's profile."""
    stage: StageName
    path: tuple[PathStep, ...]
    white_hex: str
    sheets: tuple[SheetLine, ...]
    finals: tuple[FinalLine, ...]
    events: tuple[EventFields, ...]
    printed: bool
    notices: tuple[Notice, ...]
    created: str
    updated: str


@dataclass(frozen=True, slots=True)
class Finding:
    """A place that loses: `box` is left, top, width, height in shares of the picture; `loss` in dE00, mean there."""

    n: int
    text: str
    number: str
    box: tuple[float, float, float, float]
    loss: float


@dataclass(frozen=True, slots=True)
class ProofFigures:
    """The figures of `proof`."""

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


@dataclass(frozen=True, slots=True)
class Ladder:
    """Where tones land. lo, hi: L* of the paper's black and white, absolute. land: absolute L* of the master's
    neutral tones 0, 5 ... 100. share: of the picture in each step of 5 L*, 0-1, darkest first."""

    lo: float
    hi: float
    land: tuple[float, ...]
    share: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Rose:
    """Reach in C* by 18 hues of CIELAB, 0, 20 ... 340 degrees: the picture's 98th percentile, and the paper's at the
    lightness where the picture lies."""

    picture: tuple[float, ...]
    paper: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class ReportView:
    """What the paper does to the picture: a heading, findings worst first, drawings' figures, words."""

    heading: str
    findings: tuple[Finding, ...]
    rest_text: str
    sentences: tuple[str, ...]
    figures: ProofFigures
    ladder: Ladder
    rose: Rose
    light_text: str | None
    display_text: str
    pays: tuple[str, ...] = ()
    """Who gains and who pays for what must not suffer, in sentences; empty when nothing was asked."""
    greys: GreyFields | None = None
    """What the paper and the light do to a picture in black and white; null for one in colour."""
    offer_lightness: float | None = None
    """The lightness a room so dim or so bright wants of a print not corrected yet, L*; never applied unasked."""


@dataclass(frozen=True, slots=True)
class TilesInfo:
    """The deep zoom of the proof: level 0 is one tile, the last level has a pixel for each print pixel at `ppi`."""

    width_px: int
    height_px: int
    tile_px: int
    levels: int
    ppi: float
    px_per_mm: float


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why something can't be done: what is wrong, where, what to do."""

    code: str
    text: str
    mend: str
    where: str | None = None


@dataclass(frozen=True, slots=True)
class Refused:
    """The body of every answer that is an error."""

    error: Refusal


@dataclass(frozen=True, slots=True)
class Hold:
    """Whether this tab holds the ticket, since when somebody does, and which stage the holder shows.

    updated: the ticket's own, by which a tab hears of what another process changed.
    """

    mine: bool
    since: str
    at: StageName | None = None
    updated: str | None = None
