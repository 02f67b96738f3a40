"""The final against a plain libvips pipeline on the same pixels: time, processor time, peak memory.

Run `python -m benchmarks.final` for a table in Markdown, with `--json` for JSON, `--small` for a
quick look. Each run is a process of its own; both read the same raw file, in strips.
Plain pipeline: libvips sequential, resize (it takes its cubic when enlarging), ICC transform to sRGB or
four inks (relative), 16-bit TIFF, deflate with predictor. Ours: strips in the working encoding, resize,
output sharpening, 65-node table to the same space, 16-bit TIFF, deflate with predictor, and the sum of
all samples. Ratios are against the plain pipeline to the same space.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.peak import peak_mb

LARGE = ((6000, 4000), (17717, 11811))
SMALL = ((1500, 1000), (4429, 2953))
RUNS = (
    "ours",
    "ours, not sharpened",
    "libvips",
    "libvips, one unsharp mask",
    "ours, CMYK",
    "ours, CMYK, not sharpened",
    "libvips, CMYK",
)


@dataclass
class RawSource:
    """Working samples from a raw file."""

    path: Path
    width_px: int
    height_px: int

    def strips(self, rows: int) -> Iterator[Any]:
        row_bytes = self.width_px * 6
        with self.path.open("rb") as file:
            while data := file.read(rows * row_bytes):
                yield np.frombuffer(data, np.uint16).reshape(-1, self.width_px, 3)


def make_picture(folder: Path, width: int, height: int) -> None:
    """Slopes, waves and grain, as a raw file of 16-bit samples in the working encoding."""
    rng = np.random.default_rng(11)
    column = np.arange(width)[None, :, None] / np.array([300.0, 170.0, 90.0])
    with (folder / "picture.raw").open("wb") as file:
        for first in range(0, height, 50):
            row = (first + np.arange(min(50, height - first)))[:, None, None]
            values = 0.5 + 0.35 * np.sin(column + row / 500) * np.cos(row / 200)
            values += rng.normal(0, 0.008, values.shape)
            file.write(np.rint(np.clip(values, 0, 1) * 65535).astype(np.uint16).tobytes())


def run_ours(folder: Path, size: tuple[int, int], to: tuple[int, int], name: str) -> None:
    import pyvips

    from wallworthy.base.records import Correction, Delivery, Fitted, LutFigures, Way
    from wallworthy.colour.working import working_to_lab
    from wallworthy.icc.engine import from_lab
    from wallworthy.icc.lut import nodes_grid
    from wallworthy.icc.read import parse_profile
    from wallworthy.icc.standard import srgb_profile
    from wallworthy.render.final import FinalPlan, render_final

    inks = "CMYK" in name
    profile = parse_profile(bytes(pyvips.Operation.call("profile_load", "cmyk")) if inks else srgb_profile())
    nodes = np.clip(from_lab(profile, working_to_lab(nodes_grid(65))), 0, 1).astype(np.float32)
    fitted = Fitted(Way.RELATIVE, Correction(), profile.sha256, profile.space, nodes, LutFigures(65, 0, 0, 0))
    plan = FinalPlan(
        *to,
        border_px=(0, 0, 0, 0),
        ppi=300.0,
        bits=16,
        format="tiff",
        sharpen="none" if name.endswith("not sharpened") else "auto",
        size_mm=(1500.0, 1000.0),
        distance_mm=1800.0,
        delivery=Delivery.NUMBERS,
        output_profile=profile.data,
    )
    render_final(RawSource(folder / "picture.raw", *size), fitted, plan, folder / "out.tif", overwrite=True)


def run_libvips(folder: Path, size: tuple[int, int], to: tuple[int, int], name: str) -> None:
    import pyvips

    from wallworthy.icc.standard import working_profile

    raw: Any = pyvips.Operation.call(
        "rawload", str(folder / "picture.raw"), *size, 3, format="ushort", interpretation="rgb16", access="sequential"
    )
    picture = raw.copy()
    picture.set_type(pyvips.GValue.blob_type, "icc-profile-data", working_profile())
    picture = picture.resize(to[0] / picture.width, vscale=to[1] / picture.height)
    if name.endswith("unsharp mask"):
        blurred = picture.gaussblur(1.0)
        picture = (picture * 2 - blurred).cast("ushort")
    picture = picture.icc_transform("cmyk" if "CMYK" in name else "srgb", intent="relative", depth=16)
    picture.tiffsave(str(folder / "out.tif"), compression="deflate", predictor="horizontal", xres=11.8, yres=11.8)


def measure(folder: Path, size: tuple[int, int], to: tuple[int, int], name: str) -> dict[str, Any]:
    """One run in this process."""
    started, used = time.perf_counter(), time.process_time()
    if name.startswith("ours"):
        run_ours(folder, size, to, name)
    else:
        run_libvips(folder, size, to, name)
    return {
        "run": name,
        "wall_s": round(time.perf_counter() - started, 1),
        "processor_s": round(time.process_time() - used, 1),
        "peak_mb": round(peak_mb()),
        "file_mb": round((folder / "out.tif").stat().st_size / 1e6),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--one", help=argparse.SUPPRESS)
    parser.add_argument("--folder", help=argparse.SUPPRESS)
    given = parser.parse_args()
    size, to = SMALL if given.small else LARGE
    if given.one:
        sys.stdout.write(json.dumps(measure(Path(given.folder), size, to, given.one)) + "\n")
        return
    with tempfile.TemporaryDirectory() as name:
        make_picture(Path(name), *size)
        rows = []
        for run in RUNS:
            command = [sys.executable, "-m", "benchmarks.final", "--one", run, "--folder", name]
            command += ["--small"] if given.small else []
            rows.append(json.loads(subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True).stdout))
    spent = {row["run"]: row["processor_s"] for row in rows}
    for row in rows:
        row["time_ratio"] = round(row["processor_s"] / spent["libvips, CMYK" if "CMYK" in row["run"] else "libvips"], 2)
    if given.json:
        sys.stdout.write(json.dumps({"from_px": size, "to_px": to, "rows": rows}) + "\n")
        return
    sys.stdout.write(f"{size[0]} x {size[1]} to {to[0]} x {to[1]}, 16-bit TIFF\n" + "\n")
    sys.stdout.write(
        "| run | wall s | processor s | processor ratio | peak MB | file MB |\n|---|---|---|---|---|---|" + "\n"
    )
    for row in rows:
        sys.stdout.write(
            "| {run} | {wall_s} | {processor_s} | {time_ratio} | {peak_mb} | {file_mb} |".format(**row) + "\n"
        )


if __name__ == "__main__":
    main()
