"""The nearest of a few thousand places, found by way of small groups of them.

A search tree would do; but the library that has one takes longer to load than a proof has time for
(docs/decisions/0006).
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

GROUP: Final = 16
"""Places in a group; they come in an order in which followers are neighbours."""
GROUPS_LOOKED_AT: Final = 12


class Nearby:
    """Places (n, 3) to be asked for the nearest ones. Neighbours should follow each other in the order given."""

    def __init__(self, places: Array) -> None:
        count = -(-len(places) // GROUP)
        self._of = np.minimum(np.arange(count * GROUP), len(places) - 1).reshape(count, GROUP)
        self._places = np.asarray(places[self._of], dtype=np.float32)
        self._middles = self._places.mean(axis=1)
        self._reach = np.sqrt(((self._places - self._middles[:, None]) ** 2).sum(axis=-1).max(axis=1))

    def nearest(self, points: Array, count: int) -> NDArray[np.int64]:
        """Numbers (m, count) of about the nearest places to points (m, 3), in no order; repeated where there are few.

        Only the groups that may come nearest are looked through: some places in a thousand are missed.
        """
        x = np.asarray(points, dtype=np.float32)
        nearest = np.sqrt(_squared(self._middles[None], x)) - self._reach
        groups = _smallest(nearest, min(GROUPS_LOOKED_AT, len(self._middles)))
        close = self._places[groups].reshape(len(x), -1, 3)
        found = _smallest(_squared(close, x), min(count, close.shape[1]))
        numbers = np.take_along_axis(self._of[groups].reshape(len(x), -1), found, axis=1)
        return numbers if found.shape[1] == count else np.resize(numbers.T, (count, len(x))).T


def _squared(places: NDArray[np.float32], x: NDArray[np.float32]) -> NDArray[np.float32]:
    """Squared distances (m, n) of points (m, 3) to places (m or 1, n, 3)."""
    away = places[..., 0] - x[:, :1]
    total: NDArray[np.float32] = np.square(away)
    for axis in (1, 2):
        away = places[..., axis] - x[:, axis : axis + 1]
        away *= away
        total += away
    return total


def _smallest(values: NDArray[np.float32], count: int) -> NDArray[np.int64]:
    """Columns (m, count) of each row's smallest values, in no order."""
    if count == values.shape[1]:
        return np.broadcast_to(np.arange(count), (len(values), count))
    return np.argpartition(values, count - 1, axis=1)[:, :count]
