"""The only door to littleCMS: unoptimised float transforms, in slices on two threads.

Everything here asks the CMM for its full pipeline (NOOPTIMIZE), never for its own 33-node
table, and for no black point compensation unless `convert` is told so.
"""

from __future__ import annotations

import os
import struct
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from itertools import pairwise
from typing import Any, Final, Literal

import numpy as np
from imagecodecs import cms_profile, cms_transform
from numpy.typing import ArrayLike, NDArray

from wallworthy.base.errors import InputError
from wallworthy.icc.read import Profile

Lab = NDArray[np.float32]
Device = NDArray[np.float32]
Intent = Literal["perceptual", "relative", "saturation", "absolute"]

INTENT_NUMBERS: Final[dict[Intent, int]] = {"perceptual": 0, "relative": 1, "saturation": 2, "absolute": 3}
"""ICC.1:2022, rendering intent numbers."""

INK_SPACES: Final = frozenset({"CMYK", "CMY", *(f"{n:X}CLR" for n in range(5, 16))})
"""Spaces whose floats the CMM counts in per cent of ink."""

NO_OPTIMISATION: Final = 0x0100
BLACK_POINT_COMPENSATION: Final = 0x2000

THREADS: Final = 2
SLICE_PIXELS: Final = 1 << 15
"""Fewer pixels than this a slice and the set-up (about 2 ms for a large profile) outweighs a second thread."""


def to_lab(profile: Profile, device: ArrayLike, intent: Intent = "relative") -> Lab:
    """Device values to media-relative Lab (D50) through A2B of that intent, without compensation.

    device: (..., C) floats 0-1 for RGB, grey and inks alike (Lab units for a Lab profile), C the
    profile's channels. Outside 0-1 the CMM decides: parametric curves go on at both ends, a pure
    gamma goes on above 1 and is 0 below 0, sampled curves and tables hold their end values.
    Returns (..., 3) float32, L* 0-100. 'absolute' gives media-relative Lab scaled by the media white.
    """
    return _transform(
        _as_units(device, profile.space), profile.data, _lab_profile(), profile.space, "LAB", intent, NO_OPTIMISATION
    )


def from_lab(profile: Profile, lab: ArrayLike, intent: Intent = "relative") -> Device:
    """Media-relative Lab (D50) to device values through B2A of that intent, without compensation.

    lab: (..., 3), L* 0-100; beyond a table's domain the CMM clamps to it. Returns (..., C) float32,
    0-1 for tables and sampled curves; a matrix profile with parametric curves may give values
    outside, a pure gamma values above 1.
    For version 4 profiles the CMM compensates black by itself in perceptual and saturation;
    here the profile is shown to it as version 2, so that it does not (`fit.ways` decides).
    """
    forced = profile.version[0] >= 4 and intent in ("perceptual", "saturation")
    data = _as_version_2(profile.data) if forced else profile.data
    out = _transform(
        np.asarray(lab, dtype=np.float32), _lab_profile(), data, "LAB", profile.space, intent, NO_OPTIMISATION
    )
    return _from_units(out, profile.space)


def convert(source: Profile, target: Profile, pixels: ArrayLike, intent: Intent, *, bpc: bool = False) -> NDArray[Any]:
    """The CMM's own unoptimised conversion from one profile to another: the reference for the standard ways.

    pixels: (..., C) uint8, uint16 or floats 0-1 (floats in Lab units for Lab). Returns the same
    kind of number for the target; floats as float32. Version 4 targets compensate black in
    perceptual and saturation whether asked or not: that is the CMM's rule.
    """
    pixels = np.asarray(pixels)
    flags = NO_OPTIMISATION | (BLACK_POINT_COMPENSATION if bpc else 0)
    if pixels.dtype == np.uint8 or pixels.dtype == np.uint16:
        return _transform(pixels, source.data, target.data, source.space, target.space, intent, flags, pixels.dtype)
    units = _as_units(pixels, source.space)
    out = _transform(units, source.data, target.data, source.space, target.space, intent, flags)
    return _from_units(out, target.space)


