"""Lights: words with lux behind them, colour of the light against D50, and what a paper gives back."""

from __future__ import annotations

import difflib
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Light, Pair
from wallworthy.colour.chromaticity import D50_XY, daylight_xy, duv_from_d50, planckian_xy, xy_to_xyz, xyz_to_uv
from wallworthy.colour.illuminants import require_spectrum, spectrum_of, wavelengths_nm
from wallworthy.colour.observer import emission_xyz
from wallworthy.proof import words as say

Surround = Literal["dark", "dim", "average"]
SURROUNDS: Final[tuple[Surround, ...]] = ("dark", "dim", "average")

GENERIC_PAPER_REFLECTANCE: Final = 0.85
"""Luminance factor of an unprinted photo paper when none is named (common practice, no source)."""

DIMMEST_LX: Final = 1.0
BRIGHTEST_LX: Final = 120_000.0
"""Full sun on a clear summer day gives about 100,000 lx (common knowledge, no source)."""

METER_SHARE: Final = 0.1
"""A hand-held meter is taken to be right within a tenth (common practice, no source)."""

NOMINAL_TO_PRESENT: Final = 1.4388 / 1.4380
"""Daylight illuminants are named by the radiation constant c2 of 1931 (CIE 15:2018)."""

LARGEST_SPECTRUM_BYTES: Final = 1 << 20


@dataclass(frozen=True, slots=True)
class LightWords:
    """A light as one would name it: typical lux and range, colour temperature, surround, where from.

    `is_d50`: the source states D50 itself rather than a daylight of some temperature.
    """

    illuminance_lx: float
    interval_lx: Pair
    cct_k: float
    surround: Surround
    source: str
    is_d50: bool = False


PRACTICE: Final = "common practice, no source"
EN_12464: Final = (
    "maintained illuminance in the manner of EN 12464-1:2021, from memory; range and colour: common practice"
)
ISO_3664: Final = "ISO 3664"

LIGHT_WORDS: Final[dict[str, LightWords]] = {
    "evening room": LightWords(80, (40, 150), 2700, "dim", PRACTICE),
    "living room by day": LightWords(250, (120, 500), 5500, "average", PRACTICE),
    "north window": LightWords(1200, (600, 2500), 6500, "average", PRACTICE),
    "sunlit room": LightWords(2500, (1000, 6000), 5500, "average", PRACTICE),
    "desk lamp": LightWords(500, (300, 800), 3000, "dim", EN_12464),
    "hallway": LightWords(100, (60, 200), 3000, "average", EN_12464),
    "staircase": LightWords(100, (60, 200), 3000, "average", EN_12464),
    "kitchen": LightWords(300, (200, 500), 3500, "average", PRACTICE),
    "bedroom": LightWords(60, (30, 120), 2700, "dim", PRACTICE),
    "office": LightWords(500, (300, 750), 4000, "average", EN_12464),
    "gallery wall": LightWords(200, (120, 350), 3000, "dim", PRACTICE),
    "museum, light-sensitive": LightWords(
        50, (40, 60), 3000, "dim", "the usual limit for light-sensitive works, from memory"
    ),
    "shop": LightWords(500, (300, 1000), 3500, "average", EN_12464),
    "overcast day outdoors": LightWords(8000, (3000, 20000), 6500, "average", PRACTICE),
    "viewing booth": LightWords(500, (375, 625), 5000, "average", f"{ISO_3664} P2", is_d50=True),
    "bright viewing booth": LightWords(2000, (1500, 2500), 5000, "average", f"{ISO_3664} P1", is_d50=True),
}


def known_light_words() -> tuple[str, ...]:
    return tuple(LIGHT_WORDS)


