"""Write docs/reference/correction.md: what the correction is, and twenty of its inputs and outputs.

.venv/bin/python scripts/pages/correction_table.py
"""

from __future__ import annotations

from pathlib import Path

from wallworthy.base.records import Correction
from wallworthy.colour.correction import correct

PAGE = Path(__file__).resolve().parents[2] / "docs" / "reference" / "correction.md"

ROWS: tuple[tuple[Correction, tuple[float, float, float]], ...] = (
    (Correction(), (50, 10, -10)),
    (Correction(lightness=2), (0, 0, 0)),
    (Correction(lightness=2), (20, 0, 0)),
    (Correction(lightness=2), (50, 0, 0)),
    (Correction(lightness=2), (80, 0, 0)),
    (Correction(lightness=2), (100, 0, 0)),
    (Correction(lightness=-5), (35, 12, 30)),
    (Correction(contrast=1.2), (20, 0, 0)),
    (Correction(contrast=1.2), (51, 0, 0)),
    (Correction(contrast=1.2), (65, 0, 0)),
    (Correction(contrast=0.8), (10, -4, 3)),
    (Correction(shadow=4), (10, 0, 0)),
    (Correction(shadow=4), (35, 0, 0)),
    (Correction(green_red=3), (50, 0, 0)),
    (Correction(green_red=3), (100, 0, 0)),
    (Correction(blue_yellow=-3), (75, 0, 0)),
    (Correction(chroma=1.1), (60, 40, -30)),
    (Correction(chroma=0), (60, 40, -30)),
    (Correction(lightness=3, contrast=1.1, shadow=2, green_red=-1, blue_yellow=2, chroma=1.05), (40, 20, 15)),
    (Correction(lightness=3, contrast=1.1, shadow=2, green_red=-1, blue_yellow=2, chroma=1.05), (103, 1, -2)),
)

TEXT = """# The correction

Six numbers say what this eye, this paper and this light still need. They are applied to CIELAB relative to the
master's white, before black point compensation and before the paper's profile, so that nothing is clipped twice
and bare paper stays bare.

| axis | unit | nothing asked | what more of it does |
|---|---|---|---|
| `lightness` l | L* | 0 | lifts mid-grey by so much |
| `contrast` c | ratio | 1 | the slope at mid-grey |
| `shadow` s | L* | 0 | lifts L* 20 by so much |
| `green_red` r | a* | 0 | shifts mid-grey from green towards red |
| `blue_yellow` y | b* | 0 | shifts mid-grey from blue towards yellow |
| `chroma` k | ratio | 1 | multiplies a* and b* |

Tone is a monotone curve (PCHIP; Fritsch and Carlson 1980) through

    (0, 0), (20, 20 + s + 0.64 l - 30 (c - 1)), (50, 50 + l), (80, 80 + 0.64 l + 30 (c - 1)), (100, 100)

and colour is a' = k a + r w, b' = k b + y w with w = 4 t (1 - t), t = L'/100: zero at white and at black. L* below 0
or above 100 keeps its distance from the end it lies beyond. Numbers whose knots do not rise, or a chroma outside
0 to 4, are refused with a sentence.

In Python: `wallworthy.colour.correction.correct(lab, Correction(lightness=2))`.

## Twenty inputs and outputs

Made by `scripts/pages/correction_table.py`; the tests make it again and compare.

| # | correction | L* | a* | b* | L*' | a*' | b*' |
|---|---|---|---|---|---|---|---|
"""


def page() -> str:
    lines: list[str] = []
    for number, (correction, lab) in enumerate(ROWS, 1):
        landed = correct(lab, correction)
        cells = [f"{value:g}" for value in lab] + [f"{value + 0.0:.4f}" for value in landed.round(6)]
        lines.append(f"| {number} | {correction} | {' | '.join(cells)} |\n")
    return TEXT + "".join(lines)


if __name__ == "__main__":
    PAGE.write_text(page(), "utf-8")
