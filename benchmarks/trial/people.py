"""Simulated people: what each wants of each picture, and how surely and truthfully they say so.

The population is stated, not measured: prior spreads and noise as in `Population`. Its defaults are
common practice, no source. Nothing here is known to the strategies except what they assume themselves.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from wallworthy.colour.lab import lab_to_xyz, xyz_to_lab
from wallworthy.trial.axes import PRIOR_SD
from wallworthy.trial.metric import metric, root_of
from wallworthy.trial.verdict import Grade, Verdict, Word

Array = NDArray[np.float64]

KINDS = {
    "low key": (25, 15, 12),
    "high key": (78, 14, 12),
    "middling": (50, 22, 18),
    "colourful": (50, 20, 40),
    "near grey": (55, 25, 3),
    "skin-like": (62, 15, 22),
}
"""Mean and spread of L*, spread of C*, of the six kinds of picture."""
PAPER_BLACK_LSTAR = 14.0
"""The one paper: matt, its black at this L*, reached by black point compensation."""
NEIGHBOURS = {0: (1, 2), 1: (0, 2), 2: (0, 1), 3: (4, 5), 4: (3, 5), 5: (3, 4)}
"""Axes whose words are mistaken for each other."""
FELT_ERROR = 0.25
"""Spread (natural logarithm) of the size a fault seems to have: for 'right' and for the grade."""
COMPARED_ERROR = 0.15
"""Spread with which two faults of one tile are compared before the worse is named."""


@dataclass(frozen=True, slots=True)
class Population:
    """How people differ and err."""

    name: str = "stated"
    scale: float = 1.0
    shared: float = 0.7
    heavy_tails: bool = False
    k_spread: float = 0.3
    noise: float = 1.0
    """Multiplies choice noise, confusions of words and errors of size."""
    blunder: float = 0.05
    wrong_neighbour: float = 0.10
    wrong_sign: float = 0.02
    taste_noise_jnd: float = 0.2
    right_jnd: float = 1.0
    """'Right' is said of a tile that seems nearer than this."""
    choice: Literal["luce", "gauss"] = "luce"
    quadratic: bool = True
    """False: the eye's distance is not the metric's but bent, direction by direction, and saturating."""


def picture_roots() -> list[Array]:
    """A metric's root for each kind of picture on the paper."""
    rng = np.random.default_rng(5)
    roots: list[Array] = []
    for lightness, spread, chroma in KINDS.values():
        l_star = np.clip(rng.normal(lightness, spread, 1500), 1, 99)
        c, h = np.abs(rng.normal(0, chroma, 1500)), rng.uniform(0, 2 * np.pi, 1500)
        roots.append(root_of(metric(np.stack([l_star, c * np.cos(h), c * np.sin(h)], -1), printed)))
    return roots


def printed(lab: Array) -> Array:
    """What the paper makes of corrected colours, relative to its white: its black raised, XYZ in between scaled."""
    white, black = lab_to_xyz([100.0, 0, 0]), lab_to_xyz([PAPER_BLACK_LSTAR, 0, 0])
    return xyz_to_lab(lab_to_xyz(lab) * (white - black) / white + black)


class Person:
    """One person with a paper: shared wish, own wish for each picture, own decidedness."""

    def __init__(self, population: Population, seed: int, pictures: int, roots: list[Array]) -> None:
        self.population = population
        self.rng = np.random.default_rng(seed)
        spread = PRIOR_SD * population.scale
        common = self._draw(spread * np.sqrt(population.shared))
        self.wanted = [common + self._draw(spread * np.sqrt(1 - population.shared)) for _ in range(pictures)]
        self.roots = [roots[int(self.rng.integers(len(roots)))] for _ in range(pictures)]
        self.k = np.log(3) * np.exp(self.rng.normal(0, population.k_spread)) / population.noise
        self.power = self.rng.uniform(1, 2)
        self.bend = self.rng.uniform(0.7, 1.4, len(PRIOR_SD)) if not population.quadratic else np.ones(len(PRIOR_SD))

    def _draw(self, spread: Array) -> Array:
        if not self.population.heavy_tails:
            return self.rng.normal(0, 1, len(spread)) * spread
        return self.rng.standard_t(4, len(spread)) / np.sqrt(2) * spread

    def distance(self, picture: int, offset: Array) -> float:
        """True distance left, in image JND."""
        return float(np.linalg.norm((self.wanted[picture] - offset) @ self.roots[picture]))

    def judge(
        self, picture: int, tiles: Array, *, words: int, choose: bool = True, between: bool = False, right: bool = True
    ) -> Verdict:
        """Look at a sheet: best and next best; of the first `words` of them what is wrong most, or 'right'.

        right: without a word asked for, 'right' is still said or not of the best tile.
        between: 'between these two' is said when best and next best seem equally far.
        """
        root = self.roots[picture]
        today = self.rng.normal(size=6) / np.sqrt(6) * self.population.taste_noise_jnd @ np.linalg.inv(root)
        today = today + self.wanted[picture]
        distance = self._seen((today - tiles) @ root)
        order = self._order(distance) if choose else np.arange(len(tiles))
        scale = np.sqrt(np.diag(root @ root.T))
        said: list[Word] = []
        fine: list[int] = []
        for tile in order[: max(words, int(right))]:
            if float(distance[tile]) * self._error(FELT_ERROR) < self.population.right_jnd:
                fine.append(int(tile))
            elif words:
                said.append(self._word(int(tile), (today - tiles[tile]) * scale))
        second = int(order[1]) if choose and len(order) > 1 else None
        even = between and second is not None and self._torn(distance, int(order[0]), second)
        return Verdict(
            tiles,
            best=int(order[0]) if choose and len(tiles) > 1 else None,
            next=second,
            words=tuple(said),
            between=(int(order[0]), second) if even and second is not None else None,
            right=tuple(fine),
            none_right=not fine and not words,
            whole=0 if len(tiles) == 1 else None,
        )

    def _seen(self, gaps: Array) -> Array:
        distance = np.linalg.norm(gaps * self.bend, axis=1)
        return distance if self.population.quadratic else distance / (1 + distance / 8)

    def _error(self, spread: float) -> float:
        return float(np.exp(self.rng.normal(0, spread * self.population.noise)))

    def _torn(self, distance: Array, one: int, other: int) -> bool:
        """Whether best and next best seem equally far."""
        return abs(distance[one] * self._error(FELT_ERROR) - distance[other] * self._error(FELT_ERROR)) < 0.3

    def _order(self, distance: Array) -> Array:
        if self.rng.random() < self.population.blunder:
            return self.rng.permutation(len(distance))
        utility = -self.k * distance**self.power
        noise = self.rng.gumbel(size=len(distance))
        if self.population.choice == "gauss":
            noise = self.rng.normal(0, 1.28, len(distance))
        return np.argsort(-(utility + noise))

    def _word(self, tile: int, missing: Array) -> Word:
        """The worst fault of a tile in words."""
        population = self.population
        felt = np.abs(missing) * np.exp(self.rng.normal(0, COMPARED_ERROR * population.noise, len(missing)))
        axis = int(np.argmax(felt))
        if self.rng.random() < population.wrong_neighbour * population.noise:
            axis = int(self.rng.choice(NEIGHBOURS[axis]))
        sign = -int(np.sign(missing[axis])) or 1
        if self.rng.random() < population.wrong_sign * population.noise:
            sign = -sign
        size = abs(missing[axis]) * self._error(FELT_ERROR)
        return Word(tile, axis, 1 if sign > 0 else -1, Grade.CLEARLY if size > 1.0 else Grade.TOUCH)
