from __future__ import annotations

from pathlib import Path
from typing import Any

from wallworthy.base.records import Light, Paper
from wallworthy.journey.answers import DisplayFields
from wallworthy.journey.page import ConditionShown, Things


def things(home: Path) -> Things:
    raise NotImplementedError


def add_paper(home: Path, paper: Paper) -> Paper:
    raise NotImplementedError


def add_condition(home: Path, **asked: Any) -> ConditionShown:
    raise NotImplementedError


def add_light(home: Path, **asked: Any) -> Light:
    raise NotImplementedError


def add_display(home: Path, **asked: Any) -> DisplayFields:
    raise NotImplementedError
