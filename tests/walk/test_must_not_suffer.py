"""What must not suffer: asked for by name or place, weighed by the choice, kept with the ticket; who pays for it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import tifffile

from support.commands import Teller
from wallworthy.icc.standard import srgb_profile
from wallworthy.journey.choosing import place_of

pytestmark = pytest.mark.practice


@pytest.fixture
def dark(tmp_path: Path) -> Path:
    """A picture of fine dark texture at the left and strong blues and reds at the right, all out of a press's range."""
    rows, columns = np.mgrid[0:160, 0:240].astype(float)
    ripple = 0.06 + 0.05 * np.sin(columns * 1.3) * np.cos(rows * 1.1)
    shadows = np.stack([ripple, ripple, ripple * 1.1], axis=-1)
    hot = np.stack([np.clip(rows / 160, 0, 1), 0.02 + 0 * rows, 1 - rows / 160], axis=-1)
    rgb = np.where(columns[..., None] < 120, shadows, hot * (0.6 + 0.4 * np.sin(columns / 7)[..., None] ** 2))
    path = tmp_path / "dark.tif"
    pixels = np.rint(np.clip(rgb, 0, 1) * 65535).astype(np.uint16)
    tifffile.imwrite(path, pixels, photometric="rgb", iccprofile=srgb_profile())
    return path


def printed(tell: Teller, ticket: str, path: Path, *more: str) -> tuple[dict[str, object], np.ndarray]:
    answer = tell.ok("proof", ticket, "-o", path.with_suffix(".png"), "--lab", path.with_suffix(".tif"), *more)
    return answer, tifffile.imread(path.with_suffix(".tif")).astype(np.float64)


def test_shadows_that_must_not_suffer_keep_more_and_somebody_pays(
    tell: Teller, dark: Path, cmyk: Path, tmp_path: Path
) -> None:
    ticket = tell.ok("start", dark, "--size", "20x30cm", "--profile", cmyk, "--way", "whole")["ticket"]
    plain, before = printed(tell, ticket, tmp_path / "plain")
    asked, after = printed(tell, ticket, tmp_path / "asked", "--must-not-suffer", "Shadows")
    assert plain["must_not_suffer"] == []
    assert plain["pays"] == []
    assert asked["must_not_suffer"] == ["shadows"]
    assert asked["pays"]
    assert all(str(sentence).endswith(".") for sentence in asked["pays"])  # type: ignore[attr-defined]
    shadows = np.s_[:, :110, 0]
    assert after[shadows].std() > before[shadows].std() * 1.01
    assert any("shadows keep" in str(sentence) for sentence in asked["pays"])  # type: ignore[attr-defined]
    kept, again = printed(tell, ticket, tmp_path / "again")
    assert kept["must_not_suffer"] == ["shadows"]
    assert tell.ok("show", ticket)["must_not_suffer"] == ["shadows"]
    assert np.array_equal(again, after)
    cleared, once_more = printed(tell, ticket, tmp_path / "cleared", "--must-not-suffer", "none")
    assert cleared["must_not_suffer"] == []
    assert np.array_equal(once_more, before)


def test_a_place_weighs_as_a_name_does(tell: Teller, dark: Path, cmyk: Path, tmp_path: Path) -> None:
    """The left half is all of the shadows: asked for by its place, the same is kept."""
    by_place = tell.ok(
        "start", dark, "--size", "20x30cm", "--profile", cmyk, "--way", "whole", "--must-not-suffer", "0,0,160,120"
    )["ticket"]
    tell.ok("condition", "list")
    _, place = printed(tell, by_place, tmp_path / "place")
    ticket = tell.ok("start", dark, "--size", "20x30cm", "--on", condition(tell), "--way", "whole")["ticket"]
    _, plain = printed(tell, ticket, tmp_path / "plain")
    assert place[:, :110, 0].std() > plain[:, :110, 0].std() * 1.01


def condition(tell: Teller) -> str:
    return str(tell.ok("condition", "list")["conditions"][0]["name"])


def test_the_final_and_its_repetition_keep_what_was_asked(tell: Teller, dark: Path, cmyk: Path, tmp_path: Path) -> None:
    words = ("--size", "10x15cm", "--profile", cmyk, "--way", "whole")
    ticket = tell.ok("start", dark, *words, "--must-not-suffer", "shadows")["ticket"]
    first = tell.ok("final", ticket, "-o", tmp_path / "one.tif", "--ppi", "60")
    tell.ok("proof", ticket, "--must-not-suffer", "none")
    plain = tell.ok("final", ticket, "-o", tmp_path / "two.tif", "--ppi", "60")
    assert plain["pixels_sha256"] != first["pixels_sha256"]
    tell.ok("proof", ticket, "--must-not-suffer", "shadows")
    third = tell.ok("final", ticket, "-o", tmp_path / "three.tif", "--ppi", "60")
    tell.ok("proof", ticket, "--must-not-suffer", "none")
    again = tell.ok("final", ticket, "-o", tmp_path / "four.tif", "--again")
    assert third["pixels_sha256"] == first["pixels_sha256"] == again["pixels_sha256"]


def test_what_can_not_be_looked_after_is_refused(tell: Teller, dark: Path, cmyk: Path) -> None:
    words = ("start", dark, "--size", "10x15cm", "--profile", cmyk, "--must-not-suffer")
    assert tell.refused(*words, "shadows")["code"] == "way_has_no_choice"
    assert tell.refused(*words, "the sky", "--way", "whole")["code"] == "wish_unknown"
    assert tell.refused(*words, "0,0,1000,10", "--way", "whole")["code"] == "crop_outside"
    ticket = tell.ok(*words, "blues", "--must-not-suffer", "Blues", "--way", "detail")["ticket"]
    assert tell.ok("proof", ticket)["must_not_suffer"] == ["blues"]
    assert place_of("1,2,3,4") == (1, 2, 3, 4)
    assert place_of("1,2,3") is None
