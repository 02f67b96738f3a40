"""The next test sheet of a ticket: what to ask, drawn, written, remembered."""

from __future__ import annotations

import time
from collections.abc import Generator, Sequence
from contextlib import ExitStack, contextmanager, nullcontext
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Final, cast

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError, UsageError
from wallworthy.base.progress import Progress, silent
from wallworthy.base.records import Correction, Delivery, Notice, Pair
from wallworthy.base.ticket import PartSheet, Ticket, WrittenFile
from wallworthy.base.units import parse_size
from wallworthy.colour.working import working_to_lab
from wallworthy.journal.journal import Journal
from wallworthy.journey.answers import TestAnswer, TileFields
from wallworthy.journey.belief import Asked, belief_of, prior_record
from wallworthy.journey.chain import Job, guard_masters, load, refuse_existing
from wallworthy.journey.conditions import condition_notices
from wallworthy.journey.finishing import FIRST_SUFFIX, NATIVE_PPI, SUFFIXES
from wallworthy.journey.home import opened, written
from wallworthy.journey.house import house_for
from wallworthy.journey.own_names import own_name
from wallworthy.journey.sheetmaking import Press, engine_for, press_for, reading, root_for
from wallworthy.journey.wished import prior_about, shown_anyway, wish_shown, wished_of, wished_record
from wallworthy.raster.dither import to_bits
from wallworthy.raster.form import FileForm, Format, require_possible
from wallworthy.raster.write import write_picture
from wallworthy.trial.arrange import SLOTS, print_codes, sheet_layout, turned
from wallworthy.trial.axes import correction_of
from wallworthy.trial.belief import Belief
from wallworthy.trial.crops import SheetCrops, choose_crops
from wallworthy.trial.design import design
from wallworthy.trial.expected import expect_sheet, expected_record
from wallworthy.trial.house import house_text
from wallworthy.trial.layout import Mode, SheetLayout
from wallworthy.trial.marks import mark_text
from wallworthy.trial.metric import DE00_PER_JND
from wallworthy.trial.sheet import Engine, compose_sheet, notes_of

JUDGE_AFTER_S: Final = 3600.0
"""Judge dry: an hour at the earliest. Common practice, no source."""
MODES: Final = ("tiles", "whole", "prints")
PRINTS: Final = 6
"""Separate prints unless said otherwise."""


@dataclass(frozen=True, slots=True)
class SheetWish:
    """What the person asked of the sheet."""

    out: Path | None = None
    sheet: str = "10x15cm"
    ppi: float | None = None
    tiles: int | None = None
    slot: str | None = None
    mode: str = "tiles"
    force: bool = False


@dataclass(frozen=True, slots=True)
class _Plan:
    """A sheet settled: its layouts (one for each file), the tiles' corrections by code."""

    layouts: tuple[SheetLayout, ...]
    codes: tuple[str, ...]
    corrections: tuple[Correction, ...]
    offsets: NDArray[np.float64]
    wished: Correction | None
    """What was wished on the proof; the first tile shows it."""

    @property
    def by_code(self) -> dict[str, Correction]:
        return dict(zip(self.codes, self.corrections, strict=True))


def make_sheet(home: Path | None, ticket_id: str, wish: SheetWish, progress: Progress = silent) -> TestAnswer:
    """Design, draw and write the next test sheet; nothing there already is replaced unasked."""
    _check(wish)
    with opened(home) as journal:
        ticket = journal.tickets.get(ticket_id)
        job = load(journal, ticket)
        delivery = job.condition.delivery
        ppi = wish.ppi or NATIVE_PPI[delivery]
        progress("looking at the picture", 0.0)
        press = press_for(job, delivery)
        with journal.sheets.reserved(ticket, _slots(wish)) as (sheet_no, part), ExitStack() as held:
            layouts = _laid_out(wish, job, ppi, part)
            picture = reading(job, layouts[0])
            picture_lab = working_to_lab(picture[::2, ::2])
            progress("looking at the picture", 0.3)
            began = time.perf_counter()
            asked = _asked(journal, ticket, job, picture_lab)
            belief = belief_of(asked, ticket)
            plan = _planned(layouts, belief, ticket, sheet_no)
            design_s = time.perf_counter() - began
            progress("choosing what to try", 0.4)
            crops = choose_crops(picture_lab, job.shown_px, layouts[0], job.size_mm)
            engine = engine_for(job, press, ppi, picture)
            progress("drawing the sheet", 0.5)
            targets = held.enter_context(_targets(journal, ticket, wish, delivery, plan, sheet_no))
            drawn = [
                _drawn(job, press, engine, layout, crops, plan, ticket, sheet_no, target, force=wish.force)
                for layout, target in zip(plan.layouts, targets, strict=True)
            ]
            files = tuple(written("sheet", target) for target in targets)
            answer = _answer(ticket, job, plan, crops, belief, files, sheet_no, design_s, part, asked.house_sentence)
            _remember(journal, ticket, asked, plan, drawn, answer)
    return answer


