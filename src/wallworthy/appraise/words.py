"""Everything this room says. No sentence stands anywhere else in `appraise`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from wallworthy.appraise.grade import Grade
from wallworthy.base.records import Pair

GRADE_WORDS: Final[Mapping[Grade, str]] = {
    Grade.AS_GOOD: "as good to the eye as a perfect file",
    Grade.FINE: "fine; the difference shows only side by side",
    Grade.LITTLE_SOFT: "a little soft, if you look for it",
    Grade.SOFT: "visibly soft",
    Grade.TOO_SOFT: "too soft: stand further back or print smaller",
}

CHANNELS: Final[Mapping[str, tuple[str, ...]]] = {
    "RGB": ("red", "green", "blue"),
    "GRAY": ("grey",),
    "CMYK": ("cyan", "magenta", "yellow", "black"),
    "LAB": ("L*", "a*", "b*"),
}


def cm(size_mm: Pair) -> str:
    """A size in words: '30 x 20 cm'; above a metre without fractions, below a millimetre with two digits."""
    digits = 0 if max(size_mm) > 1000 else 1 if min(size_mm) >= 1 else 2
    return " x ".join(_short(edge / 10, digits) for edge in size_mm) + " cm"


def _short(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def far(distance_mm: float) -> str:
    """A distance in words: '51 cm', '1.8 m'."""
    return f"{distance_mm / 10:.0f} cm" if distance_mm < 1000 else f"{distance_mm / 1000:.1f} m"


def visible_word(jnd: float) -> str:
    """How visible something is, in a word or two."""
    if jnd < 1:
        return "not visible"
    if jnd < 2:
        return "visible if you look for it"
    return "plain to see" if jnd < 4 else "striking"


def headline(size_mm: Pair, distance_mm: float, grade: Grade) -> str:
    return f"{cm(size_mm)} from {far(distance_mm)}: {GRADE_WORDS[grade]}."


def how_large(size_mm: Pair, distance_mm: float, limit: bool) -> str:
    if limit:
        return f"From {far(distance_mm)} it holds at any size that can be made."
    return f"From {far(distance_mm)} it is good up to {cm(size_mm)}."


def never_large(distance_mm: float) -> str:
    return f"From {far(distance_mm)} it is good at no size that can be made."


def how_near(distance_mm: float, near_point_mm: float) -> str:
    if distance_mm <= near_point_mm:
        return "At this size it is good as near as an eye can see it clearly."
    return f"At this size it is good from {far(distance_mm)} on."


def never_near(farthest_mm: float) -> str:
    return f"At this size it is not good even from {far(farthest_mm)}."


def detail_held(fraction: float | None, megapixels: float, moved: bool) -> str:
    if fraction is None:
        return f"How much detail the {amount(megapixels)} hold can't be told: too few clear edges. They were believed."
    end = ", if nothing moved." if moved else "."
    if fraction > 0.9:
        return f"The {amount(megapixels)} are as sharp as pixels can be{end}"
    return f"The {amount(megapixels)} hold the detail of about {amount(megapixels * fraction)}{end}"


def amount(megapixels: float) -> str:
    """A number of pixels in words: '12.1 megapixels', '0.27 megapixels', '108 pixels'."""
    if megapixels < 0.01:
        return f"{megapixels * 1e6:.0f} pixel{'' if round(megapixels * 1e6) == 1 else 's'}"
    return f"{megapixels:.1f} megapixels" if megapixels >= 0.95 else f"{megapixels:.2g} megapixels"


def another(megapixels: float, gain_jnd: float) -> str:
    what = "would show no difference" if gain_jnd < 1 else f"would gain {gain_jnd:.1f} JND"
    return f"A sharp master of {megapixels:.0f} megapixels {what} here."


INDICATIVE: Final = "From so near, as through a glass, the figure is indicative only."


def soft(fraction: float, megapixels: float) -> str:
    return (
        f"The picture is soft: where it is sharpest, its {amount(megapixels)} hold the detail of "
        f"about {amount(megapixels * fraction)}."
    )


def enlarged(fraction: float, megapixels: float, sure: bool) -> str:
    how = "was enlarged from a smaller one" if sure else "was perhaps enlarged, or blurred when it was worked on"
    return f"The picture {how}: its {amount(megapixels)} hold the detail of about {amount(megapixels * fraction)}."


def repeated(times: int) -> str:
    return (
        f"Every pixel stands {times} x {times} times: the picture was enlarged by repeating pixels, edges are stairs."
    )


def subject_soft(share: float) -> str:
    return f"The subject is less sharp than the sharpest part: it holds {share:.0%} of its fineness."


def focus_elsewhere() -> str:
    return "Here the picture is sharpest."


def motion(direction_deg: float, length_px: float | None, length_mm: float | None) -> str:
    way = ("from side to side", "rising to the left", "up and down", "rising to the right")
    moved = f"Perhaps the camera or the subject moved {way[int(((direction_deg + 22.5) % 180) // 45)]}"
    if length_px is None or length_mm is None:
        return f"{moved}."
    return f"{moved}: {length_px:.0f} pixels, {length_mm:.1f} mm on paper."


def noise(l_lstar: float, sigma_lstar: float, jnd: float) -> str:
    where = "shadows" if l_lstar < 35 else "middle tones" if l_lstar < 70 else "light tones"
    return f"Noise in the {where} is {visible_word(jnd)}: {sigma_lstar:.1f} L* at L* {l_lstar:.0f}."


def clipped(high: bool, share_pct: float, channels: list[str]) -> str:
    what = "Highlights are burnt out" if high else "Shadows are blocked"
    names = " and ".join(channels) if len(channels) < 3 else "all channels"
    return f"{what} in {names}: {share_pct:.1f} % of the picture holds no tone there."


def beyond(share_pct: float, where: str, ended_pct: Mapping[str, float]) -> str:
    """`ended_pct`: the channels that would stand at their ends, and in how much of the picture."""
    text = f"{share_pct:.1f} % of the picture is more colourful than {where} holds; it will be brought within reach."
    if not ended_pct:
        return text
    *most, last = (f"{name} ({share:.1f} %)" for name, share in ended_pct.items())
    channels = f"{', '.join(most)} and {last}" if most else last
    return f"{text} Simply cut off, it would lose its tones in {channels}."


def below_black(share_pct: float, where: str) -> str:
    return (
        f"{share_pct:.1f} % of the picture is darker than the black of {where}; its darks have to be squeezed together."
    )


def posterised(levels: int, channel: str, spacing: float) -> str:
    return (
        f"Tones come in steps: {channel} has {levels} levels where it could have {levels * spacing:.0f}; "
        "smooth places may show bands."
    )


def wide_in_8_bits(ratio: float) -> str:
    return (
        f"8 bits in a space {ratio:.1f} times as wide as sRGB are coarse: smooth skies may show bands. "
        "A 16-bit master would not."
    )


def cast(a: float, b: float) -> str:
    leans = []
    if abs(b) >= 1.5:
        leans.append("yellow" if b > 0 else "blue")
    if abs(a) >= 1.5:
        leans.append("red" if a > 0 else "green")
    return f"The greys lean towards {' and '.join(leans)} (a* {a:+.0f}, b* {b:+.0f}). Is that the light you want?"


def dust(diameter_mm: float, depth_lstar: float, jnd: float) -> str:
    return f"A dark spot of {diameter_mm:.1f} mm on paper, {depth_lstar:.1f} L* deep, {visible_word(jnd)}: dust?"


DUST_MANY: Final = "And {count} more such dark spots."


def hot(step_lstar: float, size_mm: float, jnd: float) -> str:
    kind = "bright" if step_lstar > 0 else "dark"
    return f"A single {kind} pixel, {size_mm:.2f} mm on paper, {visible_word(jnd)}."


HOT_MANY: Final = "And {count} more single pixels."


def line(down: bool, depth_lstar: float, jnd: float) -> str:
    way = "from top to bottom" if down else "from side to side"
    return f"A line right across {way}, {abs(depth_lstar):.1f} L* {'darker' if depth_lstar > 0 else 'lighter'}, " + (
        f"{visible_word(jnd)}."
    )


LINES_MANY: Final = "And {count} more lines."


def compressed(quality: float, block_mm: float, jnd: float) -> str:
    return (
        f"The picture was compressed as JPEG (quality about {quality:.0f}); "
        f"its blocks of {block_mm:.1f} mm on paper are {visible_word(jnd)}."
    )


def halos(over_pct: float, width_mm: float, jnd: float) -> str:
    return (
        f"Edges have halos of {over_pct:.0f} % from sharpening, {width_mm:.1f} mm wide on paper, {visible_word(jnd)}. "
        "Sharpening for the paper will add to them."
    )
