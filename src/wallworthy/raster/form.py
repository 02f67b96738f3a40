"""What a written picture file is to be, and what its format can't carry."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Literal

from wallworthy.base.errors import InputError

Format = Literal["tiff", "png", "jpeg"]

CM_PER_INCH: Final = 2.54
JPEG_LARGEST_PX: Final = 65_500
PNG_LARGEST_PX: Final = 2**31 - 1


@dataclass(frozen=True, slots=True)
class FileForm:
    """A picture file: samples, colour space, density and profile.

    space: the ICC signature in words: RGB, GRAY, CMYK or 2CLR to 15CLR.
    """

    format: Format
    width_px: int
    height_px: int
    channels: int
    bits: Literal[8, 16]
    space: str
    ppi: float
    profile: bytes | None = field(repr=False, default=None)


def require_possible(form: FileForm) -> None:
    """Raise InputError when the format can't hold such a picture; says which can."""
    if form.width_px < 1 or form.height_px < 1:
        raise InputError("picture_empty", "A picture needs at least one pixel each way.", "Check the size.")
    if form.format == "tiff":
        return
    if form.space not in ("RGB", "GRAY"):
        raise InputError(
            "format_inks",
            f"A {form.format.upper()} file does not carry {form.space} ink values safely.",
            "Use --format tiff, or --delivery standard for an sRGB file.",
            where="--format",
        )
    if form.format == "jpeg" and form.bits != 8:
        raise InputError(
            "format_bits", "A JPEG file holds 8 bits, not 16.", "Use --bits 8, or --format tiff.", where="--bits"
        )
    largest = JPEG_LARGEST_PX if form.format == "jpeg" else PNG_LARGEST_PX
    if max(form.width_px, form.height_px) > largest:
        raise InputError(
            "format_too_large",
            f"A {form.format.upper()} file can't be longer than {largest} pixels on an edge.",
            "Use --format tiff, or a smaller size or --ppi.",
            where="--format",
        )


def jfif_density(ppi: float) -> tuple[int, int]:
    """The unit (1 inch, 2 cm) and the whole number of dots to it nearest to a density, as JFIF holds it.

    >>> jfif_density(300), jfif_density(254.2), jfif_density(330.2)
    ((1, 300), (1, 254), (2, 130))
    """
    inch, centimetre = max(1, round(ppi)), max(1, round(ppi / CM_PER_INCH))
    return (2, centimetre) if abs(centimetre * CM_PER_INCH - ppi) < abs(inch - ppi) else (1, inch)


def density_in_file(form: FileForm) -> float:
    """The pixels per inch that the file will say: PNG counts whole pixels a metre, JPEG whole ones an inch or cm."""
    if form.format == "jpeg":
        unit, count = jfif_density(form.ppi)
        return round(count * CM_PER_INCH, 2) if unit == 2 else float(count)
    if form.format == "png":
        return round(round(form.ppi / CM_PER_INCH * 100) * CM_PER_INCH / 100, 2)
    return form.ppi