def _check(wish: SheetWish) -> None:
    if wish.mode not in MODES:
        raise InputError(
            "mode_unknown", f"'{wish.mode}' is no kind of sheet.", f"Say {', '.join(MODES)}.", where="--mode"
        )
    if wish.slot not in (None, "next"):
        raise InputError("slot_unclear", f"'{wish.slot}' is not understood.", "Say --slot next.", where="--slot")
    if wish.slot and wish.mode == "prints":
        raise UsageError("slot_and_prints", "Separate prints have no slots.", "Leave --slot out.", where="--slot")
    if wish.ppi is not None and not 100 <= wish.ppi <= 1440:
        raise InputError(
            "ppi_absurd", f"A sheet at {wish.ppi:g} ppi can't be used.", "Give 100 to 1440.", where="--ppi"
        )
    if wish.tiles is not None and not 4 <= wish.tiles <= 8:
        raise InputError("tile_count", f"A sheet can't have {wish.tiles} tiles.", "Ask for 4 to 8.", where="--tiles")


def _asked(journal: Journal, ticket: Ticket, job: Job, picture_lab: NDArray[np.float64]) -> Asked:
    """What was asked so far; on the first sheet, the prior and the picture's own metric are settled."""
    sheets = journal.sheets.list(ticket.id)
    if sheets:
        return Asked.read(sheets, journal.sheets.verdicts(ticket.id))
    house = house_for(journal, ticket)
    sentence = house_text(house) if house.pictures and ticket.correction_origin != "user" else None
    return Asked(prior_about(house.prior, ticket), root_for(job, picture_lab), (), (), sentence)


def _slots(wish: SheetWish) -> tuple[Pair, int] | None:
    """The large sheet to be used quarter by quarter, when that was asked for."""
    if wish.slot is None:
        return None
    size = parse_size(wish.sheet)
    return (size.width_mm, size.height_mm), SLOTS


def _laid_out(wish: SheetWish, job: Job, ppi: float, part: PartSheet | None) -> tuple[SheetLayout, ...]:
    """One layout, or one for each separate print; the sheet lies the way that suits the picture."""
    size = parse_size(wish.sheet)
    shape = job.size_mm[0] / job.size_mm[1]
    mode = cast(Mode, wish.mode)
    given = min(size.width_mm, size.height_mm), max(size.width_mm, size.height_mm)
    # A sheet used quarter by quarter always stands upright, so that its quarters stay where they were.
    sheet = given if part else turned(given, shape, tiles=wish.tiles, mode=mode)
    lay = partial(sheet_layout, sheet, mode=mode, ppi=ppi, picture_shape=shape)
    if mode == "prints":
        return tuple(lay(code=code) for code in print_codes(wish.tiles or PRINTS))
    return (lay(tiles=wish.tiles if mode == "tiles" else None, slot=None if part is None else part.slot),)


def _planned(layouts: tuple[SheetLayout, ...], belief: Belief, ticket: Ticket, sheet_no: int) -> _Plan:
    """The tiles' corrections. What was wished on the proof is the first of them, and the first sheet has the plain fit
    among them; one whole picture shows the first."""
    codes = tuple(tile.code for layout in layouts for tile in layout.tiles)
    wished = wished_of(ticket, belief)
    offsets = design(belief, len(codes), fixed=shown_anyway(wished, belief), seed=sheet_no)
    return _Plan(layouts, codes, tuple(correction_of(offset) for offset in offsets), offsets, wished)


@contextmanager
def _targets(
    journal: Journal, ticket: Ticket, wish: SheetWish, delivery: Delivery, plan: _Plan, sheet_no: int
) -> Generator[tuple[Path, ...]]:
    """Where the files go: one, or one for each separate print, none of them there yet."""
    form: Format = "tiff" if delivery is Delivery.NUMBERS else "jpeg"

    def files(first: Path) -> tuple[Path, ...]:
        if len(plan.layouts) == 1:
            return (first,)
        return tuple(first.with_name(f"{first.stem}-{code}{first.suffix}") for code in plan.codes)

    rest, suffix = f"sheet-{sheet_no}", FIRST_SUFFIX[form]
    own = own_name(journal.home, Path.cwd(), ticket, rest, suffix, files=files, force=wish.force)
    with nullcontext(wish.out) if wish.out else own as first:
        if first.suffix.lower() not in SUFFIXES:
            raise InputError(
                "format_unclear",
                f"{first.name} does not say which format is meant.",
                "End it in .tif or .jpg.",
                where="-o",
            )
        for target in files(first):
            guard_masters(journal, target)
            refuse_existing(target, force=wish.force)
        yield files(first)


