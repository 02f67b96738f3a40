"""Whole TIFF arrays: the predicted print as numbers, and our own files read back."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import tifffile
from numpy.typing import NDArray

from wallworthy.base.files import whole_file


def write_lab(target: Path, lab: NDArray[np.float32], ppi: float, *, overwrite: bool = False) -> None:
    """Write (H, W, 3) float32 Lab, D50, as one TIFF page (photometric CIELab, samples in Lab units).

    Raises TroubleError when the disk refuses; the file is whole or absent.
    """
    with whole_file(target, overwrite=overwrite) as temporary:
        tifffile.imwrite(
            temporary,
            np.ascontiguousarray(lab, dtype=np.float32),
            photometric="cielab",
            compression="zlib",
            predictor=True,
            resolution=(ppi, ppi),
            resolutionunit="INCH",
            software="wallworthy",
            metadata=None,
        )


def read_array(path: Path) -> NDArray[Any]:
    """The samples of one of our own TIFF files, (H, W, C), as they were written."""
    return np.asarray(tifffile.imread(path))
