"""A proof as it is looked at: what was asked settled against the ticket, and the tables that draw it."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Correction, Display, Light, LutFigures, Master, Triple, Way
from wallworthy.base.ticket import Ticket
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.float32 import pixels_of, planes_of, scale_white32
from wallworthy.colour.lab import PCS_WHITE, xyz_to_lab
from wallworthy.colour.working import lab_to_working, working_to_lab
from wallworthy.fit.compose import direct
from wallworthy.icc.engine import to_lab
from wallworthy.icc.gamut import GamutSurface
from wallworthy.icc.lut import Nodes, nodes_grid, prepared_lut
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.journey.chain import Job
from wallworthy.journey.choosing import as_printed, as_wanted, printed_by
from wallworthy.journey.lighting import eye_of
from wallworthy.proof.beyond import Beyond
from wallworthy.proof.screen import screen_of
from wallworthy.proof.seen import Eye, seen_table
from wallworthy.proof.soft import Proof, make_proof

Array = NDArray[np.float64]

DISPLAY_NODES: Final = 49
"""A table straight to the screen's values. Of a picture full of strong colours, on the demo's paper, 999 pixels of 1000
lie within 0.9 dE00 of the exact proof (8-bit codes alone: 0.6); with 33 nodes within 1.6."""
SEEN_NODES: Final = 33
"""Of how a print looks in a light: within 0.04 dE00 of the straight way everywhere in a matt paper's colours."""
LAB_NODES: Final = 49
BEYOND_NODES: Final = 33
SAMPLES: Final = 10_000


@dataclass(frozen=True, slots=True)
class Seen:
    """Everything that decides what is drawn."""

    ticket: Ticket
    job: Job
    display: Display = field(repr=False)
    light: Light | None
    paper_white: bool

    @property
    def chain_key(self) -> Hashable:
        """What decides the predicted print's colours."""
        job = self.job
        profile = job.master.profile
        source = job.source
        return job.output.sha256, job.way, job.correction, hash(profile), source.white_xyz, source.chosen, source.greys

    @property
    def looked(self) -> Ticket:
        """The ticket as it is looked at."""
        return replace(self.ticket, correction=self.job.correction)

    @property
    def eye(self) -> Eye | None:
        """How print and screen are looked at, when the print hangs in a light."""
        return None if self.light is None else eye_of(self.job, self.light, self.display)

    @property
    def drawn_key(self) -> Hashable:
        """What decides the colours on the screen."""
        return self.chain_key, hash(self.display.profile), self.paper_white, self.eye

    @property
    def picture_key(self) -> Hashable:
        """What decides the picture in the working encoding."""
        master = self.job.master
        return master.sha256, hash(master.profile), self.job.crop_px, _read_by(master, self.job.way)


def _read_by(master: Master, way: Way) -> str:
    """The table of the master's profile that a way reads it by; one without tables is read alike by all."""
    if master.profile is None or master.space == "LAB" or parse_profile(master.profile).is_matrix:
        return "relative"
    return way.table_intent


def straight_lab(job: Job, size: int) -> Nodes:
    """Media-relative Lab of the print at the nodes of the working cube, by the direct chain."""
    return to_lab(job.output, direct(job.output, job.way, job.correction, job.source)(nodes_grid(size)))


def display_nodes(seen: Seen, lab: Nodes) -> Nodes:
    """The print as the screen shows it, float32, 0-1, (N, N, N, 3) as its media-relative Lab `lab`, axes R, G, B."""
    if seen.eye is not None:
        return _coded_as_seen(lab, seen, seen.eye)
    return _coded(lab, shown_scale(seen.job.output, seen.display, paper_white=seen.paper_white), seen.display)


def master_nodes(display: Display) -> Nodes:
    """The master as on screen: its white is the screen's."""
    lab = working_to_lab(nodes_grid(DISPLAY_NODES)).astype(np.float32)
    return _coded(lab, np.ones(3), display)


def sheet_nodes(lab_of_relative: Array, output: Profile, display: Display) -> Nodes:
    """Media-relative Lab at the nodes, shown with the paper's white."""
    return _coded(lab_of_relative.astype(np.float32), shown_scale(output, display, paper_white=True), display)


def shown_scale(output: Profile, display: Display, *, paper_white: bool) -> Array:
    """The factors on X, Y, Z from media-relative to the screen, dimmed where the paper's white would not fit."""
    return _white_scale(output.white_xyz, display.profile) if paper_white else np.ones(3)


