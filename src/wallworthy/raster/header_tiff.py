"""The header of a TIFF: Revision 6.0 (1992) and BigTIFF, every strip's place checked, no pixel decoded."""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass, field
from typing import Final

from wallworthy.base.records import Notice
from wallworthy.raster.capture import facts_of
from wallworthy.raster.facts import Alpha, RasterFacts, Space
from wallworthy.raster.opened import OpenedFile
from wallworthy.raster.refusals import check_size, check_whole, damaged, truncated, unsupported
from wallworthy.raster.tags import Directory, TagError, read_tags

COMPRESSIONS: Final = {
    1: "none", 5: "LZW", 7: "JPEG", 8: "deflate", 32946: "deflate", 32773: "PackBits", 34925: "LZMA", 50000: "zstd",
}  # fmt: skip
SEGMENTS_LIMIT: Final = 4_000_000
SAMPLE_KINDS: Final = {(1, 8): "u1", (1, 16): "u2", (3, 16): "f2", (3, 32): "f4"}


@dataclass(frozen=True, slots=True)
class TiffLayout:
    """How the samples of one page lie in the file."""

    width_px: int
    height_px: int
    samples: int
    """Channels stored, alpha and others included."""
    kind: str
    """numpy kind and size in the file's byte order, '>u2' for example."""
    compression: str
    predictor: int
    photometric: int
    planar: bool
    tiled: bool
    segment_width_px: int
    segment_height_px: int
    offsets: tuple[int, ...] = field(repr=False)
    lengths: tuple[int, ...] = field(repr=False)
    jpeg_tables: bytes = field(repr=False)
    colour_map: tuple[int, ...] = field(repr=False)
    alpha_channel: int | None
    reversed_bits: bool = False

    @property
    def across(self) -> int:
        return math.ceil(self.width_px / self.segment_width_px)

    @property
    def down(self) -> int:
        return math.ceil(self.height_px / self.segment_height_px)


def read_tiff(file: OpenedFile) -> RasterFacts:
    """Facts of a TIFF's first full picture. Raises InputError when it is damaged or of a kind not read."""
    try:
        tags = read_tags(file)
        page, pages = _full_page(tags.directories)
        directory = tags.directories[page]
        layout = tiff_layout(file, directory)
        exif = facts_of(tags, page)
        icc = directory.raw(34675) or None
        space = _space(file, directory, layout)
        alpha, alpha_notices = _alpha(directory, layout, space)
    except TagError as error:
        raise damaged(file.path, str(error)) from None
    except struct.error:
        raise damaged(file.path, "its directory contradicts itself") from None
    notices = list(alpha_notices)
    if pages > 1:
        notices.append(Notice("first_picture", f"The file holds {pages} pictures; the first is used."))
    width, height = layout.width_px, layout.height_px
    return RasterFacts(
        path=file.path,
        format="TIFF",
        width_px=height if exif.orientation >= 5 else width,
        height_px=width if exif.orientation >= 5 else height,
        orientation=exif.orientation,
        bits=int(layout.kind[2:]) * 8,
        floating=layout.kind[1] == "f",
        space=space,
        alpha=alpha,
        icc=icc,
        said_space="srgb" if exif.said_srgb and icc is None else None,
        capture=exif.capture,
        notices=tuple(notices),
        stamp=file.stamp,
        page=page,
    )


def tiff_layout(file: OpenedFile, directory: Directory) -> TiffLayout:
    """The layout of one page, checked against the file. Raises InputError or TagError."""
    width, height = directory.integer(256, 0), directory.integer(257, 0)
    check_size(file.path, width, height, file.size)
    samples = directory.integer(277, 1)
    photometric = directory.integer(262, -1)
    compression = COMPRESSIONS.get(directory.integer(259, 1))
    predictor = directory.integer(317, 1)
    if compression is None:
        raise unsupported(file.path, f"its compression (number {directory.integer(259, 1)}) is not one I know")
    if not 1 <= samples <= 16:
        raise unsupported(file.path, f"it has {samples} channels")
    if predictor not in (1, 2, 3) or (predictor > 1 and compression in ("none", "JPEG", "PackBits")):
        raise unsupported(file.path, f"its predictor (number {predictor}) is not one I know")
    tiled = 322 in directory.entries
    segment_width = directory.integer(322, 0) if tiled else width
    segment_height = directory.integer(323, 0) if tiled else min(directory.integer(278, height), height)
    if segment_width < 1 or segment_height < 1 or segment_width > width + 65_536:
        raise damaged(file.path, "its strips or tiles have no size")
    layout = TiffLayout(
        width_px=width,
        height_px=height,
        samples=samples,
        kind=directory.order + _sample_kind(file, directory, samples),
        compression=compression,
        predictor=predictor,
        photometric=photometric,
        planar=directory.integer(284, 1) == 2 and samples > 1,
        tiled=tiled,
        segment_width_px=segment_width,
        segment_height_px=segment_height,
        offsets=directory.integers(324 if tiled else 273),
        lengths=directory.integers(325 if tiled else 279),
        jpeg_tables=directory.raw(347),
        colour_map=directory.integers(320),
        alpha_channel=_alpha_channel(directory, samples),
        reversed_bits=directory.integer(266, 1) == 2,
    )
    _check_segments(file, layout)
    return layout


