"""What the page may ask: bodies and queries, checked before journey sees them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from wallworthy.base.records import Box
from wallworthy.journey.page import LengthUnit, StageName

Name = Annotated[str, Field(min_length=1, max_length=200)]
Words = Annotated[str, Field(max_length=200)]
Border = float | tuple[float, float, float, float]
"""Bare paper in mm: one width, or top, right, bottom and left."""
Space = Literal["srgb", "display-p3", "display"]


class Asked(BaseModel):
    """Unknown fields and NaN are refused."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)


class UnitsAsked(Asked):
    """What is left out stays. currency: a code or sign as it is to be read; empty takes it away."""

    length: LengthUnit | None = None
    currency: Words | None = None


class PaperAsked(Asked):
    name: Name
    surface: Literal["gloss", "lustre", "matt", "canvas"] | None = None
    weight_g_m2: float | None = None
    stock: dict[str, int] = Field(default_factory=dict)
    prices: dict[str, float] = Field(default_factory=dict)


class ConditionAsked(Asked):
    name: Name
    upload: Name
    pick: int | None = None
    paper: Name | None = None
    delivery: Literal["numbers", "standard"] | None = None
    media: Words | None = None


class LightAsked(Asked):
    """By its lux, or by words that are understood."""

    name: Name
    lux: float | None = None
    cct_k: float | None = None
    surround: Literal["dark", "dim", "average"] | None = None
    words: Words | None = None


class DisplayAsked(Asked):
    name: Name
    space: Literal["srgb", "display-p3"] | None = None
    upload: Name | None = None
    white_cd_m2: float | None = None
    calibrated_on: Words | None = None


class PaperChanged(Asked):
    """What to change; what is left out stays. stock, prices: by size, in place of all that was there."""

    name: Name | None = None
    surface: Literal["gloss", "lustre", "matt", "canvas"] | None = None
    weight_g_m2: float | None = None
    stock: dict[str, int] | None = None
    prices: dict[str, float] | None = None


class ConditionChanged(Asked):
    """What to change; what is left out stays. An empty `paper` or `media` and an ink spread of 0 take it away."""

    name: Name | None = None
    paper: Words | None = None
    delivery: Literal["numbers", "standard"] | None = None
    media: Words | None = None
    ink_spread_per_mm: float | None = None


class LightChanged(Asked):
    """What to change; what is left out stays."""

    name: Name | None = None
    lux: float | None = None
    cct_k: float | None = None
    surround: Literal["dark", "dim", "average"] | None = None


class DisplayChanged(Asked):
    """What to change; what is left out stays."""

    name: Name | None = None
    white_cd_m2: float | None = None
    calibrated_on: Words | None = None


class TicketAsked(Asked):
    """One of `on` (a condition owned), `upload` with `pick` (a profile just given), `paper` (a generic surface).

    assume: srgb, display-p3, grey, an upload or what was told before, for a master that does not say what its colours
    mean.
    """

    master_sha256: Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
    size: Words
    distance: Words | None = None
    on: Name | None = None
    upload: Name | None = None
    pick: int | None = None
    paper: Literal["gloss", "lustre", "matt"] | None = None
    light: Name | None = None
    display: Name | None = None
    way: Words | None = None
    border_mm: Border = 0.0
    crop: Box | None = None
    fill: bool = False
    assume: Name | None = None


class AppraisalAsked(Asked):
    """The order of a picture that has no ticket yet; without a distance it is seen from as far as it is long."""

    size: Words
    fill: bool = False
    distance: Words | None = None
    light: Words | None = None
    assume: Words | None = None


class RankingAsked(AppraisalAsked):
    """The same order with the way it is to be printed; what is left out is decided as for a ticket."""

    way: Words | None = None


class CorrectionAsked(Asked):
    """The axes to change; those left out stay."""

    lightness: float | None = None
    contrast: float | None = None
    shadow: float | None = None
    green_red: float | None = None
    blue_yellow: float | None = None
    chroma: float | None = None


class TicketChange(Asked):
    """What to change; what is left out stays. An empty `light` or `display` takes it away, an empty `distance` is the
    print's own diagonal."""

    title: Name | None = None
    correction: CorrectionAsked | None = None
    way: Words | None = None
    light: Words | None = None
    display: Words | None = None
    on: Name | None = None
    upload: Name | None = None
    pick: int | None = None
    paper: Literal["gloss", "lustre", "matt"] | None = None
    size: Words | None = None
    distance: Words | None = None
    border_mm: Border | None = None
    crop: Box | None = None
    fill: bool | None = None
    must_not_suffer: list[Words] | None = Field(default=None, max_length=20)
    black_and_white: Words | None = None
    """A tone; 'none' for colour."""


class ViewAsked(Asked):
    """How the proof is looked at. What is left out is the ticket's own; nothing here changes the ticket.

    space: what the picture is coded for; `display` is the ticket's own screen. paper_white: whether the paper's
    white is shown darker than the screen's. shown: the ticket's, as it was told last; it only makes another address.
    """

    space: Space = "srgb"
    paper_white: bool = True
    lightness: float | None = None
    contrast: float | None = None
    shadow: float | None = None
    green_red: float | None = None
    blue_yellow: float | None = None
    chroma: float | None = None
    light: Words | None = None
    condition: Words | None = None
    way: Words | None = None
    must_not_suffer: Annotated[str, Field(max_length=400)] | None = None
    """Kinds by name and places, with semicolons between; empty for none."""
    black_and_white: Words | None = None
    """A tone; 'none' for colour."""
    shown: Words | None = None


class PictureAsked(ViewAsked):
    """width: of the picture in pixels, the print without its border; never more than the master has."""

    width: Annotated[int, Field(ge=16, le=8192)] = 1280
    quality: Literal["quick", "fine"] = "quick"
    kind: Literal["proof", "master"] = "proof"


class ReportAsked(ViewAsked):
    """quick: on a picture 1024 pixels long and a table of 49 nodes; fine: exactly what `proof` says."""

    quality: Literal["quick", "fine"] = "quick"


class TableAsked(ViewAsked):
    """nodes: along an edge; 33 is quick to make and to send, 49 is what `view` draws with."""

    nodes: Literal[17, 33, 49, 65] = 33


class PixelsAsked(ViewAsked):
    width: Annotated[int, Field(ge=16, le=4096)] = 1280


class SheetAsked(Asked):
    sheet: Words = "10x15cm"
    tiles: int | None = None
    mode: Literal["tiles", "whole", "prints"] = "tiles"
    slot: Literal["next"] | None = None
    ppi: float | None = None


class VerdictAsked(Asked):
    """best, next: codes of tiles. between: two codes, the right one lies between. say: 'A1 too dark', 'B2 right'."""

    best: Words | None = None
    next: Words | None = None
    between: tuple[Words, Words] | None = None
    none_right: bool = False
    cant_tell: bool = False
    say: list[Words] = Field(default_factory=list, max_length=40)


class FinalAsked(Asked):
    """What is left out is decided as for `final` on the command line. again: exactly the last one."""

    ppi: float | None = None
    bits: Literal[8, 16] | None = None
    format: Literal["tiff", "png", "jpeg"] | None = None
    sharpen: Literal["none", "auto"] | None = None
    delivery: Literal["numbers", "standard"] | None = None
    again: bool = False


class HoldAsked(Asked):
    """tab: a name the tab gave itself. take: hold it even when another tab does. at: the stage it shows."""

    tab: Name
    take: bool = False
    at: StageName | None = None
