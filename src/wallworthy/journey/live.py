"""Live proofs for the page: what stays in memory between two looks, and the looks themselves.

Quick pictures go through one table straight to the screen's codes; fine ones are made by
the very steps of `proof`. A quick look at another correction, light, way or paper costs one such table.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Box, Display, Fitted, LutFigures, Master, Way
from wallworthy.base.ticket import Stage, Ticket
from wallworthy.fit.compose import Predicted, predicted
from wallworthy.icc.gamut import GamutSurface, surface
from wallworthy.icc.lut import Nodes, prepared_codes, prepared_lut
from wallworthy.journal.journal import Journal
from wallworthy.journey.calm import calmly
from wallworthy.journey.chain import found_master, job_of, shown_as
from wallworthy.journey.choosing import drawn_codes, drawn_window, wishes_kept
from wallworthy.journey.coarse import COARSE_PX, has_coarse, keep_coarse, kept_coarse
from wallworthy.journey.drawn import seen_figures
from wallworthy.journey.held import SCREEN_PX, Held
from wallworthy.journey.home import opened
from wallworthy.journey.incoming import master_at, told_profile
from wallworthy.journey.page import ReportView, TilesInfo
from wallworthy.journey.recent import Recent
from wallworthy.journey.reduced import floats
from wallworthy.journey.reporting import loss_codes, report_view
from wallworthy.journey.seeing import (
    DISPLAY_NODES,
    LAB_NODES,
    Seen,
    beyond_by,
    beyond_nodes,
    corrected,
    display_nodes,
    master_nodes,
    measured_on,
    proof_of,
    straight_lab,
)
from wallworthy.journey.tickets import light_of, parse_tone, parse_way
from wallworthy.journey.tiles import tile_box, tiles_of
from wallworthy.journey.wanting import Wanted, always, need, turn, while_wanted
from wallworthy.proof.displays import display_from
from wallworthy.proof.soft import Proof
from wallworthy.raster.encode import jpeg_bytes, png_bytes
from wallworthy.raster.facts import stamp_of

Codes = NDArray[np.uint8]
Coder = Callable[[NDArray[np.uint16]], Codes]

REPORT_PX: Final = 1024
MASTERS_HELD: Final = 3
TABLES_KEPT: Final = 16
"""As many papers lie side by side and one of them is gone on with at once; one takes 1.4 MB."""
AXES: Final = ("lightness", "contrast", "shadow", "green_red", "blue_yellow", "chroma")


@dataclass(frozen=True, slots=True)
class Look:
    """How a proof is looked at; what is None is the ticket's own. space: srgb, display-p3 or display."""

    space: str = "srgb"
    paper_white: bool = True
    lightness: float | None = None
    contrast: float | None = None
    shadow: float | None = None
    green_red: float | None = None
    blue_yellow: float | None = None
    chroma: float | None = None
    light: str | None = None
    condition: str | None = None
    way: str | None = None
    must_not_suffer: str | None = None
    """Kinds and places with semicolons between; empty for none."""
    black_and_white: str | None = None
    """A tone; none for colour."""


@dataclass(frozen=True, slots=True)
class Picture:
    """An encoded picture."""

    data: bytes = field(repr=False)
    media_type: str
    width_px: int
    height_px: int


@dataclass(frozen=True, slots=True)
class Numbers:
    """Plain numbers and how they lie."""

    data: bytes = field(repr=False)
    headers: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class _Reported:
    """A proof small enough to be told of at once."""

    proof: Proof = field(repr=False)
    figures: LutFigures
    picture: NDArray[np.float32] = field(repr=False)


