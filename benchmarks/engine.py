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
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import imagecodecs
import numpy as np
import PyOpenColorIO
import pyvips

from benchmarks.peak import peak_mb
from wallworthy.base.records import Correction, Way
from wallworthy.colour.correction import correct
from wallworthy.demo.scene import render_scene
from wallworthy.fit.compose import compose, device_of, direct
from wallworthy.fit.ways import source_of
from wallworthy.icc.lut import nodes_grid
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile, working_profile
from wallworthy.journey.reduced import FOLDER as REDUCED
from wallworthy.journey.tickets import Wish, start_ticket

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "reference" / "performance.md"
TURNS = 3

ocio: Any = PyOpenColorIO

Pixels = np.ndarray[Any, Any]
Work = Callable[[], Any]
Used = dict[str, float]
"""wall_s, cpu_s, peak_mb."""


def cmyk() -> bytes:
    """A published measured CMYK profile, as libvips carries it."""
    return bytes(pyvips.Operation.call("profile_load", "cmyk"))


def pixels_of(folder: Path) -> Pixels:
    return np.load(folder / "pixels.npy")


def ours_table(folder: Path) -> Work:
    """Working RGB to four inks through the composed table, composing included; floats out."""
    output, pixels = parse_profile(cmyk()), pixels_of(folder)
    source = source_of(parse_profile(working_profile()))

    def work() -> None:
        device_of(compose(output, Way.RELATIVE_BPC, Correction(lightness=2), source), pixels)

    return work


def ours_lookup(folder: Path) -> Work:
    """The table alone, composed before the clock starts."""
    output, pixels = parse_profile(cmyk()), pixels_of(folder)
    fitted = compose(output, Way.RELATIVE_BPC, Correction(), source_of(parse_profile(working_profile())))
    return lambda: device_of(fitted, pixels)


def littlecms(folder: Path, flags: int, threads: int) -> Work:
    """littleCMS, 16 bits in and out, compensated, in as many slices as threads."""
    parts = np.array_split(pixels_of(folder), threads)
    target, source = cmyk(), working_profile()

    def convert(part: Pixels) -> Pixels:
        return imagecodecs.cms_transform(
            part, source, target, colorspace="rgb", outcolorspace="cmyk", intent=1, flags=flags
        )

    def work() -> None:
        with ThreadPoolExecutor(threads) as pool:
            list(pool.map(convert, parts))

    return work


COMPENSATED = int(imagecodecs.CMS.FLAGS.BLACKPOINTCOMPENSATION)
UNOPTIMISED = COMPENSATED | int(imagecodecs.CMS.FLAGS.NOOPTIMIZE)


def libvips_transform(folder: Path) -> Work:
    """libvips' ICC transform on all its threads; inside it is littleCMS with its ordinary flags."""
    pixels = pixels_of(folder)
    profile, working = folder / "cmyk.icc", folder / "working.icc"
    profile.write_bytes(cmyk())
    working.write_bytes(working_profile())

    def work() -> None:
        image = pyvips.Image.new_from_array(pixels).copy(interpretation="rgb16")
        image.icc_transform(
            str(profile), input_profile=str(working), intent="relative", black_point_compensation=True, depth=16
        ).write_to_memory()

    return work


def opencolorio(folder: Path, threads: int) -> Work:
    """OpenColorIO's own 33-node tetrahedral table, 16 bits to 16 bits, three of the inks."""
    output = parse_profile(cmyk())
    chain = direct(output, Way.RELATIVE_BPC, Correction(), source_of(parse_profile(working_profile())))
    lut = ocio.Lut3DTransform(gridSize=33)
    lut.setInterpolation(ocio.INTERP_TETRAHEDRAL)
    lut.setData(np.ascontiguousarray(chain(nodes_grid(33))[..., :3]).ravel())
    depth = ocio.BIT_DEPTH_UINT16
    cpu = ocio.Config.CreateRaw().getProcessor(lut).getOptimizedCPUProcessor(depth, depth, ocio.OPTIMIZATION_DEFAULT)
    parts = [np.ascontiguousarray(part) for part in np.array_split(pixels_of(folder), threads)]

    def apply(part: Pixels) -> None:
        cpu.apply(ocio.PackedImageDesc(part, part.shape[1], part.shape[0], 3, depth, 2, 6, 6 * part.shape[1]))

    def work() -> None:
        with ThreadPoolExecutor(threads) as pool:
            list(pool.map(apply, parts))

    return work


COMMAND = (sys.executable, "-c", "from wallworthy.cli import main; main()", "--json", "--home")


