"""What each fault would do to a sheet: predictions of its patches, with the free numbers each fault has.

A prediction is light over paper of every patch, (n, 3), linear, sRGB primaries. Everything is played
through on the device samples kept with the sheet, by the condition's own profile.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, xyz_to_lab
from wallworthy.colour.working import WORKING_TO_XYZ, XYZ_TO_WORKING
from wallworthy.icc.engine import to_lab
from wallworthy.icc.lut import nodes_grid, prepared_lut
from wallworthy.icc.read import Profile
from wallworthy.trial.expected import ExpectedSheet
from wallworthy.trial.faults import FaultKind
from wallworthy.trial.scanfile import LIGHT_TO_XYZ, XYZ_TO_LIGHT, srgb_light

Array = NDArray[np.float64]
Convert = Callable[[Array], Array]

TABLE_EDGE: Final = 33

BLACK_MOST: Final = 0.82
BLACK_FROM: Final = 0.26
BLACK_FULL: Final = 0.78
"""Share of a deep grey's density that black carries; where it begins and is full, as shares of the deepest density."""
DARK_FROM: Final = 0.27
DARK_ALONE: Final = 0.92
LIGHT_MOST: Final = 0.75
YELLOW_MOST: Final = 0.88
DARK_IN_GREY: Final = 0.45
DARK_DOUBT: Final = 1.6
"""Densities of a colour between which its dark ink takes over from its light one; how much of a light tone goes with
the light ink, and of a yellow with yellow, as other dots cover some. All as in the demo's driver, which is made after
common practice; a printer that separates otherwise is explained less well."""


@dataclass(frozen=True, slots=True, eq=False)
class OtherPaper:
    """Another condition of the same printer: its name, and its two directions as in `Printing`."""

    name: str
    print_lab: Convert
    device_of: Convert


@dataclass(frozen=True, slots=True, eq=False)
class Printing:
    """How the condition prints, by its profile.

    space: 'RGB', 'CMYK' ...; print_lab: device values (n, K), 0-1, to media-relative Lab (n, 3);
    device_of: media-relative Lab to device values, black point compensated. others: what else
    could have been meant.
    """

    space: str
    print_lab: Convert
    device_of: Convert
    others: tuple[OtherPaper, ...] = ()


