"""JPEG XL (ISO/IEC 18181) by imagecodecs, and its header through the libjxl that comes with it.

The codec's Python face hands out pixels but neither the profile nor the header, which must be known
before any pixel is decoded; the profile itself is entropy-coded, so no small reader gets at it. So
the C functions for the header are called by name through the codec's own module, which is linked to
them (docs/decisions/0003-raster-libraries.md).
"""

from __future__ import annotations

import ctypes
import struct
from collections.abc import Generator
from contextlib import contextmanager
from ctypes import POINTER, byref, c_double, c_float, c_int, c_size_t, c_uint32, c_uint64, c_void_p
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Notice
from wallworthy.raster.capture import exif_facts
from wallworthy.raster.facts import RasterFacts
from wallworthy.raster.opened import OpenedFile
from wallworthy.raster.refusals import check_size, check_whole, damaged, truncated, unsupported
from wallworthy.raster.spool import canvas

SUCCESS: Final = 0
NEED_MORE_INPUT: Final = 2
BASIC_INFO: Final = 0x40
COLOUR: Final = 0x100
TARGET_DATA: Final = 1
THREADS: Final = 2
BAND_ROWS: Final = 128
PROFILE_LIMIT_BYTES: Final = 64 << 20
D65_WHITE, SRGB_PRIMARIES, P3_PRIMARIES = 1, 1, 11
SRGB_CURVE, PQ_CURVE, HLG_CURVE = 13, 16, 18


class _Info(ctypes.Structure):
    """JxlBasicInfo, jxl/codestream_header.h."""

    _fields_ = [
        ("have_container", c_int), ("xsize", c_uint32), ("ysize", c_uint32), ("bits_per_sample", c_uint32),
        ("exponent_bits", c_uint32), ("intensity_target", c_float), ("min_nits", c_float),
        ("relative_to_max", c_int), ("linear_below", c_float), ("uses_original_profile", c_int),
        ("have_preview", c_int), ("have_animation", c_int), ("orientation", c_int),
        ("num_color_channels", c_uint32), ("num_extra_channels", c_uint32), ("alpha_bits", c_uint32),
        ("alpha_exponent_bits", c_uint32), ("alpha_premultiplied", c_int), ("preview", c_uint32 * 2),
        ("animation", c_uint32 * 4), ("intrinsic", c_uint32 * 2), ("padding", ctypes.c_uint8 * 100),
    ]  # fmt: skip


class _Colour(ctypes.Structure):
    """JxlColorEncoding, jxl/color_encoding.h."""

    _fields_ = [
        ("color_space", c_int), ("white_point", c_int), ("white_xy", c_double * 2), ("primaries", c_int),
        ("corners_xy", c_double * 6), ("transfer_function", c_int), ("gamma", c_double), ("intent", c_int),
    ]  # fmt: skip


@dataclass(slots=True)
class _Header:
    info: _Info
    icc: bytes | None = field(default=None, repr=False)
    said: Literal["srgb", "display-p3"] | None = None
    hdr: bool = False


@lru_cache(maxsize=1)
def _library() -> Any:
    from imagecodecs import _jpegxl  # pyright: ignore[reportAttributeAccessIssue, reportPrivateUsage]

    library: Any = ctypes.CDLL(_jpegxl.__file__)
    library.JxlDecoderCreate.restype = c_void_p
    library.JxlDecoderCreate.argtypes = [c_void_p]
    library.JxlDecoderDestroy.argtypes = [c_void_p]
    library.JxlDecoderSubscribeEvents.argtypes = [c_void_p, c_int]
    library.JxlDecoderSetInput.argtypes = [c_void_p, c_void_p, c_size_t]
    library.JxlDecoderCloseInput.argtypes = [c_void_p]
    library.JxlDecoderProcessInput.argtypes = [c_void_p]
    library.JxlDecoderGetBasicInfo.argtypes = [c_void_p, POINTER(_Info)]
    library.JxlDecoderGetICCProfileSize.argtypes = [c_void_p, c_int, POINTER(c_size_t)]
    library.JxlDecoderGetColorAsICCProfile.argtypes = [c_void_p, c_int, c_void_p, c_size_t]
    library.JxlDecoderGetColorAsEncodedProfile.argtypes = [c_void_p, c_int, POINTER(_Colour)]
    return library


@contextmanager
def _decoder(file: OpenedFile) -> Generator[tuple[Any, int]]:
    """A decoder fed with the whole file, mapped read-only."""
    try:
        library = _library()
    except (ImportError, OSError, AttributeError):
        raise unsupported(file.path, "the JPEG XL library can't be reached on this system") from None
    data = np.memmap(file.path, dtype=np.uint8, mode="r")
    decoder = library.JxlDecoderCreate(None)
    try:
        library.JxlDecoderSubscribeEvents(decoder, BASIC_INFO | COLOUR)
        library.JxlDecoderSetInput(decoder, data.ctypes.data, data.size)
        library.JxlDecoderCloseInput(decoder)
        yield library, decoder
    finally:
        library.JxlDecoderDestroy(decoder)


