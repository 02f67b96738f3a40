"""What the person owns, as the page shows and takes it."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Final

import numpy as np

from wallworthy.base.errors import InputError
from wallworthy.base.records import Condition, Light, Paper, Way
from wallworthy.colour.lab import relative_to_absolute
from wallworthy.fit.greys import TONES
from wallworthy.fit.ways import lab_to_device, source_of
from wallworthy.icc.engine import to_lab
from wallworthy.icc.read import parse_profile
from wallworthy.journal.journal import Journal
from wallworthy.journey import conditions
from wallworthy.journey import things as own
from wallworthy.journey.answers import DisplayFields
from wallworthy.journey.home import opened
from wallworthy.journey.incoming import upload_path
from wallworthy.journey.page import ConditionShown, LightWords, Things
from wallworthy.journey.seeing import rgb_hex
from wallworthy.proof.displays import display_from
from wallworthy.proof.lights import LIGHT_WORDS

DARKEST_STEPS: Final = (40.0, 30.0, 20.0, 10.0, 0.0)
"""Media-relative L* asked of a paper's darkest steps, darkest last."""
SURFACES: Final = ("gloss", "lustre", "matt")


def things(home: Path) -> Things:
    """Everything owned, and the words for lights that are understood."""
    with opened(home) as journal:
        return Things(
            papers=journal.papers.list(),
            conditions=tuple(shown(journal, name) for name in journal.conditions.names()),
            lights=journal.lights.list(),
            displays=tuple(own.display_fields(display) for display in journal.displays.list()),
            generic_surfaces=SURFACES,
            light_words=tuple(LightWords(words, light.illuminance_lx) for words, light in LIGHT_WORDS.items()),
            ways=tuple(str(way) for way in Way),
            tones=tuple(TONES),
        )


def shown(journal: Journal, name: str) -> ConditionShown:
    """A condition with its white and its darkest steps; without them when its stored profile is lost."""
    try:
        condition = journal.conditions.get(name)
    except InputError as error:
        if not error.code.startswith("store_"):
            raise
        condition = next(kept for kept in journal.conditions.list() if kept.name == name)
        return _shown(condition, "#ffffff", ())
    white, steps = _colours(condition.profile)
    return _shown(condition, white, steps)


def _shown(condition: Condition, white: str, steps: tuple[str, ...]) -> ConditionShown:
    fields = conditions.condition_fields(condition)
    values = {name: getattr(fields, name) for name in fields.__dataclass_fields__}
    return ConditionShown(**values, white_hex=white, steps_hex=steps)


@lru_cache(maxsize=64)
def _colours(profile: bytes) -> tuple[str, tuple[str, ...]]:
    """The paper's white and its darkest printed steps on an sRGB screen."""
    output = parse_profile(profile)
    asked = np.array([[lstar, 0.0, 0.0] for lstar in (100.0, *DARKEST_STEPS)])
    printed = to_lab(output, lab_to_device(output, Way.RELATIVE_BPC, source_of(None))(asked))
    printed[0] = (100, 0, 0)
    codes = rgb_hex(relative_to_absolute(printed, output.white_xyz), display_from("sRGB screen", space="srgb"))
    return codes[0], codes[1:]


def add_paper(home: Path, paper: Paper) -> Paper:
    """Remember a paper. Raises InputError for what no paper is like."""
    stock = ",".join(f"{size}={count}" for size, count in paper.stock.items())
    price = ",".join(f"{size}={price!r}" for size, price in paper.prices.items())
    return own.add_paper(
        home, paper.name, surface=paper.surface, weight=paper.weight_g_m2, stock=stock, price=price
    ).paper


def add_condition(
    home: Path,
    *,
    name: str,
    upload: str,
    pick: int | None = None,
    paper: str | None = None,
    delivery: str | None = None,
    media: str | None = None,
) -> ConditionShown:
    """Take in an uploaded profile. Raises InputError."""
    place = upload_path(home, upload)
    chosen = None if pick is None else str(pick)
    conditions.add_condition(home, name, place, pick=chosen, paper=paper, delivery=delivery, media=media)
    with opened(home) as journal:
        return shown(journal, name)


def add_light(
    home: Path,
    *,
    name: str,
    lux: float | None = None,
    cct_k: float | None = None,
    surround: str | None = None,
    words: str | None = None,
) -> Light:
    """Remember a light. Raises InputError."""
    return own.add_light(home, name, lux=lux, cct=cct_k, surround=surround, words=words).light


def add_display(
    home: Path,
    *,
    name: str,
    space: str | None = None,
    upload: str | None = None,
    white_cd_m2: float | None = None,
    calibrated_on: str | None = None,
) -> DisplayFields:
    """Remember a screen. Raises InputError."""
    profile = None if upload is None else upload_path(home, upload)
    return own.add_display(
        home, name, profile=profile, space=space, white=white_cd_m2, calibrated=calibrated_on
    ).display
