"""The CMM's own conversion and ours by a way, from the same device values, for tests."""

from __future__ import annotations

import numpy as np

from wallworthy.base.records import Way
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.fit.ways import lab_to_device, source_of
from wallworthy.icc.engine import Intent, convert, to_lab
from wallworthy.icc.read import Profile

INTENTS: dict[Way, Intent] = {
    Way.PERCEPTUAL: "perceptual",
    Way.RELATIVE: "relative",
    Way.RELATIVE_BPC: "relative",
    Way.ABSOLUTE: "absolute",
}


def device_values(profile: Profile, count: int, seed: int = 5) -> np.ndarray:
    """Seeded values of a profile's device space, its black and white among them; Lab in its own units."""
    values = np.random.default_rng(seed).uniform(0, 1, (count, profile.channels)).astype(np.float32)
    values[0], values[1] = 0, 1
    if profile.space == "LAB":
        return values * np.float32([100, 200, 200]) - np.float32([0, 100, 100])
    return values


def away_from_the_cmm(master: Profile, output: Profile, way: Way, values: np.ndarray) -> np.ndarray:
    """dE00 (through A2B1) between the CMM's unoptimised conversion and our chain by the way."""
    expected = convert(master, output, values, INTENTS[way], bpc=way is Way.RELATIVE_BPC)
    got = lab_to_device(output, way, source_of(master))(to_lab(master, values, way.table_intent))
    return ciede2000(to_lab(output, np.clip(expected, 0, 1)), to_lab(output, got))
