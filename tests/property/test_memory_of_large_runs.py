"""Peak memory of whole runs in a process of their own: a 24 MP proof, a 200 MP final."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import tifffile

from support.peak import peak_of
from wallworthy.icc.standard import wide_profile

pytestmark = [
    pytest.mark.practice,
    pytest.mark.skipif(not sys.platform.startswith("linux"), reason="peak memory is read from /proc"),
]

PROOF = """
import sys
from wallworthy.cli import main
home, master, profile, folder = sys.argv[1:]
for words in (
    ["start", master, "--size", "A3", "--profile", profile],
    ["proof", "T1", "-o", folder + "/p.png", "--lab", folder + "/p.tif"],
):
    sys.argv = ["wallworthy", "--home", home, "--json", *words]
    try:
        main()
    except SystemExit as end:
        assert not end.code, end.code
"""

FINAL = """
import sys
sys.path[:0] = [sys.argv[1]]
from collections.abc import Iterator
from pathlib import Path
import numpy as np
import pyvips
from support.finals import fitted_to, plan
from wallworthy.render.final import render_final

class Waves:
    width_px, height_px = 6000, 4000
    def strips(self, rows):
        dice = np.random.default_rng(4)
        for first in range(0, self.height_px, rows):
            row = (first + np.arange(min(rows, self.height_px - first)))[:, None, None]
            column = np.arange(self.width_px)[None, :, None] / np.array([300.0, 170.0, 90.0])
            values = 0.5 + 0.4 * np.sin(column + row / 500) + dice.normal(0, 0.01, (len(row), self.width_px, 3))
            yield np.rint(np.clip(values, 0, 1) * 65535).astype(np.uint16)

inks = bytes(pyvips.Operation.call("profile_load", "cmyk"))
wanted = plan(17320, 11547, inks, border_px=(100, 100, 100, 100))
facts = render_final(Waves(), fitted_to(inks, 65), wanted, Path(sys.argv[2]) / "large.tif")
print(facts.width_px * facts.height_px, facts.space)
"""


def test_a_proof_of_24_megapixels(tmp_path: Path, published_profile: Callable[[str], bytes]) -> None:
    """Every colour of a wide space in a picture of grain and slopes, on four inks, with the Lab file."""
    block = np.random.default_rng(9).integers(0, 65536, (400, 600, 3)).astype(np.float32)
    slope = np.linspace(0, 65535, 600, dtype=np.float32)[None, :, None]
    picture = np.tile(((block + 3 * slope) / 4).astype(np.uint16), (10, 10, 1))
    tifffile.imwrite(tmp_path / "m.tif", picture, photometric="rgb", iccprofile=wide_profile(), rowsperstrip=64)
    (tmp_path / "paper.icc").write_bytes(published_profile("vips_cmyk"))
    words = [str(tmp_path / name) for name in ("home", "m.tif", "paper.icc")]
    peak, told = peak_of(PROOF, *words, str(tmp_path), timeout_s=300)
    assert '"width_px": 2560' in told
    assert tifffile.imread(tmp_path / "p.tif").shape == (1707, 2560, 3)
    assert peak <= 900


@pytest.mark.long
def test_a_final_of_200_megapixels_in_four_inks(tmp_path: Path) -> None:
    """Enlarged, sharpened and fitted at 16 bits: the samples alone are 1.6 GB."""
    tests = str(Path(__file__).resolve().parents[1])
    peak, told = peak_of(FINAL, tests, str(tmp_path), timeout_s=1800)
    assert told == f"{17520 * 11747} CMYK"
    assert peak < 1000
    with tifffile.TiffFile(tmp_path / "large.tif") as file:
        assert file.pages.first.shape == (11747, 17520, 4)
