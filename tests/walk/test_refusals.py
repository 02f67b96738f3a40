"""Bad input gets one sentence and the right exit code; nothing is half-written, the journal is unharmed."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
import tifffile

from support.commands import Teller, in_process
from support.disks import small_disk
from wallworthy.icc.standard import srgb_profile

pytestmark = pytest.mark.practice


def leftovers(folder: Path) -> list[str]:
    return [path.name for path in folder.iterdir() if ".part" in path.name]


@pytest.mark.parametrize(
    ("size", "code"),
    [
        ("0x0cm", "size_absurd"),
        ("30x40", "unit_missing"),
        ("large", "size_unclear"),
        ("-3x4cm", "size_unclear"),
        ("1e9x3cm", "size_unclear"),
        ("99999x40cm", "size_absurd"),
        ("30x40parsec", "unit_unknown"),
    ],
)
def test_sizes_that_can_not_be(tell: Teller, master: Path, size: str, code: str) -> None:
    assert tell.refused("start", master, "--paper", "matt", f"--size={size}")["code"] == code
    assert tell.ok("tickets")["tickets"] == []


@pytest.mark.parametrize(
    "words",
    [
        ("--from", "60"),
        ("--from", "nearby"),
        ("--from", "0cm"),
        ("--way", "magic"),
        ("--border", "-3"),
        ("--border", "nan"),
        ("--crop", "0,0,9999,9999"),
        ("--crop", "1,2,3"),
        ("--light", "moonbase"),
        ("--display", "none of mine"),
        ("--assume", "missing.icc"),
    ],
)
def test_wishes_that_can_not_be(tell: Teller, master: Path, words: tuple[str, str]) -> None:
    status = 2 if words == ("--border", "nan") else 3
    tell.refused("start", master, "--size", "A4", "--paper", "matt", *words, status=status)
    assert tell.ok("tickets")["tickets"] == []


def test_usage_is_told_apart_from_input(tell: Teller, master: Path) -> None:
    tell.refused("start", master, "--size", "A4", status=2)
    tell.refused("start", master, "--size", "A4", "--paper", "matt", "--on", "x", status=2)
    tell.refused("start", master, "--size", "A4", "--paper", "matt", "--fill", "--crop", "0,0,5,5", status=2)
    tell.refused("frame", status=2)
    tell.refused("proof", status=2)
    tell.refused("final", "T1", "--bits", "many", status=2)


@pytest.mark.parametrize("content", [b"", b"II*\0", b"no picture at all", b"\x89PNG\r\n\x1a\n" + b"\0" * 40])
def test_masters_that_are_none(tell: Teller, tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "broken.tif"
    path.write_bytes(content)
    tell.refused("start", path, "--size", "A4", "--paper", "matt")
    tell.refused("start", tmp_path / "nowhere.tif", "--size", "A4", "--paper", "matt")
    tell.refused("start", tmp_path, "--size", "A4", "--paper", "matt")


def test_untagged_pictures_need_to_be_told(tell: Teller, tmp_path: Path) -> None:
    path, profile = tmp_path / "untagged.tif", tmp_path / "space.icc"
    tifffile.imwrite(path, np.zeros((20, 30, 3), np.uint16), photometric="rgb")
    tell.refused("start", path, "--size", "A4", "--paper", "matt")
    profile.write_bytes(srgb_profile())
    assert tell.ok("start", path, "--size", "A4", "--paper", "matt", "--assume", profile)["ticket"] == "T1"


def test_a_space_is_told_by_name_and_means_its_curve_for_grey(tell: Teller, tmp_path: Path) -> None:
    plane = np.linspace(0, 65535, 600).astype(np.uint16).reshape(20, 30)
    colour, grey, inks = (tmp_path / f"{name}.tif" for name in ("colour", "grey", "inks"))
    tifffile.imwrite(colour, np.stack([plane] * 3, axis=-1), photometric="rgb")
    tifffile.imwrite(grey, plane, photometric="minisblack")
    tifffile.imwrite(inks, np.zeros((20, 30, 4), np.uint8), photometric="separated")
    words = ("--size", "A4", "--paper", "matt")
    assert "--assume srgb" in tell.refused("start", grey, *words)["mend"]
    for path, word in ((colour, "srgb"), (colour, "display-p3"), (grey, "sRGB"), (grey, "display-p3")):
        ticket = tell.ok("start", path, *words, "--assume", word)["ticket"]
        assert tell.ok("proof", ticket, "-o", tmp_path / f"{ticket}.png")["files"]
    assert tell.ok("appraise", grey, "--size", "A4", "--assume", "srgb")["grade"]
    for more in ((), ("--assume", "srgb")):
        mend = tell.refused("start", inks, *words, *more)["mend"]
        assert "Ask who sent it for the ICC profile of the press" in mend


def test_a_size_that_holds_the_picture_only_turned_is_refused(tell: Teller, tmp_path: Path) -> None:
    path = tmp_path / "coast.tif"
    tifffile.imwrite(path, np.zeros((20, 400, 3), np.uint8), photometric="rgb", iccprofile=srgb_profile())
    refused = tell.refused("start", path, "--size", "2x20cm", "--paper", "lustre")
    assert refused["code"] == "size_absurd"
    assert "2 x 0.1 cm" in refused["text"]
    assert "20x2cm" in refused["mend"]
    assert tell.ok("start", path, "--size", "20x2cm", "--paper", "lustre")["size_mm"] == [200, 10]


def test_a_truncated_master_leaves_no_final(tell: Teller, master: Path, tmp_path: Path) -> None:
    ticket = tell.ok("start", master, "--size", "A5", "--paper", "matt")["ticket"]
    data = master.read_bytes()
    master.write_bytes(data[: len(data) // 2])
    tell.refused("final", ticket, "-o", tmp_path / "f.jpg")
    assert not (tmp_path / "f.jpg").exists()
    assert leftovers(tmp_path) == []
    master.unlink()
    assert tell.refused("proof", ticket)["code"] == "master_missing"


def test_a_changed_master_is_noticed(tell: Teller, master: Path) -> None:
    ticket = tell.ok("start", master, "--size", "A5", "--paper", "matt")["ticket"]
    tifffile.imwrite(master, np.zeros((20, 30, 3), np.uint16), photometric="rgb", iccprofile=srgb_profile())
    assert tell.refused("proof", ticket)["code"] == "master_changed"


def test_profiles_that_are_no_output_profiles(tell: Teller, tmp_path: Path, cmyk: Path) -> None:
    screen, cut, text = tmp_path / "screen.icc", tmp_path / "cut.icc", tmp_path / "text.icc"
    screen.write_bytes(srgb_profile())
    cut.write_bytes(cmyk.read_bytes()[:5000])
    text.write_bytes(b"a profile, honestly")
    for path in (screen, cut, text, tmp_path / "missing.icc"):
        tell.refused("condition", "add", "x", "--profile", path)
    assert tell.ok("condition", "list")["conditions"] == []


def test_a_folder_of_profiles_asks_which(tell: Teller, tmp_path: Path, cmyk: Path, published_profile) -> None:
    folder = tmp_path / "profiles"
    folder.mkdir()
    (folder / "one.icc").write_bytes(cmyk.read_bytes())
    (folder / "two.icc").write_bytes(published_profile("gs_cmyk"))
    (folder / "readme.txt").write_text("not a profile")
    error = tell.refused("condition", "add", "x", "--profile", folder)
    assert error["code"] == "profile_choice"
    assert "1 " in error["mend"]
    assert "2 " in error["mend"]
    tell.refused("condition", "add", "x", "--profile", folder, "--pick", "9")
    tell.refused("condition", "add", "x", "--profile", folder, "--pick", "zzz")
    assert tell.ok("condition", "add", "x", "--profile", folder, "--pick", "1")["condition"]["name"] == "x"


def test_a_profile_deleted_later_does_no_harm(tell: Teller, master: Path, cmyk: Path) -> None:
    ticket = tell.ok("start", master, "--size", "A5", "--profile", cmyk)["ticket"]
    cmyk.unlink()
    tell.ok("proof", ticket)
    tell.ok("final", ticket, "--ppi", "50")


def test_names_taken_and_unknown(tell: Teller, master: Path, cmyk: Path) -> None:
    tell.ok("paper", "add", "cotton")
    assert tell.refused("paper", "add", "Cotton")["code"] == "name_taken"
    tell.ok("condition", "add", "press", "--profile", cmyk, "--paper", "cotton")
    assert tell.refused("condition", "add", "press", "--profile", cmyk)["code"] == "name_taken"
    tell.ok("light", "add", "hall", "--lux", "80")
    tell.refused("light", "add", "hall", "--lux", "90")
    tell.ok("display", "add", "desk", "--space", "srgb")
    tell.refused("display", "add", "desk", "--space", "srgb")
    tell.refused("condition", "add", "other", "--profile", cmyk, "--paper", "no such paper")
    for kind in ("paper", "condition", "light", "display"):
        tell.refused(kind, "show", "no such thing")
    tell.refused("start", master, "--size", "A4", "--on", "pres")
    tell.refused("proof", "T7")
    tell.refused("show", "first")
    tell.refused("final", "T1", "--again")


@pytest.mark.parametrize(
    "words",
    [
        ("paper", "add", "x", "--surface", "velvet"),
        ("paper", "add", "x", "--stock", "A4"),
        ("paper", "add", "x", "--stock", "A4=-2"),
        ("paper", "add", "x", "--price", "A4=cheap"),
        ("paper", "add", "x", "--weight", "0"),
        ("paper", "add", " "),
        ("light", "add", "x", "--lux", "-5"),
        ("light", "add", "x"),
        ("light", "add", "x", "--lux", "100", "--cct", "3"),
        ("light", "add", "x", "--lux", "100", "--surround", "purple"),
        ("light", "add", "x", "--spectrum", "missing.csv"),
        ("display", "add", "x", "--space", "cmyk"),
        ("display", "add", "x", "--calibrated", "someday"),
        ("display", "add", "x", "--calibrated", "2999-01-01"),
        ("display", "add", "x", "--white", "0"),
    ],
)
def test_things_that_can_not_be(tell: Teller, words: tuple[str, ...]) -> None:
    tell.refused(*words)
    assert tell.ok(words[0], "list")[f"{words[0]}s"] == []


@pytest.mark.parametrize(
    "words",
    [
        ("--correct", "warmth=2"),
        ("--correct", "lightness"),
        ("--correct", "lightness=90"),
        ("--correct", "contrast=9"),
        ("--correct", "lightness=nan"),
        ("--correct", "chroma=-1"),
        ("--paper-white", "perhaps"),
        ("-o", "proof.tif"),
        ("-o", "nowhere/proof.png"),
        ("--lab", "nowhere/lab.tif"),
    ],
)
def test_proofs_that_can_not_be(tell: Teller, master: Path, words: tuple[str, str]) -> None:
    ticket = tell.ok("start", master, "--size", "A5", "--paper", "matt")["ticket"]
    tell.refused("proof", ticket, *words)
    shown = tell.ok("show", ticket)
    assert shown["stage"] == "started"
    assert shown["correction"]["lightness"] == 0
    assert leftovers(Path.cwd()) == []


@pytest.mark.parametrize(
    "words",
    [
        ("-o", "nowhere/final.tif"),
        ("-o", "final.bmp"),
        ("-o", "final"),
        ("-o", "final.jpg", "--bits", "16"),
        ("-o", "final.tif", "--format", "jpeg"),
        ("--format", "webp"),
        ("--ppi", "1"),
        ("--bits", "12"),
        ("--sharpen", "much"),
        ("--delivery", "pigeon"),
    ],
)
def test_finals_that_can_not_be(tell: Teller, master: Path, words: tuple[str, ...]) -> None:
    ticket = tell.ok("start", master, "--size", "A5", "--paper", "matt")["ticket"]
    tell.refused("final", ticket, *words)
    assert list(Path.cwd().iterdir()) == []


def test_nothing_is_replaced_unasked(tell: Teller, master: Path) -> None:
    ticket = tell.ok("start", master, "--size", "A5", "--paper", "matt")["ticket"]
    tell.ok("final", ticket, "-o", "f.jpg", "--ppi", "50")
    first = Path("f.jpg").read_bytes()
    assert tell.refused("final", ticket, "-o", "f.jpg", "--ppi", "60")["code"] == "file_exists"
    assert Path("f.jpg").read_bytes() == first
    tell.ok("final", ticket, "-o", "f.jpg", "--ppi", "60", "--force")
    assert Path("f.jpg").read_bytes() != first


def test_inks_leave_as_tiff_only(tell: Teller, master: Path, cmyk: Path) -> None:
    ticket = tell.ok("start", master, "--size", "A5", "--profile", cmyk)["ticket"]
    for name in ("f.png", "f.jpg"):
        tell.refused("final", ticket, "-o", name)
    assert list(Path.cwd().iterdir()) == []


def test_an_unwritable_home_is_trouble(tell: Teller, tmp_path: Path) -> None:
    """Root may write anywhere, so the home is put where no folder can be."""
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    done = in_process(blocked / "home", ["paper", "add", "x"])
    assert done.returncode == 4
    assert "Traceback" not in done.stderr
    done = in_process(blocked, ["paper", "add", "x"])
    assert done.returncode == 3
    assert blocked.read_text() == "in the way"


def test_a_broken_pipe_is_quiet(tell: Teller) -> None:
    read, write = os.pipe()
    os.close(read)
    import subprocess
    import sys

    done = subprocess.run(
        [sys.executable, "-c", "from wallworthy.cli import main; main()", "--home", str(tell.home), "paper", "list"],
        stdout=write,
        stderr=subprocess.PIPE,
        text=True,
        timeout=60,
        check=False,
    )
    os.close(write)
    assert "Traceback" not in done.stderr


def test_interrupted_is_130(tell: Teller, monkeypatch: pytest.MonkeyPatch) -> None:
    from wallworthy.journey import things

    def interrupted(home: Path | None) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(things, "list_papers", interrupted)
    assert tell("paper", "list").status == 130


def test_what_nobody_foresaw_is_one_sentence_too(tell: Teller, monkeypatch: pytest.MonkeyPatch) -> None:
    from wallworthy.journey import things

    def broken(home: Path | None) -> None:
        raise ValueError("odd")

    monkeypatch.delenv("WALLWORTHY_DEBUG", raising=False)
    monkeypatch.setattr(things, "list_papers", broken)
    assert tell.refused("paper", "list", status=4)["code"] == "internal"


@pytest.mark.parametrize("what", ["proof", "final", "test"])
def test_a_full_disk_is_trouble_and_loses_nothing(tell: Teller, tmp_path: Path, cmyk: Path, what: str) -> None:
    """1 MB holds neither; the home lies elsewhere and is unharmed."""
    noise = tmp_path / "noise.tif"
    pixels = np.random.default_rng(3).integers(0, 65536, (600, 900, 3), np.uint16)
    tifffile.imwrite(noise, pixels, photometric="rgb", iccprofile=srgb_profile())
    ticket = tell.ok("start", noise, "--size", "20x30cm", "--profile", cmyk)["ticket"]
    with small_disk(tmp_path / "small") as disk:
        suffix = ".png" if what == "proof" else ".tif"
        assert tell.refused(what, ticket, "-o", disk / f"out{suffix}", status=4)["code"] == "disk_full"
        assert list(disk.iterdir()) == []
    shown = tell.ok("show", ticket)
    assert shown["stage"] == "started"
    assert shown["sheets"] == 0
    tell.ok(what, ticket, "-o", tmp_path / f"out{suffix}")


def test_proofs_are_not_replaced_unasked_either(tell: Teller, master: Path) -> None:
    ticket = tell.ok("start", master, "--size", "A5", "--paper", "matt")["ticket"]
    Path("p.png").write_text("somebody's")
    assert tell.refused("proof", ticket, "-o", "p.png")["code"] == "file_exists"
    assert Path("p.png").read_text() == "somebody's"
    tell.ok("proof", ticket, "-o", "p.png", "--force")


def test_again_takes_no_other_wish(tell: Teller, master: Path) -> None:
    ticket = tell.ok("start", master, "--size", "A5", "--paper", "matt")["ticket"]
    tell.ok("final", ticket, "-o", "f.jpg", "--ppi", "50")
    for words in (("--ppi", "300"), ("--bits", "8"), ("--format", "tiff"), ("--delivery", "numbers")):
        tell.refused("final", ticket, "--again", *words, status=2)
    assert tell.refused("final", ticket, "--again", "-o", "g.tif")["code"] == "format_and_name"


def test_a_refused_start_leaves_nothing_behind(tell: Teller, master: Path) -> None:
    tell.refused("start", master, "--size", "A5", "--paper", "matt", "--light", "no such light")
    assert tell.ok("condition", "list")["conditions"] == []
    assert tell.ok("paper", "list")["papers"] == []


def test_the_demo_leaves_other_peoples_folders_alone(tell: Teller, tmp_path: Path) -> None:
    diary = tmp_path / "mine" / "wallworthy-home" / "diary.txt"
    diary.parent.mkdir(parents=True)
    diary.write_text("dear diary")
    assert tell.refused("demo", "--out", tmp_path / "mine")["code"] == "out_in_use"
    assert diary.read_text() == "dear diary"


def test_the_library_never_writes_over_its_master(tmp_path: Path, master: Path, cmyk: Path) -> None:
    import wallworthy as ww
    from wallworthy.base.errors import InputError

    before = master.read_bytes()
    opened, paper = ww.open_master(master), ww.read_condition(cmyk)
    with pytest.raises(InputError):
        ww.write_final(opened, paper, master, size="10x15cm", overwrite=True)
    with pytest.raises(InputError):
        ww.soft_proof(opened, paper).save(tmp_path / "p.png", lab=master, overwrite=True)
    with pytest.raises(InputError):
        ww.soft_proof(opened, paper, crop=(0, 0, 0, 0))
    assert master.read_bytes() == before


def test_odd_names_and_plain_terminals(tell: Teller, master: Path) -> None:
    """A name that is no UTF-8, told on a terminal that knows ASCII only."""
    odd = master.with_name(os.fsdecode(b"d\xe9j\xe0.tif"))
    odd.write_bytes(master.read_bytes())
    done = in_process(tell.home, ["start", odd, "--size", "A5", "--paper", "matt"], LC_ALL="C", PYTHONUTF8="0")
    assert done.returncode == 0, done.stdout + done.stderr
    proof = in_process(tell.home, ["proof", "T1", "-o", "p.png"], LC_ALL="C", PYTHONUTF8="0")
    assert proof.returncode == 0, proof.stdout + proof.stderr