def _drawn(
    job: Job,
    press: Press,
    engine: Engine,
    layout: SheetLayout,
    crops: SheetCrops,
    plan: _Plan,
    ticket: Ticket,
    sheet_no: int,
    target: Path,
    *,
    force: bool,
) -> dict[str, Any]:
    """Draw and write one file; what it should look like, for read-back."""
    own = layout.tiles[0].code if len(plan.layouts) > 1 else None
    mark = mark_text(ticket.id, sheet_no, own)
    corrections = {tile.code: plan.by_code[tile.code] for tile in layout.tiles}
    device = compose_sheet(
        layout,
        crops,
        corrections,
        engine,
        mark_text=mark,
        notes=notes_of(ticket.id, sheet_no, job.condition.name, ticket.light, None),
        strip_correction=job.correction,
    )
    height, width, channels = device.shape
    kind = SUFFIXES[target.suffix.lower()]
    bits = 8 if kind == "jpeg" or press.file_profile.space != job.output.space else 16
    profile = press.file_profile
    form = FileForm(kind, width, height, channels, bits, profile.space, layout.ppi, profile.data)
    require_possible(form)
    write_picture(target, [to_bits(device, bits, 0)], form, overwrite=force)
    return expected_record(expect_sheet(layout, mark, device, press.printed))


def _answer(
    ticket: Ticket,
    job: Job,
    plan: _Plan,
    crops: SheetCrops,
    belief: Belief,
    files: tuple[WrittenFile, ...],
    sheet_no: int,
    design_s: float,
    part: PartSheet | None,
    house_sentence: str | None,
) -> TestAnswer:
    expected = belief.expected_jnd() * DE00_PER_JND
    layout = plan.layouts[0]
    tiles = tuple(
        TileFields(place.code, place.box_mm, crops.main.box_px, plan.by_code[place.code].as_dict())
        for sheet in plan.layouts
        for place in sheet.tiles
    )
    notices = [*condition_notices(job.condition)]
    if len(plan.layouts) > 1 or job.condition.delivery is Delivery.STANDARD:
        notices.append(
            Notice(
                "correction_off", "Ask the lab, or tell the driver, to print these without any automatic correction."
            )
        )
    reasons = "; ".join(dict.fromkeys(crop.reason for crop in crops.of_tile))
    shown = f"{_shows(layout.mode, len(tiles))} {reasons}."
    strip = (f"The strip below shows {crops.strip.reason}.",) if crops.strip else ()
    return TestAnswer(
        ticket=ticket.id,
        sheet_no=sheet_no,
        mode=layout.mode,
        sheet_mm=layout.sheet_mm,
        density_ppi=layout.ppi,
        tiles=tiles,
        mark_text=mark_text(ticket.id, sheet_no, layout.tiles[0].code if len(plan.layouts) > 1 else None),
        judge_after_s=JUDGE_AFTER_S,
        expected_de00=expected,
        design_s=design_s,
        slot=None if part is None else part.slot,
        sentences=(
            *((house_sentence,) if house_sentence else ()),
            shown,
            *wish_shown(plan.wished, plan.codes[0]),
            *strip,
        ),
        notices=tuple(notices),
        files=files,
        next=f"Print it as you would the final, let it dry an hour, look at it in the light it will hang in, and say: "
        f"'wallworthy judge {ticket.id} {_verdict_shape(plan.codes)}'.",
    )


def _shows(mode: Mode, tiles: int) -> str:
    return "The picture shows" if tiles == 1 else "The prints show" if mode == "prints" else "The tiles show"


def _verdict_shape(codes: Sequence[str]) -> str:
    """How a verdict on these tiles may be said on the command line."""
    return '--say "a touch too dark"' if len(codes) == 1 else f'--best {codes[0]} --say "{codes[-1]} too dark"'


def _remember(
    journal: Journal,
    ticket: Ticket,
    asked: Asked,
    plan: _Plan,
    drawn: Sequence[dict[str, Any]],
    answer: TestAnswer,
) -> None:
    """The sheet under its reserved number, and its event, in one transaction."""
    record = {
        "mode": answer.mode,
        "codes": list(plan.codes),
        "offsets": plan.offsets.tolist(),
        "root": asked.root.tolist(),
        "prior": prior_record(asked.prior),
        "expected_de00": answer.expected_de00,
        "wished": wished_record(plan.wished),
    }
    with journal.write():
        journal.sheets.fill(ticket.id, answer.sheet_no, {"sheets": list(drawn)}, record, answer.files)
        detail = {"sheet": answer.sheet_no, "expected_de00": answer.expected_de00}
        journal.tickets.note(ticket.id, "test sheet", detail)
