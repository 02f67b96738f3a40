"""The way `detail`: what its map flattens is drawn out beforehand, so that it survives the squeeze.

The map takes local contrast where it compresses. How much it takes is known at every pixel: the
difference in lightness between the picture and its print. The fine part of that difference, parted from its edges
by an edge-keeping mean (He2013, guided by itself), is what the print shall have more; and by place and tone, what
makes it most alike to the master (`fit.lights`). What must be added to the picture for that, before the map, is
found by asking the map itself. The map then clips to the paper at constant hue as ever, and no step of colour is left
to be done twice.

All means are taken over blocks and windows that lie on the picture's own grid, in a fixed order: a
tile comes out as the same pixels of the whole picture do.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, fields, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.pixels import PixelSource
from wallworthy.base.records import Way
from wallworthy.colour.working import lab_to_working, working_lightness, working_to_lab
from wallworthy.fit.boundary import Boundary
from wallworthy.fit.inverse import nearest_device
from wallworthy.fit.lights import NOWHERE, Frame, Lights, lights_for
from wallworthy.fit.tone import KNOTS, Tones
from wallworthy.fit.whole import Whole, choose_for_picture
from wallworthy.icc.lut import Nodes, nodes_grid, prepared_lut
from wallworthy.icc.quick import print_lab
from wallworthy.icc.read import Profile
from wallworthy.raster.stream import rechunk

Floats = NDArray[np.float32]
Map = Callable[[Floats], Floats]
"""Working RGB (H, W, 3), 0-1, to the print in the same encoding."""

MAP_NODES: Final = 33
RADIUS_DEG: Final = 0.6
"""Half the window of the mean, degrees of view: 18 pixels at 30 a degree."""
EDGE: Final = np.float32(0.077)
"""Differences in lightness, working RGB (L* / 100), above which an edge is kept as one, without a halo."""
KEPT: Final = np.float32(1.25)
"""A little more than was lost: where a clip takes its share, the rest makes up for it."""
LIGHTNESS: Final = np.array([0.3, 0.6, 0.1], np.float32)
"""Lightness of small differences in working RGB, roughly: shares of luminance of its primaries, evened."""
MOST: Final = np.float32(0.1)
"""Most that the print shall ever have more, working RGB: beside the hardest edges, where the rest would be a halo."""
FLATTEST: Final = np.float32(0.33)
"""Slope of the map below which no more is drawn out."""
UNSURE: Final = np.float32(0.002)
"""Differences, working RGB, below which a slope can't be told from them."""
DARK: Final = np.float32(0.4)
"""Lightness below which colours are darkened towards black, the more the darker they are."""
FARTHEST: Final = np.float32(0.4)
"""Most that is ever added to the picture, working RGB."""
ASKED: Final = 2
"""How often the map is asked what is still short."""
BLOCKS: Final = 3
"""Blocks in half a window."""


@dataclass(frozen=True, slots=True, eq=False)
class Detailed(Whole):
    """A chosen map, and what its picture is drawn out by beforehand."""

    print_nodes: Nodes = field(repr=False)
    """What working RGB prints as, in the same encoding: a table of MAP_NODES, for differences."""
    lights: Lights | None = field(repr=False)


def choose_detail(
    picture: Floats,
    bounds: Boundary,
    output: Profile,
    px_per_degree: float,
    weight: NDArray[np.float64] | None = None,
    tones: Tones | None = None,
) -> Detailed:
    """Choose for a picture (H, W, 3), as `choose_for_picture` does, and what is drawn out of it on this paper.

    tones: of a set, whose members have their lightness by one curve, so that neighbours agree, and none by place.
    """
    chosen = choose_for_picture(picture, bounds, px_per_degree, weight, tones, Way.DETAIL)
    asked = chosen.lab(working_to_lab(nodes_grid(MAP_NODES))).astype(np.float32)
    device = nearest_device(output, asked.reshape(-1, 3))
    nodes = lab_to_working(print_lab(output, device).reshape(asked.shape)).astype(np.float32)
    printed = prepared_lut(nodes)
    lights = None
    if tones is None:
        lightness = working_lightness(picture)
        drawn = working_lightness(printed(drawn_out(picture, printed, px_per_degree)))
        # colours that the map makes lighter or darker than greys, so as to keep their strength, are meant so
        meant = lightness + working_lightness(printed(picture)) - np.interp(lightness, KNOTS, chosen.tone)
        black = float(working_lightness(nodes[0, 0, 0]))
        light = picture @ LIGHTNESS
        lights = lights_for(lightness, light, drawn, black, px_per_degree, weight, wanted=meant, tone=chosen.tone)
    map_fields = {name.name: getattr(chosen, name.name) for name in fields(Whole)}
    return Detailed(**map_fields, print_nodes=nodes, lights=lights)