@lru_cache(maxsize=64)
def _white_scale(white_xyz: Triple, display_profile: bytes) -> Array:
    scale = np.asarray(white_xyz, dtype=np.float64) / PCS_WHITE
    return scale * screen_of(display_profile).room_for(xyz_to_lab(scale * PCS_WHITE))


def _coded_as_seen(lab: NDArray[np.float32], seen: Seen, eye: Eye) -> Nodes:
    """The nodes as the print looks in its light, dimmed where its white would not fit the screen."""
    scale = np.asarray(seen.job.output.white_xyz) / PCS_WHITE if seen.paper_white else np.ones(3)
    looks = seen_table(eye, SEEN_NODES)
    white = looks(xyz_to_lab(scale * PCS_WHITE)[None].astype(np.float32))[0].astype(np.float64)
    shape = lab.shape
    there = looks(np.ascontiguousarray(scale_white32(planes_of(lab), scale).T)).reshape(shape)
    return _coded(there, np.full(3, screen_of(seen.display.profile).room_for(white)), seen.display)


def _coded(lab: NDArray[np.float32], scale: Array, display: Display) -> Nodes:
    shape = lab.shape
    planes = planes_of(lab)
    shown = planes if bool(np.all(scale == 1)) else scale_white32(planes, scale)
    coded, _ = screen_of(display.profile).encode(pixels_of(shown))
    return np.ascontiguousarray(coded, dtype=np.float32).reshape(shape)


def measured_on(picture: NDArray[np.float32], lab_of: Any, job: Job, size: int) -> LutFigures:
    """How far a table strays from the direct chain on a sample of this very picture, dE00."""
    flat = picture.reshape(-1, 3)
    some = np.random.default_rng(SAMPLES).integers(0, len(flat), min(SAMPLES, len(flat)))
    sample = flat[some][None]
    straight = to_lab(job.output, direct(job.output, job.way, job.correction, job.source)(sample))
    errors = ciede2000(lab_of(sample), straight)
    return LutFigures(size, float(errors.mean()), float(np.quantile(errors, 0.999)), float(errors.max()))


def beyond_nodes(surface: GamutSurface) -> Nodes:
    """Signed distance to the paper's colours at the nodes of the working cube, (N, N, N, 1), dE00."""
    lab = working_to_lab(nodes_grid(BEYOND_NODES)).reshape(-1, 3)
    signed = np.asarray(surface.signed_de00(lab), dtype=np.float32)
    return signed.reshape(BEYOND_NODES, BEYOND_NODES, BEYOND_NODES, 1)


def beyond_by(nodes: Nodes) -> Beyond:
    """The signed distance of any Lab (n, 3), looked up between the nodes."""
    look_up = prepared_lut(nodes)

    def beyond(lab: Array) -> NDArray[np.float32]:
        return look_up(np.clip(lab_to_working(lab), 0, 1).astype(np.float32))[..., 0]

    return beyond


def corrected(base: Correction, **axes: float | None) -> Correction:
    """The axes given laid over a correction."""
    return Correction(**{**base.as_dict(), **{name: value for name, value in axes.items() if value is not None}})


def rgb_hex(lab_absolute: Array, display: Display) -> tuple[str, ...]:
    """Absolute Lab (n, 3) as a screen's '#rrggbb'."""
    coded, _ = screen_of(display.profile).encode(np.asarray(lab_absolute, dtype=np.float32))
    codes = np.rint(np.clip(coded, 0, 1) * 255).astype(int)
    return tuple("#{:02x}{:02x}{:02x}".format(*code) for code in codes.tolist())


def proof_of(seen: Seen, picture: NDArray[np.float32], lab_of: Any, beyond: Any) -> Proof:
    """The proof of a picture (H, W, 3) in the working encoding, as it is looked at."""
    job = seen.job
    picture = as_printed(job, picture)
    px_per_mm = picture.shape[1] / job.size_mm[0]
    printed = printed_by(job, lab_of, px_per_mm)
    return make_proof(
        as_wanted(job, picture),
        lambda _: printed(picture),
        job.output,
        seen.display,
        correction=job.correction,
        beyond=beyond,
        roundtrip_p95_de00=job.condition.facts.roundtrip_p95_de00,
        paper_white=seen.paper_white,
        light=seen.light,
        eye=seen.eye,
        shown_px=job.shown_px,
        px_per_mm=px_per_mm,
    )
