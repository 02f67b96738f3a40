"""The journal keeps what it is given, exactly; names are unique; a block is written whole or not at all."""

from __future__ import annotations

import dataclasses
import itertools
import math
import os
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from support.stream import MASTER_SHA256, a_condition, a_draft, a_master
from wallworthy.base.errors import InputError
from wallworthy.base.records import Correction, Delivery, Display, Light, Notice, Paper, Way
from wallworthy.base.ticket import Stage, TicketDraft, WrittenFile
from wallworthy.base.units import Size
from wallworthy.journal.journal import FILE_NAME, Journal

pytestmark = pytest.mark.practice

NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
TEXTS = st.text(max_size=40).filter(lambda text: "\0" not in text and text.isprintable())
NAMES = TEXTS.filter(lambda text: bool(text.strip()))
FACTS = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | NUMBERS | TEXTS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=4),
    max_leaves=12,
)


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    with Journal.open(tmp_path / "home", clock=ticking()) as opened:
        yield opened


@pytest.fixture
def ready(journal: Journal) -> Journal:
    """A journal in which a ticket can be opened."""
    journal.conditions.add(a_condition())
    journal.masters.add(a_master())
    return journal


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Journal]:
    """One journal for all examples of a property; names are numbered so that they never meet."""
    with Journal.open(tmp_path_factory.mktemp("shared")) as opened:
        opened.conditions.add(a_condition())
        opened.masters.add(a_master())
        yield opened


counter = itertools.count()
few = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def ticking() -> Callable[[], str]:
    """A clock that moves one second at each look."""
    seconds = itertools.count()

    def now() -> str:
        second = next(seconds)
        return f"2031-05-04T18:{second // 60:02d}:{second % 60:02d}.000Z"

    return now


@few
@given(weight=NUMBERS, stock=st.dictionaries(NAMES, st.integers(0, 10**9)), prices=st.dictionaries(NAMES, NUMBERS))
def test_papers_come_back_exactly(
    shared: Journal, weight: float, stock: dict[str, int], prices: dict[str, float]
) -> None:
    paper = Paper(f"paper {next(counter)}", "matt", weight, stock, prices)
    assert shared.papers.add(paper) == paper
    assert shared.papers.get(paper.name) == paper


@few
@given(values=st.tuples(NUMBERS, NUMBERS, NUMBERS, NUMBERS, NUMBERS), cct=st.none() | NUMBERS)
def test_lights_come_back_exactly(shared: Journal, values: tuple[float, ...], cct: float | None) -> None:
    lux, low, high, duv, white = values
    light = Light(f"light {next(counter)}", lux, (low, high), cct, duv, "dim", white)
    assert shared.lights.add(light) == light


@few
@given(profile=st.binary(max_size=200), white=st.none() | NUMBERS)
def test_displays_come_back_exactly(shared: Journal, profile: bytes, white: float | None) -> None:
    display = Display(f"display {next(counter)}", profile, "A screen", white, "2031-05-04")
    assert shared.displays.add(display) == display


@few
@given(lab=st.tuples(NUMBERS, NUMBERS, NUMBERS), volume=NUMBERS, guess=st.booleans(), way=st.sampled_from(Delivery))
def test_conditions_come_back_exactly(
    shared: Journal, lab: tuple[float, float, float], volume: float, guess: bool, way: Delivery
) -> None:
    facts = dataclasses.replace(a_condition().facts, white_lab=lab, gamut_volume_lab3=volume)
    name = f"condition {next(counter)}"
    given_in = dataclasses.replace(a_condition(name), facts=facts, guess=guess, delivery=way)
    kept = shared.conditions.add(given_in)
    assert kept == dataclasses.replace(given_in, profile_sha256=kept.profile_sha256)
    assert shared.store.get(kept.profile_sha256) == given_in.profile


@few
@given(
    size=st.tuples(NUMBERS, NUMBERS),
    asked=st.none() | st.builds(Size, NUMBERS, NUMBERS, st.booleans()),
    correction=st.tuples(*[NUMBERS] * 6),
    crop=st.none() | st.tuples(*[st.integers(0, 10**6)] * 4),
    title=TEXTS,
    way=st.sampled_from(Way),
)
def test_tickets_come_back_exactly(
    shared: Journal,
    size: tuple[float, float],
    asked: Size | None,
    correction: tuple[float, ...],
    crop: tuple[int, int, int, int] | None,
    title: str,
    way: Way,
) -> None:
    draft = dataclasses.replace(
        a_draft(),
        size_mm=size,
        size_asked=asked,
        correction=Correction(*correction),
        crop_px=crop,
        title=title,
        way=way,
    )
    ticket = shared.tickets.open(draft)
    kept = {name.name: getattr(ticket, name.name) for name in dataclasses.fields(TicketDraft)}
    assert TicketDraft(**kept) == draft


@few
@given(detail=st.dictionaries(TEXTS, FACTS, max_size=5))
def test_facts_come_back_exactly(shared: Journal, detail: dict[str, object]) -> None:
    ticket = shared.tickets.open(a_draft())
    assert shared.tickets.note(ticket.id, "said", detail).detail == detail
    assert shared.proofs.add(ticket.id, detail).figures == detail
    assert shared.finals.add(ticket.id, "f0" * 32, detail).settings == detail


