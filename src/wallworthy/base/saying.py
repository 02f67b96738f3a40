"""What a correction asks for and how much is lost, in the words of a printmaker."""

from __future__ import annotations

import re
import shlex
from collections.abc import Mapping, Sequence
from typing import Final

DIRECTIONS: Final = {
    "lightness": ("lighter", "darker"),
    "shadow": ("more open in the shadows", "deeper in the shadows"),
    "green_red": ("redder", "greener"),
    "blue_yellow": ("yellower", "bluer"),
}
"""Axes counted from zero, in L*, a* or b*; contrast and chroma are ratios."""


def correction_words(correction: Mapping[str, float]) -> str:
    """A correction as one would say it; 'no correction' when nothing is asked.

    >>> correction_words({"lightness": 2.0, "contrast": 1.0, "blue_yellow": -1.5, "chroma": 1.05})
    '2 L* lighter, 1.5 b* bluer, colours x 1.05'
    """
    said: list[str] = []
    for axis, unit in (("lightness", "L*"), ("shadow", "L*"), ("green_red", "a*"), ("blue_yellow", "b*")):
        value = correction.get(axis, 0.0)
        if value:
            said.append(f"{abs(value):.2g} {unit} {DIRECTIONS[axis][value < 0]}")
    for axis, name in (("contrast", "contrast"), ("chroma", "colours")):
        value = correction.get(axis, 1.0)
        if value != 1:
            said.append(f"{name} x {value:.3g}")
    return ", ".join(said) or "no correction"


def seen_correction_words(correction: Mapping[str, float]) -> str:
    """The same, only as finely as an eye could tell: a tenth of a unit, a hundredth of a ratio.

    >>> seen_correction_words({"lightness": 0.457, "contrast": 0.998, "green_red": 0.042, "chroma": 1.003})
    '0.5 L* lighter'
    """
    ratios = ("contrast", "chroma")
    return correction_words({axis: round(value, 2 if axis in ratios else 1) for axis, value in correction.items()})


def command_words(words: Sequence[str], options: Mapping[str, object] | None = None) -> str:
    """A command as one would type it in a shell: what is None or False is left out, True is an option by itself.

    >>> command_words(("wallworthy", "start", "dunes at night.tif"), {"--size": "A4", "--fill": True, "--from": None})
    'wallworthy start "dunes at night.tif" --size A4 --fill'
    """
    said = [as_word(word) for word in words]
    for name, value in (options or {}).items():
        if value is not None and value is not False:
            said += [name] if value is True else [name, as_word(str(value))]
    return " ".join(said)


def as_word(text: str) -> str:
    """A text as one word for a shell, in double quotes where they do: sentences hold commands in single ones.

    >>> as_word("pics/a.tif"), as_word("evening room"), as_word("$5 paper")
    ('pics/a.tif', '"evening room"', "'$5 paper'")
    """
    plain = shlex.quote(text)
    return plain if plain == text or re.search(r'["$`\\!]', text) else f'"{text}"'


# share lost from -> words
SHARES: Final[tuple[tuple[float, str], ...]] = (
    (0.70, "most"),
    (0.58, "almost two thirds"),
    (0.42, "half"),
    (0.29, "a third"),
    (0.225, "a quarter"),
    (0.15, "a fifth"),
    (0.07, "a tenth"),
)


def share_words(share: float) -> str | None:
    """'a fifth' for 0.2; None when less than a fourteenth is lost."""
    return next((said for least, said in SHARES if share >= least), None)
