"""What the person owns: papers, lights and displays. Conditions have a file of their own."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Literal, cast, get_args

from wallworthy.base.errors import InputError, UsageError
from wallworthy.base.records import Display, Notice, Paper
from wallworthy.base.saying import as_word
from wallworthy.base.units import parse_size
from wallworthy.journey.answers import (
    DisplayAnswer,
    DisplayFields,
    DisplaysAnswer,
    LightAnswer,
    LightsAnswer,
    PaperAnswer,
    PapersAnswer,
)
from wallworthy.journey.home import opened

Surface = Literal["gloss", "lustre", "matt", "canvas"]


def add_paper(
    home: Path | None,
    name: str,
    *,
    surface: str | None = None,
    weight: float | None = None,
    stock: str | None = None,
    price: str | None = None,
) -> PaperAnswer:
    """Remember a paper; stock and price are written `A4=20,A3=5`."""
    if surface is not None and surface not in get_args(Surface):
        raise InputError(
            "surface_unknown",
            f"'{surface}' is not a surface I know.",
            f"A surface is one of {', '.join(get_args(Surface))}.",
            where="--surface",
        )
    if weight is not None and not 10 <= weight <= 2000:
        raise InputError(
            "weight_absurd", f"No paper weighs {weight:g} g/m².", "Give grams per square metre.", where="--weight"
        )
    sheets = {size: _count(text, "--stock") for size, text in _by_size(stock, "--stock").items()}
    prices = {size: _price(text, "--price") for size, text in _by_size(price, "--price").items()}
    paper = Paper(name, cast(Surface | None, surface), weight, sheets, prices)
    with opened(home) as journal:
        kept = journal.papers.add(paper)
    return PaperAnswer(
        paper=kept,
        next=f"Take in its profile with 'wallworthy condition add NAME --profile FILE --paper {as_word(kept.name)}'.",
    )


def list_papers(home: Path | None) -> PapersAnswer:
    with opened(home) as journal:
        papers = journal.papers.list()
    return PapersAnswer(
        papers=papers,
        next="'wallworthy paper show NAME' shows one." if papers else "Add one with 'wallworthy paper add NAME'.",
    )


def show_paper(home: Path | None, name: str) -> PaperAnswer:
    with opened(home) as journal:
        paper = journal.papers.get(name)
    low = [size for size, count in paper.stock.items() if count <= 2]
    notices = (Notice("stock_low", f"Little is left of {', '.join(low)}."),) if low else ()
    return PaperAnswer(
        paper=paper,
        notices=notices,
        next="'wallworthy condition list' shows the conditions that print on your papers.",
    )


def add_light(
    home: Path | None,
    name: str,
    *,
    lux: float | None = None,
    cct: float | None = None,
    spectrum: Path | None = None,
    surround: str | None = None,
    words: str | None = None,
    photo: Path | None = None,
) -> LightAnswer:
    """Remember a light by its lux, by words with lux behind them, or by a photo of a blank sheet in it."""
    from wallworthy.proof.lights import light_from, light_text

    if lux is not None and photo is not None:
        raise UsageError(
            "lux_or_photo", "--lux and --photo exclude each other.", "Leave one out; a meter is surer.", where="--photo"
        )
    notices: list[Notice] = []
    interval = None
    if photo is not None:
        from wallworthy.journey.lighting import photographed
        from wallworthy.proof.light_words import lux_from_photo

        found = photographed(photo)
        lux, interval = found.illuminance_lx, (found.illuminance_lx / found.factor, found.illuminance_lx * found.factor)
        notices.append(Notice("light_photo", lux_from_photo(lux, found.factor, found.level)))
    light = light_from(
        name, lux=lux, cct_k=cct, spectrum=spectrum, surround=surround, words=words, lux_interval=interval
    )
    with opened(home) as journal:
        kept = journal.lights.add(light)
    return LightAnswer(
        light=kept,
        notices=(*notices, *(Notice("light", text) for text in light_text(kept))),
        next=f"Name it when you start a print: 'wallworthy start ... --light {as_word(kept.name)}'.",
    )


def list_lights(home: Path | None) -> LightsAnswer:
    from wallworthy.proof.lights import known_light_words

    with opened(home) as journal:
        lights = journal.lights.list()
    words = ", ".join(f"'{word}'" for word in known_light_words())
    return LightsAnswer(lights=lights, next=f"Words that are understood as lights: {words}.")


def show_light(home: Path | None, name: str) -> LightAnswer:
    with opened(home) as journal:
        light = journal.lights.get(name)
    return LightAnswer(light=light, next=f'Name it when you start a print: --light "{light.name}".')


def add_display(
    home: Path | None,
    name: str,
    *,
    profile: Path | None = None,
    space: str | None = None,
    white: float | None = None,
    calibrated: str | None = None,
) -> DisplayAnswer:
    """Remember a display by its profile or a standard space; the first one explains the blank-sheet check."""
    from wallworthy.journey.files import file_bytes
    from wallworthy.proof.displays import display_from, display_notices, first_use_sentences

    profile_bytes = None if profile is None else file_bytes(profile, "profile")
    display = display_from(name, profile=profile_bytes, space=space, white_cd_m2=white, calibrated_on=calibrated)
    with opened(home) as journal:
        first = not journal.displays.list()
        kept = journal.displays.add(display)
    notices = display_notices(kept)
    if first:
        notices = (*notices, *(Notice("blank_sheet_check", text) for text in first_use_sentences()))
    return DisplayAnswer(
        display=display_fields(kept),
        notices=notices,
        next="Lay a blank sheet beside a white patch on the screen and dim the screen until they match.",
    )


def list_displays(home: Path | None) -> DisplaysAnswer:
    with opened(home) as journal:
        displays = journal.displays.list()
    return DisplaysAnswer(
        displays=tuple(display_fields(display) for display in displays),
        next="'wallworthy display show NAME' shows one."
        if displays
        else "Add the screen with 'wallworthy display add NAME --space srgb', or with --profile for its own profile.",
    )


def show_display(home: Path | None, name: str) -> DisplayAnswer:
    from wallworthy.proof.displays import display_notices

    with opened(home) as journal:
        display = journal.displays.get(name)
    return DisplayAnswer(
        display=display_fields(display),
        notices=display_notices(display),
        next="Calibrate it monthly (common practice), and tell me with 'display add' under a new name when it changes.",
    )


def display_fields(display: Display) -> DisplayFields:
    return DisplayFields(display.name, display.profile_description, display.white_cd_m2, display.calibrated_on)


def _by_size(text: str | None, where: str) -> dict[str, str]:
    """`A4=20,A3=5` to {'A4': '20', 'A3': '5'}; every size must be one we know."""
    found: dict[str, str] = {}
    for part in (text or "").split(","):
        size, equals, value = part.partition("=")
        if not part.strip():
            continue
        if not equals:
            raise InputError("by_size_unclear", f"'{part}' needs a size and '='.", "Write it as A4=20.", where=where)
        parse_size(size)
        found[size.strip()] = value.strip()
    return found


def _count(text: str, where: str) -> int:
    if not text.isdigit() or int(text) > 1_000_000:
        raise InputError("count_unclear", f"'{text}' is not a number of sheets.", "Write it as A4=20.", where=where)
    return int(text)


def _price(text: str, where: str) -> float:
    try:
        price = float(text)
    except ValueError:
        price = math.nan
    if not 0 <= price < 1e6:
        raise InputError("price_unclear", f"'{text}' is not a price.", "Write it as A4=1.20.", where=where)
    return price