def ours_start(folder: Path) -> Used:
    """The command that opens a ticket, process start included: it looks the master through and keeps it reduced."""
    home, profile = folder / "home", folder / "cmyk.icc"
    started(folder)
    shutil.rmtree(home / REDUCED, ignore_errors=True)
    return command(
        [*COMMAND, str(home), "start", str(folder / "master.tif"), "--size", "A3", "--profile", str(profile)]
    )


def ours_proof(folder: Path, *, kept: bool) -> Used:
    """The whole command, process start included, to the PNG and its report; the master as `start` kept it, or not."""
    ticket = started(folder)
    if not kept:
        shutil.rmtree(folder / "home" / REDUCED, ignore_errors=True)
    return command([*COMMAND, str(folder / "home"), "proof", ticket, "-o", str(folder / f"{ticket}.png")])


def started(folder: Path) -> str:
    """A new ticket of the benchmark's picture."""
    profile = folder / "cmyk.icc"
    profile.write_bytes(cmyk())
    return start_ticket(folder / "home", Wish(folder / "master.tif", "A3", profile=profile)).ticket


def libvips_proof(folder: Path) -> Used:
    """The same journey by plain libvips, process start included: shrink, to CMYK and back to sRGB, PNG.

    No report, no measured table, no check that the master is the one that was meant.
    """
    (folder / "cmyk.icc").write_bytes(cmyk())
    (folder / "srgb.icc").write_bytes(srgb_profile())
    return command([sys.executable, "-c", PLAIN_PROOF, str(folder)])


PLAIN_PROOF = """
import sys, pyvips
folder = sys.argv[1]
image = pyvips.Image.new_from_file(folder + "/master.tif", access="sequential")
small = image.resize(2560 / max(image.width, image.height))
inks = small.icc_transform(folder + "/cmyk.icc", intent="relative", black_point_compensation=True, depth=16)
shown = inks.icc_transform(folder + "/srgb.icc", input_profile=folder + "/cmyk.icc", intent="absolute", depth=8)
shown.write_to_file(folder + "/plain.png")
"""


def correction_alone(folder: Path) -> Work:
    """A million colours through the correction."""
    colours = np.random.default_rng(1).uniform(0, 100, (1_000_000, 3))
    return lambda: correct(colours, Correction(lightness=2, contrast=1.05))


DIRECT = "littleCMS, unoptimised, 1 thread"
PLAIN = "libvips: shrink, there and back, PNG"
ALONE = "correction, a million colours"

RUNS: dict[str, tuple[Callable[[Path], Work | Used], str]] = {
    "ours: table, composing included, 2 threads": (ours_table, "engine"),
    "ours: table alone, 2 threads": (ours_lookup, "engine"),
    DIRECT: (lambda folder: littlecms(folder, UNOPTIMISED, 1), "engine"),
    "littleCMS, ordinary flags, 1 thread": (lambda folder: littlecms(folder, COMPENSATED, 1), "engine"),
    "littleCMS, ordinary flags, 2 threads": (lambda folder: littlecms(folder, COMPENSATED, 2), "engine"),
    "libvips icc_transform, its threads": (libvips_transform, "engine"),
    "OpenColorIO 33³, three inks only, 1 thread": (lambda folder: opencolorio(folder, 1), "engine"),
    "OpenColorIO 33³, three inks only, 2 threads": (lambda folder: opencolorio(folder, 2), "engine"),
    "ours: `wallworthy proof` after `start`, with its report": (lambda folder: ours_proof(folder, kept=True), "proof"),
    "ours: `wallworthy proof` where nothing was kept": (lambda folder: ours_proof(folder, kept=False), "proof"),
    "ours: `wallworthy start`, which reads every pixel": (ours_start, "proof"),
    PLAIN: (libvips_proof, "proof"),
    ALONE: (correction_alone, "small"),
}


def main() -> None:
    """Run everything in turns and write the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", action="store_true", help="a twelfth of the pixels, printed; writes no page")
    parser.add_argument("--one", help=argparse.SUPPRESS)
    parser.add_argument("--folder", type=Path, help=argparse.SUPPRESS)
    chosen = parser.parse_args()
    if chosen.one:
        sys.stdout.write(json.dumps(one(chosen.one, chosen.folder)))
        return
    width, height = (1732, 1155) if chosen.small else (6000, 4000)
    found: dict[str, list[Used]] = {run: [] for run in RUNS}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        prepare(folder, width, height)
        for _ in range(TURNS):
            for run, results in found.items():
                results.append(apart(run, folder))
    text = "\n".join([*page(found, width, height), *finals(small=chosen.small)]) + "\n"
    if chosen.small:
        sys.stdout.write(text)
    else:
        PAGE.write_text(text, encoding="utf-8")


def prepare(folder: Path, width: int, height: int) -> None:
    """The demo's picture as an array and as a tagged 16-bit TIFF."""
    from wallworthy.raster.form import FileForm
    from wallworthy.raster.write import write_picture

    pixels = render_scene(width, height)
    np.save(folder / "pixels.npy", pixels)
    form = FileForm("tiff", width, height, 3, 16, "RGB", 300.0, working_profile())
    write_picture(folder / "master.tif", [pixels], form)


