"""The virtual printer behaves as ink on paper does, and the same every time."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wallworthy.base.errors import InputError
from wallworthy.characterise.measurements import average_measurements
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.lab import absolute_to_relative, lab_to_xyz, xyz_to_lab
from wallworthy.demo.inkjet import InkModel, demichel_weights, paper_spectrum
from wallworthy.demo.parameters import DATA, PAPERS
from wallworthy.demo.printer import VirtualPrinter, measurements_of
from wallworthy.demo.spectra import spectra_to_xyz

amount = st.floats(0, 1, allow_nan=False)


@pytest.fixture(scope="module")
def printers() -> dict[str, VirtualPrinter]:
    return {paper: VirtualPrinter(paper) for paper in PAPERS}


@given(st.lists(amount, min_size=1, max_size=6))
def test_demichel_weights_sum_to_one(coverage: list[float]) -> None:
    weights = demichel_weights(coverage)
    assert weights.min() >= 0
    assert weights.sum() == pytest.approx(1, abs=1e-12)


@settings(max_examples=25, deadline=None)
@given(st.lists(amount, min_size=6, max_size=6), st.integers(0, 5), amount)
@pytest.mark.parametrize("paper", PAPERS)
def test_more_ink_is_never_lighter(
    printers: dict[str, VirtualPrinter], paper: str, inks: list[float], which: int, more: float
) -> None:
    fuller = list(inks)
    fuller[which] += (1 - fuller[which]) * more
    less, full = printers[paper].model.spectra([inks, fuller])
    assert np.all(full <= less + 1e-6)


@pytest.mark.parametrize("paper", PAPERS)
def test_reflectance_stays_between_nothing_and_the_paper(printers: dict[str, VirtualPrinter], paper: str) -> None:
    spectra = printers[paper].spectra(np.random.default_rng(1).random((3000, 3)))
    assert spectra.min() > 0
    assert np.all(spectra <= paper_spectrum(printers[paper].parameters) + 1e-6)
    assert paper_spectrum(printers[paper].parameters).max() < 1


@pytest.mark.parametrize("paper", PAPERS)
def test_white_is_bare_paper(printers: dict[str, VirtualPrinter], paper: str) -> None:
    printer = printers[paper]
    assert np.all(printer.driver.inks([[1.0, 1.0, 1.0]]) == 0)
    white = np.ones((2, 2, 3), np.float32)
    assert printer.print(white) == pytest.approx(np.broadcast_to(xyz_to_lab(printer.white_xyz), (2, 2, 3)), abs=1e-4)


@pytest.mark.practice
@pytest.mark.parametrize(
    ("paper", "lightest", "darkest", "volume"),
    [("gloss", (94, 98), (4, 8), (500e3, 800e3)), ("matt", (94, 98), (14, 21), (300e3, 450e3)),
     ("lab", (93, 97), (8, 14), (320e3, 550e3))],
)  # fmt: skip
def test_ranges_are_those_of_real_papers(
    printers: dict[str, VirtualPrinter],
    paper: str,
    lightest: tuple[float, float],
    darkest: tuple[float, float],
    volume: tuple[float, float],
) -> None:
    printer = printers[paper]
    white, black = printer.lab([[1, 1, 1], [0, 0, 0]])
    assert lightest[0] <= white[0] <= lightest[1]
    assert darkest[0] <= black[0] <= darkest[1]
    lab = printer.table.astype(np.float64)
    sides = (lab[1:, :-1, :-1], lab[:-1, 1:, :-1], lab[:-1, :-1, 1:])
    a, b, c = (side - lab[:-1, :-1, :-1] for side in sides)
    cells = np.einsum("...i,...i", a, np.cross(b, c))
    assert np.all(np.sign(cells) == np.sign(cells[0, 0, 0])), "the gamut folds over itself"
    assert volume[0] <= abs(cells.sum()) <= volume[1]


@pytest.mark.parametrize("paper", PAPERS)
def test_the_driver_prints_even_neutral_greys(printers: dict[str, VirtualPrinter], paper: str) -> None:
    printer = printers[paper]
    ramp = np.repeat(np.linspace(0, 1, 41)[:, None], 3, axis=1)
    lab = printer.lab(ramp)
    relative = absolute_to_relative(lab, printer.white_xyz)
    assert np.all(np.diff(lab[:, 0]) > 0.5)
    assert np.diff(lab[:, 0]).max() < 4.5
    assert np.hypot(relative[:, 1], relative[:, 2]).max() < 4
    inks = printer.driver.inks(np.random.default_rng(2).random((5000, 3)))
    assert inks.min() >= 0
    assert inks.max() <= 1
    assert inks.sum(axis=1).max() <= printer.parameters.paper.total_ink + 1e-9


@pytest.mark.parametrize("paper", PAPERS)
def test_the_table_is_as_good_as_the_model(printers: dict[str, VirtualPrinter], paper: str) -> None:
    printer = printers[paper]
    device = np.random.default_rng(3).random((200, 250, 3), dtype=np.float32)
    printed = printer.print(device).reshape(-1, 3)
    difference = ciede2000(printed, printer.lab(device.reshape(-1, 3)))
    assert difference.mean() <= 0.02
    assert difference.max() <= 0.3
    xyz = printer.print_xyz(device[:4])
    assert xyz == pytest.approx(lab_to_xyz(printer.print(device[:4])), abs=1e-5)


def test_printing_looks_up_the_table_and_never_computes_spectra(
    printers: dict[str, VirtualPrinter], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What makes printing a large picture quick: the model is asked once, for the table."""
    device = np.random.default_rng(3).random((50, 60, 3), dtype=np.float32)
    before = printers["gloss"].print(device)

    def asked(*_: object) -> None:
        raise AssertionError("a spectrum was computed while printing")

    monkeypatch.setattr(InkModel, "spectra", asked)
    assert np.array_equal(printers["gloss"].print(device), before)
    with pytest.raises(AssertionError, match="a spectrum was computed"):
        printers["gloss"].lab([[0.5, 0.5, 0.5]])


