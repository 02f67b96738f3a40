"""Named sizes against ISO 216 and against the millimetres and inches in PWG 5101.1's names."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest

from support.printed import printed_rows
from wallworthy.base.units import NAMED_SIZES_MM, parse_size

A_SERIES = printed_rows(Path(__file__).with_name("ISO216.csv"))
MEDIA = printed_rows(Path(__file__).with_name("PWG5101.csv"))
MM = {"mm": Fraction(1), "in": Fraction("25.4")}


@pytest.mark.source("ISO216", "main A series")
def test_the_a_series() -> None:
    printed = {row["name"]: (float(row["width_mm"]), float(row["height_mm"])) for row in A_SERIES}
    ours = {name: size for name, size in NAMED_SIZES_MM.items() if re.fullmatch(r"A\d", name)}
    assert ours == printed


@pytest.mark.source("PWG5101", "self-describing media size names")
@pytest.mark.parametrize("row", MEDIA, ids=[row["name"] for row in MEDIA])
def test_sizes_are_those_their_media_names_state(row: dict[str, str]) -> None:
    stated = re.fullmatch(r"[a-z]+_[a-z0-9-]+_([\d.]+)x([\d.]+)(mm|in)", row["pwg_name"])
    assert stated is not None
    width_mm, height_mm = (float(Fraction(edge) * MM[stated[3]]) for edge in stated.groups()[:2])
    size = parse_size(row["name"])
    assert (size.width_mm, size.height_mm) == pytest.approx((width_mm, height_mm), abs=1e-9)
    assert size.named == (row["name"] in NAMED_SIZES_MM)


@pytest.mark.source("PWG5101", "om_small-photo_100x150mm and na_index-4x6_4x6in")
def test_ten_by_fifteen_is_not_four_by_six() -> None:
    metric, inches = parse_size("10x15cm"), parse_size("4x6in")
    assert (inches.width_mm - metric.width_mm, inches.height_mm - metric.height_mm) == pytest.approx((1.6, 2.4))


@pytest.mark.practice
def test_every_named_size_is_held_against_print() -> None:
    assert set(NAMED_SIZES_MM) <= {row["name"] for row in (*A_SERIES, *MEDIA)}