def quick(convert: Callable[[ArrayLike], ArrayLike], channels: int) -> Convert:
    """A conversion from device values tabulated, when there are three channels; the table costs well under 0.1 dE00."""
    if channels != 3:
        return lambda device: np.asarray(convert(device), dtype=np.float64)
    grid = nodes_grid(TABLE_EDGE).reshape(-1, 3)
    nodes = np.asarray(convert(grid), dtype=np.float32).reshape(TABLE_EDGE, TABLE_EDGE, TABLE_EDGE, 3)
    look_up = prepared_lut(nodes)
    return lambda device: look_up(np.asarray(device, dtype=np.float32)[None])[0].astype(np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """A fault played through. predict: free numbers (k,) to light (n, 3); `mean`, `sd`: what they usually are.

    starts: where to begin looking. slack: share of the change that the prediction may be off by; the
    change is that at `reference` when given, so that models of one kind of fault are weighed alike.
    """

    kind: FaultKind
    detail: str | None
    predict: Callable[[Array], Array] = field(repr=False)
    mean: Array
    sd: Array
    starts: tuple[Array, ...]
    slack: float = 0.12
    reference: Array | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Samples:
    """The device samples of all patches in one list, and how to average them again."""

    device: Array
    patch: NDArray[np.intp]
    count: int
    ratio: Array
    lab: Array
    print_lab: Convert

    def light(self, device: Array) -> Array:
        """Light (n, 3) of the patches when the samples are these device values instead."""
        return self.light_of(self.print_lab(np.clip(device, 0, 1)))

    def light_of(self, lab: Array) -> Array:
        """Light (n, 3) of the patches when the samples print as these Lab values."""
        return np.maximum(self.mean(lab_to_xyz(lab)) * self.ratio @ XYZ_TO_LIGHT.T, 0.0)

    def mean(self, values: Array) -> Array:
        """Means (n, 3) over each patch's samples."""
        sums = np.stack([np.bincount(self.patch, values[:, i], self.count) for i in range(values.shape[1])], axis=-1)
        return sums / np.bincount(self.patch, minlength=self.count)[:, None]


def samples_of(expected: ExpectedSheet, printing: Printing) -> Samples:
    """The sheet's samples; their mean colour is scaled to what the whole of each patch was expected to be."""
    kept = [patch.device[::2] if len(patch.device) > 1 else patch.device for patch in expected.patches]
    device = np.concatenate(kept)
    patch = np.repeat(np.arange(len(kept)), [len(one) for one in kept])
    lab = printing.print_lab(device)
    bare = Samples(device, patch, len(kept), np.ones((len(kept), 3)), lab, printing.print_lab)
    mean = bare.mean(lab_to_xyz(lab))
    ratio = lab_to_xyz(expected.lab) / np.maximum(mean, 1e-4)
    return Samples(device, patch, len(kept), np.clip(ratio, 0.5, 2.0), lab, printing.print_lab)


def models_of(expected: ExpectedSheet, printing: Printing) -> tuple[Model, ...]:
    """Every fault that can be played through for this condition; the first is that nothing is wrong."""
    samples = samples_of(expected, printing)
    as_expected = samples.light(samples.device)
    models = [_fixed(FaultKind.AS_EXPECTED, None, as_expected)]
    models += [_wrong_side(as_expected)]
    if printing.space == "RGB":
        models += [*_conversions(samples, printing), *_others(samples, printing)]
        models += [_driver(samples), _auto(samples), *_generic_inks(samples)]
    elif printing.space == "CMYK":
        models += [*_others(samples, printing), *_own_inks(samples)]
    return tuple(models)


def unpressed(lab: Array, black_lab: Array) -> Array:
    """Lab (n, 3) as asked before black point compensation pressed it above this paper's black (3,)."""
    black = min(float(lab_to_xyz(black_lab)[1]), 0.5)
    xyz = lab_to_xyz(lab)
    return xyz_to_lab(np.maximum((xyz - black * PCS_WHITE) / (1 - black), 0.0))


def black_of(printing: Printing, channels: int) -> Array:
    """The deepest neutral (3,) the condition prints: full numbers of RGB at 0, of inks by asking for black."""
    if printing.space == "RGB":
        return printing.print_lab(np.zeros((1, channels)))[0]
    return printing.print_lab(printing.device_of(np.zeros((1, 3))))[0]


def printing_of(profile: Profile, device_of: Convert, others: tuple[OtherPaper, ...] = ()) -> Printing:
    """A condition by its profile; device_of: media-relative Lab to device values by the ticket's own way."""
    return Printing(profile.space, quick(lambda device: to_lab(profile, device), profile.channels), device_of, others)


def _fixed(kind: FaultKind, detail: str | None, light: Array, slack: float = 0.12) -> Model:
    nothing = np.zeros(0)
    return Model(kind, detail, lambda _: light, nothing, nothing, (nothing,), slack)


def srgb_numbers(lab: Array) -> Array:
    """Lab (n, 3), D50, to sRGB numbers 0-1, clipped. Source: IEC61966."""
    light = np.clip(lab_to_xyz(lab) @ XYZ_TO_LIGHT.T, 0, 1)
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


def srgb_lab(numbers: Array) -> Array:
    """sRGB numbers (n, 3), 0-1, to Lab, D50."""
    return xyz_to_lab(srgb_light(np.asarray(numbers, dtype=np.float32)).astype(np.float64) @ LIGHT_TO_XYZ.T)


def wide_numbers(lab: Array) -> Array:
    """Lab (n, 3), D50, to numbers of a wide space with gamma 1.8, clipped."""
    return np.clip(lab_to_xyz(lab) @ XYZ_TO_WORKING.T, 0, 1) ** (1 / 1.8)


def wide_lab(numbers: Array) -> Array:
    """The inverse of `wide_numbers`."""
    return xyz_to_lab(np.clip(numbers, 0, 1) ** 1.8 @ WORKING_TO_XYZ.T)


def _conversions(samples: Samples, printing: Printing) -> list[Model]:
    """Converted twice (the file's numbers taken as a standard space), or not at all (that space's numbers printed)."""
    models: list[Model] = []
    asked = unpressed(samples.lab, black_of(printing, samples.device.shape[1]))
    for reading, writing in ((srgb_lab, srgb_numbers), (wide_lab, wide_numbers)):
        again = printing.device_of(reading(samples.device))
        models.append(_fixed(FaultKind.PROFILE_TWICE, None, samples.light(again)))
        models.append(_fixed(FaultKind.PROFILE_NOT_APPLIED, None, samples.light(writing(asked))))
    return models


def _others(samples: Samples, printing: Printing) -> list[Model]:
    """Made with another paper's profile, or printed on another paper."""
    models: list[Model] = []
    asked = unpressed(samples.lab, black_of(printing, samples.device.shape[1]))
    for other in printing.others:
        device = other.device_of(asked)
        models.append(_fixed(FaultKind.WRONG_PROFILE, other.name, samples.light(device)))
        lab = other.print_lab(samples.device)
        models.append(_fixed(FaultKind.WRONG_PROFILE, other.name, samples.light_of(lab)))
    return models


def adjusted(device: Array, contrast: float, saturation: float, brightness: float) -> Array:
    """RGB numbers under a driver's controls: an S-curve round the middle, saturation round grey, a gamma."""
    values = np.clip(device, 1e-4, 1) ** np.exp(-brightness)
    values = values + contrast * values * (1 - values) * (2 * values - 1) * 2
    grey = values @ np.array([0.3, 0.59, 0.11])
    return np.clip(grey[..., None] + (1 + saturation) * (values - grey[..., None]), 0, 1)


def _driver(samples: Samples) -> Model:
    def predict(free: Array) -> Array:
        return samples.light(adjusted(samples.device, *(float(value) for value in free)))

    starts = tuple(
        np.array(start) for start in ((0.35, 0.25, 0.0), (-0.3, -0.2, 0.0), (0.0, 0.3, 0.1), (0.3, 0.0, -0.1))
    )
    return Model(FaultKind.DRIVER_ADJUSTMENT, None, predict, np.zeros(3), np.array([0.4, 0.3, 0.2]), starts)


def balanced(device: Array, mean: Array, grey_world: float, levels: float, brightness: float) -> Array:
    """RGB numbers under an automatic correction: channels drawn to one mean, levels stretched, brightness evened."""
    aim = float(mean.mean())
    power = 1 + grey_world * (np.log(aim) / np.log(np.clip(mean, 0.05, 0.95)) - 1)
    values = np.clip(device, 1e-4, 1) ** power
    values = np.clip((values - 0.08 * levels) / (1 - 0.08 * levels), 1e-4, 1)
    return values ** np.exp(-brightness)


def _auto(samples: Samples) -> Model:
    """The mean is that of the whole sheet's picture parts, where an automatic correction would take it."""
    mean = picture_mean(samples)

    def predict(free: Array) -> Array:
        return samples.light(balanced(samples.device, mean, *(float(value) for value in free)))

    starts = tuple(np.array(start) for start in ((0.7, 0.3, 0.0), (0.5, 0.3, 0.2), (0.5, 0.3, -0.2)))
    return Model(
        FaultKind.LAB_AUTO_CORRECTION, None, predict, np.array([0.7, 0.3, 0.0]), np.array([0.3, 0.4, 0.2]), starts, 0.13
    )


def picture_mean(samples: Samples) -> Array:
    """Mean RGB of patches with several samples, the tiles' cells; of all when there are none."""
    many = np.bincount(samples.patch, minlength=samples.count)[samples.patch] > 1
    return samples.device[many if many.any() else slice(None)].mean(axis=0)


def _wrong_side(as_expected: Array) -> Model:
    """On the uncoated side ink sinks in: densities shrink, colours dull, and there is a ceiling to darkness."""
    density = -np.log10(np.clip(as_expected, 1e-3, 2))

    def predict(free: Array) -> Array:
        factor, dull, ceiling = np.exp(free[0]), free[1], np.exp(free[2])
        grey = density.mean(axis=1, keepdims=True)
        sunk = factor * (grey + (1 - dull) * (density - grey))
        return 10 ** -(ceiling * np.tanh(sunk / ceiling))

    mean, sd = np.array([np.log(0.6), 0.25, np.log(1.3)]), np.array([0.2, 0.15, 0.4])
    return Model(FaultKind.WRONG_SIDE, None, predict, mean, sd, (mean,), 0.08)


def _own_inks(samples: Samples) -> list[Model]:
    """CMYK: the ink's own channel scaled."""
    models: list[Model] = []
    for channel, name in enumerate(("cyan", "magenta", "yellow", "black")):

        def predict(free: Array, channel: int = channel) -> Array:
            device = samples.device.copy()
            device[:, channel] *= np.clip(1 - free[0], 0, 1)
            return samples.light(device)

        models += _missing_and_weak(name, predict, 0.12)
    return models


def _missing_and_weak(name: str, predict: Callable[[Array], Array], slack: float, doubt: float = 1.0) -> list[Model]:
    """Free number: the share of the ink that is not there."""
    kinds = ((FaultKind.INK_MISSING, 0.98, 0.16), (FaultKind.INK_WEAK, 0.53, 0.12))
    return [
        Model(
            kind, name, predict, np.array([mean]), np.array([sd * doubt]), (np.array([mean]),), slack, np.array([0.75])
        )
        for kind, mean, sd in kinds
    ]


def _generic_inks(samples: Samples) -> list[Model]:
    """RGB printers keep their separation to themselves: dyes are read off the profile's own ramps.

    Densities of the solid colours' ramps give what each dye absorbs; black is taken to stand for
    most of the grey share where prints are dark; cyan and magenta may be split into a light and a
    dark ink. Mixing is by density (Beer-Lambert), which halftones follow only roughly: the slack is wide.
    """
    dyes = _dyes(samples.print_lab)
    inverse = np.linalg.inv(dyes)
    density = -np.log10(np.clip(lab_to_xyz(samples.lab) @ XYZ_TO_WORKING.T, 1e-4, 2))
    darkest = -np.log10(np.clip(lab_to_xyz(samples.print_lab(np.zeros((1, 3)))) @ XYZ_TO_WORKING.T, 1e-4, 2)).mean()
    grey = np.maximum(density.min(axis=1), 0.0)
    deep = grey / max(float(darkest), 0.5)
    black = BLACK_MOST * grey * np.clip((deep - BLACK_FROM) / (BLACK_FULL - BLACK_FROM), 0, 1)
    colours = np.maximum((density - black[:, None]) @ inverse, 0.0)
    models: list[Model] = []
    parts: list[tuple[str, Array, Array]] = [("black", black, np.ones(3))]
    for i, name in enumerate(("cyan", "magenta", "yellow")):
        # In greys black has taken most of the dark ink's part; its drops are fewer there than in a pure colour.
        pure = 1 - DARK_IN_GREY * np.clip(colours.min(axis=1) / np.maximum(colours[:, i], 1e-6), 0, 1)
        late = np.clip((colours[:, i] - DARK_FROM) / (DARK_ALONE - DARK_FROM), 0, 1)
        dark = late * pure
        shares = (
            [(name, dark), (f"light {name}", LIGHT_MOST * (1 - late))]
            if i < 2
            else [(name, np.full(len(colours), YELLOW_MOST))]
        )
        parts += [(each, colours[:, i] * share, dyes[i]) for each, share in shares]
    for name, amount, dye in parts:
        doubt = DARK_DOUBT if name in ("cyan", "magenta") else 1.0
        models += _missing_and_weak(name, _lightened(samples, density, amount, dye), 0.18, doubt)
    return models


def _lightened(samples: Samples, density: Array, amount: Array, dye: Array) -> Callable[[Array], Array]:
    def predict(free: Array) -> Array:
        left = density - free[0] * amount[:, None] * dye[None, :]
        return samples.light_of(xyz_to_lab(10**-left @ WORKING_TO_XYZ.T))

    return predict


def _dyes(print_lab: Convert) -> Array:
    """What cyan, magenta and yellow absorb per unit of their own channel, (3, 3), from the profile's ramps."""
    dyes = np.zeros((3, 3))
    for i in range(3):
        ramp = np.ones((6, 3))
        ramp[:, i] = np.linspace(0.75, 0.1, 6)
        density = -np.log10(np.clip(lab_to_xyz(print_lab(ramp)) @ XYZ_TO_WORKING.T, 1e-4, 2))
        dyes[i] = density.mean(axis=0) / max(float(density[:, i].mean()), 1e-3)
    return dyes
