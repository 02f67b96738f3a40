"""Write docs/reference/fit.md: what each way keeps of a picture, over public pictures and papers.

    .venv/bin/python -m benchmarks.fit

Pictures: scikit-image's shipped ones, scikit-learn's two where that is installed, our own rendered
scenes in a wide space. Conditions: the demo's three papers, characterised, and the published CMYK
profiles (scripts/fetch-published). FLIP judges where the PyPI evaluator is installed.
"""

from __future__ import annotations

import importlib.util
import platform
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, replace
from functools import cache, cached_property, partial
from itertools import product
from pathlib import Path
from time import perf_counter
from typing import Any

import numpy as np
import pyvips
from numpy.typing import NDArray
from skimage import data as shipped
from skimage import io
from skimage.transform import resize

from benchmarks.fit_tables import Seen, promises, table, worse
from wallworthy.base.records import Correction, Way
from wallworthy.colour.bradford import bradford_matrix
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, xyz_to_lab
from wallworthy.colour.probes import D65_XYZ, SRGB_PRIMARIES_XY
from wallworthy.colour.working import lab_to_working, rgb_to_xyz_matrix, working_to_lab
from wallworthy.demo.more_scenes import render_night, render_snow
from wallworthy.demo.printer import VirtualPrinter
from wallworthy.demo.profiling import characterised
from wallworthy.demo.scene import render_scene
from wallworthy.fit.boundary import boundary, lab_to_jpt
from wallworthy.fit.compose import compose
from wallworthy.fit.detail import Detailed, choose_detail, drawn_part, reach_for
from wallworthy.fit.figures import distinct_steps, figures_of, largest_step, ramps, reversed_tones
from wallworthy.fit.inverse import nearest_device
from wallworthy.fit.lights import Frame
from wallworthy.fit.reference_ways import LabReach, hpminde, sgck
from wallworthy.fit.ways import lab_to_device, source_of
from wallworthy.fit.whole import Whole, choose_for_picture
from wallworthy.icc.gamut import surface
from wallworthy.icc.lut import Nodes, apply_lut
from wallworthy.icc.quick import print_lab
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.icc.standard import srgb_profile, working_profile

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "reference" / "fit.md"
PUBLISHED = ROOT / ".cache" / "published"
SHIPPED = ("astronaut", "chelsea", "coffee", "hubble_deep_field", "rocket", "retina", "ihc", "motorcycle_left")
SCENES = {
    "bay": render_scene,
    "snow": render_snow,
    "night": render_night,
    "another bay": partial(render_scene, seed=7),
    "another snow": partial(render_snow, seed=7),
    "another night": partial(render_night, seed=7),
}
TUNED_ON = ("bay", "astronaut", "flower", "coffee", "rocket", "retina", "china", "night")
"""Numbers of `fit.whole` and `fit.boundary` were chosen by looking at these on gloss, matt and FOGRA39, small; those of
`fit.tone` by looking at all pictures but the following."""
HELD_OUT = ("camera", "coins", "moon", "motorcycle_right", "another bay", "another snow", "another night")
"""Nothing was chosen by looking at these. Three are grey, four have a sibling among the others."""
PAPERS = ("gloss", "lab", "matt")
STANDARD = ("perceptual", "relative", "relative-bpc")
WAYS = (*STANDARD, "HPMINDE", "SGCK", "whole", "detail")
TOLD = ("relative-bpc", "whole", "detail")
"""Ways that held-out pictures are printed by."""
PIXELS = 80_000
PX_PER_DEGREE = 30.0
BEYOND_DE00 = 1.0
STEPS = np.arange(26.0)
STRIPE = 2 * reach_for(PX_PER_DEGREE).halo
"""Rows of each ramp and columns of each step when a way looks at neighbours, too: the middle one sees no other's."""
PLACES = (0.25, 0.5, 0.75)
"""Of the picture, each way, where `detail` is asked what it does to a chart; the worst of them counts."""
SMALL = 1_000_000
"""Of a picture with so many rows and columns a chart is a place."""

Array = NDArray[Any]


