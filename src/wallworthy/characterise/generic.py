"""Generic conditions: a profile for gloss, lustre or matt paper without any measurement, labelled a guess.

A Yule-Nielsen modified Neugebauer model of eight stated colours (paper, three inks, their overprints, a black
of stated density) behind a driver that prints equal R, G and B neutrally. The numbers stand in
generic.toml: common practice, no source.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from importlib.resources import files
from typing import Any, Final, Literal, get_args

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator
from scipy.optimize import least_squares

from wallworthy.base.errors import InputError
from wallworthy.characterise.neugebauer import demichel
from wallworthy.characterise.perceptual import lifted_lightness
from wallworthy.characterise.tables import TableOptions, output_tables
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, lightness_from_y, xyz_to_lab
from wallworthy.icc.write import output_profile

Array = NDArray[np.float64]
Surface = Literal["gloss", "lustre", "matt"]

COPYRIGHT: Final = "No copyright, use freely"
LEVELS: Final = 25
SMALLEST_RATIO: Final = 1e-5


@dataclass(frozen=True, slots=True, eq=False)
class GenericPaper:
    """The model of one surface: everything relative to its white."""

    name: str
    white_xyz: Array
    matt: bool
    n: float
    primaries: Array = field(repr=False)
    """(8, 3) XYZ ** (1/n) over the paper's; order of `demichel`: cyan slowest, yellow fastest."""
    levels: Array = field(repr=False)
    coverage: Array = field(repr=False)
    """(LEVELS, 3) cyan, magenta and yellow laid by R, G and B at each level."""

    def __call__(self, device: Array) -> Array:
        """Media-relative Lab (N, 3) for RGB (N, 3), 0-1; paper at (1, 1, 1)."""
        cover = np.stack([PchipInterpolator(self.levels, self.coverage[:, k])(device[:, k]) for k in range(3)], axis=1)
        return self.mixed(np.clip(cover, 0, 1))

    def mixed(self, cover: Array) -> Array:
        """Media-relative Lab of ink coverages (N, 3), 0-1."""
        ratio = (demichel(cover) @ self.primaries) ** self.n
        return xyz_to_lab(ratio * PCS_WHITE)


@lru_cache(maxsize=3)
def generic_profile(surface: Surface) -> bytes:
    """An RGB output profile for a paper nobody measured; the description says that it is a guess.

    The same surface gives the same bytes, made once in a process: it takes seconds.
    Raises InputError for an unknown surface.
    """
    paper = generic_paper(surface)
    tables = output_tables(paper, "RGB", paper.white_xyz, TableOptions(paper.name, COPYRIGHT, matt=paper.matt))
    return output_profile(tables)


def generic_paper(surface: Surface) -> GenericPaper:
    """The model behind `generic_profile`."""
    if surface not in get_args(Surface):
        raise InputError(
            "surface_unknown",
            f"There is no generic paper called '{surface}'.",
            f"Choose one of {', '.join(get_args(Surface))}.",
            where="--paper",
        )
    stated: Mapping[str, Any] = tomllib.loads(
        files("wallworthy.characterise").joinpath("generic.toml").read_text(encoding="utf-8")
    )[surface]
    white = lab_to_xyz(stated["white"])
    black = 10.0 ** -float(stated["density_y"]) / white[1]
    order = ("yellow", "magenta", "red", "cyan", "green", "blue")
    solids = [lab_to_xyz(stated[name]) / white for name in order]
    ratios = np.stack([np.ones(3), *solids, np.full(3, black)])
    n = float(stated["yule_nielsen_n"])
    roots = np.maximum(ratios, SMALLEST_RATIO) ** (1 / n)
    levels = np.linspace(0.0, 1.0, LEVELS)
    bare = GenericPaper(stated["name"], white, bool(stated["matt"]), n, roots, levels, np.zeros((LEVELS, 3)))
    return GenericPaper(
        bare.name, white, bare.matt, n, roots, levels, _neutral_coverage(bare, levels, float(lightness_from_y(black)))
    )


def _neutral_coverage(paper: GenericPaper, levels: Array, black_lstar: float) -> Array:
    """Ink coverages that make R = G = B print neutral at the lightness of sRGB, lifted to the paper's black."""
    linear = np.where(levels <= 0.04045, levels / 12.92, ((levels + 0.055) / 1.055) ** 2.4)
    wanted = lifted_lightness(lightness_from_y(linear), black_lstar)
    rows: list[Array] = [np.ones(3)]
    for lightness in wanted[1:-1]:
        found = least_squares(
            _miss,
            np.clip(rows[-1] - 0.02, 0.02, 0.98),
            bounds=(0.0, 1.0),
            xtol=1e-12,
            ftol=1e-12,
            args=(paper, float(lightness)),
        )
        rows.append(found.x)
    rows.append(np.zeros(3))
    return np.minimum.accumulate(np.stack(rows), axis=0)


def _miss(cover: Array, paper: GenericPaper, lightness: float) -> Array:
    return paper.mixed(cover[None])[0] - np.array([lightness, 0.0, 0.0])
