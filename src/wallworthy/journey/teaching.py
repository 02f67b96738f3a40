"""The library face of tickets and test sheets: as the commands, with keywords, and a journal behind them."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from wallworthy.journey.answers import JudgeAnswer, ReadbackAnswer, StartAnswer, TestAnswer
from wallworthy.journey.judging import Opinion, judge_sheet
from wallworthy.journey.readingback import read_back
from wallworthy.journey.testing import SheetWish
from wallworthy.journey.testing import make_sheet as _make_sheet
from wallworthy.journey.tickets import Wish
from wallworthy.journey.tickets import start_ticket as _start_ticket

PathLike = str | Path


def start_ticket(
    master: PathLike,
    *,
    size: str,
    on: str | None = None,
    profile: PathLike | None = None,
    paper: str | None = None,
    light: str | None = None,
    display: str | None = None,
    home: PathLike | None = None,
) -> StartAnswer:
    """Open a ticket: this picture, at this size, on a condition you own, by a profile, or on a generic paper.

    home: where everything is remembered; the user's own unless said, here and below. Raises InputError.
    """
    wish = Wish(Path(master), size, on=on, profile=_path(profile), paper=paper, light=light, display=display)
    return _start_ticket(_path(home), wish)


def make_sheet(
    ticket: str,
    *,
    out: PathLike | None = None,
    sheet: str = "10x15cm",
    ppi: float | None = None,
    tiles: int | None = None,
    slot: str | None = None,
    mode: str = "tiles",
    overwrite: bool = False,
    home: PathLike | None = None,
) -> TestAnswer:
    """Make the ticket's next test sheet. mode: 'tiles', 'whole' or 'prints'; slot: 'next' of a large sheet.

    Raises InputError for what can't be, TroubleError when the disk refuses.
    """
    return _make_sheet(_path(home), ticket, SheetWish(_path(out), sheet, ppi, tiles, slot, mode, overwrite))


def judge(
    ticket: str,
    *,
    best: str | None = None,
    next_best: str | None = None,
    say: Iterable[str] = (),
    none_right: bool = False,
    stop_at_de00: float | None = None,
    sheet_no: int | None = None,
    home: PathLike | None = None,
) -> JudgeAnswer:
    """Take a verdict on a test sheet, the latest unless said: print now, or test again.

    say: 'A1 a touch too dark', 'B2 right', 'between B1 and B2', 'none is right', "can't tell".
    stop_at_de00: print when no more than this is expected to be left; it holds for the ticket until another
    is said. Raises InputError for what is not understood.
    """
    words = (say,) if isinstance(say, str) else tuple(say)
    return judge_sheet(_path(home), ticket, Opinion(sheet_no, best, next_best, words, none_right, stop_at_de00))


def readback(
    ticket: str,
    scan: PathLike,
    *,
    sheet_no: int | None = None,
    reference: PathLike | None = None,
    home: PathLike | None = None,
) -> ReadbackAnswer:
    """Measure a printed sheet from its scan or photo; ticks on a sheet not judged yet are its verdict.

    reference: a card of known colours in the same picture, for absolute colour. Raises InputError for a file
    that is no picture; a picture without the sheet is an answer with `found` False.
    """
    return read_back(_path(home), ticket, Path(scan), sheet=sheet_no, reference=_path(reference))


def _path(given: PathLike | None) -> Path | None:
    return None if given is None else Path(given)
