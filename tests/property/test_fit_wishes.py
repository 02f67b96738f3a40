"""What must not suffer keeps more of itself, and the sentences name who pays."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest

from wallworthy.base.errors import InputError
from wallworthy.colour.working import lab_to_working, working_to_lab
from wallworthy.fit.boundary import Boundary, boundary
from wallworthy.fit.whole import Whole, choose_for_picture
from wallworthy.fit.wishes import HUES, STRONG, Wish, asked_for, paid, weights_of, wish_of
from wallworthy.icc.read import parse_profile

pytestmark = pytest.mark.practice


@pytest.fixture(scope="module")
def bounds(published_profile: Callable[[str], bytes]) -> Boundary:
    return boundary(parse_profile(published_profile("vips_cmyk")))


def picture() -> np.ndarray:
    """Dark texture at the left, mid-grey texture at the right, a red band below, working RGB (120, 160, 3)."""
    y, x = np.mgrid[0:120, 0:160]
    ripple = 5 * np.sin(x / 2) * np.cos(y / 3)
    lab = np.stack([np.where(x < 80, 12, 55) + ripple, 0.0 * x, 0.0 * x], axis=-1)
    lab[90:] = [45, 75, 45]
    lab[90:, :, 0] += ripple[90:]
    return np.clip(lab_to_working(lab), 0, 1).astype(np.float32)


def chosen(bounds: Boundary, *wishes: Wish) -> Whole:
    seen = picture()
    return choose_for_picture(seen, bounds, 30.0, weights_of(working_to_lab(seen), wishes) if wishes else None)


def told(plain: Whole, wished: Whole, *wishes: Wish) -> tuple[str, ...]:
    lab = working_to_lab(picture())
    return paid(plain, wished, lab.reshape(-1, 3), asked_for(lab, lab, wishes))


def test_shadows_that_must_not_suffer_keep_more_and_others_pay(bounds: Boundary) -> None:
    plain, wished = chosen(bounds), chosen(bounds, wish_of("shadows"))
    assert wished.tone[20] - wished.tone[5] > 1.01 * (plain.tone[20] - plain.tone[5])
    said = told(plain, wished, wish_of("shadows"))
    assert said[0].startswith("The shadows keep")
    assert said[0].endswith("% more of their separation.")
    assert "pay" in said[1]
    assert [one for one in said if one.startswith("The shadows")] == [said[0]], "told of once"


def test_a_box_says_the_same_as_what_lies_in_it(bounds: Boundary) -> None:
    boxed = chosen(bounds, Wish(box=(0, 0, 90, 80)))
    assert boxed.tone == pytest.approx(chosen(bounds, wish_of("shadows")).tone, abs=0.3)


def test_no_wish_changes_nothing(bounds: Boundary) -> None:
    plain = chosen(bounds)
    assert told(plain, plain) == ()
    place = Wish(box=(90, 0, 30, 80))
    for wishes, said in (
        ((wish_of("reds"),), "The reds keep no more than without asking: the paper holds no more of them."),
        (
            (place,),
            "The place asked for keeps no more than without asking: the paper holds no more of it.",
        ),
        ((wish_of("blues"),), "The blues are not in the picture."),
    ):
        assert told(plain, plain, *wishes) == (said,), "nobody is said to pay for nothing"
    lab = working_to_lab(picture())
    (said,) = paid(plain, plain, lab.reshape(-1, 3), asked_for(lab, lab, (wish_of("shadows"),)), shared=True)
    assert said == "The shadows keep no more than without asking: the tones are shared with what it hangs with."


def test_a_place_is_told_what_it_keeps_and_nobody_pays_where_it_loses(bounds: Boundary) -> None:
    plain, wished = chosen(bounds), chosen(bounds, Wish(box=(0, 0, 90, 80)))
    said = told(plain, wished, Wish(box=(0, 0, 90, 80)))
    assert said[0].startswith("The place asked for keeps ")
    assert "more of its separation" in said[0]
    lost = told(wished, plain, Wish(box=(0, 0, 90, 80)))
    assert "less of its separation than without asking: better let it go." in lost[0]
    assert not any("pay" in one for one in lost)


def test_hues_meet_all_round_and_weights_are_where_they_should_be() -> None:
    edges = list(HUES.values())
    assert all(first[1] == second[0] for first, second in pairwise(edges))
    assert edges[-1][1] - 360 == edges[0][0]
    lab = np.array([[[50.0, 60.0, 20.0], [50.0, 0.0, 60.0], [60.0, 18.0, 22.0], [10.0, 0.0, 0.0]]])
    assert weights_of(lab, (wish_of("reds"),)).tolist() == [[STRONG, 1, 1, 1]]
    assert weights_of(lab, (wish_of("skin-like hues"),)).tolist() == [[1, 1, STRONG, 1]]
    assert weights_of(lab, (wish_of("shadows"), wish_of("yellows"))).tolist() == [[1, STRONG, 1, STRONG]]


def test_an_unknown_wish_is_refused_in_a_sentence() -> None:
    with pytest.raises(InputError, match="by name"):
        wish_of("the sky")
