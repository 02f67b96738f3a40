"""Papers ranked for the page: a ranking is made once and kept, with a small picture of each print."""

from __future__ import annotations

import hashlib
import threading
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

import numpy as np

from wallworthy.base.errors import InputError
from wallworthy.base.records import Condition, Light, Way
from wallworthy.base.ticket import HangsWith, set_to_facts
from wallworthy.icc.standard import srgb_profile
from wallworthy.journal.journal import Journal
from wallworthy.journey.home import opened
from wallworthy.journey.live import Picture
from wallworthy.journey.ordered import OrderAsked, ordered, shot_of_ticket
from wallworthy.journey.page import RankedPaper, RankingView
from wallworthy.journey.ranking import Tried, drawn, guessed, try_set
from wallworthy.journey.ranking_words import alike, lost_words, reason, why
from wallworthy.journey.recent import Recent
from wallworthy.journey.sizing import Shot
from wallworthy.journey.tickets import light_of, parse_way
from wallworthy.journey.wanting import Wanted, always, need, turn
from wallworthy.raster.encode import jpeg_bytes

KEPT: Final = 12
"""Rankings kept; one of six papers takes about a megabyte."""


@dataclass(frozen=True, slots=True)
class RankAsked(OrderAsked):
    """What a picture without a ticket is ranked for, in the person's words."""

    way: str | None = None


@dataclass(frozen=True, slots=True)
class _Ranking:
    """A ranking with its pictures, best first."""

    view: RankingView
    pictures: tuple[Picture, ...] = field(repr=False)


@dataclass(frozen=True, slots=True)
class _Order:
    """Everything a ranking depends on but the papers."""

    shot: Shot
    light: Light | None
    way: Way
    black_and_white: str | None = None
    must_not_suffer: tuple[str, ...] = ()
    hangs_with: HangsWith | None = None

    def key(self, conditions: tuple[Condition, ...]) -> str:
        """A name for a ranking under these terms."""
        shot, hung = self.shot, None if self.hangs_with is None else set_to_facts(self.hangs_with)
        printed = (shot.part, shot.size_mm, shot.distance_mm, self.light, self.way, self.black_and_white)
        terms = (*printed, self.must_not_suffer, hung)
        papers = [(one.name, one.profile_sha256, one.guess) for one in conditions]
        return hashlib.sha256(repr((terms, papers)).encode()).hexdigest()[:32]


class Rankings:
    """Rankings of the running program. Threads may share it; one is made at a time."""

    def __init__(self) -> None:
        self._kept: Recent[_Ranking] = Recent(KEPT)
        self._slow = threading.Lock()

    def of_master(self, home: Path, sha256: str, asked: RankAsked, wanted: Wanted = always) -> RankingView:
        """All papers ranked for a picture that has no ticket yet. Raises InputError, and UnwantedError."""
        shot = ordered(home, sha256, asked)
        with opened(home) as journal:
            light, conditions = asked.light_in(journal), _readable(journal)
        order = _Order(shot, light, parse_way(asked.way))
        return self._ranked(home, order, conditions, wanted)

    def of_ticket(self, home: Path, ticket_id: str, wanted: Wanted = always) -> RankingView:
        """All papers ranked for a ticket's picture as it stands. Raises InputError, and UnwantedError."""
        with opened(home) as journal:
            ticket = journal.tickets.get(ticket_id)
            shot = shot_of_ticket(journal, ticket)
            light = light_of(journal, ticket.light) if ticket.light else None
            conditions = _readable(journal)
        order = _Order(shot, light, ticket.way, ticket.black_and_white)
        if ticket.way.is_chosen:  # no other way knows of wishes and sets
            order = replace(order, must_not_suffer=ticket.must_not_suffer, hangs_with=ticket.hangs_with)
        return self._ranked(home, order, conditions, wanted)

    def picture(self, ranking: str, place: int) -> Picture:
        """The print in a place of a kept ranking, for an sRGB screen. Raises InputError when it is not kept."""
        kept = self._kept.peek(ranking)
        if kept is None or not 1 <= place <= len(kept.pictures):
            raise InputError("ranking_unknown", "That ranking is not kept any more.", "Reload the page.")
        return kept.pictures[place - 1]

    def _ranked(self, home: Path, order: _Order, conditions: tuple[Condition, ...], wanted: Wanted) -> RankingView:
        name = None if order.light is None else order.light.name
        if not conditions:
            return RankingView((), name, str(order.way), ())
        key = order.key(conditions)

        def progress(_step: str, _share: float, /) -> None:
            need(wanted)

        def make() -> _Ranking:
            with turn(self._slow, wanted):
                tried = try_set(
                    (order.shot,),
                    conditions,
                    light=order.light,
                    way=order.way,
                    black_and_white=order.black_and_white,
                    must_not_suffer=order.must_not_suffer,
                    hangs_with=order.hangs_with,
                    home=home,
                    progress=progress,
                    threads=1,  # the other processor draws what is looked at meanwhile
                )
                return _told(tried, order, key)

        return self._kept.get(key, make, wanted).view


def _readable(journal: Journal) -> tuple[Condition, ...]:
    """All conditions but those whose stored profile is lost; the shelf tells of these."""
    found: list[Condition] = []
    for name in journal.conditions.names():
        try:
            found.append(journal.conditions.get(name))
        except InputError as error:
            if not error.code.startswith("store_"):
                raise
    return tuple(found)


def _told(tried: tuple[Tried, ...], order: _Order, key: str) -> _Ranking:
    best, light = tried[0], order.light
    papers: list[RankedPaper] = []
    pictures: list[Picture] = []
    for place, one in enumerate(tried, 1):
        image, white = drawn(one, light)
        pictures.append(Picture(jpeg_bytes(image, srgb_profile()), "image/jpeg", image.shape[1], image.shape[0]))
        papers.append(
            RankedPaper(
                condition=one.condition.name,
                place=place,
                alike=alike(one, best),
                loss_mean_de00=one.loss_mean_de00,
                loss_p95_de00=one.loss_p95_de00,
                out_of_range_pct=one.out_of_range_pct,
                texture_kept_pct=one.texture_kept_pct,
                text=reason(one, best, light),
                lost_text=lost_words(one, best, light),
                why=why(one, best),
                white_hex="#" + np.asarray(white, np.uint8).tobytes().hex(),
                picture=f"/rankings/{key}/{place}.jpg",
            )
        )
    view = RankingView(tuple(papers), None if light is None else light.name, str(order.way), guessed(tried))
    return _Ranking(view, tuple(pictures))
