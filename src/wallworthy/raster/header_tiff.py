"""The header of a TIFF: tifffile reads the directories, here they are held against the file; no pixel is decoded.

TIFF Revision 6.0 (1992) and BigTIFF. tifffile passes over what it can't follow and says so in its
log only: a ring of directories, a tag that points beyond the end, too few strips. A master with
such a fault is refused.
"""

from __future__ import annotations

import io
import logging
import math
from collections.abc import Generator
from contextlib import contextmanager
from operator import index
from typing import IO, Any, Final, cast

import numpy as np
import tifffile

from wallworthy.base.errors import InputError
from wallworthy.base.records import Notice
from wallworthy.raster.capture import exif_of
from wallworthy.raster.facts import Alpha, RasterFacts, Space
from wallworthy.raster.opened import OpenedFile
from wallworthy.raster.refusals import check_size, check_whole, damaged, truncated, unsupported

NO_COMPRESSION: Final = 1
JPEG: Final = 7
COMPRESSIONS: Final = frozenset((1, 5, 7, 8, 32946, 32773, 34925, 50000))
"""None, LZW, JPEG, deflate under both its numbers, PackBits, LZMA, zstd."""
UNPREDICTABLE: Final = frozenset((1, 7, 32773))
SAMPLE_KINDS: Final = ("u1", "u2", "f2", "f4")
SEGMENTS_LIMIT: Final = 4_000_000
PAGES_LIMIT: Final = 4096
VALUE_LIMIT_BYTES: Final = 32 << 20
"""The longest tag: a list of four million strips' places."""
NEEDED: Final = frozenset(
    (254, 256, 257, 258, 259, 262, 266, 273, 274, 277, 278, 279, 284, 317, 320, 322, 323, 324, 325, 332, 334, 338)
) | frozenset((339, 347, 32997, 32998, 34675))
"""Tags without which the pixels or their colours would be taken for something else."""
NO_VENDORS: Final = dict.fromkeys(("is_ndpi", "is_lsm", "is_scanimage", "is_philips", "is_vista", "is_indica"), False)

logging.getLogger("tifffile").addHandler(logging.NullHandler())  # it would speak on stderr otherwise


class _Stream(io.RawIOBase):
    """The opened file as tifffile wants to read it, in steps that no lying tag can make long."""

    def __init__(self, file: OpenedFile) -> None:
        self._file = file
        self._at = 0

    def seekable(self) -> bool:
        return True

    def tell(self) -> int:
        return self._at

    def seek(self, offset: int, whence: int = 0) -> int:
        self._at = offset + (0, self._at, self._file.size)[whence]
        return self._at

    def read(self, size: int = -1) -> bytes:
        if not 0 <= size <= VALUE_LIMIT_BYTES:
            raise ValueError("a tag claims an absurd length")
        data = self._file.read(self._at, size)
        self._at += len(data)
        return data

    def readinto(self, buffer: Any, /) -> int:
        data = self.read(len(memoryview(buffer).cast("B")))
        memoryview(buffer).cast("B")[: len(data)] = data
        return len(data)


@contextmanager
def tiff_opened(file: OpenedFile) -> Generator[tifffile.TiffFile]:
    """tifffile's view of the file. Whatever it raises inside the block becomes an InputError."""
    try:
        with tifffile.TiffFile(cast(IO[bytes], _Stream(file)), **NO_VENDORS) as tiff:
            yield tiff
    except (InputError, GeneratorExit):
        raise
    except Exception:
        # A directory of nonsense makes tifffile raise ValueError, TypeError, struct.error and others, as it happens.
        raise damaged(file.path, "its directory contradicts itself") from None


