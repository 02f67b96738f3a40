"""Small pieces for tests of the trial room: a picture's metric, and an eye that judges without noise."""

from __future__ import annotations

import numpy as np

from wallworthy.trial.axes import PRIOR_SD
from wallworthy.trial.metric import metric, root_of
from wallworthy.trial.verdict import Grade, Verdict, Word


def picture_lab(count: int = 600, seed: int = 3) -> np.ndarray:
    """Colours of a middling picture, (n, 3)."""
    rng = np.random.default_rng(seed)
    chroma, hue = np.abs(rng.normal(0, 18, count)), rng.uniform(0, 2 * np.pi, count)
    return np.stack([np.clip(rng.normal(50, 22, count), 2, 98), chroma * np.cos(hue), chroma * np.sin(hue)], axis=-1)


def picture_root() -> np.ndarray:
    """Its metric's root on a paper that prints every colour as it is."""
    return root_of(metric(picture_lab(), lambda lab: lab))


def plain_root() -> np.ndarray:
    """Every axis .7 JND a prior standard deviation, none tied to another."""
    return np.diag(0.7 / PRIOR_SD)


def sure_verdict(wanted: np.ndarray, tiles: np.ndarray, root: np.ndarray, words: int = 2) -> Verdict:
    """What an eye without noise says: nearest, next; of the first `words` of them 'right' or the worst fault."""
    gaps = (wanted - tiles) * np.sqrt(np.diag(root @ root.T))
    distance = np.linalg.norm((wanted - tiles) @ root, axis=1)
    order = np.argsort(distance)
    said = []
    for tile in order[:words]:
        if distance[tile] < 1:
            continue
        axis = int(np.argmax(np.abs(gaps[tile])))
        grade = Grade.CLEARLY if abs(gaps[tile, axis]) > 1 else Grade.TOUCH
        said.append(Word(int(tile), axis, -1 if gaps[tile, axis] > 0 else 1, grade))
    right = tuple(int(tile) for tile in order[:words] if distance[tile] < 1)
    return Verdict(tiles, int(order[0]), int(order[1]), tuple(said), right=right)
