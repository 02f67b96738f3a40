"""Changing and removing what the person owns, where that does no harm to what is on record.

A name, a stock, a price, the date of a measurement can change at any time. What a print was proofed or
judged with can't: another light, profile or delivery is another thing, with a name of its own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final, Literal

from wallworthy.base.errors import InputError
from wallworthy.base.records import Delivery, Light, Paper
from wallworthy.base.units import parse_size
from wallworthy.journal.journal import Journal
from wallworthy.journey.answers import DisplayFields
from wallworthy.journey.home import opened
from wallworthy.journey.inkspread import checked_spread
from wallworthy.journey.page import ConditionShown
from wallworthy.journey.shelves import shown
from wallworthy.journey.things import display_fields
from wallworthy.proof.displays import display_from
from wallworthy.proof.lights import light_from

Kind = Literal["paper", "condition", "light", "display"]

REMOVED: Final = "be removed"
STAYS: Final = "Leave it on the shelf: a print that is on record can be made again only as long as it is there."
MOST_SHEETS: Final = 1_000_000
HIGHEST_PRICE: Final = 1e6


@dataclass(frozen=True, slots=True)
class PaperChange:
    """What to change of a paper; None stays. stock, prices: by size, each in place of all that was there."""

    name: str | None = None
    surface: Literal["gloss", "lustre", "matt", "canvas"] | None = None
    weight_g_m2: float | None = None
    stock: Mapping[str, int] | None = None
    prices: Mapping[str, float] | None = None


@dataclass(frozen=True, slots=True)
class ConditionChange:
    """What to change of a condition; None stays. An empty `paper` or `media` and an ink spread of 0 take it away."""

    name: str | None = None
    paper: str | None = None
    delivery: str | None = None
    media: str | None = None
    ink_spread_per_mm: float | None = None


@dataclass(frozen=True, slots=True)
class LightChange:
    """What to change of a light; None stays."""

    name: str | None = None
    lux: float | None = None
    cct_k: float | None = None
    surround: str | None = None


@dataclass(frozen=True, slots=True)
class DisplayChange:
    """What to change of a screen; None stays."""

    name: str | None = None
    white_cd_m2: float | None = None
    calibrated_on: str | None = None


def change_paper(home: Path, name: str, change: PaperChange) -> Paper:
    """Tell a paper anew. Raises InputError for what no paper is like."""
    if change.weight_g_m2 is not None and not (math.isfinite(change.weight_g_m2) and 10 <= change.weight_g_m2 <= 2000):
        raise InputError(
            "weight_absurd",
            f"Paper of {change.weight_g_m2:g} g/m² can't be used.",
            "Give 10 to 2000.",
            where="weight_g_m2",
        )
    with opened(home) as journal, journal.write():
        paper = journal.papers.get(name)
        values: dict[str, Any] = {
            "surface": change.surface,
            "weight_g_m2": change.weight_g_m2,
            "stock": None if change.stock is None else _by_size(change.stock, MOST_SHEETS, "stock"),
            "prices": None if change.prices is None else _by_size(change.prices, HIGHEST_PRICE, "prices"),
        }
        journal.papers.replace(replace(paper, **{key: value for key, value in values.items() if value is not None}))
        return journal.papers.rename(paper.name, change.name or paper.name)


def _by_size(amounts: Mapping[str, Any], most: float, where: str) -> dict[str, Any]:
    for size, amount in amounts.items():
        parse_size(size)
        if not 0 <= amount <= most:
            text = f"'{amount:g}' is not a {'number of sheets' if where == 'stock' else 'price'}."
            raise InputError("amount_absurd", text, "Give 0 or more.", where=where)
    return {size.strip(): amount for size, amount in amounts.items()}


def change_condition(home: Path, name: str, change: ConditionChange) -> ConditionShown:
    """Say which paper a condition prints on, with which media setting, how its files leave. Raises InputError."""
    with opened(home) as journal, journal.write():
        condition = journal.conditions.get(name)
        if condition.guess and (change.delivery or change.name):
            raise InputError(
                "guess_fixed",
                f"'{condition.name}' is a guess made without a profile; its name and how its files leave are its own.",
                "Lay the paper's ICC profile down instead; it gets a name of its own.",
                where="name" if change.name else "delivery",
            )
        delivery = condition.delivery if change.delivery is None else Delivery(change.delivery)
        if delivery is not condition.delivery:
            _require_unused(journal, "condition", condition.name, "deliver its files another way")
        paper = condition.paper if change.paper is None else change.paper or None
        media = condition.media if change.media is None else change.media.strip() or None
        kept = None if paper is None else journal.papers.get(paper).name
        spread = condition.ink_spread_per_mm
        if change.ink_spread_per_mm is not None:
            spread = checked_spread(change.ink_spread_per_mm or None, where="ink_spread_per_mm")
        new = replace(condition, paper=kept, media=media, delivery=delivery, ink_spread_per_mm=spread)
        journal.conditions.replace(new)
        return shown(journal, journal.conditions.rename(condition.name, change.name or condition.name).name)


def change_light(home: Path, name: str, change: LightChange) -> Light:
    """Tell a light anew; what it is can change only while no print has been seen in it. Raises InputError."""
    with opened(home) as journal, journal.write():
        light = journal.lights.get(name)
        if (change.lux, change.cct_k, change.surround) != (None, None, None):
            wanted = _relit(light, change)
            if wanted != light:
                _require_unused(journal, "light", light.name, "be another light")
                journal.lights.replace(wanted)
        return journal.lights.rename(light.name, change.name or light.name)


def _relit(light: Light, change: LightChange) -> Light:
    """The light as it would be; its spectrum stays unless another colour temperature is said."""
    new = light_from(
        light.name,
        lux=light.illuminance_lx if change.lux is None else change.lux,
        cct_k=light.cct_k if change.cct_k is None else change.cct_k,
        surround=change.surround or light.surround,
    )
    recoloured = change.cct_k is not None and change.cct_k != light.cct_k
    kept = new if recoloured else replace(light, surround=new.surround)
    if change.lux is None or change.lux == light.illuminance_lx:
        return replace(
            kept,
            illuminance_lx=light.illuminance_lx,
            illuminance_interval_lx=light.illuminance_interval_lx,
            paper_white_cd_m2=light.paper_white_cd_m2,
        )
    return replace(
        kept,
        illuminance_lx=new.illuminance_lx,
        illuminance_interval_lx=new.illuminance_interval_lx,
        paper_white_cd_m2=new.paper_white_cd_m2,
    )


def change_display(home: Path, name: str, change: DisplayChange) -> DisplayFields:
    """Say when a screen was calibrated and how bright its white is. Raises InputError."""
    with opened(home) as journal, journal.write():
        display = journal.displays.get(name)
        white = display.white_cd_m2 if change.white_cd_m2 is None else change.white_cd_m2
        date = display.calibrated_on if change.calibrated_on is None else change.calibrated_on
        told = display_from(display.name, profile=display.profile, white_cd_m2=white, calibrated_on=date)
        journal.displays.replace(told)
        return display_fields(journal.displays.rename(display.name, change.name or display.name))


def remove(home: Path, kind: Kind, name: str) -> None:
    """Forget a thing that nothing on record uses. Raises InputError, saying what does."""
    with opened(home) as journal, journal.write():
        match kind:
            case "paper":
                shelf = journal.papers
            case "condition":
                shelf = journal.conditions
            case "light":
                shelf = journal.lights
            case "display":
                shelf = journal.displays
        known = shelf.name_of(name)
        _require_unused(journal, kind, known, REMOVED)
        shelf.remove(known)


def _require_unused(journal: Journal, kind: Kind, name: str, what: str) -> None:
    if kind == "paper":
        users = [kept.name for kept in journal.conditions.list() if kept.paper == name]
        if users:
            raise InputError(
                "paper_in_use",
                f"'{name}' can't {what}: {_some(users)} print{'s' if len(users) == 1 else ''} on it.",
                "Say first that that is printed on another paper.",
                where=name,
            )
        return
    tickets = [ticket.id for ticket in journal.tickets.list() if getattr(ticket, kind) == name]
    if tickets:
        how = {"condition": "printed on it", "light": "seen in it", "display": "proofed on it"}[kind]
        raise InputError(
            f"{kind}_in_use",
            f"'{name}' can't {what}: {_some(tickets)} {'is' if len(tickets) == 1 else 'are'} {how}.",
            STAYS
            if what == REMOVED
            else "Add the other one under a name of its own; what is on record stays as it was.",
            where=name,
        )


def _some(names: list[str]) -> str:
    """Up to three names, then how many more."""
    first = [f"'{one}'" if not one[1:].isdigit() else one for one in names[:3]]
    more = len(names) - 3
    if more > 0:
        return f"{', '.join(first)} and {more} more"
    return first[0] if len(first) == 1 else f"{', '.join(first[:-1])} and {first[-1]}"
