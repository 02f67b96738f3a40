"""Routes that change or remove what the person owns."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path

from wallworthy.base.records import Light, Paper
from wallworthy.journey import shelves, tending
from wallworthy.journey.answers import DisplayFields
from wallworthy.journey.page import ConditionShown, Things
from wallworthy.web.asked import ConditionChanged, DisplayChanged, LightChanged, PaperChanged
from wallworthy.web.context import ThisPage

routes = APIRouter(prefix="/api")

Called = Annotated[str, Path(max_length=200)]
"""A name as the person gave it; it may hold a slash."""


@routes.patch("/papers/{name:path}", operation_id="changePaper")
def change_paper(page: ThisPage, name: Called, asked: PaperChanged) -> Paper:
    """Tell a paper anew: its name, surface, weight, what is left of it, its prices."""
    return tending.change_paper(page.home, name, tending.PaperChange(**asked.model_dump()))


@routes.delete("/papers/{name:path}", operation_id="removePaper")
def remove_paper(page: ThisPage, name: Called) -> Things:
    """Take a paper off the shelf; refused while a condition prints on it."""
    return _without(page, "paper", name)


@routes.patch("/conditions/{name:path}", operation_id="changeCondition")
def change_condition(page: ThisPage, name: Called, asked: ConditionChanged) -> ConditionShown:
    """Tell a condition anew; how its files leave can change only while no print is made on it."""
    return tending.change_condition(page.home, name, tending.ConditionChange(**asked.model_dump()))


@routes.delete("/conditions/{name:path}", operation_id="removeCondition")
def remove_condition(page: ThisPage, name: Called) -> Things:
    """Take a condition off the shelf; refused while a ticket is printed on it."""
    return _without(page, "condition", name)


@routes.patch("/lights/{name:path}", operation_id="changeLight")
def change_light(page: ThisPage, name: Called, asked: LightChanged) -> Light:
    """Tell a light anew; what it is can change only while no print is seen in it."""
    return tending.change_light(page.home, name, tending.LightChange(**asked.model_dump()))


@routes.delete("/lights/{name:path}", operation_id="removeLight")
def remove_light(page: ThisPage, name: Called) -> Things:
    """Take a light off the shelf; refused while a ticket is seen in it."""
    return _without(page, "light", name)


@routes.patch("/displays/{name:path}", operation_id="changeDisplay")
def change_display(page: ThisPage, name: Called, asked: DisplayChanged) -> DisplayFields:
    """Say when a screen was calibrated, how bright its white is, what it is called."""
    return tending.change_display(page.home, name, tending.DisplayChange(**asked.model_dump()))


@routes.delete("/displays/{name:path}", operation_id="removeDisplay")
def remove_display(page: ThisPage, name: Called) -> Things:
    """Take a screen off the shelf; refused while a ticket is proofed on it."""
    return _without(page, "display", name)


def _without(page: ThisPage, kind: tending.Kind, name: str) -> Things:
    tending.remove(page.home, kind, name)
    return shelves.things(page.home)