@dataclass(frozen=True, slots=True)
class Reach:
    """The filter's geometry in pixels: blocks of `step`, windows of 2 BLOCKS + 1 of them."""

    step: int

    @property
    def halo(self) -> int:
        """Rows above and below that a strip needs, a whole number of blocks."""
        return self.step * (2 * BLOCKS + 2)


def reach_for(px_per_degree: float) -> Reach:
    """Blocks for a viewing resolution.

    >>> reach_for(30.0).step, reach_for(400.0).halo
    (6, 640)
    """
    return Reach(max(1, round(RADIUS_DEG * px_per_degree / BLOCKS)))


def drawn_out(picture: Floats, printed: Map, px_per_degree: float) -> Floats:
    """The picture (H, W, 3) with the fine part of what the map takes added, working RGB 0-1."""
    drawing = Drawing(printed, reach_for(px_per_degree))
    return np.concatenate(list(drawn_out_strips(iter([picture]), drawing, len(picture))))


def drawn_by(picture: Floats, chosen: Detailed, px_per_degree: float) -> Floats:
    """A whole shown picture (H, W, 3), drawn out for the map that was chosen for it."""
    return drawn_part(picture, chosen, px_per_degree, Frame(0, 0, *picture.shape[:2]))


def drawn_part(
    picture: Floats, chosen: Detailed, px_per_degree: float, frame: Frame, reach: Reach | None = None
) -> Floats:
    """The same for a part of it that lies there: right but for a `Reach.halo` along edges that are not the whole's.

    reach: another one than that of the viewing resolution.
    """
    drawing = Drawing(prepared_lut(chosen.print_nodes), reach or reach_for(px_per_degree), chosen.lights, frame)
    return np.concatenate(list(drawn_out_strips(iter([picture]), drawing, len(picture))))


@dataclass(frozen=True, slots=True)
class Drawing:
    """Everything that decides what is drawn out of a picture."""

    printed: Map
    reach: Reach
    lights: Lights | None = None
    frame: Frame = NOWHERE
    """Where the rows lie in the shown picture; only `lights` ask for it."""


def drawn_out_strips(strips: Iterator[Floats], drawing: Drawing, rows: int = 0) -> Iterator[Floats]:
    """The same in strips of about `rows`, given in strips of any height; equal to the whole, pixel for pixel.

    Holds two strips and their halos. Rows are worked in multiples of a block from the top.
    """
    reach, done = drawing.reach, 0
    rows = max(math.ceil(max(rows, 1) / reach.step), 2 * BLOCKS + 2) * reach.step
    held: Floats | None = None
    above = 0
    ended = False
    while not ended or held is not None:
        while not ended and (held is None or held.shape[0] < above + rows + reach.halo):
            more = next(strips, None)
            if more is None:
                ended = True
            else:
                held = more if held is None else np.concatenate([held, more])
        if held is None:
            return
        count = min(rows, held.shape[0] - above)
        last = above + count == held.shape[0]
        window = held[: above + count + reach.halo]
        yield _window(window, drawing, slice(above, above + count), done)
        done += count
        if last:
            return
        start = above + count
        keep = min(start, reach.halo)
        held, above = held[start - keep :], keep


class DrawnSource:
    """A `PixelSource` with what the chosen map takes drawn out; read in strips, as the source it stands on.

    frame: where the source lies in the whole shown picture, in its pixels.
    """

    def __init__(self, source: PixelSource, chosen: Detailed, px_per_degree: float, frame: Frame) -> None:
        self._source = source
        self._drawing = Drawing(prepared_lut(chosen.print_nodes), reach_for(px_per_degree), chosen.lights, frame)

    @property
    def width_px(self) -> int:
        return self._source.width_px

    @property
    def height_px(self) -> int:
        return self._source.height_px

    def strips(self, rows: int) -> Iterator[NDArray[np.uint16]]:
        """Strips of `rows` from the top, (rows, width, 3) uint16. Errors of the source pass through."""
        floats = (strip.astype(np.float32) / np.float32(65535) for strip in self._source.strips(rows))
        drawn = drawn_out_strips(floats, self._drawing, rows)
        return rechunk((np.rint(strip * np.float32(65535)).astype(np.uint16) for strip in drawn), rows)


def _window(picture: Floats, drawing: Drawing, rows: slice, done: int) -> Floats:
    """`rows` of a window that begins on a block's edge and has a halo at edges that are not the picture's own; `done`
    rows lie above them."""
    printed = drawing.printed
    before = printed(picture)
    more = _fine(np.asarray((picture - before) @ LIGHTNESS, dtype=np.float32), drawing.reach)[rows]
    picture, before = picture[rows], before[rows] @ LIGHTNESS
    if drawing.lights is not None:
        frame = replace(drawing.frame, top=drawing.frame.top + done)
        more += drawing.lights.at(picture @ LIGHTNESS, frame)
    gained = printed(_lighter(picture, more)) @ LIGHTNESS - before
    slope = np.clip((gained * more + UNSURE**2) / (more**2 + UNSURE**2), FLATTEST, 1)
    added = np.asarray(more / slope, dtype=np.float32)
    for _ in range(ASKED):
        added += (before + more - printed(_lighter(picture, added)) @ LIGHTNESS) / slope
    return _lighter(picture, np.asarray(FARTHEST * np.tanh(added / FARTHEST), dtype=np.float32))


