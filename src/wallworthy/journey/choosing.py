"""The map of a way that is chosen for the picture: read the picture small, look at it, choose."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final

from wallworthy.base.records import Box, Master, Way
from wallworthy.journey.recent import Recent
from wallworthy.journey.sources import GreySource, PartSource

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from wallworthy.base.pixels import PixelSource
    from wallworthy.base.ticket import HangsWith
    from wallworthy.fit.detail import Detailed, Reach
    from wallworthy.fit.whole import Whole
    from wallworthy.fit.wishes import Wish
    from wallworthy.icc.read import Profile
    from wallworthy.journey.chain import Job

    Printed = Callable[[NDArray[np.float32]], NDArray[np.float32]]
    Codes = NDArray[np.uint16]

SAMPLE_PIXELS: Final = 250_000
PAID_COLOURS: Final = 20_000
MOST_STEP: Final = 32
"""Blocks (`fit.detail.Reach`) of a part looked at from near are never larger: what is read around it stays bounded, and
of prints seen from afar the broadest of the fine part is left out."""
MOST_PER_DEGREE: Final = 30.0
"""Finer than this the eye tells little apart in texture of low contrast."""


def chosen_for(job: Job) -> Whole:
    """The map for a job's picture, paper, size and distance; remembered. Raises InputError as reading a master does.

    The picture is taken before any correction, so that a test sheet's tiles and the final share one map.
    """
    return _chosen(_Asked.by(job))


def hanging_together(jobs: Sequence[Job], tickets: tuple[str, ...] = ()) -> HangsWith:
    """The set of these jobs: its tones are the mean of theirs, each with the same say. Raises as reading does."""
    from wallworthy.base.ticket import HangsWith
    from wallworthy.fit.tone import Tones
    from wallworthy.fit.whole import tones_of

    members: list[Tones] = []
    for job in jobs:
        picture, per_degree = _looked_at(job)
        weight = _weight(picture, job.must_not_suffer) if job.must_not_suffer else None
        members.append(tones_of(as_printed(job, _small(picture)), per_degree, weight))
    tones = Tones.together(members)
    lines = (tones.share, tones.texture, tones.asked)
    return HangsWith(tickets, *(tuple(round(float(part), 9) for part in line) for line in lines))


def as_printed(job: Job, picture: NDArray[np.float32]) -> NDArray[np.float32]:
    """A picture of a job's master, (H, W, 3) in the working encoding, as it is meant: in greys for black and white."""
    if job.black_and_white is None:
        return picture
    from wallworthy.fit.greys import in_grey

    return in_grey(picture)


def as_wanted(job: Job, picture: NDArray[np.float32]) -> NDArray[np.float32]:
    """What the print of a picture made by `as_printed` is held against: black and white in its tone."""
    if job.black_and_white is None:
        return picture
    from wallworthy.fit.greys import in_tone

    return in_tone(picture, job.black_and_white)


def who_pays(job: Job) -> tuple[str, ...]:
    """What comes of what must not suffer, and who gains and pays, in sentences; nothing where nothing was asked."""
    if not job.must_not_suffer or job.source.chosen is None:
        return ()
    from wallworthy.colour.working import working_to_lab
    from wallworthy.fit.wishes import asked_for, paid

    asked = _Asked.by(job)
    plain = _chosen(replace(asked, wishes=(), drawn=False))
    small = _small(asked.picture)
    lab = working_to_lab(as_printed(job, small))
    wishes = asked_for(working_to_lab(small), lab, _wishes(asked.picture, asked.wishes))
    few = tuple(replace(one, lab=_thinned(one.lab)) for one in wishes)
    return paid(plain, job.source.chosen, _thinned(lab.reshape(-1, 3)), few, shared=job.hangs_with is not None)


