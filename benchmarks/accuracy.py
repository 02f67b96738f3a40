"""Write docs/reference/accuracy.md: what the tables cost, and how true a proof is to a print.

    .venv/bin/python -m benchmarks.accuracy

The prints are those of the demo's virtual printer: every figure is of this program on invented
machines; the published CMYK profiles (fetched by scripts/fetch-published) join for the tables.
"""

from __future__ import annotations

import platform
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import numpy as np
import tifffile

from wallworthy.base.records import Condition, Correction, Delivery, Way
from wallworthy.colour.lab import lab_to_xyz, relative_to_absolute
from wallworthy.demo.looking import averaged, likeness
from wallworthy.demo.printer import VirtualPrinter
from wallworthy.demo.profiling import characterised
from wallworthy.demo.scene import render_scene
from wallworthy.fit.compose import compose, device_of
from wallworthy.fit.ways import source_of
from wallworthy.icc.engine import to_lab
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile, working_profile
from wallworthy.journey.chain import job_of
from wallworthy.journey.choosing import printed_by
from wallworthy.journey.conditions import measured
from wallworthy.journey.drawn import drawn_proof
from wallworthy.journey.reduced import floats
from wallworthy.master.open import open_master
from wallworthy.proof.displays import display_from

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "reference" / "accuracy.md"
PUBLISHED = ROOT / ".cache" / "published"
PAPERS = ("gloss", "lab", "matt")
CORRECTED = Correction(lightness=3, contrast=1.05, shadow=2, chroma=1.05)
SIZE_MM = (300.0, 200.0)
PICTURE_PX = (1500, 1000)


def main() -> None:
    """Measure and write the page."""
    conditions = {paper: _condition(paper) for paper in PAPERS}
    text = "\n".join([*_head(), *_tables(conditions), *_prints(conditions), *_foot()]) + "\n"
    PAGE.write_text(text)


def _condition(paper: str) -> Condition:
    printer = VirtualPrinter(paper, "first")
    profile = parse_profile(characterised(printer), paper)
    return measured(printer.paper_name, profile, paper=None, delivery=Delivery.NUMBERS, media=None)


def _head() -> Iterator[str]:
    yield "# How true the numbers are"
    yield ""
    yield "Made by `.venv/bin/python -m benchmarks.accuracy`; do not edit. "
    yield f"Python {platform.python_version()}, {platform.machine()}."
    yield ""


def _tables(conditions: dict[str, Condition]) -> Iterator[str]:
    yield "## What a table costs against the direct path"
    yield ""
    yield "The chain from the working encoding to inks is composed into one table, the smallest that keeps mean 0.1,"
    yield "99.9 % 0.5 and maximum 1.5 dE00 (held to 0.09, 0.42 and 1.5, since pictures gather in places) against the"
    yield "colour engine's unoptimised conversion, over 250,000 seeded colours: 100,000 of the whole working cube,"
    yield "100,000 of sRGB, 50,000 dark ones. 'direct': no table kept that; none is used. `whole` and `detail` are"
    yield "chosen for a picture and are their own table: what it costs them is in [fit.md](fit.md)."
    yield ""
    yield "| profile | master | way | correction | nodes | mean | 99.9 % | max |"
    yield "|---|---|---|---|---|---|---|---|"
    profiles = {name: condition.profile for name, condition in conditions.items()}
    for name, file in (("FOGRA39 (v2)", "ISOcoated_v2_300_bas.icc"), ("v4, XYZ", "icc/ghostscript/ps_cmyk.icc")):
        if (PUBLISHED / file).is_file():
            profiles[name] = (PUBLISHED / file).read_bytes()
    sources = {"wide RGB": working_profile(), "sRGB": srgb_profile()}
    for name, data in profiles.items():
        output = parse_profile(data, name)
        for way in (way for way in Way if not way.is_chosen):
            for master, correction in (("wide RGB", Correction()), ("sRGB", CORRECTED)):
                found = compose(output, way, correction, source_of(parse_profile(sources[master]))).figures
                asked = "none" if correction.is_none else "some on every tone axis"
                size = f"{found.size}³" if found.size else "direct"
                figures = f"{found.mean_de00:.3f} | {found.p999_de00:.2f} | {found.max_de00:.2f}"
                yield f"| {name} | {master} | {way} | {asked} | {size} | {figures} |"
    yield ""


def _prints(conditions: dict[str, Condition]) -> Iterator[str]:
    yield "## A proof held against the print"
    yield ""
    yield "The demo's picture, proofed for a paper and printed on the virtual machine that was characterised from three"
    yield "noisy readings of a chart ('first'), and on a drifted one of the same make ('second'); both seen through a"
    yield "1 mm aperture. 'profile': the first print against what the profile says of the same numbers, that is the"
    yield "part of the first column that is the profile's own error; the rest is the tables' and the proof's."
    yield ""
    yield "| paper | way | first: mean | 95 % | profile: mean | 95 % | second: mean | 95 % |"
    yield "|---|---|---|---|---|---|---|---|"
    width, height = PICTURE_PX
    path = ROOT / ".cache" / "accuracy-master.tif"
    path.parent.mkdir(exist_ok=True)
    pixels = render_scene(width, height)
    tifffile.imwrite(path, pixels, photometric="rgb", iccprofile=working_profile())
    master, picture = open_master(path), floats(pixels)
    cells = (round(SIZE_MM[1]), round(SIZE_MM[0]))
    for paper, condition in conditions.items():
        machines = [VirtualPrinter(paper, unit) for unit in ("first", "second")]
        for way in Way:
            job = job_of(master, condition, size_mm=SIZE_MM, distance_mm=360.0, way=way)
            proof = drawn_proof(job, display_from("screen", space="srgb"))
            promised = averaged(lab_to_xyz(proof.proof.lab_absolute).astype(np.float32), *cells)
            inks = partial(device_of, job.fitted(), output=job.output, source=job.source)
            device = printed_by(job, inks, width / SIZE_MM[0])(picture)
            said = relative_to_absolute(to_lab(job.output, device), job.output.white_xyz)
            profile = averaged(lab_to_xyz(said).astype(np.float32), *cells)
            first, second = (averaged(machine.print_xyz(device), *cells) for machine in machines)
            found = likeness(promised, first), likeness(profile, first), likeness(promised, second)
            figures = " | ".join(f"{one.mean_de00:.2f} | {one.p95_de00:.2f}" for one in found)
            yield f"| {condition.name} | {way} | {figures} |"
    path.unlink()
    yield ""


def _foot() -> Iterator[str]:
    yield "## What this does not say"
    yield ""
    yield "The machines are invented: a real printer adds banding, dry-down, uneven paper and an instrument's bias."
    yield "For a printing condition somebody else characterised, its maker's error comes on top."
    yield "A master in CMYK or another table-based space is read by the intent of its way, as the colour engine does."


if __name__ == "__main__":
    main()