def read_tiff(file: OpenedFile) -> RasterFacts:
    """Facts of a TIFF's first full picture. Raises InputError when it is damaged or of a kind not read."""
    with tiff_opened(file) as tiff:
        number, pages = _full_page(file, tiff)
        page = cast(tifffile.TiffPage, tiff.pages[number])
        check_layout(file, page)
        exif = exif_of(page)
        icc = page.tags.valueof(34675) or None
        space = _space(file, page)
        alpha, notices = _alpha(page, space)
        if pages > 1:
            notices = (*notices, Notice("first_picture", f"The file holds {pages} pictures; the first is used."))
        width, height = index(page.imagewidth), index(page.imagelength)
        return RasterFacts(
            path=file.path,
            format="TIFF",
            width_px=height if exif.orientation >= 5 else width,
            height_px=width if exif.orientation >= 5 else height,
            orientation=exif.orientation,
            bits=sample_type(page).itemsize * 8,
            floating=sample_type(page).kind == "f",
            space=space,
            alpha=alpha,
            icc=None if icc is None else bytes(icc),
            said_space="srgb" if exif.said_srgb and icc is None else None,
            capture=exif.capture,
            notices=notices,
            stamp=file.stamp,
            page=number,
        )


def sample_type(page: tifffile.TiffPage) -> np.dtype[Any]:
    """The samples' type; CIELab's a* and b* are signed whatever the tag says."""
    dtype = np.dtype(page.dtype)
    return np.dtype(f"u{dtype.itemsize}") if dtype.kind == "i" and page.photometric == 8 else dtype


def planes(page: tifffile.TiffPage) -> int:
    """How many planes the channels lie in: 1 when they lie side by side."""
    return page.samplesperpixel if page.planarconfig == 2 else 1


def grid(page: tifffile.TiffPage) -> tuple[int, int, int, int]:
    """Segments down and across in a plane, and rows and columns of one."""
    rows = page.tilelength if page.is_tiled else page.rowsperstrip
    columns = page.tilewidth if page.is_tiled else page.imagewidth
    return math.ceil(page.imagelength / rows), math.ceil(page.imagewidth / columns), rows, columns


def check_layout(file: OpenedFile, page: tifffile.TiffPage) -> None:
    """Refuse a page of a kind that is not read, or whose strips or tiles can't hold what it claims."""
    check_size(file.path, index(page.imagewidth), index(page.imagelength), file.size)
    _check_tags(file, page)
    if page.compression not in COMPRESSIONS:
        raise unsupported(file.path, f"its compression (number {index(page.compression)}) is not one I know")
    if not 1 <= page.samplesperpixel <= 16:
        raise unsupported(file.path, f"it has {page.samplesperpixel} channels")
    if page.predictor not in (1, 2, 3) or (page.predictor > 1 and page.compression in UNPREDICTABLE):
        raise unsupported(file.path, f"its predictor (number {index(page.predictor)}) is not one I know")
    if page.imagedepth != 1 or page.tiledepth != 1:
        raise unsupported(file.path, "it is a stack of pictures, not one")
    if isinstance(page.bitspersample, tuple) or isinstance(page.sampleformat, tuple):
        raise unsupported(file.path, "its channels differ in their number of bits")
    fits = page.dtype is not None and sample_type(page).itemsize * 8 == page.bitspersample
    if not fits or sample_type(page).str[1:] not in SAMPLE_KINDS or (page.compression == JPEG and page.dtype != "u1"):
        form = {2: "signed ", 3: "floating-point "}.get(index(page.sampleformat), "")
        raise unsupported(file.path, f"it has {page.bitspersample}-bit {form}samples")
    _check_segments(file, page)


