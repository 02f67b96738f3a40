"""Write docs/reference/performance.md: engine, proof and final against public libraries on the same pixels.

    .venv/bin/python -m benchmarks.engine [--small]

Every run is a process of its own that prints its wall and processor time and its peak memory; runs that are
compared take turns, three times each, and medians are told. Ratios hold where absolute times don't.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import imagecodecs
import numpy as np
import PyOpenColorIO as OCIO
import pyvips

from wallworthy.base.records import Correction, Way
from wallworthy.colour.correction import correct
from wallworthy.demo.scene import render_scene
from wallworthy.fit.compose import compose, device_of
from wallworthy.fit.ways import source_of
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile, working_profile
from wallworthy.journey.proofing import prove
from wallworthy.journey.tickets import Wish, start_ticket

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "reference" / "performance.md"
TURNS = 3


def cmyk() -> bytes:
    """A published measured CMYK profile, as libvips carries it."""
    return bytes(pyvips.Operation.call("profile_load", "cmyk"))


def pixels_of(folder: Path) -> np.ndarray[Any, Any]:
    return np.load(folder / "pixels.npy", mmap_mode="r")


def ours_table(folder: Path) -> None:
    """Working RGB to four inks through the composed table, composing included."""
    output = parse_profile(cmyk())
    fitted = compose(output, Way.RELATIVE_BPC, Correction(lightness=2), source_of(parse_profile(working_profile())))
    device_of(fitted, np.asarray(pixels_of(folder)))


def ours_lookup(folder: Path) -> float:
    """The table alone, composed before the clock starts."""
    output = parse_profile(cmyk())
    fitted = compose(output, Way.RELATIVE_BPC, Correction(), source_of(parse_profile(working_profile())))
    pixels = np.asarray(pixels_of(folder))
    began = time.perf_counter()
    device_of(fitted, pixels)
    return time.perf_counter() - began


def littlecms_direct(folder: Path) -> None:
    """littleCMS, 16 bits, unoptimised, one thread: the reference the table is measured against."""
    flags = imagecodecs.CMS.FLAGS.NOOPTIMIZE | imagecodecs.CMS.FLAGS.BLACKPOINTCOMPENSATION
    imagecodecs.cms_transform(
        np.asarray(pixels_of(folder)),
        working_profile(),
        cmyk(),
        colorspace="rgb",
        outcolorspace="cmyk",
        intent=1,
        flags=flags,
    )


def littlecms_default(folder: Path) -> None:
    """littleCMS with its ordinary flags: a 33-node table of its own."""
    imagecodecs.cms_transform(
        np.asarray(pixels_of(folder)),
        working_profile(),
        cmyk(),
        colorspace="rgb",
        outcolorspace="cmyk",
        intent=1,
        flags=imagecodecs.CMS.FLAGS.BLACKPOINTCOMPENSATION,
    )


def libvips_transform(folder: Path) -> None:
    """libvips' ICC transform on all its threads."""
    pixels = np.asarray(pixels_of(folder))
    profile, working = folder / "cmyk.icc", folder / "working.icc"
    profile.write_bytes(cmyk())
    working.write_bytes(working_profile())
    image = pyvips.Image.new_from_array(pixels).copy(interpretation="rgb16")
    image.icc_transform(
        str(profile), input_profile=str(working), intent="relative", black_point_compensation=True, depth=16
    ).write_to_memory()


def opencolorio_plain(folder: Path) -> float:
    """OpenColorIO's own 33-node table to three channels on one thread, built before the clock starts."""
    lut = OCIO.Lut3DTransform(gridSize=33)
    lut.setInterpolation(OCIO.INTERP_TETRAHEDRAL)
    processor = OCIO.Config.CreateRaw().getProcessor(lut)
    cpu = processor.getOptimizedCPUProcessor(OCIO.BIT_DEPTH_UINT16, OCIO.BIT_DEPTH_UINT16, OCIO.OPTIMIZATION_DEFAULT)
    pixels = np.ascontiguousarray(pixels_of(folder))
    image = OCIO.PackedImageDesc(
        pixels, pixels.shape[1], pixels.shape[0], 3, OCIO.BIT_DEPTH_UINT16, 2, 6, 6 * pixels.shape[1]
    )
    began = time.perf_counter()
    cpu.apply(image)
    return time.perf_counter() - began


def ours_proof(folder: Path) -> float:
    """A whole proof of the picture at 2560 pixels, from the file to the PNG and its report."""
    home = folder / "home"
    profile = folder / "cmyk.icc"
    profile.write_bytes(cmyk())
    ticket = start_ticket(home, Wish(folder / "master.tif", "A3", profile=profile))
    began = time.perf_counter()
    prove(home, ticket.ticket, out=folder / "proof.png")
    return time.perf_counter() - began


def libvips_proof(folder: Path) -> float:
    """The same journey by plain libvips: shrink, to CMYK and back to sRGB, PNG; no report and no measured table."""
    profile = folder / "cmyk.icc"
    profile.write_bytes(cmyk())
    (folder / "srgb.icc").write_bytes(srgb_profile())
    began = time.perf_counter()
    image = pyvips.Image.new_from_file(str(folder / "master.tif"), access="sequential")
    small = image.resize(2560 / image.width)
    inks = small.icc_transform(str(profile), intent="relative", black_point_compensation=True, depth=16)
    shown = inks.icc_transform(str(folder / "srgb.icc"), input_profile=str(profile), intent="absolute", depth=8)
    shown.write_to_file(str(folder / "plain.png"))
    return time.perf_counter() - began


