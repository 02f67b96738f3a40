"""What the page is told of an appraisal: frozen records, as `journey.page`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from wallworthy.base.records import Notice, Pair

GradeName = Literal["as_good", "fine", "little_soft", "soft", "too_soft"]
Visible = Literal["not", "looked_for", "plain", "striking"]
Sure = Literal["sure", "likely", "perhaps"]


@dataclass(frozen=True, slots=True)
class AppraisedFinding:
    """One thing that would show, or a kind of thing with all its places, told by the worst of them.

    more: how many like it there are besides. boxes: left, top, width, height in shares of the whole picture, the worst
    first, not all of very many. size_mm: of the worst, on paper. visibility_jnd: below 1 it isn't seen from there.
    """

    n: int
    kind: str
    text: str
    more: int
    boxes: tuple[tuple[float, float, float, float], ...]
    size_mm: Pair | None
    visibility_jnd: float
    visible: Visible
    sure: Sure


@dataclass(frozen=True, slots=True)
class AppraisedRung:
    """A usual size with the picture placed inside it: its grade from `distance_mm`, its own diagonal (250 mm where that
    is farther), and from how near it is good; None where it is from nowhere."""

    size_mm: Pair
    distance_mm: float
    density_ppi: float
    deficit_jnd: float
    grade: GradeName
    nearest_good_mm: float | None


@dataclass(frozen=True, slots=True)
class AppraisedMaster:
    """What a sharp master of so many megapixels would lose here, and gain over this one."""

    megapixels: float
    deficit_jnd: float
    gain_jnd: float


@dataclass(frozen=True, slots=True)
class AppraisedTone:
    """Noise at a tone."""

    l_lstar: float
    sigma_lstar: float
    visible_jnd: float


@dataclass(frozen=True, slots=True)
class AppraisalView:
    """Whether a file is good enough at a size, from there. Good is 'fine' or better.

    largest_good_mm: None where no size worth hanging is good. any_size: it is as large as anything that can be made.
    nearest_good_mm: None where it is good from nowhere. any_distance: it is good as near as an eye sees clearly.
    effective_fraction: share of the pixels that carries detail; None when it can't be told.
    condition: None when it is taken for a good photo inkjet.
    """

    master_sha256: str
    size_mm: Pair
    distance_mm: float
    density_ppi: float
    deficit_jnd: float
    deficit_interval_jnd: Pair
    indicative: bool
    grade: GradeName
    largest_good_mm: Pair | None
    any_size: bool
    nearest_good_mm: float | None
    any_distance: bool
    pixels: int
    effective_fraction: float | None
    effective_confidence: float
    findings: tuple[AppraisedFinding, ...]
    ladder: tuple[AppraisedRung, ...]
    other_masters: tuple[AppraisedMaster, ...]
    noise: tuple[AppraisedTone, ...]
    clipped_high_pct: tuple[float, ...]
    clipped_low_pct: tuple[float, ...]
    condition: str | None
    light: str | None
    notices: tuple[Notice, ...]