def _check_segments(file: OpenedFile, page: tifffile.TiffPage) -> None:
    """Every strip or tile must lie in the file and be able to hold what it claims."""
    columns = page.tilewidth if page.is_tiled else page.imagewidth
    if (page.tilelength if page.is_tiled else page.rowsperstrip) < 1 or not 1 <= columns <= page.imagewidth + 65_536:
        raise damaged(file.path, "its strips or tiles have no size")
    down, across, rows, columns = grid(page)
    count = down * across * planes(page)
    if count > SEGMENTS_LIMIT or len(page.dataoffsets) < count or len(page.databytecounts) < count:
        raise damaged(file.path, "its list of strips or tiles is incomplete")
    offsets, lengths = (np.array(list_[:count], np.float64) for list_ in (page.dataoffsets, page.databytecounts))
    row_bytes = columns * (page.samplesperpixel // planes(page)) * sample_type(page).itemsize
    needed = np.ones(count)
    if page.compression == NO_COMPRESSION:
        tall = np.full(down, rows)
        if not page.is_tiled:
            tall[-1] = page.imagelength - (down - 1) * rows
        needed = np.tile(np.repeat(tall, across), planes(page)) * row_bytes
    if np.any(lengths < needed) or np.any(offsets + lengths > file.size):
        raise truncated(file.path)
    if page.compression != NO_COMPRESSION:
        check_whole(file.path, row_bytes * rows * across * planes(page), "a TIFF compressed in one strip")


def _check_tags(file: OpenedFile, page: tifffile.TiffPage) -> None:
    """Refuse a directory of which tifffile had to leave out a tag that matters, or make up its value."""
    form = page.parent.tiff
    order = "little" if form.byteorder == "<" else "big"
    count = int.from_bytes(file.read(page.offset, form.tagnosize), order)
    table = file.read(page.offset + form.tagnosize, count * form.tagsize)
    stated = {int.from_bytes(table[at : at + 2], order) for at in range(0, len(table), form.tagsize)}
    if (stated & NEEDED) - set(page.tags.keys()):
        raise damaged(file.path, "a tag points beyond the end of the file")
    if 262 not in stated or page.planarconfig not in (1, 2):
        raise damaged(file.path, "it does not say how its colours are stored")


def _full_page(file: OpenedFile, tiff: tifffile.TiffFile) -> tuple[int, int]:
    """The first page that is no reduced image or mask (NewSubfileType bits 0 and 2), and how many there are."""
    places: set[int] = set()
    full: list[int] = []
    for number, page in enumerate(tiff.pages):
        if page.offset in places:
            raise damaged(file.path, "its directories point back at each other")
        if number >= PAGES_LIMIT:
            raise damaged(file.path, "it has more directories than a picture needs")
        places.add(page.offset)
        if not cast(tifffile.TiffPage, page).subfiletype & 0b101:
            full.append(number)
    end = tiff.pages.next_page_offset
    if not places or end is None or any(file.read(end, tiff.tiff.offsetsize)):
        raise damaged(file.path, "a directory lies beyond the end of the file")
    return (full[0], len(full)) if full else (0, 1)


def _space(file: OpenedFile, page: tifffile.TiffPage) -> Space:
    photometric, samples, ink_set = page.photometric, page.samplesperpixel, page.tags.valueof(332, 1)
    floating = sample_type(page).kind == "f"
    if photometric in (0, 1):
        return "GRAY"
    if photometric == 2 and samples >= 3:
        return "RGB"
    if photometric == 3 and samples == 1 and page.dtype == np.uint8 and _has_palette(page):
        return "RGB"
    if photometric == 5 and samples >= 4 and ink_set == 1 and page.tags.valueof(334, 4) == 4:
        return "CMYK"
    if photometric == 6 and samples == 3 and page.compression == JPEG and planes(page) == 1:
        return "RGB"
    if photometric in (8, 9) and samples >= 3 and not (floating and photometric == 9):
        return "LAB"
    raise unsupported(
        file.path, f"its colour model (photometric {index(photometric)}, {samples} channels) is not one I know"
    )


def _has_palette(page: tifffile.TiffPage) -> bool:
    return page.colormap is not None and page.colormap.shape == (3, 256)


def _alpha(page: tifffile.TiffPage, space: Space) -> tuple[Alpha, tuple[Notice, ...]]:
    """Which transparency there is (ExtraSamples 1 or 2; unspecified extras are none), with a word on other channels."""
    colours = 1 if page.photometric == 3 else {"GRAY": 1, "RGB": 3, "LAB": 3, "CMYK": 4}[space]
    alpha: Alpha = "none"
    number = alpha_channel(page)
    if number is not None and number >= colours:
        meaning = page.extrasamples[number - page.samplesperpixel]
        alpha = "premultiplied" if meaning == 1 else "straight"
    others = page.samplesperpixel - colours - (alpha != "none")
    if others <= 0:
        return alpha, ()
    text = f"The file carries {others} further channel{'s' if others > 1 else ''} (masks or selections); left out."
    return alpha, (Notice("channels_left_out", text),)


def alpha_channel(page: tifffile.TiffPage) -> int | None:
    """The first channel that is transparency."""
    for number, meaning in enumerate(page.extrasamples):
        if meaning in (1, 2):
            return page.samplesperpixel - len(page.extrasamples) + number
    return None