@given(path=st.text(st.characters(codec=None), max_size=30) | st.binary(max_size=30).map(os.fsdecode))
@few
def test_any_file_name_comes_back(shared: Journal, path: str) -> None:
    """Names that are not UTF-8, control characters and all."""
    ticket = shared.tickets.open(dataclasses.replace(a_draft(), master_path=path, title=path))
    assert (ticket.master_path, ticket.title) == (path, path)
    assert shared.tickets.note(ticket.id, "seen", {"path": path}).detail == {"path": path}
    assert shared.proofs.add(ticket.id, {}, (WrittenFile("proof", path, "ab" * 32),)).files[0].path == path


def test_what_a_file_says_of_its_colours_outlasts_a_profile_that_is_named_for_it(journal: Journal) -> None:
    own = a_master()
    told = dataclasses.replace(
        own, path="elsewhere/pier.tif", profile=b"another", profile_description="Another", assumed=True
    )
    for seen, kept in ((told, told), (own, own), (told, dataclasses.replace(own, path="elsewhere/pier.tif"))):
        journal.masters.add(seen)
        assert journal.masters.list() == (kept,)
    taken = dataclasses.replace(own, assumed=True, notices=(Notice("untagged_srgb", "Taken as sRGB."),))
    journal.masters.add(taken)
    journal.masters.add(told)
    assert journal.masters.list() == (dataclasses.replace(taken, path="elsewhere/pier.tif"),)


def test_numbers_that_are_none_are_refused(ready: Journal) -> None:
    ticket = ready.tickets.open(a_draft())
    with pytest.raises(ValueError, match="JSON"):
        ready.tickets.note(ticket.id, "measured", {"de00": math.nan})
    assert ready.tickets.events(ticket.id) == ()


def test_masters_are_known_by_content(journal: Journal) -> None:
    master = dataclasses.replace(a_master(), notices=(Notice("untagged", "Taken as sRGB."),))
    journal.masters.add(master)
    moved = dataclasses.replace(master, path="elsewhere/pier.tif")
    journal.masters.add(moved)
    assert journal.masters.list() == (moved,)
    assert journal.masters.paths() == ("elsewhere/pier.tif",)
    lab = dataclasses.replace(a_master("1a" * 32), space="LAB", profile=None, profile_description=None)
    journal.masters.add(lab)
    assert journal.masters.get("1a" * 32) == lab
    assert "2b" * 32 not in journal.masters
    with pytest.raises(InputError, match="No master"):
        journal.masters.get("2b" * 32)


@pytest.mark.parametrize(
    ("first", "second"),
    [("Baryta", "baryta"), ("Baryta", "  BARYTA "), ("Büttenpapier", "BÜTTENPAPIER"), ("a  b", "A b"), ("ﬁne", "FINE")],
)
def test_a_taken_name_is_refused_whatever_its_case(journal: Journal, first: str, second: str) -> None:
    journal.papers.add(Paper(first))
    with pytest.raises(InputError, match="There is already a paper called") as refusal:
        journal.papers.add(Paper(second, "gloss"))
    assert (refusal.value.code, refusal.value.exit_status) == ("name_taken", 3)
    assert [paper.surface for paper in journal.papers.list()] == [None]


@given(name=NAMES)
@few
def test_a_name_is_found_again_however_it_is_typed(shared: Journal, name: str) -> None:
    kept = shared.lights.add(Light(f"{next(counter)} {name}", 500, (400, 600), None, 0.0, "average", 140.0))
    assert shared.lights.get(kept.name) == kept
    assert shared.lights.get(f" {kept.name.upper()} ").illuminance_lx == 500
    assert kept.name in shared.lights


@pytest.mark.parametrize("name", ["", "   ", "a\x00b", "a\x07b", "x" * 121])
def test_unusable_names_are_refused(journal: Journal, name: str) -> None:
    with pytest.raises(InputError, match="name"):
        journal.papers.add(Paper(name))
    assert journal.papers.list() == ()


def test_an_unknown_name_brings_the_nearest(journal: Journal) -> None:
    with pytest.raises(InputError) as refusal:
        journal.papers.get("Baryta")
    assert "no papers yet" in refusal.value.mend
    for name in ("Baryta 310", "Cotton matt", "Plain lab"):
        journal.papers.add(Paper(name))
    with pytest.raises(InputError, match="There is no paper called 'barita310'") as refusal:
        journal.papers.get("barita310")
    assert refusal.value.mend == "Did you mean 'Baryta 310'?"
    with pytest.raises(InputError) as refusal:
        journal.papers.get("zzzz")
    assert "Baryta 310, Cotton matt, Plain lab" in refusal.value.mend


def test_replacing_changes_only_the_one_named(journal: Journal) -> None:
    journal.papers.add(Paper("A", stock={"A4": 20}))
    journal.papers.add(Paper("B", stock={"A4": 5}))
    assert journal.papers.replace(Paper("a", stock={"A4": 19})) == Paper("A", stock={"A4": 19})
    assert journal.papers.get("B").stock == {"A4": 5}
    with pytest.raises(InputError, match="no paper"):
        journal.papers.replace(Paper("C"))
    assert journal.papers.names() == ("A", "B")


