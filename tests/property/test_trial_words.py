"""What is said of tiles is understood, said again the same, or refused in a sentence."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallworthy.base.errors import InputError
from wallworthy.trial import words as trial_words
from wallworthy.trial.verdict import Grade, Verdict, Word, as_record, from_record
from wallworthy.trial.words import FAULTS, REMEDIES, Said, read_verdict, remedy, said_of

pytestmark = pytest.mark.practice

CODES = ("A1", "A2", "A3", "B1", "B2", "B3")
TILES = np.zeros((6, 6))

words = st.builds(
    Word,
    st.integers(0, 5),
    st.integers(0, 5),
    st.sampled_from([-1, 1]),
    st.sampled_from(list(Grade)),
)


def read(*say: str, **more: str) -> Verdict:
    return read_verdict(TILES, CODES, say=say, **more)


@given(st.lists(words, max_size=6, unique_by=lambda word: (word.tile, word.axis)))
def test_words_said_again_are_understood_the_same(said: list[Word]) -> None:
    texts = [str(each) for each in said_of(Verdict(TILES, words=tuple(said)), CODES)]
    assert read(*texts).words == tuple(said)
    assert read(", ".join(texts)).words == tuple(said) if texts else True


@given(st.text(max_size=40))
def test_anything_else_is_refused_in_a_sentence(text: str) -> None:
    refusal: InputError | None = None
    try:
        read_verdict(TILES, CODES, best="A1", say=[text])
    except InputError as raised:
        refusal = raised
    if refusal is not None:
        assert refusal.text.endswith(".")
        assert refusal.mend.endswith(".")
    else:
        assert text.strip()


@pytest.mark.parametrize(
    ("text", "axis", "sign", "grade"),
    [
        ("A1 too dark", 0, -1, Grade.PLAIN),
        ("a1 is much too light", 0, 1, Grade.CLEARLY),
        ("A1 should be a little lighter", 0, -1, Grade.TOUCH),
        ("A1 looks flat", 1, -1, Grade.PLAIN),
        ("A1 way too harsh.", 1, 1, Grade.CLEARLY),
        ("A1 shadows are a touch too deep", 2, -1, Grade.TOUCH),
        ("A1 muddy", 2, -1, Grade.PLAIN),
        ("A1 clearly too open shadows", 2, 1, Grade.CLEARLY),
        ("A1 dark shadows", 2, -1, Grade.PLAIN),
        ("A1 slightly too red", 3, 1, Grade.TOUCH),
        ("A1 redder", 3, -1, Grade.PLAIN),
        ("A1 too yellow", 4, 1, Grade.PLAIN),
        ("A1 needs to be bluer", 4, 1, Grade.PLAIN),
        ("A1 very dull", 5, -1, Grade.CLEARLY),
        ("A1 much too much color", 5, 1, Grade.CLEARLY),
        ("A1 more colour", 5, -1, Grade.PLAIN),
    ],
)
def test_plain_speech(text: str, axis: int, sign: int, grade: Grade) -> None:
    assert read(text).words == (Word(0, axis, 1 if sign > 0 else -1, grade),)


def test_answers_that_are_no_words() -> None:
    assert read("B2 right").right == (4,)
    assert read("between B1 and B2").between == (3, 4)
    assert read("None is right").none_right
    assert read("can’t tell").cannot_tell
    both = read("B2 best, A1 next")
    assert (both.best, both.next) == (4, 0)
    assert read(best="A2", next_best="B3").next == 5
    assert read_verdict(TILES, CODES).is_empty


def test_words_without_a_code_are_about_the_best_or_the_only_tile() -> None:
    verdict = read("a touch too dark and clearly too red", best="A2")
    assert [str(said) for said in said_of(verdict, CODES)] == ["A2 a touch too dark", "A2 clearly too red"]
    alone = read_verdict(TILES[:1], ("A1",), say=["too dark"])
    assert alone.about(alone.words[0]) == 0
    with pytest.raises(InputError, match="which tile"):
        read("too dark")


@pytest.mark.parametrize(
    ("say", "code"),
    [
        ("A1 warm", "say_unknown"),
        ("A1 not too dark", "say_unknown"),
        ("", "say_unknown"),
        ("C7 too dark", "tile_unknown"),
        ("A1 too dark, too light", "say_opposites"),
        ("A1 next", "next_without_best"),
        ("between A1 and A1", "between_itself"),
    ],
)
def test_refusals(say: str, code: str) -> None:
    with pytest.raises(InputError) as refusal:
        read(say)
    assert refusal.value.code == code


def test_right_and_none_right_exclude_each_other() -> None:
    with pytest.raises(InputError, match="none"):
        read_verdict(TILES, CODES, say=["A1 right"], none_right=True)


def test_what_is_refused_names_the_words_that_are_understood() -> None:
    with pytest.raises(InputError) as refusal:
        read("A1 nice")
    assert all(fault in refusal.value.mend for fault in FAULTS.values())


def test_a_change_is_named_by_its_remedy() -> None:
    assert remedy(0, 1.5) == "lighter"
    assert remedy(4, -0.2) == "bluer"
    for (axis, sign), text in REMEDIES.items():
        # Asking for more of an axis says that the tile has too little of it.
        assert read(f"A1 {text}").words == (Word(0, axis, -1 if sign > 0 else 1),)


def test_no_words_that_belong_to_other_trades() -> None:
    said = " ".join([*FAULTS.values(), *REMEDIES.values()])
    assert "warm" not in said
    assert "tint" not in said
    assert str(Said("A1", "shadow", "shadows too deep", "a touch")) == "A1 shadows a touch too deep"


@given(st.lists(words, max_size=4), st.integers(0, 2), st.booleans(), st.booleans())
def test_a_verdict_survives_the_journal(said: list[Word], best: int, none_right: bool, cannot_tell: bool) -> None:
    tiles = np.random.default_rng(best).normal(0, 1, (6, 6))
    verdict = Verdict(tiles, best, 5, tuple(said), (1, 2), (), none_right, cannot_tell, best)
    again = from_record(as_record(verdict))
    assert as_record(again) == as_record(verdict)
    assert again.words == verdict.words
    np.testing.assert_array_equal(again.tiles, tiles)


def test_no_phrase_means_two_things() -> None:
    seen: dict[str, tuple[int, int]] = {}
    for table, turn in ((trial_words._FAULT_PHRASES, 1), (trial_words._REMEDY_PHRASES, -1)):
        for (axis, sign), text in table.items():
            for phrase in text.split("|"):
                bare = trial_words._bare(phrase)
                assert seen.setdefault(bare, (axis, sign * turn)) == (axis, sign * turn), phrase
    assert len(seen) > 60
