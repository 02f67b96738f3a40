"""The sheet's layout: tiles inside and apart, marks clear of the edge, nothing over anything else."""

from __future__ import annotations

import json
from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from wallworthy.base.errors import InputError
from wallworthy.base.records import CORRECTION_AXES
from wallworthy.trial.arrange import EDGE_MM, free_slot, print_codes, sheet_layout, tile_count, turned
from wallworthy.trial.layout import NEUTRAL_LSTAR, BoxMm, SheetLayout, apart_mm, as_record, from_record, printed_boxes
from wallworthy.trial.lettering import TAIL, letter_cover, text_width_mm

TOLERANCE_MM = 1e-6
TAILED = "gjpqy,;Q"
"""Letters that hang below the line."""

short = st.floats(85, 330)
long = st.floats(125, 480)
shapes = st.floats(0.3, 3.4)


@st.composite
def layouts(draw: st.DrawFn) -> SheetLayout:
    size = draw(st.tuples(short, long))
    assume(max(size) >= 125)
    if draw(st.booleans()):
        size = (size[1], size[0])
    mode = draw(st.sampled_from(["tiles", "tiles", "whole", "prints"]))
    slot = draw(st.none() | st.integers(1, 4))
    if slot is not None:
        size = (2 * size[0], 2 * size[1])
    return sheet_layout(size, mode=mode, slot=slot, picture_shape=draw(shapes))


def within(box: BoxMm, area: BoxMm, margin: float) -> bool:
    return (
        box[0] >= area[0] + margin - TOLERANCE_MM
        and box[1] >= area[1] + margin - TOLERANCE_MM
        and box[0] + box[2] <= area[0] + area[2] - margin + TOLERANCE_MM
        and box[1] + box[3] <= area[1] + area[3] - margin + TOLERANCE_MM
    )


def with_tails(box: BoxMm, turned: bool) -> BoxMm:
    """A line of letters with what hangs below it; turned lines hang to the right."""
    x, y, width, height = box
    return (x, y, width * (1 + TAIL), height) if turned else (x, y, width, height * (1 + TAIL))


def test_no_letter_hangs_lower_than_its_tail() -> None:
    capital = 100.0
    for letter in set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789") - set(TAILED):
        cover = letter_cover(letter, capital, (300, 300), (150.0, 100.0))
        assert np.nonzero(cover.any(axis=1))[0].max() + 1 <= 150 + 0.08 * capital, letter
    for letter in TAILED:
        cover = letter_cover(letter, capital, (300, 300), (150.0, 100.0))
        assert 150 < np.nonzero(cover.any(axis=1))[0].max() + 1 <= 150 + TAIL * capital


@given(layouts())
def test_everything_printed_keeps_clear_of_the_edge(layout: SheetLayout) -> None:
    hanging = [(label.box_mm, label.turned) for label in layout.labels if set(label.text) & set(TAILED)]
    hanging += [(box, layout.notes_turned) for box in layout.notes_mm]
    boxes = [*printed_boxes(layout), *(label.box_mm for label in layout.labels), *(with_tails(*one) for one in hanging)]
    assert all(within(box, layout.area_mm, EDGE_MM) for box in boxes)
    assert within(layout.area_mm, (0, 0, *layout.sheet_mm), 0)


@given(layouts())
def test_tiles_are_apart_and_alike(layout: SheetLayout) -> None:
    for one, other in combinations(layout.tiles, 2):
        assert apart_mm(one.box_mm, other.box_mm) >= 3
        assert one.box_mm[2:] == pytest.approx(other.box_mm[2:])
    assert len({tile.code for tile in layout.tiles}) == len(layout.tiles)
    assert layout.mode != "tiles" or min(layout.tiles[0].box_mm[2:]) >= 18


@given(layouts())
def test_nothing_lies_over_anything_else(layout: SheetLayout) -> None:
    apart = [tile.box_mm for tile in layout.tiles]
    apart += [tick.box_mm for tick in layout.ticks]
    apart += [label.box_mm for label in layout.labels if text_width_mm(label.text, 1.0)]
    apart += [layout.mark_mm, *layout.corners_mm, *layout.notes_mm]
    apart += [layout.strip_mm] if layout.strip_mm else []
    apart += [layout.slot.arrow_mm] if layout.slot else []
    patches = [*(step.box_mm for step in layout.neutrals), *(patch.box_mm for patch in layout.colours)]
    for one, other in combinations(apart, 2):
        assert apart_mm(one, other) >= -0.11
    for patch in patches:
        assert all(apart_mm(patch, box) >= 0.3 for box in apart)
    for one, other in combinations(patches, 2):
        assert apart_mm(one, other) >= -TOLERANCE_MM


@given(layouts())
def test_labels_fit_their_boxes(layout: SheetLayout) -> None:
    for label in layout.labels:
        capital, run = (label.box_mm[2], label.box_mm[3]) if label.turned else (label.box_mm[3], label.box_mm[2])
        assert text_width_mm(label.text, capital) <= run
        assert capital >= 1.8  # 7.5 pt type
    for note in layout.notes_mm:
        assert min(note[2:]) == 2.4


