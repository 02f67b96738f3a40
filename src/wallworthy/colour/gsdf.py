"""How many grey steps an eye can tell apart up to a luminance: DICOM's greyscale standard display function.

Source: DICOMPS314, which fits Barten's model of the eye for a 2 degree field of 4 cycles per degree.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

COEFFICIENTS: Final = (
    71.498068,
    94.593053,
    41.912053,
    9.8247004,
    0.28175407,
    -1.1878455,
    -0.18014349,
    0.14710899,
    -0.017046845,
)
DARKEST_CD_M2: Final = 0.05
BRIGHTEST_CD_M2: Final = 4000.0


def distinct_greys(luminance_cd_m2: ArrayLike) -> NDArray[np.float64]:
    """The index of just noticeable differences, 1 at 0.05 to 1023 at 4000 cd/m2, held at these ends.

    Source: DICOMPS314.

    >>> distinct_greys([0.05, 4000]).round().tolist()
    [1.0, 1023.0]
    """
    log = np.log10(np.clip(np.asarray(luminance_cd_m2, dtype=np.float64), DARKEST_CD_M2, BRIGHTEST_CD_M2))
    return np.asarray(np.polynomial.polynomial.polyval(log, np.array(COEFFICIENTS)), dtype=np.float64)
