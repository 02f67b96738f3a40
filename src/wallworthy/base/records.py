"""The frozen records that rooms hand to each other. Units are in the names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from enum import StrEnum
from typing import TYPE_CHECKING, Final, Literal

from wallworthy.base.errors import InputError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float32]

Pair = tuple[float, float]
Triple = tuple[float, float, float]
Box = tuple[int, int, int, int]
"""row, column, height, width in pixels."""
Margins = tuple[float, float, float, float]
"""top, right, bottom, left in mm."""
NO_MARGINS: Final[Margins] = (0.0, 0.0, 0.0, 0.0)


class Way(StrEnum):
    """How tones and colours are squeezed into the condition's range."""

    PERCEPTUAL = "perceptual"
    RELATIVE = "relative"
    RELATIVE_BPC = "relative-bpc"
    ABSOLUTE = "absolute"
    WHOLE = "whole"
    DETAIL = "detail"

    @property
    def is_chosen(self) -> bool:
        """Whether the way is chosen for the picture and the paper, rather than read from the profile."""
        return self in (Way.WHOLE, Way.DETAIL)

    @property
    def table_intent(self) -> Literal["perceptual", "relative"]:
        """The intent whose tables a way reads, of the master's profile and of the condition's, as the CMM does."""
        return "perceptual" if self is Way.PERCEPTUAL else "relative"


class Delivery(StrEnum):
    """How a file leaves: the condition's own device values, or a standard space."""

    NUMBERS = "numbers"
    STANDARD = "standard"


@dataclass(frozen=True, slots=True)
class Notice:
    """Something the person should know, though the work went on."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class Correction:
    """What this eye, paper and light still need; DESIGN section 5 defines each axis.

    lightness and shadow in L*, green_red in a*, blue_yellow in b*; contrast is a slope and
    chroma a ratio, both 1 when nothing is asked.
    """

    lightness: float = 0.0
    contrast: float = 1.0
    shadow: float = 0.0
    green_red: float = 0.0
    blue_yellow: float = 0.0
    chroma: float = 1.0

    @property
    def is_none(self) -> bool:
        return self == Correction()

    def as_dict(self) -> dict[str, float]:
        return {axis.name: float(getattr(self, axis.name)) for axis in fields(self)}

    def __str__(self) -> str:
        changed = [f"{k} {v:g}" for k, v in self.as_dict().items() if v != getattr(Correction(), k)]
        return ", ".join(changed) or "none"


def parse_correction(text: str, base: Correction | None = None) -> Correction:
    """`lightness=2,chroma=1.05` laid over `base`; `none` clears.

    Raises InputError for an unknown axis or a value that is not a number. Whether the values
    make a legal tone curve is the correction's own business (`colour.correction`).

    >>> parse_correction("lightness=2").lightness
    2.0
    """
    if text.strip().lower() == "none":
        return Correction()
    values = (base or Correction()).as_dict()
    for part in text.split(","):
        axis, _, number = part.partition("=")
        axis = axis.strip()
        if axis not in values:
            raise InputError(
                "axis_unknown",
                f"'{axis}' is not a correction I know.",
                f"The axes are {', '.join(values)}.",
                where="--correct",
            )
        try:
            values[axis] = float(number)
        except ValueError:
            raise InputError(
                "axis_value",
                f"'{part.strip()}' needs a number after '='.",
                "Write it as lightness=2,chroma=1.05.",
                where="--correct",
            ) from None
    return Correction(**values)


@dataclass(frozen=True, slots=True)
class Master:
    """The finished picture file, read but never written. Pixel counts are as seen (turned upright)."""

    path: str
    sha256: str
    format: str
    width_px: int
    height_px: int
    bits: int
    floating: bool
    space: Literal["RGB", "GRAY", "CMYK", "LAB"]
    alpha: bool
    profile: bytes | None = field(repr=False)
    """The ICC profile in force (embedded or assumed); None only for Lab files."""
    profile_description: str | None
    assumed: bool
    """True when the profile was not in the file."""
    capture: Mapping[str, str]
    notices: tuple[Notice, ...] = ()
    stamp: tuple[int, int, int] | None = None
    """size in bytes, time of change in ns, inode when it was opened: tells whether the file was changed since"""

    @property
    def is_told(self) -> bool:
        """Whether somebody named its profile; 8-bit RGB that was taken as sRGB for want of one is not told."""
        return self.assumed and all(notice.code != "untagged_srgb" for notice in self.notices)


@dataclass(frozen=True, slots=True)
class Light:
    """Viewing light."""

    name: str
    illuminance_lx: float
    illuminance_interval_lx: Pair
    cct_k: float | None
    duv_from_d50: float
    surround: Literal["dark", "dim", "average"]
    paper_white_cd_m2: float
    spectrum: tuple[float, ...] = ()
    """Relative power every 5 nm from 380 to 780 nm, the strongest 1; empty when it is not known."""


@dataclass(frozen=True, slots=True)
class Display:
    """The screen in front of the person."""

    name: str
    profile: bytes = field(repr=False)
    """The ICC profile's bytes; empty in the journal's lists, which leave them in its store."""
    profile_description: str
    white_cd_m2: float | None = None
    calibrated_on: str | None = None


@dataclass(frozen=True, slots=True)
class Paper:
    """The stock itself: sheets left and prices by size name."""

    name: str
    surface: Literal["gloss", "lustre", "matt", "canvas"] | None = None
    weight_g_m2: float | None = None
    stock: Mapping[str, int] = field(default_factory=dict[str, int])
    prices: Mapping[str, float] = field(default_factory=dict[str, float])


@dataclass(frozen=True, slots=True)
class ConditionFacts:
    """What the CMM measured of an output profile (`icc.measure`). Lab is ICC-absolute, D50."""

    device_space: str
    icc_version: str
    profile_description: str
    intents: tuple[str, ...]
    white_lab: Triple
    black_lab: Triple
    neutral_tint_ab: Pair
    """Mean a*, b* (media-relative) of the printed neutral ramp, L* 20 to 80."""
    density_y: float
    """-log10 Y of the black; not ISO visual density."""
    range_stops: float
    roundtrip_mean_de00: float
    roundtrip_p95_de00: float
    gamut_volume_lab3: float


@dataclass(frozen=True, slots=True)
class Condition:
    """A characterised printing condition."""

    name: str
    paper: str | None
    profile: bytes = field(repr=False)
    """The ICC profile's bytes; empty in the journal's lists, which leave them in its store."""
    profile_sha256: str
    delivery: Delivery
    media: str | None
    """Media setting as the profile's maker states it."""
    guess: bool
    facts: ConditionFacts
    ink_spread_per_mm: float | None = None
    """Cycles per mm at which ink and paper keep half the contrast, where it was measured or said."""