def _lighter(picture: Floats, added: Floats) -> Floats:
    """A picture (H, W, 3) lighter by so much (H, W), or darker.

    All three channels alike; but dark colours are darkened towards black, where else one of them would end first.
    """
    light = picture @ LIGHTNESS
    dark = np.where(added < 0, np.clip(1 - light / DARK, 0, 1), 0)
    towards = 1 + dark[..., None] * (picture / np.maximum(light, UNSURE)[..., None] - 1)
    return np.asarray(np.clip(picture + added[..., None] * towards, 0, 1), dtype=np.float32)


def _fine(lost: Floats, reach: Reach) -> Floats:
    """What the print shall have more, (H, W): the fine part of the lightness the map takes, parted from its edges."""
    blocks = _Blocks(lost.shape[0], lost.shape[1], reach.step)
    lost = lost[..., None]
    mean = blocks.mean(lost)
    count = blocks.window(np.ones_like(mean))

    def local(values: Floats) -> Floats:
        return blocks.window(values) / count

    mean = local(mean)
    spread = local(blocks.mean(lost * lost)) - mean**2
    edge = 1 - (EDGE**2 / (np.maximum(spread, 0) + EDGE**2)) ** 2
    # lost - (edge lost + (1 - edge) mean) = (1 - edge)(lost - mean)
    fine = blocks.spread(local(1 - edge)) * lost - blocks.spread(local((1 - edge) * mean))
    return np.asarray(KEPT * MOST * np.tanh(fine[..., 0] / MOST), dtype=np.float32)


class _Blocks:
    """Means over blocks of `step` pixels from the upper left, sums over windows of blocks, and back to pixels."""

    def __init__(self, height: int, width: int, step: int) -> None:
        self.shape, self.step = (height, width), step

    def mean(self, plane: Floats) -> Floats:
        """Block means of (H, W, K), (h, w, K); blocks cut by the edge count what they have."""
        step = self.step
        if step == 1:
            return plane
        height, width = self.shape
        short = (-height % step, -width % step)
        padded = np.pad(plane, ((0, short[0]), (0, short[1]), (0, 0)))
        down, across = padded.shape[0] // step, padded.shape[1] // step
        # one addition at a time: the order, and so the last bit, does not depend on how the picture was cut
        rows = padded.reshape(down, step, padded.shape[1], -1)
        total = rows[:, 0].copy()
        for n in range(1, step):
            total += rows[:, n]
        columns = total.reshape(down, across, step, -1)
        result = columns[:, :, 0].copy()
        for n in range(1, step):
            result += columns[:, :, n]
        tall = np.full((down, 1, 1), step, np.float32)
        wide = np.full((1, across, 1), step, np.float32)
        tall[-1], wide[0, -1] = step - short[0], step - short[1]
        return np.asarray(result / (tall * wide), dtype=np.float32)

    def window(self, blocks: Floats) -> Floats:
        """Sums over 2 BLOCKS + 1 blocks each way; beyond the picture there is nothing."""
        return np.asarray(_summed(_summed(blocks, 0), 1), dtype=np.float32)

    def spread(self, blocks: Floats) -> Floats:
        """Back to pixels, straight lines between the middles of blocks, (H, W, K)."""
        return self._spread_along(self._spread_along(blocks, 0), 1)

    def _spread_along(self, blocks: Floats, axis: int) -> Floats:
        place = (np.arange(self.shape[axis]) + 0.5) / self.step - 0.5
        low = np.floor(place).astype(np.int64)
        share = (place - low).astype(np.float32)
        size = blocks.shape[axis]
        shape = [1, 1, 1]
        shape[axis] = -1
        near = np.take(blocks, np.clip(low, 0, size - 1), axis=axis)
        far = np.take(blocks, np.clip(low + 1, 0, size - 1), axis=axis)
        return np.asarray(near + share.reshape(shape) * (far - near), dtype=np.float32)


def _summed(blocks: Floats, axis: int) -> Floats:
    """Sums over 2 BLOCKS + 1 blocks along one axis."""
    pad = [(0, 0)] * 3
    pad[axis] = (BLOCKS, BLOCKS)
    padded = np.pad(blocks, pad)
    size = blocks.shape[axis]
    total = np.take(padded, range(size), axis=axis)
    for n in range(1, 2 * BLOCKS + 1):
        total = total + np.take(padded, range(n, n + size), axis=axis)
    return total
