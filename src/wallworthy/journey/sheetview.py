"""Test sheets and finals as the page shows them: tiles, what was said, what that taught, the files."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import numpy as np
import segno
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.records import CORRECTION_AXES, Condition, Correction, Delivery, Display, Way
from wallworthy.base.ticket import SheetEntry, Ticket, WrittenFile
from wallworthy.base.units import parse_size
from wallworthy.colour.working import working_to_lab
from wallworthy.icc.blackpoint import NO_BLACK, compensate, destination_black
from wallworthy.icc.lut import nodes_grid, prepared_codes
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.journal.journal import Journal
from wallworthy.journey.belief import Asked, belief_of
from wallworthy.journey.home import opened
from wallworthy.journey.house import house_for
from wallworthy.journey.judging import Opinion, judge_sheet, sentences_of, stop_of
from wallworthy.journey.live import Picture
from wallworthy.journey.page_work import PhoneSheet, SaidOfSheet, SheetReading, SheetTile, SheetView, VerdictView
from wallworthy.journey.recent import Recent
from wallworthy.journey.seeing import DISPLAY_NODES, sheet_nodes
from wallworthy.journey.standing import dry_from, gone
from wallworthy.journey.testing import JUDGE_AFTER_S
from wallworthy.journey.whereabouts import place_of
from wallworthy.journey.wished import against, wished_from
from wallworthy.master.open import open_master
from wallworthy.master.source import working_source
from wallworthy.proof.displays import display_from
from wallworthy.raster.encode import png_bytes
from wallworthy.raster.facts import stamp_of
from wallworthy.raster.scale import scaled_picture
from wallworthy.trial.advice import STOP_DE00, Advice, advise
from wallworthy.trial.axes import STEP, UNSAID, correction_of
from wallworthy.trial.expected import expected_from
from wallworthy.trial.house import house_text
from wallworthy.trial.metric import DE00_PER_JND
from wallworthy.trial.words import REMEDIES

Working = NDArray[np.uint16]
Codes = NDArray[np.uint8]

_pictures: Final[Recent[Picture]] = Recent(24)
_coders: Final[Recent[Callable[[Working], Codes]]] = Recent(4)


@dataclass(frozen=True, slots=True)
class VerdictWords:
    """What the eye said of a sheet on the page."""

    best: str | None = None
    next: str | None = None
    between: tuple[str, str] | None = None
    none_right: bool = False
    cant_tell: bool = False
    say: list[str] | tuple[str, ...] = ()


def sheet_view(home: Path, ticket_id: str, sheet_no: int | None) -> SheetView:
    """A test sheet, the latest when None. Raises InputError when there is none."""
    with opened(home) as journal:
        ticket = journal.tickets.get(ticket_id)
        return _sheet_view(journal, ticket, journal.sheets.get(ticket.id, sheet_no))


def phone_sheet(home: Path, ticket_id: str) -> PhoneSheet:
    """What a phone at the wall needs of the ticket's latest sheet. Raises InputError."""
    with opened(home) as journal:
        ticket = journal.tickets.get(ticket_id)
        sheet = _sheet_view(journal, ticket, journal.sheets.get(ticket.id))
    return PhoneSheet(ticket.id, ticket.title, ticket.light, sheet)


def _sheet_view(journal: Journal, ticket: Ticket, entry: SheetEntry) -> SheetView:
    sheets = [expected_from(record) for record in entry.layout["sheets"]]
    verdicts = journal.sheets.verdicts(ticket.id)
    said = next((verdict.said for verdict in verdicts if verdict.sheet_no == entry.no), None)
    readings = [one for one in journal.sheets.readings(ticket.id) if one.sheet_no == entry.no]
    layout = sheets[0].layout
    return SheetView(
        ticket=ticket.id,
        sheet_no=entry.no,
        at=entry.at,
        mode=entry.design["mode"],
        sheet_mm=layout.sheet_mm,
        density_ppi=layout.ppi,
        tiles=_tiles(entry, sheets),
        mark_text=sheets[0].mark,
        dry_from=dry_from(entry.at),
        file_names=tuple(Path(file.path).name for file in entry.files),
        expected_de00=entry.design["expected_de00"],
        p90_de00=_bound_before(journal, ticket, entry),
        said=None if said is None else _said(said),
        verdict=None if said is None else _learned(journal, ticket),
        reading=_reading(readings[-1].at, readings[-1].result) if readings else None,
        cost=_cost(journal, ticket, layout.sheet_mm),
        wished=wished_from(entry.design),
    )


