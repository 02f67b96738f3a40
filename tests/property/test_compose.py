"""The composed chain: within its promised error of the direct path, and no ink on bare paper."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from wallworthy.base import records
from wallworthy.base.errors import InputError
from wallworthy.base.records import Correction, Way
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.probes import probe_colours
from wallworthy.colour.working import lab_to_working
from wallworthy.fit.compose import compose, device_of, direct, predicted
from wallworthy.fit.ways import source_of
from wallworthy.icc import bake
from wallworthy.icc.engine import convert, to_lab
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile

pytestmark = pytest.mark.practice

PAPERS = ["fogra39", "gs_cmyk", "vips_cmyk", "gs_ps_cmyk"]
STRONG = Correction(lightness=6, contrast=1.25, shadow=4, blue_yellow=3, chroma=1.15)
LEGAL = [
    Correction(),
    STRONG,
    Correction(lightness=-12, green_red=20, blue_yellow=-20, chroma=3),
    Correction(lightness=20, contrast=0.6, shadow=-5, blue_yellow=30),
    Correction(shadow=12, chroma=0),
]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("way", [way for way in Way if not way.is_chosen])
def test_paper_white_is_the_cmms_white_under_any_correction(
    paper: str, way: Way, published_profile: Callable[[str], bytes]
) -> None:
    screen, output = parse_profile(srgb_profile()), parse_profile(published_profile(paper))
    intent = {Way.PERCEPTUAL: "perceptual", Way.ABSOLUTE: "absolute"}.get(way, "relative")
    lab = parse_profile(published_profile("gs_lab"))
    white = convert(lab, output, np.float32([[100, 0, 0]]), intent, bpc=way is Way.RELATIVE_BPC)
    for correction in LEGAL:
        chain = direct(output, way, correction, source_of(screen))
        assert np.abs(chain(np.ones((1, 3))) - white).max() <= 1e-4
        if way is not Way.ABSOLUTE:
            assert np.abs(white).max() <= 1e-4, "this profile prints on white"


@pytest.mark.parametrize(
    ("paper", "correction"), [("fogra39", Correction()), ("vips_cmyk", STRONG), ("gs_srgb", Correction())]
)
def test_the_table_keeps_its_word(
    paper: str, correction: Correction, published_profile: Callable[[str], bytes]
) -> None:
    output, source = parse_profile(published_profile(paper)), source_of(parse_profile(published_profile("gs_romm")))
    fitted = compose(output, Way.RELATIVE_BPC, correction, source)
    assert fitted.nodes is not None
    assert fitted.figures.size == len(fitted.nodes)
    assert fitted.figures.mean_de00 <= 0.1
    assert fitted.figures.p999_de00 <= 0.5
    assert fitted.figures.max_de00 <= 1.5

    # Colours the measurement never saw: the same promise, a little slack for the rare ones.
    fresh = np.random.default_rng(77).uniform(0, 1, (1, 20_000, 3)).astype(np.float32)
    chain = direct(output, Way.RELATIVE_BPC, correction, source)
    errors = ciede2000(to_lab(output, device_of(fitted, fresh)), to_lab(output, chain(fresh)))
    assert errors.mean() <= 0.1
    assert np.quantile(errors, 0.999) <= 0.6
    white = device_of(fitted, np.full((1, 1, 3), 65535, dtype=np.uint16))
    assert np.abs(white - chain(np.ones((1, 1, 3)))).max() <= 1e-5


def test_neutrals_stay_as_neutral_as_on_the_direct_path(published_profile: Callable[[str], bytes]) -> None:
    output = parse_profile(published_profile("fogra39"))
    source = source_of(parse_profile(srgb_profile()))
    fitted = compose(output, Way.RELATIVE_BPC, Correction(), source)
    grey = np.linspace(0, 1, 2001)[None, :, None] * np.ones(3)
    table = to_lab(output, device_of(fitted, grey.astype(np.float32)))
    path = to_lab(output, direct(output, Way.RELATIVE_BPC, Correction(), source)(grey))
    assert ciede2000(table, path).max() <= 0.3
    assert np.abs(table[..., 1:] - path[..., 1:]).max() <= 0.3


def test_the_reported_figures_are_the_measured_ones(published_profile: Callable[[str], bytes]) -> None:
    output = parse_profile(published_profile("fogra39"))
    source = source_of(None)
    fitted = compose(output, Way.PERCEPTUAL, Correction(), source)
    probes = probe_colours()[None]
    chain = direct(output, Way.PERCEPTUAL, Correction(), source)
    errors = ciede2000(to_lab(output, device_of(fitted, probes)), to_lab(output, chain(probes)))
    assert fitted.figures.mean_de00 == pytest.approx(errors.mean(), abs=1e-4)
    assert fitted.figures.p999_de00 == pytest.approx(np.quantile(errors, 0.999), abs=1e-4)
    assert fitted.figures.max_de00 == pytest.approx(errors.max(), abs=1e-4)


def test_when_no_table_passes_the_direct_path_is_used(
    published_profile: Callable[[str], bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(records, "TABLE_MAX_DE00", 1e-3)
    monkeypatch.setattr(bake, "SIZES", (9, 17))
    output, source = parse_profile(published_profile("fogra39")), source_of(None)
    fitted = compose(output, Way.RELATIVE, STRONG, source)
    assert fitted.nodes is None
    assert fitted.figures.size is None
    pixels = np.random.default_rng(1).integers(0, 65536, (20, 30, 3)).astype(np.uint16)
    expected = direct(output, Way.RELATIVE, STRONG, source)(pixels / 65535)
    got = device_of(fitted, pixels, output=output, source=source)
    assert np.array_equal(got, expected)
    assert got.shape == (20, 30, 4)
    with pytest.raises(ValueError, match="direct path"):
        device_of(fitted, pixels)
    told = predicted(fitted, output=output, source=source)
    assert told.figures.size is None
    assert np.array_equal(told.lab_of(pixels), to_lab(output, expected))


@pytest.mark.parametrize("paper", PAPERS)
def test_the_print_is_predicted_as_its_device_values_print(
    paper: str, published_profile: Callable[[str], bytes]
) -> None:
    """A table of Lab against device values through the profile's own A2B1, colours the measurement never saw."""
    output, source = parse_profile(published_profile(paper)), source_of(parse_profile(srgb_profile()))
    fitted = compose(output, Way.RELATIVE_BPC, STRONG, source)
    told = predicted(fitted, output=output, source=source)
    assert told.figures.size == fitted.figures.size
    assert told.figures.passes()
    fresh = np.random.default_rng(78).uniform(0, 1, (1, 20_000, 3)).astype(np.float32)
    errors = ciede2000(told.lab_of(fresh), to_lab(output, device_of(fitted, fresh)))
    assert errors.mean() <= told.figures.mean_de00 + 0.005
    assert errors.mean() <= 0.05
    assert np.quantile(errors, 0.999) <= 0.5
    white = np.ones((1, 1, 3), dtype=np.float32)
    assert np.abs(told.lab_of(white) - to_lab(output, device_of(fitted, white))).max() <= 1e-3


