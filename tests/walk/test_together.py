"""Sets: prints that hang side by side agree in black, white and mid-tone, and papers are ranked for all of them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from PIL import Image

from support.commands import Teller
from wallworthy.icc.standard import srgb_profile

pytestmark = pytest.mark.practice

GREYS = (0, 30_000, 65_535)
"""Black, a mid-tone and white, as they stand in a corner of every picture."""


def picture(path: Path, low: float, high: float, colour: tuple[float, float, float], seed: int) -> Path:
    """Noise of one colour between two levels, with a row of the same greys in its corner."""
    random = np.random.default_rng(seed)
    field = low + (high - low) * random.random((160, 240, 1)) * np.array(colour)
    samples = np.round(np.clip(field, 0, 1) * 65535).astype(np.uint16)
    for number, grey in enumerate(GREYS):
        samples[:20, 20 * number : 20 * (number + 1)] = grey
    tifffile.imwrite(path, samples, photometric="rgb", iccprofile=srgb_profile())
    return path


@pytest.fixture
def pictures(tmp_path: Path) -> tuple[Path, Path, Path]:
    """A dark, a light and a colourful one."""
    return (
        picture(tmp_path / "night.tif", 0.0, 0.25, (1, 1, 1), 1),
        picture(tmp_path / "snow.tif", 0.7, 1.0, (1, 1, 1), 2),
        picture(tmp_path / "meadow.tif", 0.1, 0.9, (0.4, 1, 0.2), 3),
    )


@pytest.fixture
def tickets(tell: Teller, pictures: tuple[Path, ...], profile: Path) -> list[str]:
    tell.ok("condition", "add", "matt", "--profile", profile)
    return [
        tell.ok("start", path, "--size", "20x30cm", "--on", "matt", "--way", "whole")["ticket"] for path in pictures
    ]


def greys_of(tell: Teller, ticket: str, folder: Path) -> np.ndarray[Any, Any]:
    """L* of the three greys in the predicted print."""
    lab = folder / f"{ticket}.tif"
    tell.ok("proof", ticket, "-o", folder / f"{ticket}.png", "--lab", lab, "--force")
    print_ = tifffile.imread(lab)
    return np.array([print_[8:12, 20 * number + 8 : 20 * number + 12, 0].mean() for number in range(len(GREYS))])


def test_neighbours_agree_in_black_white_and_mid_tone(tell: Teller, tickets: list[str], tmp_path: Path) -> None:
    before = np.array([greys_of(tell, ticket, tmp_path) for ticket in tickets])
    assert np.ptp(before[:, 1]) > 1, "each by itself has its own curve"
    answer = tell.ok("together", *tickets)
    assert answer["tickets"] == tickets
    after = np.array([greys_of(tell, ticket, tmp_path) for ticket in tickets])
    assert np.ptp(after, axis=0).max() < 0.3
    assert before[:, 1].min() - 0.5 <= after[:, 1].mean() <= before[:, 1].max() + 0.5, "a curve between theirs"


def test_a_set_is_told_of_and_taken_apart(tell: Teller, tickets: list[str], tmp_path: Path) -> None:
    alone = greys_of(tell, tickets[0], tmp_path)
    tell.ok("together", *tickets[:2])
    assert tell.ok("show", tickets[0])["stage"] == "started", "what was proofed is no longer what prints"
    said = tell.ok("proof", tickets[0], "-o", tmp_path / "said.png")["sentences"]
    assert any(f"together with those of {tickets[1]}" in sentence for sentence in said)
    shown = tell.ok("show", tickets[1])
    assert shown["hangs_with"] == [tickets[0]]
    assert shown["events"][-1]["text"] == f"Hung together with {tickets[0]}."
    assert tell.refused("together", tickets[1], tickets[2])["code"] == "set_torn"
    freed = tell.ok("together", tickets[1], "--apart")
    assert freed["tickets"] == tickets[:2]
    assert greys_of(tell, tickets[0], tmp_path) == pytest.approx(alone, abs=1e-3)
    assert tell.refused("together", tickets[0], "--apart")["code"] == "no_set"


def test_a_final_is_made_again_with_the_set_it_had(tell: Teller, tickets: list[str], tmp_path: Path) -> None:
    tell.ok("together", *tickets)
    first = tell.ok("final", tickets[0], "-o", tmp_path / "first.tif", "--ppi", "60")
    tell.ok("together", tickets[0], "--apart")
    other = tell.ok("final", tickets[0], "-o", tmp_path / "other.tif", "--ppi", "60")
    assert other["pixels_sha256"] != first["pixels_sha256"]
    tell.ok("together", *tickets)
    again = tell.ok("final", tickets[0], "-o", tmp_path / "again.tif", "--again")
    assert again["pixels_sha256"] == other["pixels_sha256"], "by itself, though it hangs in a set again"
    shared = tell.ok("final", tickets[0], "-o", tmp_path / "shared.tif", "--ppi", "60")
    assert shared["pixels_sha256"] == first["pixels_sha256"]
    tell.ok("together", tickets[0], "--apart")
    once_more = tell.ok("final", tickets[0], "-o", tmp_path / "more.tif", "--again")
    assert once_more["pixels_sha256"] == first["pixels_sha256"], "in its set, though that is taken apart"


def test_what_can_be_no_set_is_refused(tell: Teller, tickets: list[str]) -> None:
    assert tell.refused("together", tickets[0])["code"] == "set_of_one"
    assert tell.refused("together", tickets[0], tickets[0].lower())["code"] == "set_of_one"
    assert tell.refused("together", tickets[0], "T99")["code"] == "ticket_unknown"
    assert tell.ok("show", tickets[0])["hangs_with"] == []


def test_what_a_set_can_not_do_is_said(
    tell: Teller, tickets: list[str], cmyk: Path, pictures: tuple[Path, ...]
) -> None:
    tell.ok("condition", "add", "press", "--profile", cmyk)
    fixed = tell.ok("start", pictures[0], "--size", "A4", "--on", "press", "--way", "relative-bpc")["ticket"]
    notices = {notice["code"]: notice["text"] for notice in tell.ok("together", tickets[0], fixed)["notices"]}
    (said,) = tell.ok("together", tickets[0], fixed)["sentences"]
    assert said == f"{tickets[0]} and {fixed} hang together: one tone curve, which {tickets[0]} alone follows."
    assert fixed in notices["set_fixed_way"]
    assert "matt, press" in notices["set_papers"]


def test_two_ways_in_a_set_have_a_curve_each_and_it_is_said(
    tell: Teller, tickets: list[str], pictures: tuple[Path, ...]
) -> None:
    drawn = tell.ok("start", pictures[1], "--size", "20x30cm", "--on", "matt", "--way", "detail")["ticket"]
    (said,) = tell.ok("together", tickets[0], drawn)["sentences"]
    assert "one tone curve for each of their ways" in said


def test_a_set_without_a_chosen_way_shares_no_curve_and_does_not_claim_one(
    tell: Teller, cmyk: Path, pictures: tuple[Path, ...]
) -> None:
    tell.ok("condition", "add", "press", "--profile", cmyk)
    first, second = (
        tell.ok("start", picture, "--size", "A4", "--on", "press", "--way", "relative-bpc")["ticket"]
        for picture in pictures[:2]
    )
    (said,) = tell.ok("together", first, second)["sentences"]
    assert f"{first} and {second} hang together" in said
    assert "one tone curve" not in said
    assert said.endswith("so that black, white and mid-tone agree.")


def test_agreement_is_claimed_only_for_what_agrees(
    tell: Teller, profile: Path, cmyk: Path, pictures: tuple[Path, ...]
) -> None:
    for name, path in (("press", cmyk), ("matt", profile), ("matt again", profile)):
        tell.ok("condition", "add", name, "--profile", path)

    def hung(*members: tuple[str, ...]) -> tuple[str, set[str]]:
        named = [
            tell.ok("start", picture, "--size", "A4", "--on", *more)["ticket"]
            for picture, more in zip(pictures, members, strict=False)
        ]
        answer = tell.ok("together", *named)
        return answer["sentences"][0], {notice["code"] for notice in answer["notices"]}

    said, codes = hung(("matt",), ("press",))
    assert "agree" not in said
    assert "set_papers" in codes
    said, codes = hung(("matt", "--way", "whole"), ("press", "--way", "whole"))
    assert "agree" not in said
    said, codes = hung(("matt", "--way", "whole"), ("matt again", "--way", "whole"))
    assert said.endswith("one tone curve, so that black, white and mid-tone agree.")
    assert codes == set()
    said, codes = hung(("matt", "--way", "relative"), ("matt", "--way", "perceptual"))
    assert "agree" not in said
    said, codes = hung(
        ("matt", "--way", "whole", "--black-and-white", "paper-warm"),
        ("matt", "--way", "whole", "--black-and-white", "neutral"),
    )
    assert said.endswith("agree, but for their tints.")
    assert codes == {"set_tints"}


def test_own_corrections_in_a_set_are_told(tell: Teller, tickets: list[str], tmp_path: Path) -> None:
    tell.ok("proof", tickets[0], "--correct", "lightness=3", "-o", tmp_path / "lighter.png")
    answer = tell.ok("together", *tickets[:2])
    assert answer["sentences"][0].endswith("agree, but for their corrections.")
    (told,) = [notice["text"] for notice in answer["notices"] if notice["code"] == "set_corrections"]
    assert f"{tickets[0]} 3 L* lighter, {tickets[1]} no correction" in told


def test_the_same_picture_twice_is_no_set(tell: Teller, tickets: list[str], pictures: tuple[Path, ...]) -> None:
    told = tell.refused("choose", pictures[0], pictures[1], pictures[0], "--size", "A4")
    assert told["code"] == "picture_twice"
    assert pictures[0].name in told["text"]


def test_papers_are_ranked_for_a_set(
    tell: Teller, tickets: list[str], pictures: tuple[Path, ...], cmyk: Path, tmp_path: Path
) -> None:
    tell.ok("condition", "add", "press", "--profile", cmyk)
    one_by_one = {
        path.stem: {
            one["condition"]: one["loss_mean_de00"] for one in tell.ok("choose", path, "--size", "A4")["ranking"]
        }
        for path in pictures
    }
    ranking = tell.ok("choose", *pictures, "--size", "A4", "-o", tmp_path / "contact.png")["ranking"]
    assert [one["loss_mean_de00"] for one in ranking] == sorted(one["loss_mean_de00"] for one in ranking)
    for one in ranking:
        losses = {each["title"]: each["loss_mean_de00"] for each in one["pictures"]}
        expected = {title: by_paper[one["condition"]] for title, by_paper in one_by_one.items()}
        assert losses == pytest.approx(expected, abs=1e-6)
        assert one["loss_mean_de00"] == pytest.approx(np.mean(list(losses.values())))
        worst = max(losses, key=losses.__getitem__)
        assert f"'{worst}' loses most." in one["text"]
    with Image.open(tmp_path / "contact.png") as image:
        assert image.width > 3 * 240, "a row for each paper, a column for each picture"
    assert tell.refused("choose", *pictures, "--size", "A4", "--crop", "0,0,10,10")["code"] == "crop_of_set"
    whole = tell.ok("choose", *pictures, "--size", "A4", "--way", "whole")["ranking"]
    assert {one["condition"] for one in whole} == {"matt", "press"}


def test_the_library_takes_sets_too(pictures: tuple[Path, ...], profile: Path) -> None:
    import wallworthy as ww

    masters = [ww.open_master(path) for path in pictures]
    condition = ww.read_condition(profile, name="matt")

    def mid(number: int, *beside: ww.Master) -> float:
        proof = ww.soft_proof(masters[number], condition, size="20x30cm", way="whole", beside=beside)
        return float(proof.lab_absolute[8:12, 28:32, 0].mean())

    assert abs(mid(0) - mid(1)) > 1
    assert mid(0, masters[1]) == pytest.approx(mid(1, masters[0]), abs=0.3)
    ranked = ww.choose(masters, [condition], size="20x30cm")
    assert [one.title for one in ranked.ranking[0].pictures] == ["night", "snow", "meadow"]


def test_a_set_remembers_all_that_its_curve_is_chosen_from(
    tell: Teller, pictures: tuple[Path, ...], profile: Path
) -> None:
    import dataclasses

    from wallworthy.base.ticket import set_from_facts, set_to_facts
    from wallworthy.fit.tone import Tones
    from wallworthy.journal.journal import Journal

    words = ("--size", "20x30cm", "--profile", profile, "--way", "whole")
    dark = tell.ok("start", pictures[0], *words, "--must-not-suffer", "shadows")["ticket"]
    light = tell.ok("start", pictures[1], *words)["ticket"]
    tell.ok("together", dark, light)
    with Journal.open(tell.home) as journal:
        kept = journal.tickets.get(light).hangs_with
    assert kept is not None
    assert max(kept.asked) > 0.2, "what must not suffer in one of them"
    assert {field.name for field in dataclasses.fields(Tones)} | {"tickets"} == set(set_to_facts(kept))
    before = {name: line for name, line in set_to_facts(kept).items() if name != "asked"}
    assert max(set_from_facts(before).asked) == 0
    assert len(set_from_facts(before).asked) == len(kept.share)