def _thinned(colours: NDArray[np.float64]) -> NDArray[np.float64]:
    return colours[:: max(1, len(colours) // PAID_COLOURS)]


def viewed(job: Job, codes: Codes | None = None) -> tuple[NDArray[np.float32], float]:
    """The picture as a choice looks at it, small, (H, W, 3) in the working encoding, and its pixels a degree.

    codes: the shown picture in a larger size, made small in its place; else the master is read.
    """
    picture, per_degree = _looked_at(job)
    if codes is None:
        return as_printed(job, _small(picture)), per_degree
    from wallworthy.journey.held import InMemory
    from wallworthy.raster.scale import scaled_picture

    return as_printed(job, scaled_picture(InMemory(codes), *picture.size_px)), per_degree


def _looked_at(job: Job) -> tuple[_Picture, float]:
    rows, columns = job.shown_px[2], job.shown_px[3]
    per_degree = px_per_degree(job, columns / job.size_mm[0])
    shrink = min(1.0, math.sqrt(SAMPLE_PIXELS / (rows * columns)), MOST_PER_DEGREE / per_degree)
    size = max(1, round(columns * shrink)), max(1, round(rows * shrink))
    return _Picture(job.master, job.crop_px, size), round(per_degree * shrink, 3)


def px_per_degree(job: Job, px_per_mm: float) -> float:
    """Pixels on a degree of view at the job's distance."""
    return px_per_mm * job.distance_mm * math.tan(math.radians(1))


def _detailed(job: Job) -> Detailed | None:
    """The map of a job whose picture is drawn out for it; None by all other ways."""
    if job.way is not Way.DETAIL:
        return None
    from wallworthy.fit.detail import Detailed

    return job.source.chosen if isinstance(job.source.chosen, Detailed) else None


def printed_source(job: Job, crop: Box | None) -> PixelSource:
    """A part of the master's pixels as they go to the paper: for `detail` drawn out as in the whole print."""
    from wallworthy.master.source import working_source

    chosen = _detailed(job)
    if chosen is None:
        return working_source(job.master, crop, job.way)  # greys are made by the chain, after scaling
    from wallworthy.fit.detail import DrawnSource, reach_for
    from wallworthy.fit.lights import Frame

    top, left, height, width = job.shown_px
    per_degree = px_per_degree(job, width / job.size_mm[0])
    part = crop or (0, 0, job.master.height_px, job.master.width_px)
    read = _with_surroundings((part[0] - top, part[1] - left, *part[2:]), (height, width), reach_for(per_degree))
    source = working_source(job.master, (top + read[0], left + read[1], *read[2:]), job.way)
    whole = source if job.black_and_white is None else GreySource(source)
    drawn = DrawnSource(whole, chosen, per_degree, Frame(read[0], read[1], height, width))
    return PartSource(drawn, (part[0] - top - read[0], part[1] - left - read[1], *part[2:]))


def _with_surroundings(part: Box, size: tuple[int, int], reach: Reach) -> Box:
    """A part of the shown picture (rows, columns) in its pixels, with what counts for how it is drawn out."""
    top, left, rows, columns = part
    above, before = (max(0, first // reach.step * reach.step - reach.halo) for first in (top, left))
    below, behind = min(size[0], top + rows + reach.halo), min(size[1], left + columns + reach.halo)
    return above, before, below - above, behind - before


def printed_by(job: Job, lab_of: Printed, px_per_mm: float) -> Printed:
    """What a whole picture prints, from what its colours print: for `detail` drawn out for its map first."""
    chosen = _detailed(job)
    if chosen is None:
        return lab_of
    from wallworthy.fit.detail import drawn_by

    return lambda picture: lab_of(drawn_by(picture, chosen, px_per_degree(job, px_per_mm)))


def drawn_window(job: Job, window: Callable[[Box], Codes], size_px: tuple[int, int], box: Box) -> Codes:
    """A part of the shown picture at a size (width, height) as it goes to the paper, in codes: for `detail` drawn
    out for its map. window: gives such parts of the picture itself, and is asked for what lies around, too.
    """
    chosen = _detailed(job)
    if chosen is None:
        return window(box)
    import numpy as np

    from wallworthy.fit.detail import Reach, drawn_part, reach_for
    from wallworthy.fit.lights import Frame

    width, height = size_px
    per_degree = px_per_degree(job, width / job.size_mm[0])
    reach = reach_for(per_degree)
    if box[2:] != (height, width):
        reach = Reach(min(reach.step, MOST_STEP))
    top, left, rows, columns = box
    read = _with_surroundings(box, (height, width), reach)
    full = np.float32(65535)
    picture = as_printed(job, window(read).astype(np.float32) / full)
    drawn = drawn_part(picture, chosen, per_degree, Frame(read[0], read[1], height, width), reach)
    drawn = drawn[top - read[0] :, left - read[1] :][:rows, :columns]
    return np.rint(drawn * full).astype(np.uint16)


def drawn_codes(job: Job, codes: Codes) -> Codes:
    """The same of the whole shown picture (H, W, 3)."""
    height, width = codes.shape[:2]
    return drawn_window(job, lambda box: codes, (width, height), (0, 0, height, width))


class _Picture:
    """A master by its contents: what a choice is remembered by."""

    def __init__(self, master: Master, crop: Box | None, size_px: tuple[int, int]) -> None:
        self.master, self.crop, self.size_px = master, crop, size_px

    @property
    def _key(self) -> tuple[object, ...]:
        return self.master.sha256, hash(self.master.profile), self.crop, self.size_px

    def __hash__(self) -> int:
        return hash(self._key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Picture) and self._key == other._key


class _Paper:
    def __init__(self, output: Profile) -> None:
        self.output = output

    def __hash__(self) -> int:
        return hash(self.output.sha256)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Paper) and self.output.sha256 == other.output.sha256


@lru_cache(maxsize=8)
def _small(picture: _Picture) -> Any:
    from wallworthy.master.source import working_source
    from wallworthy.raster.scale import scaled_picture

    return scaled_picture(working_source(picture.master, picture.crop, Way.WHOLE), *picture.size_px)


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a map is chosen for, and remembered by."""

    picture: _Picture
    paper: _Paper
    px_per_degree: float
    wishes: tuple[str, ...]
    grey: bool
    hangs_with: HangsWith | None
    way: Way
    drawn: bool = True
    """With what `detail` draws out; the map alone is chosen in half the time."""

    @staticmethod
    def by(job: Job) -> _Asked:
        picture, per_degree = _looked_at(job)
        grey = job.black_and_white is not None
        return _Asked(picture, _Paper(job.output), per_degree, job.must_not_suffer, grey, job.hangs_with, job.way)


CHOSEN: Final[Recent[Whole]] = Recent(32)


def _chosen(asked: _Asked) -> Whole:
    """Made once, however many ask at a time."""
    return CHOSEN.get(asked, lambda: _choose(asked))


def _choose(asked: _Asked) -> Whole:
    import numpy as np

    from wallworthy.fit.boundary import boundary
    from wallworthy.fit.greys import in_grey
    from wallworthy.fit.tone import Tones
    from wallworthy.fit.whole import choose_for_picture

    weight = _weight(asked.picture, asked.wishes) if asked.wishes else None
    small = in_grey(_small(asked.picture)) if asked.grey else _small(asked.picture)
    tones = None
    if (together := asked.hangs_with) is not None:
        tones = Tones(*(np.array(line) for line in (together.share, together.texture, together.asked)))
    bounds, output = boundary(asked.paper.output), asked.paper.output
    if asked.way is Way.DETAIL and asked.drawn:
        from wallworthy.fit.detail import choose_detail

        return choose_detail(small, bounds, output, asked.px_per_degree, weight, tones)
    return choose_for_picture(small, bounds, asked.px_per_degree, weight, tones, asked.way)


def _weight(picture: _Picture, wishes: tuple[str, ...]) -> NDArray[np.float64]:
    """How much each pixel of the small picture matters, (H, W)."""
    from wallworthy.colour.working import working_to_lab
    from wallworthy.fit.wishes import weights_of

    return weights_of(working_to_lab(_small(picture)), _wishes(picture, wishes))


def _wishes(picture: _Picture, texts: tuple[str, ...]) -> tuple[Wish, ...]:
    """The wishes for the small picture; places are kept in the master's pixels."""
    from wallworthy.fit.wishes import Wish, wish_of

    small = _small(picture)
    top, left, height, width = picture.crop or (0, 0, picture.master.height_px, picture.master.width_px)
    down, across = small.shape[0] / height, small.shape[1] / width

    def wish(text: str) -> Wish:
        box = place_of(text)
        if box is None:
            return wish_of(text)
        first = math.floor((box[0] - top) * down), math.floor((box[1] - left) * across)
        last = math.ceil((box[0] + box[2] - top) * down), math.ceil((box[1] + box[3] - left) * across)
        return Wish(box=(*first, last[0] - first[0], last[1] - first[1]))

    return tuple(wish(text) for text in texts)


def place_of(text: str) -> Box | None:
    """The box of 'row,column,height,width'; None for a kind by its name.

    >>> place_of("10,20,30,40"), place_of("shadows")
    ((10, 20, 30, 40), None)
    """
    parts = text.split(",")
    if len(parts) != 4 or not all(part.strip().isdigit() for part in parts):
        return None
    row, column, height, width = (int(part) for part in parts)
    return row, column, height, width


def wishes_kept(texts: Sequence[str], master: Master) -> tuple[str, ...]:
    """What must not suffer, checked and tidied, each once; 'none' alone takes all away. Raises InputError."""
    from wallworthy.fit.wishes import wish_of
    from wallworthy.journey.sizing import checked_crop

    if [text.strip().lower() for text in texts] == ["none"]:
        return ()
    kept: dict[str, None] = {}
    for text in texts:
        box = place_of(text)
        said = str(wish_of(text).kind) if box is None else ",".join(str(edge) for edge in checked_crop(box, master))
        kept[said] = None
    return tuple(kept)
