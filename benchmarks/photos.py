"""Sample photos, sharp at their own pixels, and what is done to them: by other libraries than ours."""

from __future__ import annotations

import contextlib
import io
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import convolve1d, gaussian_filter

Photo = NDArray[np.uint8]

NAMES = (
    "astronaut.png",
    "camera.png",
    "chelsea.png",
    "coffee.png",
    "coins.png",
    "rocket.jpg",
    "motorcycle_left.png",
    "motorcycle_right.png",
    "retina.jpg",
    "moon.png",
    "brick.png",
    "grass.png",
    "gravel.png",
    "ihc.png",
    "hubble_deep_field.jpg",
)


def photos() -> dict[str, Photo]:
    """The sample photos, sharp at their own pixels."""
    import skimage

    folders: list[tuple[Path, tuple[str, ...]]] = [(Path(skimage.__file__).parent / "data", NAMES)]
    with contextlib.suppress(ImportError):
        import sklearn

        folders.append((Path(str(sklearn.__file__)).parent / "datasets" / "images", ("china.jpg", "flower.jpg")))
    found: dict[str, Photo] = {}
    for folder, names in folders:
        for name in names:
            if (folder / name).is_file():
                with Image.open(folder / name) as image:
                    found[name.split(".")[0]] = scaled(np.asarray(image.convert("RGB")), 0.6, Image.Resampling.LANCZOS)
    return found


def scaled(photo: Photo, factor: float, kernel: Image.Resampling) -> Photo:
    size = (round(photo.shape[1] * factor), round(photo.shape[0] * factor))
    return np.asarray(Image.fromarray(photo).resize(size, kernel))


def bytes_of(values: NDArray[np.floating]) -> Photo:
    return np.clip(np.rint(values), 0, 255).astype(np.uint8)


def blurred(photo: Photo, sigma: float) -> Photo:
    return bytes_of(gaussian_filter(photo.astype(float), (sigma, sigma, 0)))


def noisy(photo: Photo, sigma: float) -> Photo:
    return bytes_of(photo + np.random.default_rng(photo.size).normal(0, sigma, photo.shape))


def compressed(photo: Photo, quality: int) -> Photo:
    memory = io.BytesIO()
    Image.fromarray(photo).save(memory, "JPEG", quality=quality)
    return np.asarray(Image.open(memory).convert("RGB"))


def moved(photo: Photo, length: int) -> Photo:
    return bytes_of(convolve1d(photo.astype(float), np.full(length, 1 / length), axis=1))


def sharpened(photo: Photo, radius: float, amount: float) -> Photo:
    return bytes_of(photo + amount * (photo - gaussian_filter(photo.astype(float), (radius, radius, 0))))


def shadow_noise(photo: Photo, most: float) -> Photo:
    """Noise of one code in white that rises to `most` more in black."""
    unit = np.random.default_rng(photo.size).normal(0, 1, photo.shape)
    return bytes_of(photo + unit * (1 + most * (1 - photo / 255.0)))


def mostly_soft(photo: Photo) -> Photo:
    out = blurred(photo, 4)
    rows, columns = photo.shape[0] // 2, photo.shape[1] // 2
    top, left = photo.shape[0] // 4, photo.shape[1] // 4
    out[top : top + rows, left : left + columns] = photo[top : top + rows, left : left + columns]
    return out