def light_from(
    name: str,
    lux: float | None = None,
    cct_k: float | None = None,
    words: str | None = None,
    surround: str | None = None,
    spectrum: Path | str | None = None,
    *,
    lux_interval: Pair | None = None,
) -> Light:
    """A light from words, from lux, or both; what is given in figures wins over the words.

    A name that is itself one of the known words needs nothing more. lux: 1 to 120,000; it is taken to be a
    meter's, right within a tenth, unless an interval is given. cct_k: 1667 to 25,000, daylight from 4000 K up,
    black body below. spectrum: a CSV of wavelength in nm and relative power, or a CIE lamp by name ('FL11',
    'LED-B3', 'D55', 'A'); it then says the colour. Raises InputError.

    >>> light_from("hall", words="hallway").illuminance_lx
    100
    """
    behind = _behind(name, words, lux)
    if lux is not None:
        meter = (lux * (1 - METER_SHARE), lux * (1 + METER_SHARE))
        illuminance, interval = _checked_lux(lux), lux_interval or meter
    else:
        assert behind is not None
        illuminance, interval = behind.illuminance_lx, behind.interval_lx
    power = None if spectrum is None else _power(spectrum)
    cct, distance = _colour(behind, cct_k, power)
    return Light(
        name=name,
        illuminance_lx=illuminance,
        illuminance_interval_lx=interval,
        cct_k=cct,
        duv_from_d50=distance,
        surround=_checked_surround(surround) or (behind.surround if behind else "average"),
        paper_white_cd_m2=paper_white_cd_m2(illuminance),
        spectrum=() if power is None else tuple(float(f"{share:.6g}") for share in power / power.max()),
    )


def light_xy(light: Light) -> tuple[float, float]:
    """Chromaticity of a light: from its spectrum, else daylight or black body by its temperature, else D50.

    Source: CIE 15:2018.

    >>> light_xy(light_from("lamp", lux=100)) == D50_XY
    True
    """
    if light.spectrum:
        xyz = emission_xyz(wavelengths_nm(), light.spectrum)
        return float(xyz[0] / xyz.sum()), float(xyz[1] / xyz.sum())
    if light.cct_k is None or light.duv_from_d50 == 0:
        return D50_XY
    return nominal_xy(light.cct_k)


def light_spectrum(light: Light) -> NDArray[np.float64] | None:
    """Relative power (81,) every 5 nm from 380 nm: its own, or D50 where that was stated; None when only guessed at."""
    if light.spectrum:
        return np.array(light.spectrum)
    return spectrum_of("D50") if light.duv_from_d50 == 0 and light.cct_k is not None else None


def paper_white_cd_m2(illuminance_lx: float, reflectance: float = GENERIC_PAPER_REFLECTANCE) -> float:
    """Luminance of a matt paper's white, rho E / pi: what the screen's white should match.

    >>> round(paper_white_cd_m2(500), 1)
    135.3
    """
    return reflectance * illuminance_lx / math.pi


def distance_from_d50(cct_k: float) -> float:
    """Distance in u'v' from D50 of a light known by its colour temperature only.

    Daylight from 4000 K up, black body below. As in the names of the CIE illuminants, daylight's
    temperature is the nominal one (5000 K is D50, whose temperature on today's scale is 5003 K).
    Source: CIE 15:2018 (daylight).

    >>> round(distance_from_d50(5600), 4)
    0.0103
    """
    return duv_from_d50(nominal_xy(cct_k))


def nominal_xy(cct_k: float) -> tuple[float, float]:
    """Chromaticity of a light known by its colour temperature only, 1667 to 25000 K. Source: CIE 15:2018 (daylight).

    >>> [round(part, 4) for part in nominal_xy(5000)]
    [0.3457, 0.3586]
    """
    if not 1667 <= cct_k <= 25000:
        raise say.refuse("cct_out_of_range", cct_k=cct_k)
    if cct_k >= 4000:
        return daylight_xy(min(cct_k * NOMINAL_TO_PRESENT, 25000))
    return planckian_xy(cct_k)


