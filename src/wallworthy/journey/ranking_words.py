"""Why a paper stands where it stands in a ranking, in sentences."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from wallworthy.base.records import Light
    from wallworthy.journey.ranking import Tried

ALIKE_DE00: Final = 0.2
"""A mean difference this small between two papers is nobody's reason."""
BLACK_LSTAR: Final = 2.0
TEXTURE_PCT: Final = 4.0
RANGE_PCT: Final = 3.0


def reason(one: Tried, best: Tried, light: Light | None) -> str:
    """Why a condition stands where it stands, in words."""
    return " ".join((lost_words(one, best, light), *why(one, best)))


def lost_words(one: Tried, best: Tried, light: Light | None) -> str:
    """What a condition loses, and how much more than the best."""
    lost = f"{one.loss_mean_de00:.1f} ΔE00 lost on average{'' if light is None else f' under {light.name!r}'}"
    if one is best:
        return f"{lost}."
    if alike(one, best):
        return f"As good as {best.condition.name}: {lost}."
    more = round(one.loss_mean_de00, 1) - round(best.loss_mean_de00, 1)  # of the numbers that are told
    return f"{lost}, {more:.1f} more than {best.condition.name}."


def alike(one: Tried, best: Tried) -> bool:
    """Whether a condition is as good as the best: nobody would see what lies between them."""
    return one is not best and one.loss_mean_de00 - best.loss_mean_de00 < ALIKE_DE00


def why(one: Tried, best: Tried) -> tuple[str, ...]:
    """What sets a condition apart from the best, and the place that loses most on it, in sentences; may be none."""
    worst = re.sub(r" \d+\.\d ΔE00 on average.*$", "", one.worst[0].text) if one.worst else ""
    against = () if one is best else _against(one, best)
    suffers = (f"'{one.title}' loses most.",) if one.pictures else ()
    return (*against, *suffers, *((worst,) if worst else ()))


def _against(one: Tried, best: Tried) -> list[str]:
    """What sets a paper apart from the best, the largest difference of its kind first; at most two sentences."""
    name = best.condition.name
    black, best_black = one.proof.report.range_after_lstar[0], best.proof.report.range_after_lstar[0]
    said = [
        (
            (black - best_black) / BLACK_LSTAR,
            f"Its darkest tone is L* {black:.0f}; on {name} it is {best_black:.0f}.",
        ),
        (
            (best.texture_kept_pct - one.texture_kept_pct) / TEXTURE_PCT,
            f"In darks and in colours out of reach {one.texture_kept_pct:.0f} % of the texture stays; on {name} "
            f"{best.texture_kept_pct:.0f} %.",
        ),
        (
            (one.out_of_range_pct - best.out_of_range_pct) / RANGE_PCT,
            f"{one.out_of_range_pct:.0f} % of the picture is out of its reach; on {name} "
            f"{best.out_of_range_pct:.0f} %.",
        ),
    ]
    return [text for size, text in sorted(said, reverse=True) if size >= 1][:2]
