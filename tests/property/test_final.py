"""The final as a whole: what the plan says, the same in strips as in one piece, whole or absent."""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from support.disks import small_disk
from support.finals import carried_once, direct_path, fitted_to, plan, without_table
from support.memory import MemorySource, photo_like, working
from wallworthy.base.errors import InputError, TroubleError
from wallworthy.base.records import Delivery
from wallworthy.icc.lut import apply_lut
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile
from wallworthy.raster import stream
from wallworthy.raster.dither import to_bits
from wallworthy.raster.scale import scaled_picture
from wallworthy.raster.stream import windows
from wallworthy.raster.write import samples_sha256
from wallworthy.render import final as final_module
from wallworthy.render.final import render_final
from wallworthy.render.sharpen import plan_sharpening, sharpen_window


@pytest.fixture(autouse=True)
def one_way_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """The way to the standard space has tests of its own."""
    monkeypatch.setattr(final_module, "by_standard", carried_once)


@pytest.fixture
def inks(published_profile: Callable[[str], bytes]) -> bytes:
    return published_profile("vips_cmyk")


def samples(path: Path) -> Any:
    return tifffile.imread(path)


@pytest.mark.parametrize("bits", [8, 16])
@pytest.mark.parametrize("rows", [16, 59])
def test_strips_equal_the_whole_picture(
    tmp_path: Path, inks: bytes, monkeypatch: pytest.MonkeyPatch, bits: int, rows: int
) -> None:
    source, fitted = photo_like(90, 70), fitted_to(inks)
    monkeypatch.setattr(final_module, "rows_for", lambda width: rows)
    wanted = plan(203, 261, inks, bits=bits)
    render_final(source, fitted, wanted, tmp_path / "a.tif")
    scaled = scaled_picture(source, 203, 261)
    sharpening = plan_sharpening(300, 2.9, auto=True)
    [(_, window)] = windows([scaled], sharpening.halo)
    assert fitted.nodes is not None
    expected = to_bits(apply_lut(fitted.nodes, sharpen_window(window, sharpening)), bits, 0)
    assert np.array_equal(samples(tmp_path / "a.tif"), expected)


@pytest.mark.parametrize("delivery", list(Delivery))
def test_facts_say_what_is_in_the_file(tmp_path: Path, inks: bytes, delivery: Delivery) -> None:
    wanted = plan(120, 80, inks, border_px=(5, 6, 7, 8), delivery=delivery, ppi=240.0)
    facts = render_final(photo_like(80, 120), fitted_to(inks), wanted, tmp_path / "a.tif")
    embedded = inks if delivery is Delivery.NUMBERS else srgb_profile()
    assert (facts.width_px, facts.height_px) == (134, 92)
    assert facts.picture_box_px == (5, 8, 80, 120)
    assert facts.profile_sha256 == hashlib.sha256(embedded).hexdigest()
    assert facts.space == ("CMYK" if delivery is Delivery.NUMBERS else "RGB")
    assert facts.pixels_sha256 == samples_sha256(tmp_path / "a.tif")
    assert 1 < facts.sharpen_gain <= 2
    assert 0 <= facts.overshoot_pct <= 10
    with tifffile.TiffFile(tmp_path / "a.tif") as file:
        page: Any = file.pages[0]
        assert page.tags["InterColorProfile"].value == embedded
        assert page.tags["XResolution"].value == (240, 1)


@pytest.mark.parametrize(("delivery", "bits", "bare"), [("numbers", 8, 0), ("numbers", 16, 0), ("standard", 8, 255)])
def test_border_is_bare_paper(tmp_path: Path, inks: bytes, delivery: str, bits: int, bare: int) -> None:
    wanted = plan(60, 40, inks, border_px=(300, 3, 20, 9), bits=bits, delivery=Delivery(delivery))
    render_final(working(np.full((40, 60), 0.4)), fitted_to(inks), wanted, tmp_path / "a.tif")
    picture = samples(tmp_path / "a.tif")
    outside = np.ones(picture.shape[:2], bool)
    outside[300:340, 9:69] = False
    assert picture.shape[:2] == (360, 72)
    assert np.all(picture[outside] == bare)
    assert np.all(picture[~outside] != bare)


def test_white_of_the_picture_prints_nothing_at_8_bits(tmp_path: Path, inks: bytes) -> None:
    edge = np.where(np.arange(200) < 100, 0.2, 1.0)[None].repeat(150, axis=0)
    render_final(working(edge), fitted_to(inks), plan(200, 150, inks, bits=8), tmp_path / "a.tif")
    picture = samples(tmp_path / "a.tif")
    assert not picture[:, 100:].any()
    assert picture[:, :100].any()


def test_without_sharpening_and_resampling_the_table_alone_decides(tmp_path: Path, inks: bytes) -> None:
    source, fitted = photo_like(70, 90), fitted_to(inks)
    facts = render_final(source, fitted, plan(90, 70, inks, sharpen="none"), tmp_path / "a.tif")
    assert fitted.nodes is not None
    expected = to_bits(apply_lut(fitted.nodes, source.picture), 16, 0)
    assert np.abs(samples(tmp_path / "a.tif").astype(int) - expected).max() <= 1
    assert (facts.sharpen_gain, facts.overshoot_pct) == (1.0, 0.0)