def apart(run: str, folder: Path) -> Used:
    words = [sys.executable, "-m", "benchmarks.engine", "--one", run, "--folder", str(folder)]
    done = subprocess.run(words, stdout=subprocess.PIPE, text=True, cwd=ROOT, check=True)
    return dict(json.loads(done.stdout))


def one(run: str, folder: Path) -> Used:
    """One run in this process: seconds and processor seconds of the work without its set-up, peak memory in MB."""
    prepared = RUNS[run][0](folder)
    if isinstance(prepared, dict):
        return prepared
    began, spent = time.perf_counter(), time.process_time()
    prepared()
    wall, processor = time.perf_counter() - began, time.process_time() - spent
    return {"wall_s": wall, "cpu_s": processor, "peak_mb": peak_mb()}


def command(words: list[str]) -> Used:
    """A command's seconds, its processor seconds and its peak memory in MB, as the kernel counted them for it.

    A small process starts it, because a started process's peak begins with that of the one that started it.
    """
    done = subprocess.run([sys.executable, "-c", WAIT, *words], stdout=subprocess.PIPE, text=True, cwd=ROOT, check=True)
    return dict(json.loads(done.stdout))


WAIT = """
import json, os, subprocess, sys, time
began = time.perf_counter()
child = subprocess.Popen(sys.argv[1:], stdout=subprocess.DEVNULL)
_, status, used = os.wait4(child.pid, 0)
assert status == 0, status
wall = time.perf_counter() - began
print(json.dumps({"wall_s": wall, "cpu_s": used.ru_utime + used.ru_stime, "peak_mb": used.ru_maxrss / 1024}))
"""


def page(found: dict[str, list[Used]], width: int, height: int) -> Iterator[str]:
    yield "# How fast, with how much memory"
    yield ""
    yield "Made by `.venv/bin/python -m benchmarks.engine`; do not edit. Medians of three runs, each a process of its"
    yield f"own, in turns; {width} x {height} pixels of the demo's picture."
    yield f"Python {platform.python_version()}, {platform.machine()}, {os.cpu_count()} processors, imagecodecs"
    yield f"{imagecodecs.__version__}, OpenColorIO {ocio.__version__}, libvips {'.'.join(map(str, vips_version()))}."
    yield "Machines differ and are noisy: ratios count, of processor time before those of the clock."
    yield "Time is that of the work without loading and setting up, except where the row says otherwise; memory is the"
    yield "whole process, the picture and, in the first table, our own libraries included in every row."
    yield ""
    for group, title, base in (
        ("engine", "From wide RGB to four measured inks, 16 bits in", DIRECT),
        (
            "proof",
            "A soft proof at 2560 pixels, process start included; libvips reads the file",
            PLAIN,
        ),
        ("small", "Parts", ALONE),
    ):
        yield f"## {title}"
        yield ""
        yield "| | wall s | processor s | peak MB | wall ratio | processor ratio |"
        yield "|---|---|---|---|---|---|"
        bases = [median(found[base], key) for key in ("wall_s", "cpu_s")]
        for run, (_, belongs) in RUNS.items():
            if belongs == group:
                wall, cpu, peak = (median(found[run], key) for key in ("wall_s", "cpu_s", "peak_mb"))
                ratios = f"{wall / bases[0]:.2f} | {cpu / max(bases[1], 1e-6):.2f}"
                yield f"| {run} | {wall:.2f} | {cpu:.2f} | {peak:.0f} | {ratios} |"
        yield ""
        if group != "small":
            yield f"Ratios against: {base}."
            yield ""


def vips_version() -> tuple[int, int, int]:
    return pyvips.version(0), pyvips.version(1), pyvips.version(2)


def median(runs: list[Used], key: str) -> float:
    return statistics.median(run[key] for run in runs)


def finals(*, small: bool) -> Iterator[str]:
    """The final's own benchmark, run the same way."""
    words = [sys.executable, "-m", "benchmarks.final", *(["--small"] if small else [])]
    done = subprocess.run(words, stdout=subprocess.PIPE, text=True, cwd=ROOT, check=True)
    yield "## The final, to 200 megapixels" if not small else "## The final, small"
    yield ""
    yield done.stdout.strip()


if __name__ == "__main__":
    main()
