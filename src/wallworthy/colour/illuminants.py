"""Lights as spectra: the CIE's fluorescent and LED lamps, daylight of any temperature, lamps that glow.

Relative spectral power every 5 nm from 380 to 780 nm, as the observer is tabled. Source: CIE 15:2018.
"""

from __future__ import annotations

import difflib
import re
from functools import cache
from importlib.resources import files
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.colour.chromaticity import daylight_xy
from wallworthy.colour.observer import observer_2_degree

Array = NDArray[np.float64]

C2_NM_K: Final = 1.4388e7
"""The second radiation constant of 1968, as CIE 15:2018 uses it for black bodies."""
C2_OF_1931: Final = 1.4380e7
"""By which daylights are still named, and 1.435e7 by which illuminant A is."""
C2_OF_A: Final = 1.435e7
A_K: Final = 2848.0
"""Illuminant A by its own, older constant: 2856 K on today's scale."""


def wavelengths_nm() -> Array:
    """(81,): 380 to 780 nm, every 5."""
    return observer_2_degree()[:, 0]


def known_spectra() -> tuple[str, ...]:
    """The names of lamps whose spectra are tabled; 'A' and any daylight from D40 to D250 are known besides."""
    return tuple(name for name in _table() if not name.startswith("S"))


def spectrum_of(name: str) -> Array | None:
    """Relative power (81,), 560 nm 1, of 'A', 'D65', 'FL11', 'LED-B3' and their like; None for no such name.

    Source: CIE 15:2018.

    >>> float(spectrum_of("A")[36].round(6))
    1.0
    """
    plain = name.strip().upper().replace(" ", "")
    if plain == "A":
        return _glow(A_K, C2_OF_A)
    if daylight := re.fullmatch(r"D(\d{2,3})", plain):
        hundreds = int(daylight[1])
        if 40 <= hundreds <= 250:
            return daylight_spectrum(min(hundreds * 100 * C2_NM_K / C2_OF_1931, 25000))
    plain = re.sub(r"^F(?=\d)", "FL", plain)
    plain = re.sub(r"^LED(?=[BRV])", "LED-", plain)
    if plain not in known_spectra():
        return None
    power = _table()[plain]
    return power / power[_AT_560]


def require_spectrum(name: str) -> Array:
    """`spectrum_of`, or InputError with the names that are near."""
    found = spectrum_of(name)
    if found is None:
        near = difflib.get_close_matches(name.upper(), known_spectra(), n=3, cutoff=0.4) or ["A", "D50", "LED-B3"]
        raise InputError(
            "spectrum_unknown",
            f"'{name}' is neither a file nor a light whose spectrum I know.",
            f"Give a CSV of wavelength and power, or a name such as {', '.join(near)}.",
            where="--spectrum",
        )
    return found


def daylight_spectrum(cct_k: float) -> Array:
    """Relative power (81,), 560 nm 1, of CIE daylight at a correlated colour temperature, 4000 to 25000 K.

    The factors of the two components are rounded to three decimals, as the CIE has it. Source: CIE 15:2018.

    >>> float(daylight_spectrum(6504)[36].round(6))
    1.0
    """
    x, y = daylight_xy(cct_k)
    below = 0.0241 + 0.2562 * x - 0.7341 * y
    m1 = round((-1.3515 - 1.7703 * x + 5.9114 * y) / below, 3)
    m2 = round((0.0300 - 31.4424 * x + 30.0717 * y) / below, 3)
    table = _table()
    power = table["S0"] + m1 * table["S1"] + m2 * table["S2"]
    return power / power[_AT_560]


def black_body_spectrum(cct_k: float) -> Array:
    """Relative power (81,), 560 nm 1, of a black body: a lamp that glows. Source: CIE 15:2018.

    >>> bool(black_body_spectrum(2700)[-1] > black_body_spectrum(2700)[0])
    True
    """
    return _glow(cct_k, C2_NM_K)


def _glow(kelvin: float, c2_nm_k: float) -> Array:
    nm = wavelengths_nm()
    power = nm**-5.0 / np.expm1(c2_nm_k / (nm * kelvin))
    return power / power[_AT_560]


@cache
def _table() -> dict[str, Array]:
    text = files("wallworthy.colour").joinpath("illuminants.csv").read_text(encoding="utf-8")
    heading, *rows = (line for line in text.splitlines() if not line.startswith("#"))
    values = np.array([row.split(",") for row in rows], dtype=np.float64)
    values.setflags(write=False)
    return dict(zip(heading.split(",")[1:], values[:, 1:].T, strict=True))


_AT_560: Final = 36
