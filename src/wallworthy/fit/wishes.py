"""What must not suffer: places, hues and tones that the choice of `whole` weighs more, and who pays for it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.records import Box
from wallworthy.fit.whole import Whole

Array = NDArray[np.float64]

STRONG: Final = 8.0
"""How many times more a wished-for pixel counts."""
HUES: Final[dict[str, tuple[float, float]]] = {
    "reds": (5, 45),
    "oranges": (45, 75),
    "yellows": (75, 105),
    "greens": (105, 175),
    "cyans": (175, 230),
    "blues": (230, 295),
    "violets": (295, 330),
    "pinks": (330, 365),
}
"""Degrees of h_ab from and to; the ranges meet all the way round."""
SKIN: Final = (35.0, 75.0)
"""Hues skin has in photographs, at L* 25 to 90 and C*ab 10 to 50 (common practice, no source)."""
SHADOWS_LSTAR: Final = 30.0
HIGHLIGHTS_LSTAR: Final = 80.0
LEAST_CHROMA: Final = 10.0
TOLD: Final = 0.02
"""Changes of less than this share are not told."""
LEAST_SPREAD: Final = 0.5
"""Standard deviation of L* below which a place has no separation to speak of."""
TONES_OF: Final[dict[str | None, str]] = {"shadows": "the shadows", "highlights": "the lights"}
ZONES: Final = (("the shadows", 0, 30), ("the mid-tones", 30, 70), ("the lights", 70, 100))


@dataclass(frozen=True, slots=True)
class Wish:
    """A kind of place ('shadows', 'highlights', 'skin-like hues' or a hue), or a box of the picture; one of both."""

    kind: str | None = None
    box: Box | None = None
    """row, column, height, width in pixels of the picture that is looked at."""


def wish_of(text: str) -> Wish:
    """A wish from words. Raises InputError for words it does not know.

    >>> wish_of("Shadows").kind
    'shadows'
    """
    kind = text.strip().lower()
    known = ("shadows", "highlights", "skin-like hues", *HUES)
    if kind not in known:
        raise InputError(
            "wish_unknown", f"'{text}' is nothing I can look after by name.", f"Name one of: {', '.join(known)}."
        )
    return Wish(kind=kind)


def weights_of(lab: Array, wishes: tuple[Wish, ...]) -> Array:
    """How much each pixel of a picture (H, W, 3), Lab, counts, (H, W): 1, or STRONG where any wish is met."""
    wanted = np.zeros(lab.shape[:2], dtype=np.bool_)
    for wish in wishes:
        if wish.box is not None:
            row, column, height, width = wish.box
            wanted[max(0, row) : row + height, max(0, column) : column + width] = True
        if wish.kind is not None:
            wanted |= _of_kind(lab, wish.kind)
    return np.where(wanted, STRONG, 1.0)


def _of_kind(lab: Array, kind: str) -> NDArray[np.bool_]:
    lightness, chroma = lab[..., 0], np.hypot(lab[..., 1], lab[..., 2])
    hue = np.degrees(np.arctan2(lab[..., 2], lab[..., 1])) % 360
    if kind == "shadows":
        return lightness < SHADOWS_LSTAR
    if kind == "highlights":
        return lightness > HIGHLIGHTS_LSTAR
    if kind == "skin-like hues":
        toned = (lightness > 25) & (lightness < 90) & (chroma > LEAST_CHROMA) & (chroma < 50)
        return toned & (hue >= SKIN[0]) & (hue < SKIN[1])
    first, last = HUES[kind]
    return (chroma > LEAST_CHROMA) & ((hue - first) % 360 < last - first)


@dataclass(frozen=True, slots=True, eq=False)
class AskedFor:
    """Colours of a picture that were asked for, Lab (n, 3), under one name; `kind` is None for places."""

    kind: str | None
    name: str
    many: bool
    lab: Array = field(repr=False)


def asked_for(seen: Array, lab: Array, wishes: tuple[Wish, ...]) -> tuple[AskedFor, ...]:
    """What was asked for, places first, all of them as one.

    seen: Lab (H, W, 3), the picture in which kinds are looked for; lab: the same as it is printed.
    """
    boxes = tuple(wish for wish in wishes if wish.box is not None)
    found: list[AskedFor] = []
    if boxes:
        name = "the place asked for" if len(boxes) == 1 else "the places asked for"
        found.append(AskedFor(None, name, len(boxes) > 1, lab[weights_of(seen, boxes) > 1]))
    kinds = (wish for wish in wishes if wish.kind is not None)
    found.extend(AskedFor(wish.kind, f"the {wish.kind}", True, lab[weights_of(seen, (wish,)) > 1]) for wish in kinds)
    return tuple(found)


def paid(
    plain: Whole, wished: Whole, lab: Array, asked: tuple[AskedFor, ...], *, shared: bool = False
) -> tuple[str, ...]:
    """What comes of what was asked for, then who else gains and who pays, payers first; lab: (n, 3), the picture's
    colours. shared: whether the tone curve is that of a set, which no wish of one print moves.

    Tones by the separation they keep, hues by the strength they keep. Nobody pays where nothing is gained.
    """
    told = [_asked_told(plain, wished, one, shared) for one in asked]
    gained = any(gain for gain, _ in told)
    named = {TONES_OF.get(one.kind, one.name) for one in asked if one.kind is not None}
    changes = [change for change in (*_tones(plain, wished), *_hues(plain, wished, lab)) if change[1] not in named]
    others = sorted((change for change in changes if abs(change[0]) >= TOLD), key=lambda change: change[0])
    less = "pay: they keep" if gained else "keep"
    return (
        *(sentence for _, sentence in told),
        *(
            f"{name.capitalize()} {'keep' if change > 0 else less} {100 * abs(change):.0f} % "
            f"{'more' if change > 0 else 'less'} of their {what}."
            for change, name, what in others
        ),
        *(("Nothing else has to pay for it.",) if gained and not others else ()),
    )


def _asked_told(plain: Whole, wished: Whole, asked: AskedFor, shared: bool) -> tuple[bool, str]:
    """Whether what was asked for gains, and what it does, in a sentence."""
    name, its = asked.name.capitalize(), "their" if asked.many else "its"
    if not len(asked.lab):
        return False, f"{name} {'are' if asked.many else 'is'} not in the picture."
    keep, them = ("keep", "them") if asked.many else ("keeps", "it")
    changes = _kept(plain, wished, asked)
    gains = [f"{100 * change:.0f} % more of {its} {what}" for change, what in changes if change >= TOLD]
    if gains:
        return True, f"{name} {keep} {' and '.join(gains)}."
    least = min(changes, default=(0.0, ""))
    if least[0] <= -TOLD:
        less = f"{-100 * least[0]:.0f} % less of {its} {least[1]}"
        return False, f"{name} {keep} {less} than without asking: better let {them} go."
    why = "the tones are shared with what it hangs with" if shared else f"the paper holds no more of {them}"
    return False, f"{name} {keep} no more than without asking: {why}."


def _kept(plain: Whole, wished: Whole, asked: AskedFor) -> list[tuple[float, str]]:
    """By how much more of strength and of separation what was asked for keeps, where it has any."""
    before, after = plain.lab(asked.lab), wished.lab(asked.lab)
    found: list[tuple[float, str]] = []
    strength = np.hypot(*before[:, 1:].T).mean()
    coloured = np.hypot(*asked.lab[:, 1:].T).mean() >= LEAST_CHROMA and strength > 0
    if coloured and asked.kind not in TONES_OF:
        found.append((float(np.hypot(*after[:, 1:].T).mean() / strength - 1), "strength"))
    spread = before[:, 0].std()
    if spread >= LEAST_SPREAD:
        found.append((float(after[:, 0].std() / spread - 1), "separation"))
    return found


def _tones(plain: Whole, wished: Whole) -> list[tuple[float, str, str]]:
    return [
        (
            float((wished.tone[high] - wished.tone[low]) / (plain.tone[high] - plain.tone[low]) - 1),
            name,
            "separation",
        )
        for name, low, high in ZONES
    ]


def _hues(plain: Whole, wished: Whole, lab: Array) -> list[tuple[float, str, str]]:
    before, after = (np.hypot(*one.lab(lab)[:, 1:].T) for one in (plain, wished))
    found: list[tuple[float, str, str]] = []
    for name in HUES:
        seen = _of_kind(lab, name)
        if seen.mean() > 0.01:
            found.append((float(after[seen].sum() / max(before[seen].sum(), 1e-9) - 1), f"the {name}", "strength"))
    return found