def test_a_condition_s_paper_must_be_known(journal: Journal) -> None:
    with pytest.raises(InputError, match="no paper called 'Baryta'"):
        journal.conditions.add(a_condition(paper="Baryta"))
    journal.papers.add(Paper("Baryta"))
    assert journal.conditions.add(a_condition(paper="BARYTA")).paper == "Baryta"


def test_tickets_count_up_and_numbers_are_never_used_again(ready: Journal) -> None:
    assert [ready.tickets.open(a_draft()).id for _ in range(3)] == ["T1", "T2", "T3"]
    with sqlite3.connect(ready.home / FILE_NAME) as connection:
        connection.execute("DELETE FROM tickets WHERE id = 3")
    connection.close()
    assert ready.tickets.open(a_draft()).id == "T4"
    assert [ticket.id for ticket in ready.tickets.list()] == ["T1", "T2", "T4"]


@pytest.mark.parametrize("name", ["T9", "t0", "9", "", "T1; --", "T-1", "T" + "9" * 30, "pier"])
def test_an_unknown_ticket_is_refused(ready: Journal, name: str) -> None:
    ready.tickets.open(a_draft("Pier at dusk"))
    with pytest.raises(InputError, match="There is no ticket") as refusal:
        ready.tickets.get(name)
    assert "T1 (Pier at dusk)" in refusal.value.mend


def test_a_ticket_asks_for_known_things(ready: Journal) -> None:
    for field, value in (("condition", "Other"), ("light", "Lamp"), ("display", "Screen"), ("master_sha256", "0" * 64)):
        with pytest.raises(InputError):
            ready.tickets.open(dataclasses.replace(a_draft(), **{field: value}))
    assert ready.tickets.list() == ()


def test_a_ticket_is_changed_and_keeps_its_birth(ready: Journal) -> None:
    ticket = ready.tickets.open(a_draft())
    changed = dataclasses.replace(ticket, stage=Stage.PROOFED, correction=Correction(lightness=2.0), way=Way.PERCEPTUAL)
    kept = ready.tickets.update(changed)
    assert kept == dataclasses.replace(changed, updated=kept.updated)
    assert kept.updated > kept.created == ticket.created
    assert ready.tickets.get("t1") == ready.tickets.get(" 1 ") == kept


def test_proofs_and_finals_are_numbered_on_each_ticket(ready: Journal) -> None:
    first, second = ready.tickets.open(a_draft()).id, ready.tickets.open(a_draft()).id
    files = (WrittenFile("proof", "out/p.png", "ab" * 32), WrittenFile("lab", "out/p.tif", "cd" * 32))
    assert [ready.proofs.add(ticket, {}, files).no for ticket in (first, second, first)] == [1, 1, 2]
    assert [ready.finals.add(ticket, "ef" * 32, {}, files).no for ticket in (second, second, first)] == [1, 2, 1]
    assert ready.proofs.list(first)[1].files == files
    assert [entry.pixels_sha256 for entry in ready.finals.list(second)] == ["ef" * 32] * 2


def test_events_are_kept_in_order_and_never_changed(ready: Journal) -> None:
    ticket = ready.tickets.open(a_draft()).id
    for kind in ("started", "proofed", "corrected"):
        ready.tickets.note(ticket, kind, {"kind": kind})
    assert [event.kind for event in ready.tickets.events(ticket)] == ["started", "proofed", "corrected"]
    connection = sqlite3.connect(ready.home / FILE_NAME)
    for statement in ("UPDATE events SET kind = 'x'", "DELETE FROM events"):
        with pytest.raises(sqlite3.IntegrityError, match="events are never"):
            connection.execute(statement)
    connection.close()


def test_a_block_is_kept_together_or_not_at_all(ready: Journal) -> None:
    def start_and_fail() -> None:
        with ready.write():
            ticket = ready.tickets.open(a_draft())
            ready.tickets.note(ticket.id, "started")
            raise RuntimeError("half-way")

    with pytest.raises(RuntimeError, match="half-way"):
        start_and_fail()
    assert ready.tickets.list() == ()
    with ready.write():
        ready.papers.add(Paper("A"))
        with pytest.raises(InputError):
            ready.papers.add(Paper("a"))
        with pytest.raises(RuntimeError, match="half-way"):
            start_and_fail()
        ready.papers.add(Paper("B"))
    assert ready.papers.names() == ("A", "B")
    assert ready.tickets.list() == ()


def test_what_was_written_is_there_for_the_next_one(tmp_path: Path) -> None:
    with Journal.open(tmp_path) as journal:
        journal.conditions.add(a_condition())
        journal.masters.add(a_master())
        ticket = journal.tickets.open(a_draft())
    with Journal.open(tmp_path) as journal:
        assert journal.tickets.list() == (ticket,)
        assert journal.masters.get(MASTER_SHA256) == a_master()
        assert ticket.created.endswith("Z")