def _tiles(entry: SheetEntry, sheets: list[Any]) -> tuple[SheetTile, ...]:
    offsets = dict(zip(entry.design["codes"], np.array(entry.design["offsets"]), strict=True))
    return tuple(
        SheetTile(tile.code, tile.box_mm, correction_of(offsets[tile.code]), number)
        for number, sheet in enumerate(sheets)
        for tile in sheet.layout.tiles
    )


def _said(said: Any) -> SaidOfSheet:
    return SaidOfSheet(said.get("best"), said.get("next"), tuple(said.get("say", ())), bool(said.get("none_right")))


def _reading(at: str, result: Any) -> SheetReading:
    return SheetReading(
        at=at,
        absolute=bool(result["absolute"]),
        mean_de00=result["mean_de00"],
        scale_error_pct=result["scale_error_pct"],
        likeliest=result["likeliest"],
        probability=result["probability"],
    )


def _cost(journal: Journal, ticket: Ticket, sheet_mm: tuple[float, float]) -> str | None:
    """The price of a sheet of that size, when the person gave it."""
    name = next((kept.paper for kept in journal.conditions.list() if kept.name == ticket.condition), None)
    paper = journal.papers.get(name) if name else None
    for size, price in ({} if paper is None else paper.prices).items():
        known = parse_size(size)
        if np.allclose(sorted((known.width_mm, known.height_mm)), sorted(sheet_mm), atol=1):
            return f"{price:.2f}"
    return None


def judge(home: Path, ticket_id: str, sheet_no: int | None, words: VerdictWords) -> VerdictView:
    """Take a verdict, on the latest sheet when None. Raises InputError."""
    say = list(words.say)
    if words.between is not None:
        say.append(f"between {words.between[0]} and {words.between[1]}")
    if words.cant_tell:
        say.append("can't tell")
    opinion = Opinion(sheet_no, words.best, words.next, tuple(say), words.none_right)
    answer = judge_sheet(home, ticket_id, opinion)
    with opened(home) as journal:
        return replace(_learned(journal, journal.tickets.get(ticket_id)), notices=answer.notices)


def _bound_before(journal: Journal, ticket: Ticket, entry: SheetEntry) -> float:
    """What nine in ten would have stayed within, had it been printed before this sheet was judged (dE00)."""
    verdicts = [one for one in journal.sheets.verdicts(ticket.id) if one.sheet_no < entry.no]
    key = (str(journal.home), ticket.id, entry.no, tuple((one.sheet_no, one.at) for one in verdicts))
    return _bound(key, _Hidden(Asked.read(journal.sheets.list(ticket.id), verdicts), ticket, STOP_DE00))


@lru_cache(maxsize=16)
def _bound(key: Any, hidden: _Hidden) -> float:
    return belief_of(hidden.asked, hidden.ticket).bound_jnd() * DE00_PER_JND


def _learned(journal: Journal, ticket: Ticket) -> VerdictView:
    """What all verdicts so far teach, from the journal alone."""
    verdicts = journal.sheets.verdicts(ticket.id)
    stop = stop_of(verdicts) or STOP_DE00
    key = (str(journal.home), ticket.id, stop, tuple((one.sheet_no, one.at) for one in verdicts))
    asked = Asked.read(journal.sheets.list(ticket.id), verdicts)
    advice, contradicts = _advice(key, _Hidden(asked, ticket, stop))
    return VerdictView(
        correction=advice.correction,
        sd=advice.sd,
        expected_de00=advice.expected_de00,
        p90_de00=advice.p90_de00,
        expected_after_another_de00=advice.expected_after_another_de00,
        after_another_p90_de00=advice.after_another_p90_de00,
        advice=advice.advice,
        contradicts=contradicts,
        sentences=sentences_of(advice, stop),
        taught=_taught(journal, ticket, advice.correction, wished_from(asked.sheets[-1].design)),
        notices=(),
    )


class _Hidden:
    """Carries what a cached function needs beside its key: equal to every other."""

    def __init__(self, asked: Asked, ticket: Ticket, stop_de00: float) -> None:
        self.asked, self.ticket, self.stop_de00 = asked, ticket, stop_de00

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Hidden)

    def __hash__(self) -> int:
        return 0


@lru_cache(maxsize=16)
def _advice(key: Any, hidden: _Hidden) -> tuple[Advice, bool]:
    belief = belief_of(hidden.asked, hidden.ticket)
    advice = advise(belief, stop_de00=hidden.stop_de00, minutes=JUDGE_AFTER_S / 60, seed=int(hidden.ticket.id[1:]))
    return advice, belief.contradicts