def main() -> None:
    """Measure and write the page."""
    started = perf_counter()
    papers = conditions()
    tasks = [(name, data, picture) for name, data in papers.items() for picture in pictures()]
    with ProcessPoolExecutor(2) as pool:
        seen = [one for many in pool.map(_measured, tasks, chunksize=len(pictures())) for one in many]
    known, held = ([one for one in seen if (one.picture in HELD_OUT) == wanted] for wanted in (False, True))
    PAGE.write_text("\n".join(_page(known, held, perf_counter() - started)) + "\n")


@cache
def pictures() -> dict[str, Array]:
    """Working RGB, 0-1, of about PIXELS each."""
    found = {name: _from_srgb(_reduced(_shipped(name))) for name in (*SHIPPED, *HELD_OUT) if name not in SCENES}
    if (library := importlib.util.find_spec("sklearn")) is not None and library.origin is not None:
        for name in ("china", "flower"):
            path = Path(library.origin).parent / "datasets" / "images" / f"{name}.jpg"
            found[name] = _from_srgb(_reduced(np.asarray(io.imread(path))))
    for name, render in SCENES.items():
        found[name] = (render(348, 232) / np.float32(65535)).astype(np.float32)
    return found


def _shipped(name: str) -> Array:
    folder = Path(shipped.__file__).parent
    path = next(path for ending in ("png", "jpg") if (path := folder / f"{name}.{ending}").is_file())
    picture = np.asarray(io.imread(path))
    return picture[..., :3] if picture.ndim == 3 else np.repeat(picture[..., None], 3, axis=-1)


def _reduced(picture: Array) -> Array:
    shrink = min(1.0, (PIXELS / (picture.shape[0] * picture.shape[1])) ** 0.5)
    size = round(picture.shape[0] * shrink), round(picture.shape[1] * shrink)
    return resize(picture, size, anti_aliasing=True, preserve_range=True) / 255


def _from_srgb(rgb: Array) -> Array:
    light = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    to_xyz = bradford_matrix(D65_XYZ, PCS_WHITE) @ rgb_to_xyz_matrix(SRGB_PRIMARIES_XY, D65_XYZ)
    return np.clip(lab_to_working(xyz_to_lab(light @ to_xyz.T)), 0, 1).astype(np.float32)


def _to_srgb(lab: Array) -> Array:
    to_xyz = bradford_matrix(D65_XYZ, PCS_WHITE) @ rgb_to_xyz_matrix(SRGB_PRIMARIES_XY, D65_XYZ)
    light = np.clip(lab_to_xyz(lab) @ np.linalg.inv(to_xyz).T, 0, 1)
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055).astype(np.float32)


def conditions() -> dict[str, bytes]:
    """Profiles by name; the published ones only where they were fetched."""
    found = {paper: characterised(VirtualPrinter(paper, "first")) for paper in PAPERS}
    found["CMYK, measured"] = bytes(pyvips.Operation.call("profile_load", "cmyk"))
    if (fogra := PUBLISHED / "ISOcoated_v2_300_bas.icc").is_file():
        found["FOGRA39"] = fogra.read_bytes()
    return found