class Sessions:
    """Live proofs of one home. Threads may share it; what it remembers is bounded."""

    def __init__(self, home: Path) -> None:
        self._home = home
        self._masters: Recent[Master] = Recent(8)
        self._held: Recent[Held] = Recent(MASTERS_HELD)
        self._displays: Recent[Display] = Recent(8)
        self._labs: Recent[Nodes] = Recent(TABLES_KEPT)
        self._tables: Recent[Nodes] = Recent(TABLES_KEPT)
        self._coders: Recent[Coder] = Recent(TABLES_KEPT)
        self._chains: Recent[tuple[Fitted, Predicted]] = Recent(2)
        self._beyond: Recent[Nodes] = Recent(8)
        self._drawings: Recent[NDArray[np.uint16]] = Recent(4)
        self._reports: Recent[_Reported] = Recent(3)
        self._fine: Recent[Proof] = Recent(1)
        self._slow = threading.Lock()
        """Fine proofs are made one at a time, so that quick looks keep a processor."""

    def view(self, ticket: str, look: Look, width: int, quality: str, kind: str, wanted: Wanted = always) -> Picture:
        """The proof (or the master as on screen) at a width: quick as JPEG, fine as PNG.

        wanted: here and below, whether somebody still waits; UnwantedError is raised when nobody does.
        """
        seen = self._seen(ticket, look, wanted)
        held = self._held_for(seen)
        size = held.size_at(width)
        profile = seen.display.profile
        if kind == "proof" and quality == "fine":
            return _png(self._fine_proof(seen, held, size, wanted).image, profile)
        coder = self._coder(seen) if kind == "proof" else self._master_coder(seen.display)
        need(wanted)
        if quality == "fine":
            return _png(coder(held.exact(size)), profile)
        codes = self._drawn(seen, held, size, wanted) if kind == "proof" else held.quick(size)
        picture = _jpeg(coder(codes), profile)
        held.ready_coarser(width)
        return picture

    def report(self, ticket: str, look: Look, quality: str = "quick", wanted: Wanted = always) -> ReportView:
        """What the paper does to the picture, in words and figures."""
        seen = self._seen(ticket, look, wanted)
        paper = surface(seen.job.output)
        if quality == "quick":
            told = self._reported(seen, wanted)
            need(wanted)
            return calmly(lambda: report_view(seen, told.proof, told.figures, told.picture, paper))
        held = self._held_for(seen)
        size = held.size_of_edge(SCREEN_PX)
        proof = self._fine_proof(seen, held, size, wanted, counted=paper)
        picture = floats(held.exact(size))
        fitted, told = self._chain(seen)
        figures = seen_figures(fitted, told, seen.job, picture)
        return report_view(seen, proof, figures, picture, paper)

    def loss(self, ticket: str, look: Look, wanted: Wanted = always) -> Picture:
        """The loss as an 8-bit grey PNG."""
        seen = self._seen(ticket, look, wanted)
        loss = self._reported(seen, wanted).proof.loss
        codes = loss_codes(loss, loss.shape[1] / seen.job.size_mm[0])
        return _png(codes, None)

    def table(self, ticket: str, look: Look, size: int) -> Numbers:
        """The chain to the screen's values at `size` nodes an edge: float16, red running fastest."""
        seen = self._seen(ticket, look)
        nodes = self._nodes(seen, size)
        red_first = np.ascontiguousarray(nodes.transpose(2, 1, 0, 3), dtype="<f2")
        return Numbers(red_first.tobytes(), {"X-Nodes": str(size)})

    def pixels(self, ticket: str, look: Look, width: int, wanted: Wanted = always) -> Numbers:
        """The picture in the working encoding as its way prints it: uint16, rows from the top."""
        seen = self._seen(ticket, look, wanted)
        held = self._held_for(seen)
        codes = self._drawn(seen, held, held.size_at(width), wanted)
        headers = {"X-Width": str(codes.shape[1]), "X-Height": str(codes.shape[0])}
        return Numbers(codes.astype("<u2", copy=False).tobytes(), headers)

    def tiles_info(self, ticket: str) -> TilesInfo:
        """How the deep zoom is cut: down to one pixel for each print pixel."""
        return tiles_of(self._seen(ticket, Look()).job)

    def tile(self, ticket: str, look: Look, level: int, column: int, row: int, wanted: Wanted = always) -> Picture:
        """A tile of the deep zoom. Raises InputError for one that does not exist."""
        seen = self._seen(ticket, look, wanted)
        info = tiles_of(seen.job)
        size, box = tile_box(info, level, column, row)
        held = self._held_for(seen)
        codes = self._coder(seen)(drawn_window(seen.job, lambda part: held.window(size, part), size, box))
        return _jpeg(codes, seen.display.profile)

    def master_picture(self, sha256: str, width: int, space: str, assume: str | None = None) -> Picture:
        """A master as on screen, by the space `assume` names; in greys while nobody has said what its colours mean.

        As wide as a coarse picture it is the one kept from an earlier look, for sRGB, if there was one.
        """
        told = told_profile(self._home, sha256, assume)
        coarse = kept_coarse(self._home, sha256, told) if width == COARSE_PX else None
        if coarse is not None:
            return Picture(coarse.data, "image/jpeg", coarse.width_px, coarse.height_px)
        found, needs_space = master_at(self._home, sha256, told)
        held = self._hold((found.sha256, hash(found.profile), None, "relative"), found, None, Way.RELATIVE_BPC)

        def shown(width: int, space: str) -> Picture:
            display = self._display(space)
            codes = self._master_coder(display)(held.quick(held.size_at(width)))
            if needs_space:
                codes = np.repeat(codes.mean(axis=-1, keepdims=True).astype(np.uint8), 3, axis=-1)
            return _jpeg(codes, display.profile)

        if not needs_space and (width == COARSE_PX or not has_coarse(self._home, found.sha256, told)):
            keep_coarse(self._home, found.sha256, told, shown(COARSE_PX, "srgb").data)
        return shown(width, space)

    def write_down(self, ticket: str) -> None:
        """Remember that the proof was looked at as the ticket stands, with its figures, as `proof` does."""
        seen = self._seen(ticket, Look())
        told = self._reported(seen)
        report, job = told.proof.report, seen.job
        figures = {
            "loss_mean_de00": report.loss_mean_de00,
            "loss_p95_de00": report.loss_p95_de00,
            "loss_max_de00": report.loss_max_de00,
            "out_of_range_pct": report.out_of_range_pct,
            "lut_size": told.figures.size,
        }
        with opened(self._home) as journal, journal.write():
            now = journal.tickets.get(ticket)
            if shown_as(now) != shown_as(seen.ticket):
                return
            if now.stage is Stage.STARTED:
                journal.tickets.update(replace(now, stage=Stage.PROOFED))
            journal.proofs.add(now.id, {**figures, "way": str(job.way), **job.correction.as_dict()})
            journal.tickets.note(now.id, "proofed", {"way": str(job.way), "correction": str(job.correction), **figures})

    def _seen(self, ticket_id: str, look: Look, wanted: Wanted = always) -> Seen:
        """What was asked, settled against the ticket. Raises InputError."""
        need(wanted)
        with opened(self._home) as journal:
            ticket = journal.tickets.get(ticket_id)
            master = self._master(journal, ticket)
            condition = journal.conditions.get(look.condition or ticket.condition)
            name = ticket.light if look.light is None else look.light
            light = light_of(journal, name) if name else None
            display = self._display(look.space, journal, ticket)
        job = job_of(
            master,
            condition,
            size_mm=ticket.size_mm,
            distance_mm=ticket.distance_mm,
            way=ticket.way if look.way is None else parse_way(look.way),
            correction=corrected(ticket.correction, **{axis: getattr(look, axis) for axis in AXES}),
            crop_px=ticket.crop_px,
            margins_mm=ticket.margins_mm,
            black_and_white=ticket.black_and_white
            if look.black_and_white is None
            else parse_tone(look.black_and_white),
            must_not_suffer=_looked_after(ticket, look, master),
            hangs_with=ticket.hangs_with,
        )
        return Seen(ticket, job, display, light, look.paper_white)

    def _master(self, journal: Journal, ticket: Ticket) -> Master:
        """The ticket's master, read again only when its file has changed."""
        path = Path(ticket.master_path)
        stamp = stamp_of(path) if path.is_file() else None
        key = (ticket.master_path, ticket.master_sha256, ticket.assumed_profile_sha256, stamp)
        return self._masters.get(key, lambda: found_master(journal, ticket))

    def _display(self, space: str, journal: Journal | None = None, ticket: Ticket | None = None) -> Display:
        own = journal.displays.get(ticket.display) if journal and ticket and ticket.display else None
        if space == "display" and own is not None:
            return own
        known = "srgb" if space == "display" else space
        display = self._displays.get(known, lambda: display_from(f"{known} screen", space=known))
        return display if own is None else replace(display, white_cd_m2=own.white_cd_m2)

    def _held_for(self, seen: Seen) -> Held:
        return self._hold(seen.picture_key, seen.job.master, seen.job.crop_px, seen.job.way)

    def _hold(self, key: Hashable, master: Master, crop: Box | None, way: Way) -> Held:
        return self._held.get(key, lambda: Held(master, crop, way, self._home)).now(master)

    def _drawn(self, seen: Seen, held: Held, size: tuple[int, int], wanted: Wanted) -> NDArray[np.uint16]:
        """The picture quickly at a size, with what its way draws out."""
        job, codes = seen.job, held.quick(size)
        if job.way is not Way.DETAIL:
            return codes
        key = seen.picture_key, job.source.chosen, job.size_mm, job.distance_mm, job.black_and_white is None, size
        return self._drawings.get(key, lambda: calmly(lambda: drawn_codes(job, codes)), wanted)

    def _nodes(self, seen: Seen, size: int) -> Nodes:
        return self._tables.get((seen.drawn_key, size), lambda: display_nodes(seen, self._lab_nodes(seen, size)))

    def _lab_nodes(self, seen: Seen, size: int) -> Nodes:
        """The print's Lab at the nodes: what every light, every screen and the report begin with."""
        return self._labs.get((seen.chain_key, size), lambda: straight_lab(seen.job, size))

    def _coder(self, seen: Seen) -> Coder:
        """Working codes to screen codes, for the print."""
        return self._coders.get(("codes", seen.drawn_key), lambda: prepared_codes(self._nodes(seen, DISPLAY_NODES)))

    def _master_coder(self, display: Display) -> Coder:
        return self._coders.get(("master", hash(display.profile)), lambda: prepared_codes(master_nodes(display)))

    def _chain(self, seen: Seen) -> tuple[Fitted, Predicted]:
        """The measured table, as `proof` uses it."""

        def make() -> tuple[Fitted, Predicted]:
            fitted = seen.job.fitted()
            return fitted, predicted(fitted, output=seen.job.output, source=seen.job.source)

        return self._chains.get(seen.chain_key, make)

    def _fine_proof(
        self,
        seen: Seen,
        held: Held,
        size: tuple[int, int],
        wanted: Wanted,
        counted: GamutSurface | None = None,
    ) -> Proof:
        """The proof by the very steps of `proof`; counted: the paper's surface, when out of range counts."""

        def drawn(picture: NDArray[np.uint16]) -> Proof:
            _, told = self._chain(seen)
            lab_of = while_wanted(told.lab_of, wanted)
            return proof_of(seen, floats(picture), lab_of, counted and counted.signed_de00)

        def make() -> Proof:
            with turn(self._slow, wanted):
                picture = held.exact(size)
                need(wanted)
                return calmly(lambda: drawn(picture))

        light = None if seen.light is None else seen.light.name
        terms = (seen.drawn_key, seen.picture_key, seen.job.size_mm, light, size, counted is not None)
        return self._fine.get(terms, make, wanted)

    def _reported(self, seen: Seen, wanted: Wanted = always) -> _Reported:
        def told(small: NDArray[np.uint16]) -> _Reported:
            picture = floats(small)
            lab_of = prepared_lut(self._lab_nodes(seen, LAB_NODES))
            beyond = beyond_by(self._beyond.get(seen.job.output.sha256, lambda: beyond_nodes(surface(seen.job.output))))
            need(wanted)
            figures = measured_on(picture, lab_of, seen.job, LAB_NODES)
            need(wanted)
            return _Reported(proof_of(seen, picture, lab_of, beyond), figures, picture)

        def make() -> _Reported:
            held = self._held_for(seen)
            small = held.quick(held.size_of_edge(REPORT_PX))
            need(wanted)
            return calmly(lambda: told(small))

        light = None if seen.light is None else (seen.light.name, seen.light.illuminance_lx)
        return self._reports.get((seen.drawn_key, seen.picture_key, seen.job.size_mm, light), make, wanted)


def _looked_after(ticket: Ticket, look: Look, master: Master) -> tuple[str, ...]:
    """What the choice of a map looks after, as it was asked, else as the ticket has it. Raises InputError."""
    if look.must_not_suffer is None:
        return ticket.must_not_suffer
    return wishes_kept([text for text in look.must_not_suffer.split(";") if text.strip()], master)


def _jpeg(codes: Codes, profile: bytes | None) -> Picture:
    return Picture(jpeg_bytes(codes, profile), "image/jpeg", codes.shape[1], codes.shape[0])


def _png(codes: Codes, profile: bytes | None) -> Picture:
    return Picture(png_bytes(codes, profile), "image/png", codes.shape[1], codes.shape[0])