def read_spectrum(path: Path) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Wavelengths (nm) and relative powers from a CSV of two columns; a heading line and # lines are passed over.

    Raises InputError when the file can't be read, the columns are not rising wavelengths and powers
    of 0 or more, or the range 400 to 700 nm is not covered in steps of 20 nm or less.
    """
    where = str(path)
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_SPECTRUM_BYTES + 1)
    except OSError as error:
        raise say.refuse("spectrum_unreadable", where=where, why=error.strerror or str(error)) from error
    if len(data) > LARGEST_SPECTRUM_BYTES:
        raise say.refuse("spectrum_unclear", where=where)
    rows: list[tuple[float, float]] = []
    for number, line in enumerate(data.decode("utf-8", errors="replace").splitlines()):
        cells = line.split("#")[0].replace(";", ",").replace("\t", ",").split(",")
        if not any(cell.strip() for cell in cells):
            continue
        try:
            rows.append((float(cells[0]), float(cells[1])))
        except (ValueError, IndexError):
            if rows or number > 20:
                raise say.refuse("spectrum_unclear", where=f"{where}, line {number + 1}") from None
    table = np.array(rows, dtype=np.float64).reshape(-1, 2)
    nm, power = table[:, 0], table[:, 1]
    if len(nm) < 2 or not np.isfinite(table).all() or np.any(np.diff(nm) <= 0) or np.any(power < 0):
        raise say.refuse("spectrum_unclear", where=where)
    if nm[0] > 400 or nm[-1] < 700 or np.diff(nm[(nm >= 380) & (nm <= 720)]).max() > 20 or not power.any():
        raise say.refuse("spectrum_narrow", where=where)
    return nm, power


def nearest_cct_k(xy: tuple[float, float]) -> float | None:
    """Correlated colour temperature by search along the black body in CIE 1960 u, v; None beyond 0.05 from it.

    Source: CIE 15:2018 (definition); steps of half a mired, rounded to 10 K.
    """
    ladder = [1e6 / mired for mired in np.arange(40.0, 599.0, 0.5)]
    uv = xyz_to_uv(xy_to_xyz([planckian_xy(cct) for cct in ladder])) * (1, 2 / 3)
    distance = np.hypot(*(uv - xyz_to_uv(xy_to_xyz(xy)) * (1, 2 / 3)).T)
    best = int(distance.argmin())
    return round(ladder[best], -1) if distance[best] <= 0.05 else None


def _behind(name: str, given: str | None, lux: float | None) -> LightWords | None:
    if given is not None:
        found = LIGHT_WORDS.get(_plain(given))
        if found is None:
            near = difflib.get_close_matches(_plain(given), LIGHT_WORDS, n=3, cutoff=0.5) or list(LIGHT_WORDS)
            raise say.refuse("light_unknown", given=given, known=say.listed([f"'{n}'" for n in near], "or"))
        return found
    found = LIGHT_WORDS.get(_plain(name))
    if found is None and lux is None:
        raise say.refuse("light_without_lux", known=say.listed([f"'{n}'" for n in list(LIGHT_WORDS)[:5]], "or"))
    return found


def _plain(text: str) -> str:
    return " ".join(text.lower().replace("-", " ").split()).replace("light sensitive", "light-sensitive")


def _checked_lux(lux: float) -> float:
    if not math.isfinite(lux) or not DIMMEST_LX <= lux <= BRIGHTEST_LX:
        raise say.refuse("lux_absurd", lux=lux)
    return lux


def _checked_surround(surround: str | None) -> Surround | None:
    for known in SURROUNDS:
        if surround == known:
            return known
    if surround is not None:
        raise say.refuse("surround_unknown", given=surround)
    return None


def _power(spectrum: Path | str) -> NDArray[np.float64]:
    """Relative power every 5 nm from 380 nm, of a file or of a lamp named in its place."""
    path = Path(spectrum)
    if path.name == str(spectrum) and not path.suffix and not path.exists():
        return require_spectrum(str(spectrum))
    nm, power = read_spectrum(path)
    return np.interp(wavelengths_nm(), nm, power, left=0.0, right=0.0)


def _colour(
    behind: LightWords | None, cct_k: float | None, power: NDArray[np.float64] | None
) -> tuple[float | None, float]:
    """Colour temperature and distance from D50. Of a light of which only lux is known, neither: taken as D50."""
    if power is not None:
        xyz = emission_xyz(wavelengths_nm(), power)
        xy = (float(xyz[0] / xyz.sum()), float(xyz[1] / xyz.sum()))
        return (cct_k or nearest_cct_k(xy)), duv_from_d50(xy)
    if cct_k is not None:
        return cct_k, distance_from_d50(cct_k)
    if behind is None:
        return None, 0.0
    return behind.cct_k, duv_from_d50(D50_XY) if behind.is_d50 else distance_from_d50(behind.cct_k)


def light_text(light: Light, *, paper: bool = True) -> tuple[str, ...]:
    """The light in sentences: how bright, how far from the D50 in which profiles are measured.

    paper: whether to say how bright a usual paper is there; where a paper is at hand its own brightness is told.
    """
    return say.light_sentences(light, paper=paper)
