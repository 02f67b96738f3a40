"""The composed sheet: bare paper bare, tiles in their places, patches in order, the same bytes each time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from support.sheets import MARK, NOTES, composed, corrections_for, crops_for, engine, gloss_sheet, paper, scene
from wallworthy.base.errors import InputError
from wallworthy.base.records import Box, Correction
from wallworthy.demo.printer import VirtualPrinter
from wallworthy.icc.engine import to_lab
from wallworthy.icc.gamut import surface
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile
from wallworthy.raster.dither import to_8_bits
from wallworthy.render.delivery import carrier
from wallworthy.trial.arrange import sheet_layout
from wallworthy.trial.drawing import BAR_STROKE_MM, Inks, plain_inks
from wallworthy.trial.layout import BoxMm, SheetLayout, printed_boxes
from wallworthy.trial.lettering import fitting
from wallworthy.trial.sheet import Engine, compose_sheet, notes_of, sheet_px

PPI = 200.0


def slices(box: BoxMm, ppi: float = PPI, grow_mm: float = 0.0) -> tuple[slice, slice]:
    x, y, width, height = (value / 25.4 * ppi for value in box)
    grow = grow_mm / 25.4 * ppi
    rows = slice(max(0, int(np.floor(y - grow))), int(np.ceil(y + height + grow)))
    return rows, slice(max(0, int(np.floor(x - grow))), int(np.ceil(x + width + grow)))


def bare_places(layout: SheetLayout, shape: tuple[int, ...]) -> np.ndarray:
    """Where nothing is printed: all but the boxes and the lines of text with their room."""
    bare = np.ones(shape[:2], bool)
    for box in printed_boxes(layout):
        bare[slices(box, layout.ppi, 0.15)] = False
    for box in [label.box_mm for label in layout.labels] + list(layout.notes_mm):
        bare[slices(box, layout.ppi, 1.0)] = False
    return bare


def test_bare_paper_carries_no_ink() -> None:
    layout, device = gloss_sheet()
    bare = bare_places(layout, device.shape)
    assert bare.mean() > 0.15
    assert (device[bare] == 1).all()
    assert (to_8_bits(device, 0)[bare] == 255).all()


def test_ink_amounts_are_legal_everywhere() -> None:
    _, device = gloss_sheet()
    assert device.dtype == np.float32
    assert device.min() >= 0
    assert device.max() <= 1


def test_the_sheet_has_the_size_it_says() -> None:
    layout, device = gloss_sheet()
    assert device.shape[:2] == sheet_px(layout)[::-1] == (787, 1181)


def test_the_same_sheet_has_the_same_bytes() -> None:
    layout, device = gloss_sheet()
    assert np.array_equal(device, composed(layout, paper()))


def test_the_first_tile_is_the_fit_without_correction() -> None:
    layout, device = gloss_sheet()
    crops = crops_for(layout, scene())
    x, y = (round((layout.tiles[0].box_mm[i] + crops.main.place_mm[i]) / 25.4 * PPI) for i in (0, 1))
    wide, high = (round(crops.main.place_mm[i] / 25.4 * PPI) for i in (2, 3))
    chain = engine(paper(), scene())
    expected = chain.device_of(Correction())(chain.working_of(crops.main.box_px, wide, high))
    np.testing.assert_allclose(device[y : y + high, x : x + wide], expected, atol=2e-4)


def test_each_tile_takes_its_own_correction_only() -> None:
    layout, device = gloss_sheet()
    tiles = {tile.code: device[slices((*tile.box_mm[:2], 30, 20))] for tile in layout.tiles}
    lightness = {code: float(tile[4:-4, 4:-4].mean()) for code, tile in tiles.items()}
    given = corrections_for(layout)
    assert lightness["A2"] > lightness["A1"] + 0.02
    assert given["A1"] == given["B2"]
    assert lightness["B2"] == pytest.approx(lightness["A1"], abs=0.01)


@pytest.mark.parametrize("kind", ["gloss", "matt"])
def test_printed_steps_grow_lighter_and_stay_apart_at_both_ends(kind: str) -> None:
    layout = sheet_layout((150, 100), ppi=100)
    device = composed(layout, paper(kind))
    centres = []
    for step in layout.neutrals:
        rows, columns = slices((step.box_mm[0] + 1, step.box_mm[1] + 1, step.box_mm[2] - 2, step.box_mm[3] - 2), 100)
        centres.append(device[rows, columns].mean(axis=(0, 1)))
    printed = VirtualPrinter(kind).lab(np.array(centres))[:, 0]
    assert (np.diff(printed) > 0.4).all()


def test_colours_lie_within_what_the_papers_reach() -> None:
    layout = sheet_layout((150, 100))
    asked = np.array([patch.lab for patch in layout.colours])
    for name in ("gloss", "matt"):
        assert float(surface(paper(name)).beyond_de00(asked).max()) < 0.5


def test_the_bar_is_as_long_as_it_says() -> None:
    layout, device = gloss_sheet()
    x, y, width, height = layout.bar_mm
    row = round((y + height - BAR_STROKE_MM / 2) / 25.4 * PPI)
    around = device[row, : round((x + width + 0.6) / 25.4 * PPI), 0]
    black = np.flatnonzero(around[round((x - 1) / 25.4 * PPI) :] == 0)
    assert (black[-1] - black[0] + 1) / PPI * 25.4 == pytest.approx(100, abs=0.1)


def test_a_quarter_leaves_the_rest_of_the_sheet_bare() -> None:
    layout = sheet_layout((210, 297), slot=4, ppi=72)
    device = composed(layout, paper())
    half_rows, half_columns = device.shape[0] // 2, device.shape[1] // 2
    assert (device[:half_rows] == 1).all()
    assert (device[:, :half_columns] == 1).all()
    assert (device[half_rows:, half_columns:] < 1).any()
    assert layout.slot is not None
    assert (device[slices(layout.slot.arrow_mm, 72)] < 0.5).any()


def test_whole_pictures_and_prints_compose() -> None:
    for mode in ("whole", "prints"):
        layout = sheet_layout((152.4, 101.6), mode=mode, ppi=100, code="B2")
        device = composed(layout, paper())
        tile = device[slices(layout.tiles[0].box_mm, 100)]
        assert tile.std() > 0.1
        assert layout.strip_mm is None


def test_text_is_written_where_the_layout_says() -> None:
    layout, device = gloss_sheet()
    for label in layout.labels:
        assert (device[slices(label.box_mm)] < 0.5).any(), label.text
    for note in layout.notes_mm:
        assert (device[slices(note)] < 0.5).mean() > 0.02


def test_inks_of_other_spaces() -> None:
    assert plain_inks("RGB", 3).black.tolist() == [0, 0, 0]
    assert plain_inks("CMYK", 4).paper.tolist() == [0, 0, 0, 0]
    with pytest.raises(ValueError, match="6CLR"):
        plain_inks("6CLR", 6)


def test_a_tile_without_correction_is_a_mistake() -> None:
    layout = sheet_layout((150, 100), ppi=72)
    chain = engine(paper(), scene())
    with pytest.raises(ValueError, match="A1"):
        compose_sheet(layout, crops_for(layout, scene()), {}, chain, mark_text="x", notes=("", ""))


def test_a_sheet_beyond_memory_is_refused() -> None:
    layout = sheet_layout((400, 300), ppi=2400)
    chain = engine(paper(), scene())
    with pytest.raises(InputError, match="pixels"):
        compose_sheet(layout, crops_for(layout, scene()), corrections_for(layout), chain, mark_text="x", notes=("", ""))


def test_notes_say_what_is_known() -> None:
    assert notes_of("T1", 2, "matt", None, None) == (
        "T1, sheet 2, matt",
        "Dry an hour, judge where it will hang",
    )
    assert "21:40" in notes_of("T1", 2, "matt", "hall", "21:40")[1]


@pytest.mark.parametrize("size", [(125.0, 85.0), (85.0, 125.0), (150.0, 100.0)])
def test_when_and_where_to_judge_is_never_cut_short(size: tuple[float, float]) -> None:
    room = sheet_layout(size).notes_mm[1]
    for light in (None, "evening room"):
        said = notes_of("T1234", 12, "matt", light, None)[1]
        assert fitting(said, room[2], room[3]) == said


def test_four_inks_mark_in_their_own_black(published_profile: Callable[[str], bytes]) -> None:
    output = parse_profile(published_profile("fogra39"), "coated")
    layout = sheet_layout((150, 100), ppi=72)
    device = composed(layout, output)
    assert device.shape[2] == 4
    assert (device[bare_places(layout, device.shape)] == 0).all()
    x, y, width, _ = layout.corners_mm[0]
    elbow = device[round((y + 0.4) / 25.4 * 72), round((x + width / 2) / 25.4 * 72)]
    assert elbow.tolist() == [0, 0, 0, 1]


def test_a_sheet_for_a_standard_space_keeps_its_paper_bare() -> None:
    output, standard = paper("matt"), parse_profile(srgb_profile(), "sRGB")
    carry = carrier(output, standard)
    own = engine(output, scene())
    inks = Inks(np.ones(3, np.float32), np.zeros(3, np.float32))
    carried = Engine(
        own.working_of,
        lambda correction: lambda pixels: carry(own.device_of(correction)(pixels))[0],
        lambda lab: carry(own.patches(lab).astype(np.float32))[0],
        inks,
    )
    layout = sheet_layout((150, 100), ppi=72)
    sheet = compose_sheet(
        layout, crops_for(layout, scene()), corrections_for(layout), carried, mark_text=MARK, notes=NOTES
    )
    assert (sheet[bare_places(layout, sheet.shape)] == 1).all()
    steps = np.array([sheet[slices(step.box_mm, 72)].mean(axis=(0, 1)) for step in layout.neutrals])
    assert (np.diff(to_lab(standard, steps)[:, 0]) > 0).all()


def test_the_strip_comes_from_the_final_s_own_steps() -> None:
    layout = sheet_layout((150, 100), ppi=72)
    asked: list[tuple[int, int]] = []

    def strip_of(box: Box, width: int, height: int) -> np.ndarray:
        asked.append((width, height))
        return np.full((height, width, 3), 0.25, np.float32)

    chain = replace(engine(paper(), scene()), strip_of=strip_of)
    crops = crops_for(layout, scene())
    sheet = compose_sheet(layout, crops, corrections_for(layout), chain, mark_text=MARK, notes=NOTES)
    assert layout.strip_mm is not None
    assert len(asked) == 1
    middle = sheet[slices((layout.strip_mm[0] + 1, layout.strip_mm[1] + 1, 50, 2), 72)]
    assert (middle == 0.25).all()