def _taught(journal: Journal, ticket: Ticket, correction: Correction, wished: Correction | None) -> tuple[str, ...]:
    """What the verdicts taught of this picture, beyond what was wished of it, and where the next one on this paper and
    light will start."""
    wanted: list[str] = []
    plain = Correction()
    beyond = correction.as_dict() if wished is None else against(correction, wished)
    for place, axis in enumerate(CORRECTION_AXES):
        change = beyond[axis] - getattr(plain, axis)
        if abs(change) >= UNSAID * STEP[place]:
            wanted.append(REMEDIES[place, 1 if change > 0 else -1])
    said = f"wants to be {', '.join(wanted)} here." if wanted else "wants to stay as it is."
    first = f"This picture {said}" if wished is None else f"Against what you wished, this picture {said}"
    return first, house_text(house_for(journal, ticket, own=True))


def sheet_picture(home: Path, ticket_id: str, sheet_no: int, width: int, space: str, file: int) -> Picture:
    """The sheet's file as it will look printed, paper white shown. Raises InputError."""
    path = sheet_file(home, ticket_id, sheet_no, file)
    with opened(home) as journal:
        ticket = journal.tickets.get(ticket_id)
        condition = journal.conditions.get(ticket.condition)
    key = (str(path), stamp_of(path), condition.profile_sha256, condition.delivery, width, space)
    return _pictures.get(key, lambda: _drawn(path, condition, width, space))


def _drawn(path: Path, condition: Condition, width: int, space: str) -> Picture:
    output = parse_profile(condition.profile)
    source = working_source(open_master(path), None, Way.RELATIVE_BPC)
    width = min(width, source.width_px)
    height = max(1, round(width * source.height_px / source.width_px))
    codes = np.rint(scaled_picture(source, width, height) * np.float32(65535)).astype(np.uint16)
    display = display_from(f"{space} screen", space=space)
    key = (condition.profile_sha256, condition.delivery, space)
    shown = _coders.get(key, lambda: _coder(output, condition.delivery, display))(codes)
    return Picture(png_bytes(shown, display.profile), "image/png", width, height)


def _coder(output: Profile, delivery: Delivery, display: Display) -> Callable[[Working], Codes]:
    """Working codes of a sheet's file to the screen's, paper white shown."""
    lab = working_to_lab(nodes_grid(DISPLAY_NODES))
    if delivery is Delivery.STANDARD:  # the lab converts it back, black to black
        lab = compensate(lab, NO_BLACK, destination_black(output, "relative"))
    return prepared_codes(sheet_nodes(lab, output, display))


def sheet_file(home: Path, ticket_id: str, sheet_no: int, file: int) -> Path:
    """Where a sheet's file is. Raises InputError when it is gone, or another file by now."""
    with opened(home) as journal:
        ticket = journal.tickets.get(ticket_id)
        entry = journal.sheets.get(ticket.id, sheet_no)
    return _there(entry.files, file, entry.at)


def final_file(home: Path, ticket_id: str, final_no: int, role: str, suffix: str = "") -> Path:
    """Where a final or its card is. Raises InputError when there is none, it is gone, or another file by now."""
    with opened(home) as journal:
        finals = journal.finals.list(journal.tickets.get(ticket_id).id)
    found = next((final for final in finals if final.no == final_no), None)
    if found is None:
        raise InputError("final_unknown", f"{ticket_id} has no final {final_no}.", "Make one.", where=ticket_id)
    return _there(tuple(file for file in found.files if file.role == role and file.path.endswith(suffix)), 0, found.at)


def _there(files: tuple[WrittenFile, ...], number: int, since: str) -> Path:
    if number >= len(files):
        raise InputError("file_unknown", "There is no such file.", "Reload the page.")
    path = Path(files[number].path)
    match place_of(path, files[number].sha256, since):
        case "here":
            return path
        case "gone":
            raise gone(path.name)
        case "changed":
            text = f"{path.name} is no longer the file that was written: it was changed, or another took its place."
            raise InputError("file_changed", text, "Make it again.", where=path.name)


def qr_svg(url: str) -> str:
    """A QR code of an address as SVG text, black on nothing, sized by whoever shows it."""
    out = io.BytesIO()
    segno.make(url, error="m").save(out, kind="svg", omitsize=True, xmldecl=False, border=2)
    return out.getvalue().decode()
