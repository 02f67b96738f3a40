from __future__ import annotations

from pathlib import Path

from wallworthy.journey.live import Picture
from wallworthy.journey.page import PhoneSheet, SheetView, VerdictView


class VerdictWords:
    def __init__(self, **asked: object) -> None:
        self.asked = asked


def sheet_view(home: Path, ticket: str, sheet_no: int) -> SheetView:
    raise NotImplementedError


def sheet_picture(home: Path, ticket: str, sheet_no: int, width: int, space: str, file: int) -> Picture:
    raise NotImplementedError


def sheet_file(home: Path, ticket: str, sheet_no: int, file: int) -> Path:
    raise NotImplementedError


def final_file(home: Path, ticket: str, final_no: int, role: str, suffix: str = "") -> Path:
    raise NotImplementedError


def judge(home: Path, ticket: str, sheet_no: int | None, words: VerdictWords) -> VerdictView:
    raise NotImplementedError


def phone_sheet(home: Path, ticket: str) -> PhoneSheet:
    raise NotImplementedError


def require_ticket(home: Path, ticket: str) -> str:
    raise NotImplementedError


def qr_svg(url: str) -> str:
    raise NotImplementedError