class Press:
    """Everything that is asked of one condition."""

    def __init__(self, name: str, data: bytes) -> None:
        self.profile: Profile = parse_profile(data, name)
        self.hull, self.bounds = surface(self.profile), boundary(self.profile)
        self.reach = LabReach(self.hull, self.bounds.black_lstar)

    def printed(self, asked: Array) -> Array:
        """The print of Lab in the condition, by our own inversion, (..., 3)."""
        device = nearest_device(self.profile, asked.reshape(-1, 3).astype(np.float32))
        return print_lab(self.profile, device).reshape(asked.shape).astype(np.float64)

    def table(self, chosen: Whole) -> Nodes:
        """What `whole` and `detail` print by."""
        source = replace(source_of(parse_profile(working_profile())), chosen=chosen)
        nodes = compose(self.profile, Way.WHOLE, Correction(), source).nodes
        assert nodes is not None
        return nodes

    @cached_property
    def paper_step(self) -> float:
        """The largest step of the paper's own, dE00: from bare paper to each full ink and each mixture of them."""
        ink, inks = np.linspace(0, 1, 256)[:, None], self.profile.channels
        ends = np.array([end for end in product((0.0, 1.0), repeat=inks) if 0 < sum(end) <= 3])
        device = ink * ends[:, None]
        device = 1 - device if self.profile.space == "RGB" else device
        lab = print_lab(self.profile, device.reshape(-1, inks).astype(np.float32))
        return largest_step(lab.reshape(*device.shape[:2], 3).astype(np.float64))

    @cached_property
    def even(self) -> Array:
        """The master's ramps in steps as large as the paper's own, dE00, (13, n, 3); the last colour again at ends."""
        lines = np.clip(lab_to_working(ramps(4096)), 0, 1)
        lab = working_to_lab(lines)
        along = np.pad(np.cumsum(ciede2000(lab[:, 1:], lab[:, :-1]), axis=1), ((0, 0), (1, 0)))
        at = np.arange(np.ceil(along[:, -1].max() / self.paper_step)) * self.paper_step
        return np.stack(
            [
                np.stack([np.interp(np.minimum(at, at[at <= way[-1]][-1]), way, part) for part in line.T], axis=-1)
                for way, line in zip(along, lab, strict=True)
            ]
        )

    def by(self, way: str, chosen: Whole, nodes: Nodes, lab: Array, source: bytes, place: float | None = None) -> Array:
        """The print of a picture in Lab (H, W, 3) by a way; of a chart that lies at one place of the picture."""
        flat = lab.reshape(-1, 3)
        if way in STANDARD:
            device = lab_to_device(self.profile, Way(way), source_of(parse_profile(source)))(flat)
            return print_lab(self.profile, device).reshape(lab.shape).astype(np.float64)
        if way in ("HPMINDE", "SGCK"):
            return self.printed((hpminde if way == "HPMINDE" else sgck)(flat, self.reach).reshape(lab.shape))
        picture = np.clip(lab_to_working(lab), 0, 1).astype(np.float32)
        if way == "detail":
            assert isinstance(chosen, Detailed)
            rows, columns = picture.shape[:2]
            frame = Frame(0, 0, rows, columns)
            if place is not None:
                frame = Frame(round(place * SMALL), round(place * SMALL), SMALL, SMALL)
            picture = drawn_part(picture, chosen, PX_PER_DEGREE, frame)
        device = apply_lut(nodes, picture).reshape(-1, self.profile.channels)
        return print_lab(self.profile, device).reshape(lab.shape).astype(np.float64)


@cache
def _press(name: str, data: bytes) -> Press:
    return Press(name, data)


def _measured(task: tuple[str, bytes, str]) -> list[Seen]:
    """All ways for one picture on one paper."""
    condition, data, name = task
    press, picture = _press(condition, data), pictures()[name]
    master = working_to_lab(picture)
    chosen_maps = {
        Way.WHOLE: choose_for_picture(picture, press.bounds, PX_PER_DEGREE),
        Way.DETAIL: choose_detail(picture, press.bounds, press.profile, PX_PER_DEGREE),
    }
    maps = {way: (chosen, press.table(chosen)) for way, chosen in chosen_maps.items()}
    source = working_profile() if name in SCENES else srgb_profile()
    beyond = press.hull.beyond_de00(master) > BEYOND_DE00
    inside = float(press.bounds.inside(lab_to_jpt(master)).mean())
    found: list[Seen] = []
    for way in TOLD if name in HELD_OUT else WAYS:
        chosen, nodes = maps[Way.DETAIL if way == "detail" else Way.WHOLE]
        printed = press.by(way, chosen, nodes, master, source)
        figures = asdict(figures_of(master, printed, beyond, PX_PER_DEGREE))
        figures |= _charted(press, way, chosen, nodes, source)
        figures["flip"] = _flip(master, printed)
        if way == "whole":
            figures["moved_inside"] = float(ciede2000(master, chosen.lab(master)).mean()) if inside > 0.999 else np.nan
        found.append(Seen(name, condition, way, figures))
    return found


