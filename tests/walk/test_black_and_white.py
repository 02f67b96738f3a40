"""Black and white on the command line: proof, final, tones, what is said, and grey masters."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import tifffile

import wallworthy as ww
from support.commands import Teller
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, xyz_to_lab
from wallworthy.icc.read import read_profile
from wallworthy.icc.standard import grey_profile, srgb_profile

pytestmark = pytest.mark.practice


def relative(path: Path, profile: Path) -> np.ndarray:
    """The predicted print's Lab relative to the paper."""
    lab = tifffile.imread(path).astype(np.float64)
    return np.asarray(xyz_to_lab(lab_to_xyz(lab) / np.array(read_profile(profile).white_xyz) * PCS_WHITE))


def test_a_colour_picture_prints_in_neutral_greys(tell: Teller, master: Path, cmyk: Path, tmp_path: Path) -> None:
    ticket = tell.ok("start", master, "--size", "20x30cm", "--profile", cmyk, "--black-and-white", "neutral")["ticket"]
    proof = tell.ok("proof", ticket, "--lab", tmp_path / "grey.tif", "-o", tmp_path / "grey.png")
    lab = relative(tmp_path / "grey.tif", cmyk)
    above = lab[..., 0] > 30
    assert np.hypot(lab[..., 1], lab[..., 2])[above].max() < 1.2
    facts = proof["black_and_white"]
    assert facts["tone"] == "neutral"
    assert facts["off_mean_de00"] < 0.5
    assert facts["largest_step_de00"] < 1
    assert facts["key"] == "middle"
    assert [step["master_lstar"] for step in facts["ladder"]] == list(range(0, 101, 10))
    landed = [step["print_lstar"] for step in facts["ladder"]]
    assert landed == sorted(landed)
    assert sum(step["share_pct"] for step in facts["ladder"]) == pytest.approx(100, abs=0.1)
    assert proof["loss_mean_de00"] < 4
    assert tell.ok("show", ticket)["black_and_white"] == "neutral"
    colour = tell.ok("proof", ticket, "--black-and-white", "none")
    assert colour["black_and_white"] is None
    assert colour["loss_mean_de00"] != proof["loss_mean_de00"]


def test_a_tone_that_was_asked_for_is_no_loss(tell: Teller, master: Path, cmyk: Path) -> None:
    ticket = tell.ok("start", master, "--size", "10x15cm", "--profile", cmyk, "--black-and-white", "neutral")["ticket"]
    neutral = tell.ok("proof", ticket)["loss_mean_de00"]
    for tone in ("paper-warm", "cool", "split"):
        toned = tell.ok("proof", ticket, "--black-and-white", tone, "-o", f"{tone}.png")["loss_mean_de00"]
        assert toned == pytest.approx(neutral, abs=0.6), tone


def test_the_final_is_what_the_proof_showed(tell: Teller, master: Path, cmyk: Path, tmp_path: Path) -> None:
    ticket = tell.ok("start", master, "--size", "10x15cm", "--profile", cmyk, "--black-and-white", "cool")["ticket"]
    first = tell.ok("final", ticket, "-o", tmp_path / "one.tif", "--ppi", "60", "--sharpen", "none")
    tell.ok("proof", ticket, "--black-and-white", "none")
    plain = tell.ok("final", ticket, "-o", tmp_path / "two.tif", "--ppi", "60", "--sharpen", "none")
    assert plain["pixels_sha256"] != first["pixels_sha256"]
    tell.ok("proof", ticket, "--black-and-white", "cool")
    again = tell.ok("final", ticket, "-o", tmp_path / "three.tif", "--ppi", "60", "--sharpen", "none")
    assert again["pixels_sha256"] == first["pixels_sha256"]
    for way in ("whole", "detail"):
        tell.ok("proof", ticket, "--way", way)
        tell.ok("final", ticket, "-o", tmp_path / f"{way}.tif", "--ppi", "60")


