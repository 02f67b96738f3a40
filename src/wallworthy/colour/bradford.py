"""Linear Bradford chromatic adaptation, ICC.1:2022 Annex E."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

BRADFORD: Final = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])


def bradford_matrix(from_white: ArrayLike, to_white: ArrayLike) -> Array:
    """The 3 x 3 matrix that takes XYZ under one white to XYZ under another (whites (3,), Y 0-1).

    Source: ICC.1:2022 Annex E.
    """
    cone_from = BRADFORD @ np.asarray(from_white, dtype=np.float64)
    cone_to = BRADFORD @ np.asarray(to_white, dtype=np.float64)
    return np.linalg.inv(BRADFORD) @ np.diag(cone_to / cone_from) @ BRADFORD