TABLE_MEAN_DE00: Final = 0.09
TABLE_P999_DE00: Final = 0.42
TABLE_MAX_DE00: Final = 1.5
"""How far a table may stray from what it stands in for: in the mean, for 999 of 1000 colours, ever.

0.1, 0.5 and 1.5 are promised; seeded colours are spread evenly and pictures are not, so that tables are held to less.
"""


@dataclass(frozen=True, slots=True)
class LutFigures:
    """A table measured against the direct path over the cube and sRGB colours, dE00."""

    size: int | None
    """Nodes per edge; None when no table was good enough and the direct path is used."""
    mean_de00: float
    p999_de00: float
    max_de00: float

    def passes(self, slack: float = 1.0) -> bool:
        """Whether the table keeps the promised accuracy, each limit times `slack`."""
        return (
            self.mean_de00 <= TABLE_MEAN_DE00 * slack
            and self.p999_de00 <= TABLE_P999_DE00 * slack
            and self.max_de00 <= TABLE_MAX_DE00 * slack
        )


@dataclass(frozen=True, slots=True)
class Fitted:
    """The chain from the working encoding to device values, composed once.

    `nodes` has shape (N, N, N, K), float32, K device channels 0 to 1, axes R, G, B of the
    working encoding; None when the direct path is used.
    """

    way: Way
    correction: Correction
    condition_sha256: str
    device_space: str
    nodes: FloatArray | None = field(repr=False)
    figures: LutFigures
    probes_lab: FloatArray | None = field(default=None, repr=False, compare=False)
    """What it prints of the seeded colours it was measured with, (n, 3); None where that is not known."""


@dataclass(frozen=True, slots=True)
class WorstPlace:
    """A place of the picture that loses much: where (master pixels), how much, and in words."""

    box_px: Box
    loss_mean_de00: float
    text: str


@dataclass(frozen=True, slots=True)
class ProofReport:
    """What the paper will do to this picture (CONTRACT, `proof`)."""

    out_of_range_pct: float
    loss_mean_de00: float
    loss_p95_de00: float
    loss_max_de00: float
    range_before_lstar: Pair
    range_after_lstar: Pair
    out_of_display_pct: float
    display_white_match_cd_m2: float | None
    worst: tuple[WorstPlace, ...]


CORRECTION_AXES: Final = tuple(axis.name for axis in fields(Correction))
