"""Standard delivery against the CMM: what a lab's own conversion makes of the file is the print that was meant."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import tifffile

from support.finals import carried_once, direct_path, fitted_to, plan, without_table
from support.memory import photo_like, working
from wallworthy.base import records
from wallworthy.base.records import Delivery
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.probes import probe_colours
from wallworthy.colour.working import lab_to_working
from wallworthy.icc.engine import convert, from_lab, to_lab
from wallworthy.icc.lut import apply_lut
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile
from wallworthy.render import final as final_module
from wallworthy.render.delivery import by_standard, carrier
from wallworthy.render.final import render_final


@pytest.fixture(autouse=True)
def one_way_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """One table of each paper serves all tests."""
    monkeypatch.setattr(final_module, "by_standard", carried_once)


@pytest.mark.source("ISO18619", "the paper's black to zero, and back by the lab's compensation")
@pytest.mark.source("littleCMS", "sRGB to the paper, media-relative with black point compensation")
@pytest.mark.parametrize("name", ["fogra39", "vips_cmyk", "gs_cmyk"])
def test_labs_conversion_lands_on_the_same_print(
    tmp_path: Path, published_profile: Callable[[str], bytes], name: str
) -> None:
    """As closely as the paper's profile undoes itself: its own round trip is all that stands between."""
    data = published_profile(name)
    paper, standard = parse_profile(data), parse_profile(srgb_profile())
    muted = np.random.default_rng(8).uniform([25, -18, -18], [90, 18, 18], (40, 50, 3))
    source = working(lab_to_working(muted))
    for file, delivery in (("n.tif", Delivery.NUMBERS), ("s.tif", Delivery.STANDARD)):
        wanted = plan(50, 40, data, sharpen="none", delivery=delivery)
        facts = render_final(source, fitted_to(data, 65), wanted, tmp_path / file)
    assert facts.beyond_delivery_pct == 0
    meant = to_lab(paper, tifffile.imread(tmp_path / "n.tif") / 65535)
    delivered = tifffile.imread(tmp_path / "s.tif")
    landed = to_lab(paper, convert(standard, paper, delivered, "relative", bpc=True) / 65535)
    difference = ciede2000(meant, landed)
    own = ciede2000(meant, to_lab(paper, from_lab(paper, meant, "relative")))
    assert difference.mean() < own.mean() + 0.1
    assert np.quantile(difference, 0.95) < np.quantile(own, 0.95) + 0.15
    assert difference.mean() < {"fogra39": 0.4, "vips_cmyk": 1.4, "gs_cmyk": 0.7}[name]


@pytest.mark.source("littleCMS", "A2B1 of the paper, then the standard space")
def test_table_against_the_steps(published_profile: Callable[[str], bytes]) -> None:
    data = published_profile("fogra39")
    paper, standard = parse_profile(data), parse_profile(srgb_profile())
    carriage = carried_once(fitted_to(data, 65).nodes, None, paper, standard)
    assert carriage.figures is not None
    assert carriage.figures.size == 65
    assert carriage.figures.mean_de00 < 0.1
    assert carriage.figures.p999_de00 < 0.5
    assert carriage.figures.max_de00 < 1.5


@pytest.mark.source("littleCMS", "A2B1 of the paper, then the standard space")
@pytest.mark.parametrize("name", ["fogra39", "vips_cmyk", "gs_cmyk"])
def test_the_table_s_figures_are_the_measured_ones(published_profile: Callable[[str], bytes], name: str) -> None:
    """Over the colours every table is measured with, and within the same limits."""
    data = published_profile(name)
    paper, standard = parse_profile(data), parse_profile(srgb_profile())
    nodes = fitted_to(data, 49).nodes
    assert nodes is not None
    carriage = by_standard(nodes, None, paper, standard)
    figures = carriage.figures
    assert figures is not None
    assert figures.size is not None
    assert figures.passes()
    probes = probe_colours().reshape(500, 500, 3)
    steps = carrier(paper, standard)(apply_lut(nodes, probes))[0]
    errors = ciede2000(to_lab(standard, carriage.to_file(probes)), to_lab(standard, steps))
    measured = (errors.mean(), np.quantile(errors, 0.999), errors.max())
    assert measured == pytest.approx((figures.mean_de00, figures.p999_de00, figures.max_de00), abs=2e-3)


@pytest.mark.source("littleCMS", "A2B1 of the paper, then the standard space")
def test_a_table_that_does_not_pass_is_not_used(
    published_profile: Callable[[str], bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    data = published_profile("fogra39")
    paper, standard = parse_profile(data), parse_profile(srgb_profile())
    coarse = fitted_to(data, 5)
    assert coarse.nodes is not None
    finer = by_standard(coarse.nodes, None, paper, standard).figures
    assert finer is not None
    assert finer.size is not None
    assert finer.size > 5, "5 nodes stand for no curve, so a larger table of the same steps is made"
    monkeypatch.setattr(records, "TABLE_MAX_DE00", 1e-3)
    carriage = by_standard(coarse.nodes, None, paper, standard)
    assert carriage.figures is not None
    assert carriage.figures.size is None
    strip = photo_like(9, 11).picture.astype(np.float32) / np.float32(65535)
    np.testing.assert_allclose(
        carriage.to_file(strip), carrier(paper, standard)(apply_lut(coarse.nodes, strip))[0], atol=1e-6
    )


@pytest.mark.source("littleCMS", "round trip through the standard space")
def test_what_the_standard_space_cannot_hold_is_counted(
    tmp_path: Path, published_profile: Callable[[str], bytes]
) -> None:
    """Cyan ink of FOGRA39 lies outside sRGB; a grey does not."""
    data = published_profile("fogra39")
    paper, standard = parse_profile(data), parse_profile(srgb_profile())
    held, lost = carrier(paper, standard)(np.array([[1.0, 0, 0, 0], [0, 0, 0, 0.5]], np.float32))
    assert lost[0] > 3
    assert lost[1] < 0.5
    assert held[0, 0] == 0
    half = working(np.full((40, 40), 0.5))
    cyan = lab_to_working(to_lab(paper, np.array([[1.0, 0, 0, 0]], np.float32)))[0]
    half.picture[:, :20] = np.rint(np.clip(cyan, 0, 1) * 65535)
    wanted = plan(40, 40, data, sharpen="none", delivery=Delivery.STANDARD)
    facts = render_final(half, without_table(data), wanted, tmp_path / "a.tif", device_of=direct_path(paper))
    assert facts.beyond_delivery_pct == 50


@pytest.mark.source("littleCMS", "round trip of white and black")
def test_white_and_black_use_the_whole_range(published_profile: Callable[[str], bytes]) -> None:
    for name in ("fogra39", "vips_cmyk", "gs_cmyk"):
        data = published_profile(name)
        paper, standard = parse_profile(data), parse_profile(srgb_profile())
        ends = direct_path(paper)(np.array([[[1.0] * 3, [0.0] * 3]], np.float32))
        held = carrier(paper, standard)(ends)[0][0]
        assert held[0].min() > 0.995
        assert held[1].max() < 0.06
