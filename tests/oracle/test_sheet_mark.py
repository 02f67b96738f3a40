"""The sheet's mark, read by OpenCV's own reader from the composed sheet."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from support.sheets import MARK, composed, gloss_sheet, paper
from wallworthy.trial.arrange import sheet_layout
from wallworthy.trial.marks import QUIET_MODULES, Mark, mark_modules, mark_text, parse_mark

pytestmark = pytest.mark.source("ISO18004", "QR code; read by OpenCV")


def grey_of(device: np.ndarray) -> np.ndarray:
    return (255 * device.mean(axis=2)).astype(np.uint8)


def test_the_mark_is_read_from_the_whole_sheet() -> None:
    _, device = gloss_sheet()
    text, corners, _ = cv2.QRCodeDetector().detectAndDecode(grey_of(device))
    assert text == MARK
    assert corners is not None


@pytest.mark.parametrize("turn", [cv2.ROTATE_90_CLOCKWISE, cv2.ROTATE_180, cv2.ROTATE_90_COUNTERCLOCKWISE])
def test_the_mark_is_read_whichever_way_the_sheet_lies(turn: int) -> None:
    _, device = gloss_sheet()
    assert cv2.QRCodeDetector().detectAndDecode(cv2.rotate(grey_of(device), turn))[0] == MARK


def test_the_mark_is_read_from_a_soft_small_photo() -> None:
    layout, device = gloss_sheet()
    x, y, width, height = (round(value / 25.4 * layout.ppi) for value in layout.mark_mm)
    part = grey_of(device)[y - 10 : y + height + 10, x - 10 : x + width + 10]
    soft = cv2.GaussianBlur(cv2.resize(part, None, fx=0.75, fy=0.75, interpolation=cv2.INTER_AREA), (0, 0), 0.8)
    assert cv2.QRCodeDetector().detectAndDecode(soft)[0] == MARK


def test_a_quarter_s_mark_is_read() -> None:
    device = composed(sheet_layout((210, 297), slot=3, ppi=150), paper())
    assert cv2.QRCodeDetector().detectAndDecode(grey_of(device))[0] == MARK


def test_the_quiet_zone_is_kept() -> None:
    layout, device = gloss_sheet()
    x, y, width, height = (round(value / 25.4 * layout.ppi) for value in layout.mark_mm)
    part = device[y : y + height, x : x + width, 0] < 1
    rows, columns = np.flatnonzero(part.any(axis=1)), np.flatnonzero(part.any(axis=0))
    module = (rows[-1] - rows[0] + 1) / len(mark_modules(MARK))
    assert module == int(module)
    for first, last, length in ((rows[0], rows[-1], height), (columns[0], columns[-1], width)):
        assert min(first, length - 1 - last) >= QUIET_MODULES * module - 1


@pytest.mark.parametrize("code", [None, "A1", "B3"])
@pytest.mark.parametrize(("ticket", "sheet"), [("T1", 1), ("T27", 3), ("T12345", 12)])
def test_what_the_mark_says_comes_back(ticket: str, sheet: int, code: str | None) -> None:
    text = mark_text(ticket, sheet, code)
    assert parse_mark(text) == Mark(ticket, sheet, code)
    assert len(mark_modules(text)) == 25  # version 2, so that modules stay large


@pytest.mark.parametrize("text", ["", "wallworthy:T27/1", "wallworthy:T28/1.HM", "https://T27/1.HM", "T27/1.HM"])
def test_other_marks_are_not_ours(text: str) -> None:
    assert parse_mark(text) is None