def test_probes_are_of_the_cube_of_srgb_and_dark_and_always_the_same() -> None:
    probes = probe_colours()
    assert probes.shape == (250_000, 3)
    assert probes.min() >= 0
    assert probes.max() <= 1
    screen = parse_profile(srgb_profile())
    corners = np.array([[r, g, b] for r in (0, 1) for g in (0, 1) for b in (0, 1)], dtype=np.float32)
    reach = lab_to_working(to_lab(screen, corners))
    even, dark = probes[:200_000], probes[200_000:]
    srgb = even[1::2]
    assert np.all(srgb.max(axis=0) <= reach.max(axis=0) + 0.01)
    assert np.all(srgb.min(axis=0) >= -1e-6)
    assert srgb[:, 1].min() > -1e-6
    assert dark.max() <= 0.6 * srgb.max() + 1e-6
    assert even[0::2].mean(axis=0) == pytest.approx(np.full(3, 0.5), abs=0.01)
    assert not probes.flags.writeable


def test_illegal_corrections_and_no_numbers_are_refused(published_profile: Callable[[str], bytes]) -> None:
    output, source = parse_profile(published_profile("fogra39")), source_of(None)
    with pytest.raises(InputError):
        compose(output, Way.RELATIVE, Correction(lightness=60), source)
    fitted = compose(output, Way.RELATIVE_BPC, Correction(), source)
    with pytest.raises(InputError):
        device_of(fitted, np.full((1, 1, 3), np.nan, dtype=np.float32))