def read_jxl(file: OpenedFile) -> RasterFacts:
    """Facts of a JPEG XL; the decoder turns it upright itself. Raises InputError."""
    header = _header(file)
    info = header.info
    check_size(file.path, info.xsize, info.ysize, file.size)
    extra = 1 if info.alpha_bits else 0
    size = info.xsize * info.ysize * (info.num_color_channels + extra)
    bits = info.bits_per_sample
    check_whole(file.path, size * (4 if info.exponent_bits else 2 if bits > 8 else 1), "a JPEG XL")
    if bits > (32 if info.exponent_bits else 16):
        raise unsupported(file.path, f"it has {bits}-bit samples")
    if header.hdr:
        raise unsupported(file.path, "its colours are coded for a video or HDR system")
    if info.num_color_channels not in (1, 3) or info.num_extra_channels > extra:
        raise unsupported(file.path, "it has ink or data channels, which I read only from TIFF")
    exif = exif_facts(_exif(file))
    animated = (Notice("first_picture", "The JPEG XL is an animation; its first picture is used."),)
    return RasterFacts(
        path=file.path,
        format="JPEG XL",
        width_px=info.xsize,
        height_px=info.ysize,
        orientation=1,
        bits=bits,
        floating=info.exponent_bits > 0,
        space="GRAY" if info.num_color_channels == 1 else "RGB",
        alpha="none" if not extra else "premultiplied" if info.alpha_premultiplied else "straight",
        icc=header.icc,
        said_space=header.said,
        capture=exif.capture,
        notices=animated if info.have_animation else (),
        stamp=file.stamp,
        whole=True,
    )


def decode_jxl(file: OpenedFile, facts: RasterFacts) -> NDArray[Any]:
    """The whole picture, upright: (height, width, channels), uint8, uint16 or float32."""
    import imagecodecs

    channels = facts.channels + (facts.alpha != "none")
    whole, half = (np.float32, np.float16) if facts.floating else (np.uint16, np.uint8)
    dtype: Any = half if facts.bits <= (16 if facts.floating else 8) else whole
    picture = canvas((facts.height_px, facts.width_px, channels), dtype)
    data: Any = np.memmap(file.path, dtype=np.uint8, mode="r")
    try:
        out = picture if channels > 1 else picture[..., 0]
        imagecodecs.jpegxl_decode(data, 0, numthreads=THREADS, out=out)
    except Exception as error:
        # The codec raises an error class of its own, and ValueError when the header and the pixels disagree.
        if "NEED_MORE_INPUT" in str(error):
            raise truncated(file.path) from None
        raise damaged(file.path, "its pixels can't be decoded") from None
    if not facts.floating and facts.bits not in (8, 16):  # the codec leaves 10 bits 10 bits; make white white
        top, full = (1 << facts.bits) - 1, np.iinfo(dtype).max
        stretched = ((np.arange(top + 1) * full + top // 2) // top).astype(dtype)
        for row in range(0, facts.height_px, BAND_ROWS):
            band = picture[row : row + BAND_ROWS]
            band[:] = stretched[np.minimum(band, top)]
    return picture


def _header(file: OpenedFile) -> _Header:
    info: _Info | None = None
    with _decoder(file) as (library, decoder):
        while True:
            status = library.JxlDecoderProcessInput(decoder)
            if status == BASIC_INFO:
                info = _Info()
                library.JxlDecoderGetBasicInfo(decoder, byref(info))
            elif status == COLOUR and info is not None:
                return _colour(library, decoder, info)
            elif status == NEED_MORE_INPUT:
                raise truncated(file.path)
            else:
                raise damaged(file.path, "its header can't be followed")


def _colour(library: Any, decoder: Any, info: _Info) -> _Header:
    """The space of the decoded pixels: named where it is one of ours, else as the profile the library states."""
    header = _Header(info)
    coded = _Colour()
    if library.JxlDecoderGetColorAsEncodedProfile(decoder, TARGET_DATA, byref(coded)) == SUCCESS:
        header.hdr = coded.transfer_function in (PQ_CURVE, HLG_CURVE)
        named = {(0, SRGB_PRIMARIES): "srgb", (1, SRGB_PRIMARIES): "srgb", (0, P3_PRIMARIES): "display-p3"}
        primaries = SRGB_PRIMARIES if coded.color_space == 1 else coded.primaries
        said = named.get((coded.color_space, primaries))
        if said and coded.white_point == D65_WHITE and coded.transfer_function == SRGB_CURVE:
            header.said = "srgb" if said == "srgb" else "display-p3"
            return header
    size = c_size_t()
    known = library.JxlDecoderGetICCProfileSize(decoder, TARGET_DATA, byref(size)) == SUCCESS
    if known and 0 < size.value <= PROFILE_LIMIT_BYTES:
        buffer = ctypes.create_string_buffer(size.value)
        if library.JxlDecoderGetColorAsICCProfile(decoder, TARGET_DATA, buffer, size.value) == SUCCESS:
            header.icc = buffer.raw
    return header


def _exif(file: OpenedFile) -> bytes:
    """The Exif box of a container, without its offset; empty for a bare codestream."""
    at = 0
    while at + 8 <= file.size and file.read(0, 4) == b"\0\0\0\x0c":
        head = file.read(at, 16)
        length, kind = struct.unpack(">I4s", head[:8])
        start = 8
        if length == 1 and len(head) == 16:
            length, start = c_uint64(struct.unpack(">Q", head[8:16])[0]).value, 16
        length = length or file.size - at
        if length < start:
            break
        if kind == b"Exif":
            body = file.read(at + start, min(length - start, 1 << 20))
            skip = 4 + int.from_bytes(body[:4], "big")
            return body[skip:] if skip < len(body) else b""
        at += length
    return b""
