"""Tiles: legal, told apart, the plain fit among them, nothing settled asked again, better than chance."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from support.trial_sheets import picture_root, plain_root, sure_verdict
from wallworthy.base.errors import InputError
from wallworthy.colour.correction import tone_knots
from wallworthy.trial.advice import advise, another_text, is_enough, print_text
from wallworthy.trial.axes import PRIOR_SD, correction_of
from wallworthy.trial.belief import Belief, Prior, plain_prior, start, update
from wallworthy.trial.design import SETTLED_JND, VISIBLE_JND, codes, design, is_legal, legal, principal, variance_left
from wallworthy.trial.simulate import after_another_jnd

pytestmark = pytest.mark.practice


def gaps(tiles: np.ndarray, root: np.ndarray) -> np.ndarray:
    placed = tiles @ root
    every = np.linalg.norm(placed[:, None] - placed[None], axis=-1)
    return every[np.triu_indices(len(tiles), 1)]


def believing(seed: int, sheets: int) -> Belief:
    wanted = np.random.default_rng(seed).normal(0, 1, 6) * PRIOR_SD
    belief = start(plain_prior(), picture_root())
    for _ in range(sheets):
        belief = update(belief, sure_verdict(wanted, design(belief, 6), belief.root))
    return belief


@pytest.mark.parametrize("tiles", [4, 5, 6, 7, 8])
@pytest.mark.parametrize("sheets", [0, 1, 2])
def test_tiles_are_legal_and_can_be_told_apart(tiles: int, sheets: int) -> None:
    for seed in range(3):
        belief = believing(seed, sheets)
        chosen = design(belief, tiles, seed=seed)
        assert chosen.shape == (tiles, 6)
        assert gaps(chosen, belief.root).min() >= VISIBLE_JND * 0.999
        for tile in chosen:
            tone_knots(correction_of(tile))


def test_the_first_sheet_has_the_plain_fit_and_where_the_house_would_start() -> None:
    first = design(start(plain_prior(), picture_root()), 6, fixed=np.zeros(6))
    assert not first[0].any()
    mean = np.array([[5.0, 0.1, 0, 0, 0, 0]])
    learned = Prior(np.ones(1), mean, np.diag((0.5 * PRIOR_SD) ** 2)[None])
    later = design(start(learned, picture_root()), 6, fixed=np.zeros(6))
    assert not later[0].any()
    np.testing.assert_allclose(later[1] / PRIOR_SD, mean[0] / PRIOR_SD, atol=0.05)


def test_what_was_shown_is_not_shown_again() -> None:
    for seed in range(4):
        belief = believing(seed, 2)
        shown = np.concatenate([verdict.tiles for verdict in belief.verdicts]) @ belief.root
        new = design(belief, 6)[1:] @ belief.root
        assert np.linalg.norm(new[:, None] - shown[None], axis=-1).min() >= SETTLED_JND * 0.999


def test_what_is_settled_is_not_asked_again() -> None:
    root = plain_root()
    spread = PRIOR_SD * [1, 1, 0.05, 1, 0.05, 1]
    belief = start(Prior(np.ones(1), np.zeros((1, 6)), np.diag(spread**2)[None]), root)
    assert len(principal(belief)) == 4
    np.testing.assert_allclose(principal(belief)[:, [2, 4]] / PRIOR_SD[[2, 4]], 0, atol=0.05)


def test_the_design_is_the_same_for_the_same_belief() -> None:
    belief = believing(1, 1)
    np.testing.assert_array_equal(design(belief, 6, seed=3), design(belief, 6, seed=3))
    assert not np.array_equal(design(belief, 6, seed=3), design(belief, 6, seed=4))


def test_the_design_teaches_more_than_tiles_by_chance() -> None:
    belief = start(plain_prior(), picture_root())
    sample = (belief.wanted[:600] @ belief.root, belief.log_k[:600], belief.power[:600])
    rng = np.random.default_rng(0)
    by_chance = [variance_left(rng.normal(0, 1, (6, 6)) * PRIOR_SD @ belief.root, *sample) for _ in range(20)]
    chosen = [variance_left(design(belief, 6, seed=seed) @ belief.root, *sample) for seed in range(4)]
    assert max(chosen) < np.median(by_chance)
    assert max(chosen) < variance_left(np.zeros((6, 6)), *sample)


offsets = st.lists(st.floats(-60, 60), min_size=6, max_size=6).map(np.array)


@given(offsets)
@settings(max_examples=200)
def test_legal_is_what_the_correction_accepts(offset: np.ndarray) -> None:
    offset = offset * [1, 0.05, 1, 1, 1, 0.1]
    try:
        tone_knots(correction_of(offset))
        accepted = True
    except InputError:
        accepted = False
    assert bool(is_legal(offset)) is accepted
    drawn = legal(offset, np.zeros(6))
    tone_knots(correction_of(drawn))
    if accepted:
        np.testing.assert_array_equal(drawn, offset)


@pytest.mark.parametrize("tiles", [0, 13])
def test_sheets_of_no_or_too_many_tiles_are_refused(tiles: int) -> None:
    with pytest.raises(InputError, match="can't have"):
        design(start(plain_prior(), picture_root()), tiles)


def test_codes_run_row_by_row() -> None:
    assert codes(6) == ("A1", "A2", "A3", "B1", "B2", "B3")
    assert codes(8, 4)[-1] == "B4"


def test_advice_is_to_test_first_and_to_print_when_enough_is_known() -> None:
    before = believing(2, 0)
    first = advise(before)
    assert first.advice == "test"
    assert first.text.startswith("No test sheet at all: expected")
    assert first.expected_after_another_de00 < first.expected_de00 < first.p90_de00
    known = believing(2, 3)
    last = advise(known)
    assert last.advice == "print"
    assert is_enough(known)
    assert last.text.startswith("Print it now: expected")
    assert last.contradiction_text is None
    assert set(last.sd) == set(last.correction.as_dict())
    assert advise(known) == last
    assert advise(known, stop_de00=0.2).advice == "test" or "hardly" in advise(known, stop_de00=0.2).another_text


def test_what_another_sheet_brings_is_foreseen() -> None:
    foreseen, found = [], []
    rng = np.random.default_rng(7)
    for seed in range(5):
        belief = believing(seed, 0)
        tiles = design(belief, 6, seed=seed)
        foreseen.append(after_another_jnd(belief, tiles, seed=seed))
        wishes = belief.wanted[rng.choice(len(belief.weights), 4, p=belief.weights)]
        found += [update(belief, sure_verdict(wanted, tiles, belief.root)).expected_jnd() for wanted in wishes]
    assert np.mean(foreseen) == pytest.approx(np.mean(found), rel=0.25)


def test_sentences() -> None:
    assert print_text(1.74, 2.58, 1) == "Print it now: expected 1.7 dE00, nine times in ten within 2.6."
    assert another_text(1.74, 1.31, 40) == "One more sheet brings it to 1.3, for one sheet and 40 minutes."
    assert another_text(1.74, 1.70, 40) == "Another sheet would hardly bring it closer."