def in_slices(count: int, work: Callable[[slice], None], *, smallest: int = SLICE_PIXELS) -> None:
    """Run `work` over slices of range(count) on two threads; it writes its own slice of the result.

    Slices begin at multiples of `smallest`, so that pieces cut within them lie the same on any
    number of processors and the last bit of a result does not depend on it.
    """
    threads = min(THREADS, os.cpu_count() or 1, max(1, count // smallest))
    if threads < 2:
        work(slice(0, count))
        return
    edges = [round(count * n / threads / smallest) * smallest for n in range(threads)] + [count]
    with ThreadPoolExecutor(threads) as pool:
        for done in [pool.submit(work, slice(a, b)) for a, b in pairwise(edges)]:
            done.result()


def _transform(
    values: NDArray[Any],
    source: bytes,
    target: bytes,
    source_space: str,
    target_space: str,
    intent: Intent,
    flags: int,
    dtype: Any = np.float32,
) -> NDArray[Any]:
    shape = values.shape[:-1]
    channels_in, channels_out = channels_of(source_space), channels_of(target_space)
    if values.shape[-1] != channels_in:
        raise ValueError(f"{source_space} has {channels_in} channels, not {values.shape[-1]}")
    flat = np.ascontiguousarray(values.reshape(1, -1, channels_in))
    out = np.empty((flat.shape[1], channels_out), dtype=dtype)
    names = _codec_space(source_space), _codec_space(target_space)

    def work(part: slice) -> None:
        try:
            got = cms_transform(
                flat[:, part],
                source,
                target,
                colorspace=names[0],
                outcolorspace=names[1],
                outdtype=dtype,
                planar=False,
                outplanar=False,
                intent=INTENT_NUMBERS[intent],
                flags=flags,
            )
        except (RuntimeError, ValueError) as error:
            raise InputError(
                "profile_unusable",
                "The colour engine can't use this profile in the direction asked for.",
                "Use another profile; this one may lack the tables for this rendering intent.",
            ) from error
        out[part] = got.reshape(-1, channels_out)

    if len(out):
        in_slices(len(out), work)
    return out.reshape(*shape, channels_out)


def channels_of(space: str) -> int:
    """How many channels a device space's samples have, by its ICC name ('CMYK' 4, '6CLR' 6)."""
    if space == "GRAY":
        return 1
    if space == "CMYK":
        return 4
    return int(space[0], 16) if space.endswith("CLR") else 3


def _as_units(device: ArrayLike, space: str) -> NDArray[np.float32]:
    values = np.asarray(device, dtype=np.float32)
    return values * np.float32(100) if space in INK_SPACES else values


def _from_units(values: NDArray[Any], space: str) -> NDArray[Any]:
    return values / np.float32(100) if space in INK_SPACES else values


@lru_cache(maxsize=1)
def _lab_profile() -> bytes:
    """A Lab identity profile that neither clamps nor calls for black point compensation."""
    return _as_version_2(bytes(cms_profile("lab4")))


def _as_version_2(data: bytes) -> bytes:
    """The same profile with version 2.4 in its header: table encodings are the tags' own and stay as they are."""
    return data[:8] + struct.pack(">I", 0x02400000) + data[12:]


@lru_cache(maxsize=32)
def _codec_space(space: str) -> str:
    if not space.endswith("CLR"):
        return space.lower()
    # The codec has no names for spaces of many inks; littleCMS does, so they are entered in its list.
    try:
        from imagecodecs import _cms

        formats: dict[str, tuple[int, ...]] = _cms._CMS_FORMATS  # pyright: ignore
    except (ImportError, AttributeError) as error:
        raise InputError(
            "many_inks_unsupported",
            "The installed imagecodecs can't take profiles of many inks: its list of pixel formats has moved.",
            "Use a profile for RGB, grey or CMYK, or install the imagecodecs that locks/run.txt names.",
        ) from error
    name, channels = f"inks{space[0]}", channels_of(space)
    formats.setdefault(name, (14 + channels, channels, 0, 0, 0))
    return name