def correction_alone(folder: Path) -> None:
    """A million colours through the correction."""
    correct(np.random.default_rng(1).uniform(0, 100, (1_000_000, 3)), Correction(lightness=2, contrast=1.05))


RUNS: dict[str, tuple[Callable[[Path], float | None], str]] = {
    "ours: table, composing included": (ours_table, "engine"),
    "ours: table alone": (ours_lookup, "engine"),
    "littleCMS 16 bit, unoptimised, 1 thread": (littlecms_direct, "engine"),
    "littleCMS 16 bit, ordinary flags, 1 thread": (littlecms_default, "engine"),
    "libvips icc_transform": (libvips_transform, "engine"),
    "OpenColorIO 33³, RGB to RGB, 1 thread": (opencolorio_plain, "engine"),
    "ours: proof with report": (ours_proof, "proof"),
    "libvips: shrink, there and back, PNG": (libvips_proof, "proof"),
    "correction, a million colours": (correction_alone, "small"),
}


def main() -> None:
    """Run everything in turns and write the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", action="store_true", help="a twelfth of the pixels, for a quick look")
    parser.add_argument("--one", help=argparse.SUPPRESS)
    parser.add_argument("--folder", type=Path, help=argparse.SUPPRESS)
    chosen = parser.parse_args()
    if chosen.one:
        sys.stdout.write(json.dumps(one(chosen.one, chosen.folder)))
        return
    width, height = (1732, 1155) if chosen.small else (6000, 4000)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        prepare(folder, width, height)
        found = {run: [apart(run, folder) for _ in range(TURNS)] for run in RUNS}
    PAGE.write_text("\n".join([*page(found, width, height), *finals(small=chosen.small)]) + "\n")


def prepare(folder: Path, width: int, height: int) -> None:
    """The demo's picture as an array and as a tagged 16-bit TIFF."""
    from wallworthy.raster.form import FileForm
    from wallworthy.raster.write import write_picture

    pixels = render_scene(width, height)
    np.save(folder / "pixels.npy", pixels)
    form = FileForm("tiff", width, height, 3, 16, "RGB", 300.0, working_profile())
    write_picture(folder / "master.tif", [pixels], form)


def apart(run: str, folder: Path) -> dict[str, float]:
    words = [sys.executable, "-m", "benchmarks.engine", "--one", run, "--folder", str(folder)]
    done = subprocess.run(words, capture_output=True, text=True, cwd=ROOT, check=True)
    return dict(json.loads(done.stdout))


def one(run: str, folder: Path) -> dict[str, float]:
    """One run in this process: seconds, processor seconds and peak memory in MB."""
    began, spent = time.perf_counter(), time.process_time()
    inner = RUNS[run][0](folder)
    wall = time.perf_counter() - began
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {"wall_s": inner if inner is not None else wall, "cpu_s": time.process_time() - spent, "peak_mb": peak}


def page(found: dict[str, list[dict[str, float]]], width: int, height: int) -> Iterator[str]:
    yield "# How fast, with how much memory"
    yield ""
    yield "Made by `.venv/bin/python -m benchmarks.engine`; do not edit. Medians of three runs, each a process of its"
    yield f"own, in turns; {width} x {height} pixels of the demo's picture."
    yield f"Python {platform.python_version()}, {platform.machine()}, {os.cpu_count()} processors."
    yield "Machines differ and are noisy: the ratios count. Processor time includes reading and setting up."
    yield ""
    for group, title, base in (
        ("engine", "From wide RGB to four measured inks, 16 bits", "littleCMS 16 bit, unoptimised, 1 thread"),
        ("proof", "A soft proof at 2560 pixels, from the file to the PNG", "libvips: shrink, there and back, PNG"),
        ("small", "Parts", "correction, a million colours"),
    ):
        yield f"## {title}"
        yield ""
        yield "| | wall s | processor s | peak MB | wall, against the last column's run |"
        yield "|---|---|---|---|---|"
        reference = median(found[base], "wall_s")
        for run, (_, belongs) in RUNS.items():
            if belongs == group:
                values = [median(found[run], key) for key in ("wall_s", "cpu_s", "peak_mb")]
                yield f"| {run} | {values[0]:.2f} | {values[1]:.2f} | {values[2]:.0f} | {values[0] / reference:.2f} x |"
        yield ""
        yield f"Compared with: {base}."
        yield ""


def median(runs: list[dict[str, float]], key: str) -> float:
    return statistics.median(run[key] for run in runs)


def finals(*, small: bool) -> Iterator[str]:
    """The final's own benchmark, run the same way."""
    words = [sys.executable, "benchmarks/final.py", *(["--small"] if small else [])]
    done = subprocess.run(words, capture_output=True, text=True, cwd=ROOT, check=True)
    yield "## The final, to 200 megapixels" if not small else "## The final, small"
    yield ""
    yield done.stdout.strip()


if __name__ == "__main__":
    main()
