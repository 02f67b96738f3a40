"""What a benchmark of the fit found, as tables: means by way, promises held against it, pictures that lost."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

UNSEEN_DE00 = 0.1
"""A difference between steps that nobody sees."""


@dataclass
class Seen:
    """One picture on one paper by one way."""

    picture: str
    condition: str
    way: str
    figures: dict[str, float] = field(default_factory=dict)


COLUMNS = (
    ("texture_shadows", "texture in shadows", 3, True),
    ("texture_beyond", "texture out of range", 3, True),
    ("hue_shift_deg", "hue shift, degrees", 2, False),
    ("scielab_mean", "S-CIELAB mean", 2, False),
    ("scielab_p95", "S-CIELAB 95 %", 2, False),
    ("similarity", "multi-scale SSIM", 4, True),
    ("halo_lstar", "halo, L*", 2, False),
    ("flip", "FLIP", 4, False),
    ("largest_step", "largest step of a ramp, dE00", 2, False),
    ("grey_step", "of the grey one", 2, False),
    ("even_step", "the largest, all of the master's the paper's own", 2, False),
    ("distinct_steps", "distinct shadow steps of 25", 1, True),
    ("grey_de00", "greys off neutral, dE00", 2, False),
)

UNJUDGED = ("grey_de00", "largest_step", "grey_step", "even_step", "halo_lstar")


def _mean(seen: list[Seen], way: str, name: str) -> float:
    values = [one.figures[name] for one in seen if one.way == way and not np.isnan(one.figures[name])]
    return float(np.mean(values)) if values else float("nan")


def table(seen: list[Seen]) -> Iterator[str]:
    ways = list(dict.fromkeys(one.way for one in seen))
    yield "| |" + "|".join(ways) + "|"
    yield "|---|" + "---|" * len(ways)
    for name, words, digits, _ in COLUMNS:
        yield f"| {words} |" + "|".join(_told(_mean(seen, way, name), digits) for way in ways) + "|"


def _told(found: float, digits: int) -> str:
    return "" if np.isnan(found) else f"{found:.{digits}f}"


def promises(seen: list[Seen]) -> Iterator[str]:
    """Each promise with what was found; ratios are of means against relative-bpc."""

    def ratio(way: str, name: str) -> float:
        return _mean(seen, way, name) / _mean(seen, "relative-bpc", name)

    def plain(way: str, name: str) -> float:
        return _mean(seen, way, name)

    largest = max(one.figures["grey_de00"] for one in seen if one.way == "whole")
    steps = {(one.picture, one.condition): one.figures["distinct_steps"] for one in seen if one.way == "relative-bpc"}
    lost = sum(one.figures["distinct_steps"] < steps[one.picture, one.condition] for one in seen if one.way == "detail")
    banded = {(one.picture, one.condition): one.figures["largest_step"] for one in seen if one.way == "relative-bpc"}
    bands = sum(one.figures["largest_step"] > banded[one.picture, one.condition] for one in seen if one.way == "whole")
    bands_seen = sum(
        one.figures["largest_step"] > max(banded[one.picture, one.condition], one.figures["own_step"]) + UNSEEN_DE00
        for one in seen
        if one.way == "whole"
    )
    own = sum(one.figures["largest_step"] > one.figures["paper_step"] for one in seen if one.way == "whole")
    greys = {
        way: sum(one.figures["grey_step"] > one.figures["paper_step"] for one in seen if one.way == way)
        for way in ("whole", "detail")
    }
    theirs = sum(one.figures["largest_step"] > one.figures["paper_step"] for one in seen if one.way == "relative-bpc")
    stretched = {
        way: sum(
            one.figures["even_step"] > max(one.figures["paper_step"], one.figures["even_own"])
            for one in seen
            if one.way == way
        )
        for way in ("whole", "relative-bpc")
    }
    stretched_words = (
        "whole: pairs with a step larger than the paper's own where all of the master's are just that "
        f"(relative-bpc: {stretched['relative-bpc']})"
    )
    even = {(one.picture, one.condition): one.figures["even_step"] for one in seen if one.way == "relative-bpc"}
    evens = sum(one.figures["even_step"] > even[one.picture, one.condition] for one in seen if one.way == "whole")
    banded_words = (
        "whole: pairs with one larger than relative-bpc's, above the ramp's own step and by more than 0.1 dE00"
    )
    rows = (
        ("whole: hue shift, degrees", plain("whole", "hue_shift_deg"), "<=", 1.5),
        ("whole: hue shift against relative-bpc", ratio("whole", "hue_shift_deg"), "<=", 0.35),
        ("whole: texture in shadows against relative-bpc", ratio("whole", "texture_shadows"), ">=", 1.04),
        ("whole: texture out of range against relative-bpc", ratio("whole", "texture_beyond"), ">=", 1.05),
        ("whole: S-CIELAB 95 % against relative-bpc", ratio("whole", "scielab_p95"), "<=", 0.92),
        ("whole: multi-scale SSIM against relative-bpc", ratio("whole", "similarity"), ">=", 1.0),
        ("whole: FLIP against relative-bpc", ratio("whole", "flip"), "<=", 1.05),
        ("whole: pairs with a tone reversed", sum(o.figures["reversed"] for o in seen if o.way == "whole"), "<=", 0),
        ("whole: pairs with a larger step than relative-bpc's", bands, "<=", 0),
        ("whole: pairs with a larger step of the grey ramp than the paper's own", greys["whole"], "<=", 0),
        (f"whole: pairs with a larger step than the paper's own (relative-bpc: {theirs})", own, "<=", 0),
        (banded_words, bands_seen, "<=", 0),
        (stretched_words, stretched["whole"], "<=", 0),
        ("whole: pairs with one larger than relative-bpc's there", evens, "<=", 0),
        ("whole: farthest grey from neutral, dE00", largest, "<=", 0.5),
        ("whole: moved where the picture fits, dE00", plain("whole", "moved_inside"), "<=", 0.3),
        ("detail: texture in shadows", plain("detail", "texture_shadows"), ">=", 0.90),
        ("detail: texture out of range", plain("detail", "texture_beyond"), ">=", 0.93),
        ("detail: multi-scale SSIM", plain("detail", "similarity"), ">=", 0.994),
        ("detail: halo, L*", plain("detail", "halo_lstar"), "<=", 1.0),
        ("detail: S-CIELAB 95 % against relative-bpc", ratio("detail", "scielab_p95"), "<=", 0.92),
        ("detail: FLIP against relative-bpc", ratio("detail", "flip"), "<=", 1.05),
        ("detail: pairs with a tone reversed", sum(o.figures["reversed"] for o in seen if o.way == "detail"), "<=", 0),
        ("detail: pairs with a larger step of the grey ramp than the paper's own", greys["detail"], "<=", 0),
        ("detail: pairs with more shadow steps lost than relative-bpc", lost, "<=", 0),
    )
    yield "| promise | asked | found | kept |"
    yield "|---|---|---|---|"
    for words, found, sign, asked in rows:
        if np.isnan(found):
            yield f"| {words} | {sign} {asked:g} | not measured | |"
            continue
        kept = found <= asked if sign == "<=" else found >= asked
        yield f"| {words} | {sign} {asked:g} | {found:.3f} | {'yes' if kept else '**no**'} |"


def worse(seen: list[Seen], papers: list[str], names: list[str]) -> Iterator[str]:
    by = {(one.picture, one.condition, one.way): one.figures for one in seen}
    judged = [column for column in COLUMNS if column[0] not in UNJUDGED]
    yield "| picture | condition | way | worse in (ours / relative-bpc) |"
    yield "|---|---|---|---|"
    for picture in names:
        for paper in papers:
            theirs = by[picture, paper, "relative-bpc"]
            for way in ("whole", "detail"):
                ours = by[picture, paper, way]
                worse = [
                    f"{words} {ours[name]:.{digits}f} / {theirs[name]:.{digits}f}"
                    for name, words, digits, more in judged
                    if (ours[name] < theirs[name] * 0.99 if more else ours[name] > theirs[name] * 1.01)
                ]
                if len(worse) > 1:
                    yield f"| {picture} | {paper} | {way} | {'; '.join(worse)} |"
