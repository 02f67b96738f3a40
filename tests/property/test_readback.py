"""Scans and photos of printed sheets read back: found at any pose, measured truly, refused kindly."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from support.printed_sheets import good_print, printed, read_back, truth
from wallworthy.base.errors import InputError
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.lab import lab_to_xyz
from wallworthy.demo.scan import draw_viewing, scan_file, scan_pixels, sheet_places
from wallworthy.raster.vision import bent, jpeg_bytes
from wallworthy.trial.expected import expected_from, expected_record
from wallworthy.trial.marks import mark_text
from wallworthy.trial.readback import readback, sheets_seen
from wallworthy.trial.reference import read_reference, reference_of
from wallworthy.trial.scanfile import Scan, read_scan, srgb_light
from wallworthy.trial.straighten import NotThere, corner_elbows, find_pose, marks_in

pytestmark = pytest.mark.practice

POSES = settings(max_examples=4, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))


def as_scan(pixels: np.ndarray) -> Scan:
    return Scan(srgb_light(pixels.astype(np.float32) / np.float32(255)), None, "scan.jpg")


@POSES
@given(
    turn=st.floats(0, 360),
    shifts=st.lists(st.floats(-0.03, 0.03), min_size=8, max_size=8),
    bend=st.floats(-0.008, 0.008),
)
def test_corner_angles_are_found_to_a_fraction_of_a_pixel_at_any_pose(
    turn: float, shifts: list[float], bend: float
) -> None:
    lab, layout = good_print(), printed().sheet.layout
    drawn = draw_viewing("phone", np.random.default_rng(3), ppi=200)
    viewing = replace(drawn, turn_deg=turn, corner_shift=np.array(shifts).reshape(4, 2), bend=bend)
    scan = as_scan(scan_pixels(lab, layout.ppi, viewing))
    marks = marks_in(scan)
    assert [mark.text for mark in marks] == [printed().sheet.mark]
    pose = find_pose(scan, layout, marks[0])
    assert not isinstance(pose, NotThere)
    elbows = corner_elbows(layout)
    true = bent(sheet_places(lab.shape, layout.ppi, viewing, elbows), scan.light.shape, bend)
    off_mm = np.linalg.norm(pose.places(elbows, scan.light.shape) - true, axis=1) / pose.pixels_per_mm
    # The print's own pixels are 0.127 mm: the sheet's boxes are rounded to them.
    assert off_mm.max() < 0.15


@pytest.mark.parametrize("seed", [11, 12, 13])
def test_a_good_print_is_measured_truly_and_called_good(seed: int, tmp_path: Path) -> None:
    kind = "phone" if seed % 2 else "flatbed"
    answer = read_back(good_print(), draw_viewing(kind, np.random.default_rng(seed)), tmp_path, seed)
    tiles = np.array([patch.kind == "tile" for patch in printed().expected.patches])
    assert answer.found
    assert answer.patch_lab is not None
    assert float(ciede2000(truth(good_print())[tiles], answer.patch_lab[tiles]).mean()) < 1.5
    assert answer.faults[0].kind == "as_expected"
    assert sum(fault.probability for fault in answer.faults) == pytest.approx(1.0)
    assert [tile.code for tile in answer.tiles] == [tile.code for tile in printed().sheet.layout.tiles]
    assert not answer.absolute
    assert not any(tick.ticked for tick in answer.ticks)


def test_the_same_scan_gives_the_same_answer(tmp_path: Path) -> None:
    here, path = printed(), tmp_path / "scan.jpg"
    path.write_bytes(scan_file(good_print(), 200.0, draw_viewing("phone", np.random.default_rng(4))))
    one, other = (readback(read_scan(path), here.expected, here.book, here.profile.white_xyz) for _ in range(2))
    assert one.tiles == other.tiles
    assert one.faults == other.faults


@pytest.mark.parametrize("scale", [1.0, 0.95])
def test_a_flatbed_tells_the_size(scale: float, tmp_path: Path) -> None:
    flat = draw_viewing("flatbed", np.random.default_rng(6))
    # A scanner that says more pixels an inch than it has sees a smaller print.
    data = jpeg_bytes(scan_pixels(good_print(), 200.0, flat), 90, flat.ppi / scale)
    path = tmp_path / "flat.jpg"
    path.write_bytes(data)
    here = printed()
    answer = readback(read_scan(path), here.expected, here.book, here.profile.white_xyz)
    assert answer.scale_error_pct == pytest.approx((scale - 1) * 100, abs=0.25)
    assert (answer.faults[0].kind == "wrong_size") == (scale != 1.0)


def test_a_photo_does_not_tell_the_size(tmp_path: Path) -> None:
    photo = read_back(good_print(), draw_viewing("phone", np.random.default_rng(6)), tmp_path)
    assert photo.scale_error_pct is None
    assert "scale_unknown" in [notice.code for notice in photo.notices]


def test_ticked_boxes_are_read(tmp_path: Path) -> None:
    lab, layout = good_print().copy(), printed().sheet.layout
    chosen = [tick for tick in layout.ticks if (tick.kind, tick.code) in (("best", "B2"), ("next", "A1"))]
    for tick in chosen:
        x, y, width, height = (value / 25.4 * layout.ppi for value in tick.box_mm)
        for i in np.linspace(0.15, 0.85, 200):
            row, column = round(y + i * height), round(x + i * width)
            lab[row, column - 1 : column + 1] = (45.0, 0.0, 0.0)
    answer = read_back(lab, draw_viewing("phone", np.random.default_rng(8)), tmp_path)
    ticked = [tick for tick in answer.ticks if tick.ticked]
    assert [(tick.box.kind, tick.box.code) for tick in ticked] == [(tick.kind, tick.code) for tick in chosen]
    assert min(tick.confidence for tick in ticked) > 0.9


def test_another_picture_is_an_answer_not_an_error() -> None:
    here = printed()
    plain = as_scan(np.full((300, 400, 3), 180, np.uint8))
    answer = readback(plain, here.expected, here.book, here.profile.white_xyz)
    assert not answer.found
    assert "mark" in answer.text
    assert answer.mend


def test_another_sheet_is_named() -> None:
    here = printed()
    scan = as_scan(scan_pixels(good_print(), 200.0, draw_viewing("flatbed", np.random.default_rng(1))))
    assert [(mark.ticket, mark.sheet_no) for mark in sheets_seen(scan)] == [("T1", 1)]
    other = replace(here.expected, mark=mark_text("T7", 2))
    answer = readback(scan, other, here.book, here.profile.white_xyz)
    assert not answer.found
    assert "sheet 1 of T1" in answer.text
    assert "sheet 2 of T7" in answer.text


def test_a_sheet_cut_off_is_said_to_be() -> None:
    here = printed()
    viewing = replace(draw_viewing("flatbed", np.random.default_rng(1)), turn_deg=0.0)
    pixels = scan_pixels(good_print(), 200.0, viewing)
    answer = readback(as_scan(pixels[:, 500:]), here.expected, here.book, here.profile.white_xyz)
    assert not answer.found
    assert "cut off" in answer.text


def test_too_small_a_picture_is_not_there() -> None:
    here = printed()
    viewing = replace(draw_viewing("flatbed", np.random.default_rng(1)), ppi=55.0)
    answer = readback(
        as_scan(scan_pixels(good_print(), 200.0, viewing)), here.expected, here.book, here.profile.white_xyz
    )
    assert not answer.found


def test_a_text_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "scan.jpg"
    path.write_text("not a picture")
    with pytest.raises(InputError, match="not a picture"):
        read_scan(path)


def test_an_untagged_file_is_taken_as_srgb_and_says_so(tmp_path: Path) -> None:
    path = tmp_path / "scan.jpg"
    path.write_bytes(scan_file(good_print(), 200.0, draw_viewing("flatbed", np.random.default_rng(2))))
    assert "scan_untagged" in [notice.code for notice in read_scan(path).notices]


def test_a_grey_scan_tells_of_greys_only(tmp_path: Path) -> None:
    """Its greys are read; of colours nothing is claimed."""
    pixels = scan_pixels(good_print(), 200.0, draw_viewing("flatbed", np.random.default_rng(2)))
    path = tmp_path / "grey.png"
    cv2.imwrite(str(path), cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY))
    here = printed()
    answer = readback(read_scan(path), here.expected, here.book, here.profile.white_xyz)
    assert answer.found
    assert answer.tiles == ()
    assert answer.faults[0].kind == "as_expected"
    assert "scan_grey" in [notice.code for notice in answer.notices]


def test_expectations_survive_json() -> None:

    one = printed().expected
    other = expected_from(json.loads(json.dumps(expected_record(one))))
    assert other.layout == one.layout
    assert np.array_equal(other.lab, one.lab)
    assert all(np.array_equal(a.device, b.device) for a, b in zip(one.patches, other.patches, strict=True))


def test_a_card_makes_the_answer_absolute_within_what_it_states(tmp_path: Path) -> None:
    """The sheet's own tiles and patches, measured by an instrument, serve as the card here."""
    here, lab = printed(), good_print()
    layout, viewing = here.sheet.layout, draw_viewing("flatbed", np.random.default_rng(21))
    width, height = layout.sheet_mm
    corners = sheet_places(lab.shape, layout.ppi, viewing, np.array([(0, 0), (width, 0), (width, height), (0, height)]))
    boxes = [patch.box_mm for patch in here.expected.patches if patch.kind != "tile"]
    rows = []
    for i, (x, y, w, h) in enumerate(boxes):
        inner = lab[round((y + 0.9) / 25.4 * 200) : round((y + h - 0.9) / 25.4 * 200)]
        mean = inner[:, round((x + 0.9) / 25.4 * 200) : round((x + w - 0.9) / 25.4 * 200)].reshape(-1, 3).mean(axis=0)
        values = (x / width, y / height, w / width, h / height, *mean.tolist())
        rows.append(
            dict(zip(("name", "x", "y", "width", "height", "L", "a", "b"), (str(i), *map(str, values)), strict=True))
        )
    card = reference_of({"corners_px": " ".join(f"{x:.2f},{y:.2f}" for x, y in corners)}, rows)
    answer = read_back(lab, viewing, tmp_path, card=card)
    assert answer.absolute
    assert answer.measurement_error_de00 is not None
    assert 0 < answer.measurement_error_de00 < 4
    for tile in answer.tiles:
        x, y, w, h = (round(value / 25.4 * 200) for value in layout.tile(tile.code).box_mm)
        true = lab_to_xyz(lab[y + 9 : y + h - 9, x + 9 : x + w - 9].reshape(-1, 3)).mean(axis=0)
        assert float(np.abs(lab_to_xyz(tile.measured_lab) - true).max()) < 0.06


@pytest.mark.parametrize(
    "text",
    [
        "name,x,y,width,height,L,a,b\nwhite,0,0,0.1,0.1,95,0,0\n",
        "# corners_px: 0,0 9,0 9,9 0,9\nname,x,y,width,height,L,a,b\nwhite,0,0,0.1,0.1,95,0,\n",
        "# corners_px: 0,0 9,0 9,9 0,9\nname,x,y,width,height,L,a,b\nwhite,0.95,0,0.1,0.1,95,0,0\n",
        "\0",
        "",
    ],
)
def test_cards_that_lack_something_are_refused(text: str, tmp_path: Path) -> None:
    path = tmp_path / "card.csv"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        read_reference(path)
    assert caught.value.mend