def test_direct_path_stands_in_for_the_table(tmp_path: Path, inks: bytes) -> None:
    source, device_of = photo_like(70, 90), direct_path(parse_profile(inks))
    wanted = plan(90, 70, inks, sharpen="none")
    render_final(source, without_table(inks), wanted, tmp_path / "a.tif", device_of=device_of)
    expected = to_bits(device_of(source.picture.astype(np.float32) / np.float32(65535)), 16, 0)
    assert np.array_equal(samples(tmp_path / "a.tif"), expected)
    with pytest.raises(ValueError, match="direct path"):
        render_final(source, without_table(inks), wanted, tmp_path / "b.tif")


def test_wide_blur_needs_no_more_than_its_strips(tmp_path: Path, inks: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    """At 5000 ppi the paper's blur reaches further than the lowest strips."""
    source, fitted = photo_like(40, 60), fitted_to(inks)
    for name, rows in (("a", 1000), ("b", 3)):
        monkeypatch.setattr(final_module, "rows_for", lambda width, rows=rows: rows)
        render_final(source, fitted, plan(90, 130, inks, ppi=5000.0), tmp_path / name)
    assert np.array_equal(samples(tmp_path / "a"), samples(tmp_path / "b"))


def test_same_plan_same_bytes(tmp_path: Path, inks: bytes) -> None:
    for name in ("a", "b"):
        render_final(photo_like(50, 60), fitted_to(inks), plan(160, 130, inks, bits=8), tmp_path / name)
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()


def test_progress_rises_to_one(tmp_path: Path, inks: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(final_module, "rows_for", lambda width: 20)
    told: list[float] = []
    render_final(
        photo_like(50, 60),
        fitted_to(inks),
        plan(60, 110, inks),
        tmp_path / "a.tif",
        progress=lambda stage, share: told.append(share),
    )
    assert told[0] == 0
    assert told[-1] == 1
    assert told == sorted(told)
    assert len(told) > 4


def test_failing_master_surfaces_as_itself(tmp_path: Path, inks: bytes) -> None:
    source = MemorySource(photo_like(80, 60).picture, fails_at=70)
    for size in ((60, 80), (300, 400), (30, 40)):
        with pytest.raises(InputError, match="ends too early"):
            render_final(source, fitted_to(inks), plan(*size, inks), tmp_path / "a.tif")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["tiff", "png", "jpeg"])
def test_full_disk_leaves_nothing(tmp_path: Path, inks: bytes, name: str) -> None:
    wanted = plan(1200, 1000, inks, format=name, bits=8, delivery=Delivery.STANDARD)
    with small_disk(tmp_path / "disk", "64k") as disk:
        with pytest.raises(TroubleError, match="full"):
            render_final(photo_like(80, 60), fitted_to(inks), wanted, disk / "a")
        assert list(disk.iterdir()) == []
    # libvips' own threads stay in Python's list once they have logged something; ours must be gone.
    assert not [thread for thread in threading.enumerate() if thread.name.startswith("wallworthy")]


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"format": "jpeg", "bits": 8}, "format_inks"),
        ({"format": "jpeg", "bits": 16, "delivery": Delivery.STANDARD}, "format_bits"),
        ({"delivery": Delivery.STANDARD, "standard_profile": None}, "standard_space_missing"),
    ],
)
def test_impossible_plans_are_refused(tmp_path: Path, inks: bytes, changes: dict[str, Any], code: str) -> None:
    with pytest.raises(InputError) as caught:
        render_final(photo_like(20, 30), fitted_to(inks), plan(30, 20, inks, **changes), tmp_path / "a")
    assert caught.value.code == code
    assert list(tmp_path.iterdir()) == []


def test_standard_delivery_refuses_ink_spaces(tmp_path: Path, inks: bytes) -> None:
    wanted = plan(30, 20, inks, delivery=Delivery.STANDARD, standard_profile=inks)
    with pytest.raises(InputError, match="no space for a standard delivery"):
        render_final(photo_like(20, 30), fitted_to(inks), wanted, tmp_path / "a")


MEMORY = """
import json, sys
from pathlib import Path
sys.path[:0] = {path!r}
import numpy as np
from support.finals import fitted_to, plan
from support.memory import MemorySource
from wallworthy.icc.standard import srgb_profile
from wallworthy.render.final import render_final
source = MemorySource(np.zeros((500, 750, 3), np.uint16) + 20000)
fitted = fitted_to(srgb_profile())
def peak(): return int(open("/proc/self/status").read().split("VmHWM:")[1].split()[0]) / 1024
render_final(source, fitted, plan(750, 500, srgb_profile()), Path({folder!r}) / "small.tif")
before = peak()
render_final(source, fitted, plan(9000, 6000, srgb_profile()), Path({folder!r}) / "a.tif")
print(json.dumps([before, peak()]))
"""


def test_memory_stays_bounded(tmp_path: Path) -> None:
    """54 MP at 16 bits are 324 MB of samples; a whole float picture would be 648 MB."""
    tests = str(Path(__file__).resolve().parents[1])
    program = MEMORY.format(path=[tests], folder=str(tmp_path))
    answer = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    before, peak = json.loads(answer.stdout)
    assert peak - before < 300
    assert peak < 600


def test_strips_hold_about_half_a_megapixel() -> None:
    for width in (100, 3000, 17717, 60000):
        assert 16 <= stream.rows_for(width) <= 256
        assert stream.rows_for(width) * width <= max(530_000, 16 * width)
