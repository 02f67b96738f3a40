"""What every route works with: the home, the guard's secrets, the sessions, the queue, who holds which ticket."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated

from fastapi import Depends, Request

from wallworthy.journey.appraisals import Appraisals
from wallworthy.journey.live import Sessions
from wallworthy.journey.ranked import Rankings
from wallworthy.web.guard import Guard
from wallworthy.web.holds import Holds
from wallworthy.web.phones import Phones
from wallworthy.web.queue import Queue


@dataclass(frozen=True, slots=True)
class Page:
    """One running page."""

    home: Path
    guard: Guard
    sessions: Sessions
    queue: Queue
    phones: Phones
    holds: Holds = field(default_factory=Holds)
    rankings: Rankings = field(default_factory=Rankings)
    appraisals: Appraisals = field(default_factory=Appraisals)


def page_of(request: Request) -> Page:
    return request.app.state.page


ThisPage = Annotated[Page, Depends(page_of)]
