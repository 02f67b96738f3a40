"""CGATS text: anything at all is read or refused with a sentence; what we write comes back."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from wallworthy.base.errors import InputError
from wallworthy.characterise.cgats import CgatsTable, format_cgats, parse_cgats, read_cgats
from wallworthy.characterise.measurements import (
    Measurements,
    format_measurements,
    parse_measurements,
    read_measurements,
)

pytestmark = pytest.mark.practice

SMALL = b"""CGATS.17
ORIGINATOR "somebody"   # a comment
KEYWORD "MY_KEY"
MY_KEY "say ""hello"" to them"
NUMBER_OF_FIELDS 7
BEGIN_DATA_FORMAT
SAMPLE_ID RGB_R RGB_G RGB_B
LAB_L LAB_A LAB_B
END_DATA_FORMAT
NUMBER_OF_SETS 2
BEGIN_DATA
A1 0 0 0 5.5 0.5 -0.5
"B 2" 255 255 255 95 0 -2
END_DATA
"""


@pytest.mark.source("CGATS17", "file grammar; read second-hand in published data files and in cmscgats.c")
def test_grammar_of_a_small_file() -> None:
    [table] = parse_cgats(SMALL)
    assert table.kind == "CGATS.17"
    assert table.keywords == {"ORIGINATOR": "somebody", "MY_KEY": 'say "hello" to them'}
    assert table.rows[1][0] == "B 2"
    data = parse_measurements(SMALL)
    assert data.space == "RGB"
    assert data.device.tolist() == [[0, 0, 0], [1, 1, 1]]
    assert data.ids == ("A1", "B 2")


@pytest.mark.source("CGATS17", "several tables in one file; second-hand")
def test_several_tables_in_one_file() -> None:
    other = SMALL.replace(b"CGATS.17", b"CTI3").replace(b"RGB_", b"D_")
    tables = parse_cgats(other + b"\n" + SMALL)
    assert [table.kind for table in tables] == ["CTI3", "CGATS.17"]
    assert len(parse_measurements(other + SMALL)) == 2


@pytest.mark.parametrize("ending", [b"\r\n", b"\r", b"\n"])
def test_line_ends_do_not_matter(ending: bytes) -> None:
    assert parse_cgats(SMALL.replace(b"\n", ending)) == parse_cgats(SMALL)


def test_latin_letters_are_read() -> None:
    [table] = parse_cgats(SMALL.replace(b"somebody", b"Andr\xe9"))
    assert table.keywords["ORIGINATOR"] == "André"


@pytest.mark.parametrize(
    ("scale", "values"),
    [("percent", "0 0 0 5 0 0\n100 100 100 95 0 0\n"), ("share", "0 0 0 5 0 0\n1 1 1 95 0 0\n0.5 0.5 0.5 50 0 0\n")],
)
def test_percent_and_shares_are_told_apart(scale: str, values: str) -> None:
    head = "CGATS.17\nBEGIN_DATA_FORMAT\nRGB_R RGB_G RGB_B LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n"
    device = parse_measurements(f"{head}{values}END_DATA".encode()).device
    assert device[1].tolist() == [1.0, 1.0, 1.0], scale
    assert device[0].tolist() == [0.0, 0.0, 0.0]


@pytest.mark.parametrize(
    "broken",
    [
        b"",
        b"\x00\x01\x02",
        b"CGATS.17\n",
        SMALL[:-12],
        SMALL[: SMALL.index(b"END_DATA_FORMAT")],
        SMALL.replace(b"NUMBER_OF_SETS 2", b"NUMBER_OF_SETS 3"),
        SMALL.replace(b"NUMBER_OF_FIELDS 7", b"NUMBER_OF_FIELDS 8"),
        SMALL.replace(b"A1 0 0 0", b"A1 0 0"),
        SMALL.replace(b" 5.5 ", b" nan "),
        SMALL.replace(b" 5.5 ", b" inf "),
        SMALL.replace(b" 5.5 ", b" red "),
        SMALL.replace(b" 255 255 255", b" 256 255 255").replace(b" 0 0 0 ", b" -9 0 0 "),
        SMALL.replace(b"LAB_L", b"LAB_X"),
        SMALL.replace(b" 95 ", b" 9500 "),
    ],
)
def test_broken_files_are_refused_in_a_sentence(broken: bytes, tmp_path: Path) -> None:
    path = tmp_path / "broken.txt"
    path.write_bytes(broken)
    with pytest.raises(InputError) as refusal:
        read_measurements(path)
    assert refusal.value.text.endswith(".")
    assert refusal.value.mend.endswith(".")


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="can't be read"):
        read_cgats(tmp_path / "none.txt")


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=400))
@example(b"BEGIN_DATA")
@example(b'"')
def test_any_bytes_are_read_or_refused(noise: bytes) -> None:
    code, tables = "", ()
    try:
        tables = parse_cgats(noise)
    except InputError as refusal:
        code = refusal.code
    assert tables or code == "measurements_broken"


@settings(max_examples=200, deadline=None)
@given(st.integers(0, len(SMALL) - 1), st.integers(0, 255), st.integers(0, 40))
def test_a_damaged_file_is_read_or_refused(place: int, byte: int, cut: int) -> None:
    damaged = SMALL[:place] + bytes([byte]) + SMALL[place + 1 + cut :]
    code, data = "", None
    try:
        data = parse_measurements(damaged)
    except InputError as refusal:
        code = refusal.code
    if data is None:
        assert code in ("measurements_broken", "measurements_unusable")
    else:
        assert np.isfinite(data.lab).all()
        assert data.device.min() >= 0
        assert data.device.max() <= 1


WORDS = st.text(
    st.characters(min_codepoint=32, max_codepoint=0x2FF, exclude_characters="\x7f\x85\xa0\xad"), max_size=12
)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(WORDS, WORDS), min_size=1, max_size=5), WORDS)
def test_written_words_come_back(cells: list[tuple[str, str]], remark: str) -> None:
    rows = tuple(tuple(" ".join(word.split()) for word in row) for row in cells)
    table = CgatsTable("CGATS.17", {"ORIGINATOR": "us", "REMARK_X": " ".join(remark.split())}, ("NAME", "NOTE"), rows)
    assert parse_cgats(format_cgats(table)) == (table,)


@settings(max_examples=50, deadline=None)
@given(st.lists(st.tuples(*[st.floats(0, 1)] * 4, st.floats(0, 100), st.floats(-80, 80)), min_size=1, max_size=6))
def test_written_measurements_come_back(values: list[tuple[float, ...]]) -> None:
    rows = np.array(values)
    device = np.concatenate([rows[:, :4], np.ones((len(rows), 4))])[: len(rows) + 1]
    lab = np.concatenate([rows[:, [4, 5, 5]], [[20.0, 1.0, 2.0]]])
    again = parse_measurements(format_measurements(Measurements(device, "CMYK", lab)))
    assert np.abs(again.device - device).max() <= 0.5e-6 + 1e-12
    assert np.abs(again.lab - lab).max() <= 0.5e-4 + 1e-9
