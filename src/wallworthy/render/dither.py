"""Whole codes, which live with the other work on samples."""

from __future__ import annotations

from wallworthy.raster.dither import to_bits

__all__ = ["to_bits"]