def _charted(press: Press, way: str, chosen: Whole, nodes: Nodes, source: bytes) -> dict[str, float]:
    """What a way does to ramps, shadow steps and greys."""
    lines = working_to_lab(np.clip(lab_to_working(ramps(256)), 0, 1))
    steps = np.stack([STEPS, 0 * STEPS, 0 * STEPS], axis=-1)[None]
    even = np.nan  # by `detail` a ramp is no ramp of colours alone: what lies beside them counts
    own = largest_step(lines)
    if way == "detail":
        wide = np.repeat(lines, STRIPE, axis=0), np.repeat(np.repeat(steps, STRIPE, axis=1), STRIPE, axis=0)
        printed = [[press.by(way, chosen, nodes, chart, source, place) for chart in wide] for place in PLACES]
        middle = STRIPE // 2
        found = [(ramped[middle::STRIPE], stepped[middle : middle + 1, middle::STRIPE]) for ramped, stepped in printed]
    else:
        found = [(press.by(way, chosen, nodes, lines, source), press.by(way, chosen, nodes, steps, source))]
        even = largest_step(press.by(way, chosen, nodes, press.even, source))
    greys = np.stack([ramped[0] for ramped, _ in found])
    held = press.hull.inside((greys * [1, 0, 0]).reshape(-1, 3)).reshape(greys.shape[:2])
    return {
        "largest_step": max(largest_step(ramped) for ramped, _ in found),
        "grey_step": max(largest_step(ramped[:1]) for ramped, _ in found),
        "own_step": own,
        "paper_step": press.paper_step,
        "even_step": even,
        "even_own": largest_step(press.even),
        "distinct_steps": float(min(distinct_steps(stepped[0, :, 0]) for _, stepped in found)),
        "reversed": float(any(reversed_tones(ramp[:, 0]) for ramp in greys)),
        "grey_de00": float(ciede2000(greys, greys * [1, 0, 0])[held].max(initial=0.0)),
    }


def _flip(master: Array, printed: Array) -> float:
    if importlib.util.find_spec("flip_evaluator") is None:
        return float("nan")
    import flip_evaluator

    asked = {"ppd": PX_PER_DEGREE}
    _, mean, _ = flip_evaluator.evaluate(_to_srgb(master), _to_srgb(printed), "LDR", parameters=asked, applyMagma=False)
    return float(mean)


def _page(seen: list[Seen], held: list[Seen], seconds: float) -> Iterator[str]:
    papers = list(dict.fromkeys(one.condition for one in seen))
    names = list(dict.fromkeys(one.picture for one in seen))
    yield "# What each way keeps of a picture"
    yield ""
    yield "Made by `.venv/bin/python -m benchmarks.fit`; do not edit. "
    yield f"Python {platform.python_version()}, {platform.machine()}; {seconds / 60:.0f} minutes."
    yield ""
    yield f"{len(names)} pictures of about {PIXELS / 1e6:.2f} megapixels, seen at {PX_PER_DEGREE:.0f} pixels a degree,"
    yield f"on {len(papers)} conditions. Rays and knees were tuned on {', '.join(TUNED_ON)}, small, on three of the"
    yield "conditions, tone curves on all of them; the held-out ones were only measured, once, when all was chosen."
    yield "Figures are defined in `wallworthy.fit.figures`. HPMINDE and SGCK are what CIE156 compares with, constants"
    yield "from memory. All but the three standard ways go to inks by our own inversion of the A2B1, `whole` and"
    yield "`detail` by the table that prints."
    own = {one.condition: (one.figures["own_step"], one.figures["paper_step"]) for one in seen}
    yield f"The master's own ramps have steps of up to {own[papers[0]][0]:.2f} dE00, where grey turns into"
    yield f"colour. Ramps of the paper's own inks, in 256 steps: {', '.join(f'{p} {own[p][1]:.2f}' for p in papers)}."
    yield "So the master's ramps are printed in another sampling, too, each of their steps as large as the paper's own:"
    yield "what is larger in the print is where a way stretches them."
    yield "Charts are asked of `detail` at three places of the picture, the worst of which counts."
    yield "What is not kept, and why, is told in [why/fit.md](../why/fit.md)."
    for title, part in (
        ("All", seen),
        (f"Held out: {', '.join(HELD_OUT)}", held),
        *((f"On {paper}", [one for one in seen if one.condition == paper]) for paper in papers),
    ):
        yield ""
        yield f"## {title}"
        yield ""
        yield from table(part)
    yield ""
    yield "## Held against what was promised"
    yield ""
    yield from promises(seen)
    yield ""
    yield "## Pictures where `whole` or `detail` is worse than relative-bpc in more than one figure"
    yield ""
    yield from worse(seen, papers, names)


if __name__ == "__main__":
    main()