@pytest.mark.parametrize("paper", PAPERS)
def test_measuring_is_a_little_unsure_and_repeatable(printers: dict[str, VirtualPrinter], paper: str) -> None:
    printer = printers[paper]
    patches = np.random.default_rng(5).random((800, 3))
    one, again, other = printer.measure(patches, 11), printer.measure(patches, 11), printer.measure(patches, 12)
    assert one.spectra.tobytes() == again.spectra.tobytes()
    assert 0.1 < ciede2000(one.lab, other.lab).mean() < 0.35
    assert ciede2000(one.lab, printer.lab(patches)).mean() < 0.35
    still = printer.measure(patches, None)
    assert np.array_equal(still.lab, printer.lab(patches))
    assert one.xyz == pytest.approx(spectra_to_xyz(one.spectra))


def test_the_mean_of_three_readings_is_nearer_the_truth(printers: dict[str, VirtualPrinter]) -> None:
    chart = np.random.default_rng(6).random((500, 3))
    sets = measurements_of(printers["matt"], chart, repeats=3, seed=2)
    assert [len(one) for one in sets] == [500, 500, 500]
    assert sets[0].lab.tobytes() == measurements_of(printers["matt"], chart, repeats=1, seed=2)[0].lab.tobytes()
    mean, _ = average_measurements(sets)
    truth = printers["matt"].lab(chart)
    alone = [float(ciede2000(one.lab, truth).mean()) for one in sets]
    assert ciede2000(mean.lab, truth).mean() < np.mean(alone)
    assert ciede2000(mean.lab, truth).mean() < 0.2


@pytest.mark.parametrize("paper", PAPERS)
def test_the_second_machine_has_drifted(printers: dict[str, VirtualPrinter], paper: str) -> None:
    second = VirtualPrinter(paper, "second")
    patches = np.random.default_rng(7).random((800, 3))
    difference = ciede2000(second.lab(patches), printers[paper].lab(patches))
    assert 0.5 < difference.mean() < 2.0
    paper_shift = ciede2000(xyz_to_lab(second.white_xyz), xyz_to_lab(printers[paper].white_xyz))
    assert 0.2 < paper_shift < 1.0


def test_grain_is_off_unless_asked_for(printers: dict[str, VirtualPrinter]) -> None:
    grey = np.full((64, 64, 3), 0.5, np.float32)
    assert np.ptp(printers["matt"].print(grey)[..., 0]) == 0
    grainy = printers["matt"].print(grey, grain_seed=1)[..., 0]
    assert 0.2 < grainy.std() < 2
    assert np.array_equal(grainy, printers["matt"].print(grey, grain_seed=1)[..., 0])
    assert np.ptp(printers["matt"].print(np.ones((8, 8, 3), np.float32), grain_seed=1)[..., 0]) < 1e-3


def test_another_printer_can_be_put_in(tmp_path: Path) -> None:
    (tmp_path / "printer.toml").write_text((DATA / "printer.toml").read_text("utf-8"), "utf-8")
    text = (DATA / "gloss.toml").read_text("utf-8").replace("surface_reflection = 0.0022", "surface_reflection = 0.02")
    (tmp_path / "mine.toml").write_text(text, "utf-8")
    mine = VirtualPrinter("mine", folder=tmp_path)
    assert mine.lab([[0, 0, 0]])[0, 0] > VirtualPrinter("gloss").lab([[0, 0, 0]])[0, 0] + 5


@pytest.mark.parametrize(
    ("broken", "said"),
    [
        ("this is no toml =", "not a TOML file"),
        ('name = "x"\n', "can't be used"),
        (None, "no printer parameter file"),
        ("reflectance", "can't be used"),
    ],
)
def test_broken_parameter_files_are_refused_in_a_sentence(tmp_path: Path, broken: str | None, said: str) -> None:
    (tmp_path / "printer.toml").write_text((DATA / "printer.toml").read_text("utf-8"), "utf-8")
    if broken == "reflectance":
        broken = (DATA / "matt.toml").read_text("utf-8").replace("[380, 0.560]", "[380, 1.560]")
    if broken is not None:
        (tmp_path / "mine.toml").write_text(broken, "utf-8")
    with pytest.raises(InputError, match=said):
        VirtualPrinter("mine", folder=tmp_path)


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        ("gloss.toml", "yellow = 0.055", "yellow = 0.55", "dot gain"),
        ("gloss.toml", "yule_nielsen_n = 1.9", "yule_nielsen_n = 0.5", "n must be 1 or more"),
        ("gloss.toml", "total_ink = 2.9", "total_ink = 0", "some ink"),
        ("printer.toml", "[inks.light_cyan]", "[inks.orange]", "."),
        ("printer.toml", "levels = [0.0,", "levels = [0.3,", "levels must rise"),
    ],
)
def test_impossible_parameters_are_refused(tmp_path: Path, file: str, old: str, new: str, said: str) -> None:
    for name in ("printer.toml", "gloss.toml"):
        text = (DATA / name).read_text("utf-8")
        assert name != file or old in text
        (tmp_path / name).write_text(text.replace(old, new) if name == file else text, "utf-8")
    with pytest.raises(InputError, match=said):
        VirtualPrinter("gloss", folder=tmp_path)


def test_an_unknown_machine_is_refused() -> None:
    with pytest.raises(InputError, match="unit 'third'"):
        VirtualPrinter("gloss", "third")
