"""Places lie in the picture, apart from each other, worst first; odd pictures get sound reports."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from support.proof_scenes import fitted, hard_places, noise, picture_of, profile_named, srgb_display
from wallworthy.base.records import Box, ProofReport, WorstPlace
from wallworthy.colour.lab import lab_to_xyz
from wallworthy.icc.read import Profile
from wallworthy.proof.places import overlap
from wallworthy.proof.screen import screen_of
from wallworthy.proof.soft import Proof, make_proof

Published = Callable[[str], bytes]


@pytest.fixture(scope="module")
def output(published_profile: Published) -> Profile:
    return profile_named(published_profile, "gs_cmyk")


def proof_of(picture: np.ndarray, output: Profile, shown_px: Box | None = None) -> Proof:
    return make_proof(picture, fitted(picture, output), output, srgb_display(), shown_px=shown_px)


def check(report: ProofReport, shown: Box) -> None:
    for field in dataclasses.fields(report):
        value = getattr(report, field.name)
        numbers = value if isinstance(value, tuple) else (value,)
        assert all(math.isfinite(n) for n in numbers if isinstance(n, float)), field.name
    assert 0 <= report.loss_mean_de00 <= report.loss_max_de00
    assert 0 <= report.out_of_display_pct <= 100
    assert len(report.worst) <= 5
    losses = [place.loss_mean_de00 for place in report.worst]
    assert losses == sorted(losses, reverse=True)
    for place in report.worst:
        assert f" {place.loss_mean_de00:.1f} ΔE00 on average, " in place.text, "they are ordered by what is told"
        row, column, height, width = place.box_px
        assert height >= 1
        assert width >= 1
        assert shown[0] <= row
        assert row + height <= shown[0] + shown[2]
        assert shown[1] <= column
        assert column + width <= shown[1] + shown[3]
        assert place.text.endswith(("of the picture.", "of the picture."))
    boxes = [place.box_px for place in report.worst]
    assert not any(overlap(one, other) for i, one in enumerate(boxes) for other in boxes[:i])


@pytest.mark.practice
@pytest.mark.parametrize(
    "shape", [(1, 1), (1, 2), (2, 1), (3, 5), (1, 500), (500, 1), (61, 59), (7, 200), (200, 7), (130, 90)]
)
def test_odd_shapes(shape: tuple[int, int], output: Profile) -> None:
    proof = proof_of(noise(shape), output)
    check(proof.report, (0, 0, *shape))
    assert proof.image.shape == (*shape, 3)
    assert proof.lab_absolute.dtype == np.float32


@pytest.mark.practice
@pytest.mark.parametrize("value", [0.0, 0.5, 1.0])
def test_uniform_pictures(value: float, output: Profile) -> None:
    proof = proof_of(np.full((50, 70, 3), value, np.float32), output)
    check(proof.report, (0, 0, 50, 70))
    assert np.ptp(proof.loss) <= 1e-3


@pytest.mark.practice
def test_white_paper_loses_nothing_and_says_so(output: Profile) -> None:
    proof = make_proof(
        np.ones((40, 60, 3), np.float32), np.zeros((40, 60, 4), np.float32), output, srgb_display(), paper_white=False
    )
    assert proof.report.worst == ()
    assert "Nothing visible is lost" in proof.sentences[0]
    assert (proof.image == 255).all()


@pytest.mark.practice
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    seed=st.integers(0, 2**32 - 1),
    height=st.integers(1, 90),
    width=st.integers(1, 90),
    coarse=st.integers(1, 12),
    shown=st.tuples(st.integers(0, 3000), st.integers(0, 3000), st.integers(1, 4000), st.integers(1, 4000)),
)
def test_any_picture(output: Profile, seed: int, height: int, width: int, coarse: int, shown: Box) -> None:
    small = noise((height // coarse + 1, width // coarse + 1), seed)
    picture = np.ascontiguousarray(np.kron(small, np.ones((coarse, coarse, 1), np.float32))[:height, :width])
    check(proof_of(picture, output, shown).report, shown)


def place_of(report: ProofReport, words: str) -> WorstPlace:
    return next(place for place in report.worst if words in place.text)


@pytest.mark.practice
def test_the_hard_places_are_found_and_named(output: Profile) -> None:
    report = proof_of(picture_of(hard_places()), output).report
    orange, shadows, corner = (place_of(report, words) for words in ("orange", "shadows", "blue-green"))
    assert "across the upper part" in orange.text
    assert "at the lower left" in shadows.text
    assert "at the lower right" in corner.text
    assert "the paper's black" in shadows.text
    assert "lose" in corner.text
    # rows 32 to 51, columns 24 to 216 hold the band
    row, column, height, width = orange.box_px
    assert abs(row - 32) <= 4
    assert abs(row + height - 52) <= 4
    assert abs(column - 24) <= 4
    assert abs(column + width - 216) <= 4


@pytest.mark.practice
def test_what_is_said_above_the_places(output: Profile) -> None:
    proof = proof_of(picture_of(hard_places()), output)
    unseen = int((proof.loss < 2).mean() * 100)
    assert proof.sentences[0].endswith("different on this paper.")
    assert f"{unseen} %" in proof.sentences[1]
    black = next(sentence for sentence in proof.sentences if "darkest tone" in sentence)
    assert f"L* {proof.report.range_after_lstar[0]:.0f}" in black
    assert any("screen" in sentence for sentence in proof.sentences)


@pytest.mark.practice
def test_red_flowers_in_dark_grass_are_two_stories(output: Profile) -> None:
    dice = np.random.default_rng(4)
    lab = np.full((120, 180, 3), (60.0, 0.0, 0.0))
    meadow = lab[60:, 90:]
    meadow[:] = (9.0, -4.0, 8.0)
    meadow[dice.random(meadow.shape[:2]) < 0.3] = (50.0, 78.0, 62.0)
    report = proof_of(picture_of(lab), output).report
    texts = " ".join(place.text for place in report.worst)
    assert "shadows at the lower right" in texts
    assert "red there loses" in texts
    assert "brown" not in texts


@pytest.mark.practice
@pytest.mark.parametrize("name", ["gs_gray", "gs_srgb", "gs_ps_cmyk", "vips_cmyk"])
def test_outputs_of_other_kinds(published_profile: Published, name: str) -> None:
    other = profile_named(published_profile, name)
    proof = proof_of(picture_of(hard_places(60, 90)), other)
    check(proof.report, (0, 0, 60, 90))
    if name == "gs_gray":
        assert any("of its colour" in place.text for place in proof.report.worst)


@pytest.mark.practice
def test_boxes_are_counted_in_master_pixels(output: Profile) -> None:
    picture = picture_of(hard_places())
    plain = proof_of(picture, output).report
    tenfold = proof_of(picture, output, (100, 200, 1600, 2400)).report
    assert [p.text for p in plain.worst] == [p.text for p in tenfold.worst]
    for here, there in zip(plain.worst, tenfold.worst, strict=True):
        row, column, height, width = here.box_px
        assert there.box_px == (100 + 10 * row, 200 + 10 * column, 10 * height, 10 * width)


@pytest.mark.practice
def test_the_same_picture_gives_the_same_bytes(output: Profile) -> None:
    picture = picture_of(hard_places(90, 120))
    one, other = proof_of(picture, output), proof_of(picture, output)
    assert one.image.tobytes() == other.image.tobytes()
    assert one.lab_absolute.tobytes() == other.lab_absolute.tobytes()
    assert one.report == other.report


@pytest.mark.practice
def test_paper_white_and_black_are_the_paper_s_own(output: Profile) -> None:
    device = np.zeros((20, 20, 4), np.float32)
    device[:10] = 1
    picture = np.full((20, 20, 3), 0.5, np.float32)
    shown = make_proof(picture, device, output, srgb_display(), paper_white=True).image
    relative = make_proof(picture, device, output, srgb_display(), paper_white=False).image
    assert shown[15, 10].max() < 255
    assert (relative[15, 10] >= 254).all()
    assert shown[5, 10].max() > 0


@pytest.mark.practice
def test_a_paper_bluer_than_the_screen_dims_the_proof_instead_of_clipping(output: Profile) -> None:
    bluish = dataclasses.replace(output, white_xyz=tuple(lab_to_xyz([98.0, 2.0, -9.0]).tolist()))
    blank = np.zeros((30, 30, 4), np.float32)
    proof = make_proof(np.ones((30, 30, 3), np.float32), blank, bluish, srgb_display())
    assert proof.report.out_of_display_pct == 0
    assert any("darker" in sentence for sentence in proof.sentences)
    assert proof.image[..., 2].max() >= 254
    assert proof.image[..., 0].max() < 252
    # the predicted print itself is not dimmed
    assert proof.lab_absolute[0, 0] == pytest.approx([98.0, 2.0, -9.0], abs=0.1)


@pytest.mark.practice
def test_a_display_by_tables_goes_through_the_engine(output: Profile, monkeypatch: pytest.MonkeyPatch) -> None:
    from wallworthy.proof import soft
    from wallworthy.proof.screen import Screen

    picture = picture_of(hard_places(60, 80))
    sums = proof_of(picture, output)

    def engine_only(data: bytes) -> Screen:
        return dataclasses.replace(screen_of(data), shaper=None)

    monkeypatch.setattr(soft, "screen_of", engine_only)
    engine = proof_of(picture, output)
    assert np.abs(sums.image.astype(int) - engine.image).max() <= 1
    assert engine.report.out_of_display_pct == pytest.approx(sums.report.out_of_display_pct, abs=0.1)


@pytest.mark.practice
def test_a_place_within_another_has_its_own_box(output: Profile) -> None:
    """A small sign loses more than the large dark ground around it: the ground's box gives way to it."""
    picture = np.full((240, 360, 3), 0.5, np.float32)
    picture[100:] = noise((140, 360), 3) * np.float32(0.03)
    picture[140:166, 60:100] = (0.02, 0.03, 0.4)
    report = proof_of(picture, output).report
    check(report, (0, 0, 240, 360))
    assert "blue at the left" in report.worst[0].text
    row, column, height, width = report.worst[0].box_px
    assert 134 <= row < row + height <= 172
    assert 54 <= column < column + width <= 106
    shadows = place_of(report, "shadows")
    assert shadows.box_px[2] * shadows.box_px[3] >= 140 * 360 / 2
