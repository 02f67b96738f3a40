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
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, fields, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.pixels import PixelSource
from wallworthy.base.records import Way
from wallworthy.colour.working import lab_to_working, working_lightness, working_to_lab
from wallworthy.fit.blocks import BLOCKS, block_means, spread, windowed, with_neighbours
from wallworthy.fit.boundary import Boundary
from wallworthy.fit.inverse import nearest_device
from wallworthy.fit.lights import NOWHERE, Frame, Lights, lights_for
from wallworthy.fit.tone import KNOTS, Tones
from wallworthy.fit.whole import Whole, choose_for_picture
from wallworthy.icc.lut import Nodes, nodes_grid, prepared_lut
from wallworthy.icc.quick import print_lab
from wallworthy.icc.read import Profile
from wallworthy.raster.stream import rechunk, rows_for

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


@dataclass(frozen=True, slots=True)
class _Waiting:
    """Rows of the picture whose surroundings are still to come."""

    picture: Floats
    print_light: Floats
    """What they print, lightness."""

    def part(self, rows: slice) -> _Waiting:
        return _Waiting(self.picture[rows], self.print_light[rows])


def drawn_out_strips(strips: Iterable[Floats], drawing: Drawing, rows: int = 0) -> Iterator[Floats]:
    """The same in strips of any height, given in strips of any height; equal to the whole, pixel for pixel.

    Worked about `rows` at a time, in whole rows of blocks; so many and those of a `Reach.halo` are held.
    """
    step = drawing.reach.step
    waiting: deque[_Waiting] = deque()

    def lost() -> Iterator[Floats]:
        for picture in rechunk(strips, math.ceil(max(rows, 1) / step) * step):
            printed = drawing.printed(picture)
            waiting.append(_Waiting(picture, np.asarray(printed @ LIGHTNESS, dtype=np.float32)))
            yield np.asarray((picture - printed) @ LIGHTNESS, dtype=np.float32)

    done = 0
    for shares in with_neighbours(_shares(lost(), step)):
        first, last = 1, len(shares) - 1
        while first < last:
            now, most = waiting.popleft(), (last - first) * step
            if len(now.picture) > most:
                waiting.appendleft(now.part(slice(most, None)))
                now = now.part(slice(most))
            height, width = now.picture.shape[:2]
            count = math.ceil(height / step)
            few = rows_for(width)
            for above in range(0, height, few):
                part = range(above, min(above + few, height))
                kept = spread(shares[first - 1 : first + count + 1], step, part, width)
                yield _drawn(now.part(slice(part.start, part.stop)), kept, drawing, done + above)
            first, done = first + count, done + height


def _shares(lost: Iterable[Floats], step: int) -> Iterator[Floats]:
    """For rows of blocks, (h, w, 2): how much of what is lost there is its fine part, parted from edges by the mean
    that keeps them, and that much of the mean itself."""
    moments = (block_means(np.stack([plane, plane * plane], axis=-1), step) for plane in lost)
    fine = (_fineness(blocks) for blocks in _local(moments))
    return _local(fine)


def _local(rows: Iterable[Floats]) -> Iterator[Floats]:
    """Means over the windows of blocks."""
    counted = (np.concatenate([blocks, np.ones_like(blocks[..., :1])], axis=-1) for blocks in rows)
    return (total[..., :-1] / total[..., -1:] for total in windowed(counted))


def _fineness(moments: Floats) -> Floats:
    mean = moments[..., 0]
    scatter = np.maximum(moments[..., 1] - mean**2, 0)
    share = (EDGE**2 / (scatter + EDGE**2)) ** 2
    return np.stack([share, share * mean], axis=-1)


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


def _drawn(now: _Waiting, kept: Floats, drawing: Drawing, done: int) -> Floats:
    """Rows drawn out; kept: (H, W, 2), `_shares` of each pixel. `done` rows of the picture lie above them."""
    picture, before, printed = now.picture, now.print_light, drawing.printed
    # lost - ((1 - share) lost + share mean) = share (lost - mean)
    fine = kept[..., 0] * (picture @ LIGHTNESS - before) - kept[..., 1]
    more = np.asarray(KEPT * MOST * np.tanh(fine / MOST), dtype=np.float32)
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