def test_tones_and_keys_are_told(tell: Teller, cmyk: Path, tmp_path: Path) -> None:
    for name, level, key in (("dark", 6000, "low"), ("light", 56000, "high")):
        path = tmp_path / f"{name}.tif"
        ramp = np.linspace(0.6, 1.3, 180)[None, :, None] * np.ones((120, 1, 3)) * level
        tifffile.imwrite(path, np.clip(ramp, 0, 65535).astype(np.uint16), photometric="rgb", iccprofile=srgb_profile())
        words = ("start", path, "--size", "10x15cm", "--profile", cmyk, "--black-and-white", "split")
        ticket = tell.ok(*words, "--light", "evening room")["ticket"]
        facts = tell.ok("proof", ticket)["black_and_white"]
        assert facts["key"] == key
        told = " ".join(facts["sentences"])
        assert f"{key}-key" in told
        assert f"half of it lies {'below' if key == 'low' else 'above'} L*" in told
        assert "'split'" in facts["sentences"][0]
        assert facts["shift_mean_de00"] is None
        assert "spectra" in facts["sentences"][-1]


def test_a_shift_is_stated_when_both_spectra_are_known(tell: Teller, master: Path, tmp_path: Path) -> None:
    import pyvips

    profile = tmp_path / "measured.icc"
    profile.write_bytes(bytes(pyvips.Operation.call("profile_load", "cmyk")))
    tell.ok("light", "add", "led", "--lux", "200", "--spectrum", "LED-B2")
    words = ("start", master, "--size", "10x15cm", "--profile", profile, "--black-and-white", "neutral")
    facts = tell.ok("proof", tell.ok(*words, "--light", "led")["ticket"])["black_and_white"]
    assert 0 < facts["shift_mean_de00"] < facts["shift_max_de00"]
    assert "led" in facts["sentences"][-1]


def test_a_grey_master_is_told_of_it_and_unknown_tones_are_refused(tell: Teller, cmyk: Path, tmp_path: Path) -> None:
    path = tmp_path / "grey.tif"
    pixels = np.linspace(0, 65535, 180, dtype=np.uint16)[None, :] * np.ones((120, 1), np.uint16)
    tifffile.imwrite(path, pixels, photometric="minisblack", iccprofile=grey_profile())
    started = tell.ok("start", path, "--size", "10x15cm", "--profile", cmyk)
    assert "grey_master" in {notice["code"] for notice in started["notices"]}
    named = tell.ok("start", path, "--size", "10x15cm", "--on", started["condition"], "--black-and-white", "neutral")
    assert "grey_master" not in {notice["code"] for notice in named["notices"]}
    words = ("start", path, "--size", "10x15cm", "--profile", cmyk, "--black-and-white")
    assert tell.refused(*words, "sepia")["code"] == "tone_unknown"


def test_papers_are_chosen_for_the_greys(tell: Teller, master: Path, cmyk: Path) -> None:
    tell.ok("condition", "add", "press", "--profile", cmyk)
    colour = tell.ok("choose", master, "--size", "A4")["ranking"][0]
    grey = tell.ok("choose", master, "--size", "A4", "--black-and-white", "neutral")["ranking"][0]
    assert grey["loss_mean_de00"] < colour["loss_mean_de00"]
    assert grey["out_of_range_pct"] < colour["out_of_range_pct"]
    opened, condition = ww.open_master(master), ww.read_condition(cmyk, name="press")
    proof = ww.soft_proof(opened, condition, size="A4", black_and_white="neutral")
    assert proof.report.loss_mean_de00 == pytest.approx(grey["loss_mean_de00"], abs=0.1)


def test_start_and_final_say_that_it_is_black_and_white(
    tell: Teller, master: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from wallworthy.cli.run import run

    words = ("start", str(master), "--size", "9x6cm", "--paper", "matt")
    for more, tone in ((("--black-and-white", "cool"), "cool"), ((), None)):
        answer = tell.ok(*words, *more)
        assert answer["black_and_white"] == tone
        assert tell.ok("final", answer["ticket"], "--ppi", "72")["black_and_white"] == tone
        for command in ((*words, *more), ("final", answer["ticket"], "--ppi", "72")):
            capsys.readouterr()
            assert run(["--home", str(tell.home), *command]) == 0
            assert ("In black and white, tone 'cool'." in capsys.readouterr().out) is (tone == "cool")
