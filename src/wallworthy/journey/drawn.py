"""A proof drawn from a job, and written down: its picture and the predicted print."""

from __future__ import annotations

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.files import write_whole
from wallworthy.base.progress import Progress, silent
from wallworthy.base.records import Display, Fitted, Light, LutFigures
from wallworthy.base.ticket import WrittenFile
from wallworthy.base.units import MM_PER_INCH
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.fit.compose import Predicted, direct, predicted
from wallworthy.icc.engine import to_lab
from wallworthy.icc.gamut import surface
from wallworthy.journey.chain import Job, refuse_master
from wallworthy.journey.choosing import as_printed, as_wanted, printed_by
from wallworthy.journey.home import written
from wallworthy.journey.lighting import eye_of
from wallworthy.journey.reduced import LONG_EDGE_PX, floats, reduced
from wallworthy.proof.soft import Proof, make_proof
from wallworthy.raster.arrays import write_lab
from wallworthy.raster.encode import png_bytes
from wallworthy.raster.write import PNG_LEVEL

PICTURE_SAMPLES: Final = 10_000
"""Pixels of the picture that the table is measured on, beside its seeded colours."""


@dataclass(frozen=True, slots=True)
class DrawnProof:
    """A proof with what is needed to write it: its density on paper, its display, the table's figures."""

    proof: Proof
    display: Display
    figures: LutFigures
    ppi: float
    master_path: str
    clamped_share: float
    """Share of the master's pixels that lie outside the working encoding and were moved to its edge."""
    png: bytes | None = field(default=None, repr=False)
    """The proof as a file's bytes, where they were asked for."""


def drawn_proof(
    job: Job,
    display: Display,
    *,
    light: Light | None = None,
    under_light: bool = False,
    paper_white: bool = True,
    long_edge_px: int = LONG_EDGE_PX,
    to_write: bool = False,
    home: Path | None = None,
    progress: Progress = silent,
) -> DrawnProof:
    """Read, correct, fit and show a job; the picture is never enlarged.

    home: where the master may be kept at this size, and is, so that it need not be read again.

    under_light: whether the picture is shown as it looks in the light, or as profiles have it, under D50.
    to_write: whether it will be written, and is packed while it is measured.
    """
    progress("reading the master", 0.0)
    picture, clamped_share = _picture(job, home, long_edge_px)
    progress("composing the chain", 0.4)
    fitted = job.fitted()
    told = predicted(fitted, output=job.output, source=job.source)
    progress("proof", 0.6)
    with ThreadPoolExecutor(1) as aside:
        px_per_mm = picture.shape[1] / job.size_mm[0]
        ppi = px_per_mm * MM_PER_INCH
        printed = printed_by(job, told.lab_of, px_per_mm)
        packed: list[Future[bytes]] = []
        proof = make_proof(
            as_wanted(job, picture),
            lambda _: printed(picture),
            job.output,
            display,
            correction=job.correction,
            beyond=surface(job.output).signed_de00,
            roundtrip_p95_de00=job.condition.facts.roundtrip_p95_de00,
            paper_white=paper_white,
            light=light,
            eye=eye_of(job, light, display) if light is not None and under_light else None,
            shown_px=job.shown_px,
            px_per_mm=px_per_mm,
            drawn=(lambda image: packed.append(aside.submit(_packed, image, display, ppi))) if to_write else None,
        )
        figures = seen_figures(fitted, told, job, picture)
    png = packed[0].result() if packed else None
    return DrawnProof(proof, display, figures, ppi, job.master.path, clamped_share, png)


def _picture(job: Job, home: Path | None, long_edge_px: int) -> tuple[NDArray[np.float32], float]:
    """The picture as it is meant, float32 (H, W, 3), and the share of the master's pixels that were clamped."""
    read = reduced(job.master, job.crop_px, job.way, home=home, long_edge_px=long_edge_px)
    return as_printed(job, floats(read.codes)), read.clamped_share


def _packed(image: NDArray[np.uint8], display: Display, ppi: float) -> bytes:
    return png_bytes(image, display.profile, ppi=ppi, level=PNG_LEVEL)


def seen_figures(fitted: Fitted, told: Predicted, job: Job, picture: NDArray[np.float32]) -> LutFigures:
    """The table's figures, none of them better than on a sample of this very picture against the direct path."""
    if fitted.nodes is None:
        return fitted.figures
    flat = picture.reshape(-1, 3)
    sample = flat[np.random.default_rng(PICTURE_SAMPLES).integers(0, len(flat), min(PICTURE_SAMPLES, len(flat)))][None]
    straight = to_lab(job.output, direct(job.output, job.way, job.correction, job.source)(sample))
    errors = ciede2000(told.lab_of(sample), straight)
    known = fitted.figures
    return LutFigures(
        known.size,
        max(known.mean_de00, float(errors.mean())),
        max(known.p999_de00, float(np.quantile(errors, 0.999))),
        max(known.max_de00, float(errors.max())),
    )


def write_proof(
    drawn: DrawnProof, target: Path, lab: Path | None = None, *, overwrite: bool = False
) -> tuple[WrittenFile, ...]:
    """The proof as PNG with the display's profile, and the predicted print as Lab TIFF when asked for.

    Raises InputError for a place that is the master's, TroubleError when the disk refuses.
    """
    for place in (target, *((lab,) if lab else ())):
        refuse_master(place, drawn.master_path)
    write_whole(target, drawn.png or _packed(drawn.proof.image, drawn.display, drawn.ppi), overwrite=overwrite)
    files = [written("proof", target)]
    if lab is not None:
        write_lab(lab, drawn.proof.lab_absolute, drawn.ppi, overwrite=overwrite)
        files.append(written("lab", lab))
    return tuple(files)