def _check_segments(file: OpenedFile, layout: TiffLayout) -> None:
    """Every strip or tile must lie in the file and be able to hold what it claims."""
    count = layout.across * layout.down * (layout.samples if layout.planar else 1)
    if count > SEGMENTS_LIMIT or len(layout.offsets) < count or len(layout.lengths) < count:
        raise damaged(file.path, "its list of strips or tiles is incomplete")
    inside = layout.samples if not layout.planar else 1
    row_bytes = layout.segment_width_px * inside * int(layout.kind[2:])
    for index in range(count):
        length = layout.lengths[index]
        if length < 1 or layout.offsets[index] + length > file.size:
            raise truncated(file.path)
        if layout.compression == "none":
            band = index % (layout.across * layout.down) // layout.across
            rows = layout.segment_height_px
            if not layout.tiled:
                rows = min(rows, layout.height_px - band * layout.segment_height_px)
            if length < rows * row_bytes:
                raise truncated(file.path)
    if layout.compression != "none":
        band_bytes = row_bytes * layout.segment_height_px * layout.across * (layout.samples if layout.planar else 1)
        check_whole(file.path, band_bytes, "a TIFF compressed in one strip")


def _full_page(directories: tuple[Directory, ...]) -> tuple[int, int]:
    """The first page that is no reduced image or mask (NewSubfileType bits 0 and 2), and how many there are."""
    full = [n for n, page in enumerate(directories) if not page.integer(254, 0) & 0b101 and page.integer(255, 1) == 1]
    return (full[0], len(full)) if full else (0, 1)


def _sample_kind(file: OpenedFile, directory: Directory, samples: int) -> str:
    bits = set(directory.integers(258, (1,)))
    formats = set(directory.integers(339, (1,)))
    if len(bits) != 1 or len(formats) != 1:
        raise unsupported(file.path, "its channels differ in their number of bits")
    bit, form = bits.pop(), formats.pop()
    if form in (2, 4) and bit in (8, 16) and directory.integer(262, -1) == 8:
        form = 1  # CIELab's a* and b* are signed whatever the tag says
    kind = SAMPLE_KINDS.get((1 if form == 4 else form, bit))
    if kind is None:
        raise unsupported(
            file.path, f"it has {bit}-bit {'floating-point ' if form == 3 else 'signed ' if form == 2 else ''}samples"
        )
    return kind


def _space(file: OpenedFile, directory: Directory, layout: TiffLayout) -> Space:
    photometric, samples, ink_set = layout.photometric, layout.samples, directory.integer(332, 1)
    floating = layout.kind[1] == "f"
    if photometric in (0, 1):
        return "GRAY"
    if photometric == 2 and samples >= 3:
        return "RGB"
    if photometric == 3 and samples == 1 and layout.kind[1:] == "u1" and len(layout.colour_map) == 768:
        return "RGB"
    if photometric == 5 and samples >= 4 and ink_set == 1 and directory.integer(334, 4) == 4:
        return "CMYK"
    if photometric == 6 and samples == 3 and layout.compression == "JPEG":
        return "RGB"
    if photometric in (8, 9) and samples >= 3 and not (floating and photometric == 9):
        return "LAB"
    raise unsupported(file.path, f"its colour model (photometric {photometric}, {samples} channels) is not one I know")


def _alpha_channel(directory: Directory, samples: int) -> int | None:
    """The channel that is transparency (ExtraSamples 1 or 2); unspecified extras are none."""
    extras = directory.integers(338)
    for number, meaning in enumerate(extras):
        if meaning in (1, 2):
            return samples - len(extras) + number
    return None


def _alpha(directory: Directory, layout: TiffLayout, space: Space) -> tuple[Alpha, tuple[Notice, ...]]:
    colours = 1 if layout.photometric == 3 else {"GRAY": 1, "RGB": 3, "LAB": 3, "CMYK": 4}[space]
    alpha: Alpha = "none"
    if layout.alpha_channel is not None and layout.alpha_channel >= colours:
        extras = directory.integers(338)
        alpha = "premultiplied" if extras[layout.alpha_channel - layout.samples + len(extras)] == 1 else "straight"
    others = layout.samples - colours - (alpha != "none")
    if others <= 0:
        return alpha, ()
    text = f"The file carries {others} further channel{'s' if others > 1 else ''} (masks or selections); left out."
    return alpha, (Notice("channels_left_out", text),)