@given(layouts())
def test_the_record_gives_the_layout_back(layout: SheetLayout) -> None:
    assert from_record(json.loads(json.dumps(as_record(layout)))) == layout


def test_a_record_of_another_version_is_refused() -> None:
    record = as_record(sheet_layout((150, 100))) | {"record": 99}
    with pytest.raises(ValueError, match="99"):
        from_record(record)


@given(layouts())
def test_the_bar_is_a_hundred_millimetres(layout: SheetLayout) -> None:
    assert max(layout.bar_mm[2:]) == 100.0


@given(layouts())
def test_boxes_to_tick_ask_every_question_once(layout: SheetLayout) -> None:
    asked = [(tick.kind, tick.code, tick.axis, tick.sign) for tick in layout.ticks]
    assert len(set(asked)) == len(asked)
    words = {(axis, sign) for kind, _, axis, sign in asked if kind == "word"}
    assert words == {(axis, sign) for axis in CORRECTION_AXES for sign in (-1, 1)}
    codes = [tile.code for tile in layout.tiles]
    picks = [] if layout.mode == "whole" else codes
    assert [code for kind, code, *_ in asked if kind == "best"] == picks
    assert [code for kind, code, *_ in asked if kind == "next"] == picks
    assert sum(kind == "none_right" for kind, *_ in asked) == (layout.mode == "tiles")
    assert sum(kind == "right" for kind, *_ in asked) == (layout.mode == "whole")


def test_the_usual_sheet_has_the_agreed_tiles() -> None:
    layout = sheet_layout((150, 100))
    assert [tile.code for tile in layout.tiles] == ["A1", "A2", "A3", "B1", "B2", "B3"]
    assert [tile.box_mm[0] for tile in layout.tiles[:3]] == [11, 55, 99]
    for tile in layout.tiles:
        assert tile.box_mm[2:] == pytest.approx((40, 31.25))
    assert layout.mark_mm[2:] == (17, 17)


@pytest.mark.parametrize(("size", "count"), [((90, 130), 4), ((150, 100), 6), ((178, 127), 6), ((297, 210), 8)])
def test_larger_sheets_hold_more_tiles(size: tuple[float, float], count: int) -> None:
    assert tile_count(size) == count
    assert len(sheet_layout(size).tiles) == count


@pytest.mark.parametrize("count", range(4, 9))
def test_any_count_of_tiles_can_be_asked_for(count: int) -> None:
    assert len(sheet_layout((150, 100), tiles=count).tiles) == count


def test_neutral_steps_are_dense_at_both_ends() -> None:
    gaps = [high - low for low, high in pairwise(NEUTRAL_LSTAR)]
    assert len(NEUTRAL_LSTAR) == 16
    assert min(gaps) > 0
    assert max(gaps[:3] + gaps[-3:]) < min(gaps[6:10])


def test_quarters_fill_the_sheet_without_touching() -> None:
    places = [sheet_layout((210, 297), slot=slot) for slot in range(1, 5)]
    for one, other in combinations(places, 2):
        for box in printed_boxes(one):
            assert all(apart_mm(box, over) >= 2 * EDGE_MM - TOLERANCE_MM for over in printed_boxes(other))
    assert [place.slot.number for place in places if place.slot] == [1, 2, 3, 4]
    assert free_slot({1, 3}) == 2
    assert free_slot({1, 2, 3, 4}) is None


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        ({"sheet_mm": (60, 90)}, "sheet_too_small"),
        ({"sheet_mm": (150, 100), "slot": 1}, "sheet_too_small"),
        ({"sheet_mm": (297, 210), "slot": 5}, "slot_unclear"),
        ({"sheet_mm": (150, 100), "tiles": 9}, "tiles_unclear"),
        ({"sheet_mm": (150, 100), "ppi": 20.0}, "sheet_ppi"),
        ({"sheet_mm": (85, 125), "tiles": 8}, "tiles_too_many"),
    ],
)
def test_what_can_t_be_is_refused_in_words(arguments: dict[str, object], code: str) -> None:
    with pytest.raises(InputError) as refusal:
        sheet_layout(**arguments)  # type: ignore[arg-type]
    assert refusal.value.code == code
    assert refusal.value.mend.endswith(".")


def test_separate_prints_carry_their_own_codes() -> None:
    codes = print_codes(6)
    assert codes == ("A1", "A2", "A3", "B1", "B2", "B3")
    prints = [sheet_layout((152.4, 101.6), mode="prints", code=code) for code in codes]
    assert [one.tiles[0].code for one in prints] == list(codes)
    assert any("no auto correction" in label.text for label in prints[0].labels)


def test_the_sheet_turns_to_show_the_picture_larger() -> None:
    assert turned((100, 150), 1.5) == (150, 100)
    assert turned((150, 100), 0.6, mode="whole") == (100, 150)
