"""No committed file holds paths of somebody's machine, registry hosts, or notes on how the work was organised."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import NoReturn

import pytest

pytestmark = pytest.mark.practice

ROOT = Path(__file__).resolve().parents[2]

# Put together here from parts, so that this file may be committed too.
FORBIDDEN = [
    "files.python" + "hosted",
    "pypi.org/" + "simple",
    "registry.np" + "mjs",
    "transc" + "ript",
    r"(?<![\w.])/wor" + r"k/",
    r"(?<![\w.])/ro" + r"ot/",
    r"(?<![\w.])/ho" + r"me/[a-z]",
    r"(?<![\w.])/Us" + r"ers/[A-Za-z]",
    r"[A-Z]:\\Us" + r"ers",
]


def found_in(text: str) -> list[str]:
    return [each for each in FORBIDDEN if re.search(each, text, re.IGNORECASE)]


def committed() -> list[Path]:
    answer = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True)
    paths = [ROOT / name for name in answer.stdout.decode().split("\0") if name]
    return [path for path in paths if path.is_file()]


def without_git() -> NoReturn:
    """Skips, but never in CI: there the check must have been made."""
    if os.environ.get("CI"):
        pytest.fail("git or the working tree's .git is missing, so the committed files can't be looked through")
    pytest.skip("not a git working tree")


def test_no_committed_file_holds_anything_foreign() -> None:
    if not (ROOT / ".git").exists() or shutil.which("git") is None:
        without_git()
    files = committed()
    faults = {str(path.relative_to(ROOT)): found_in(path.read_bytes().decode("utf-8", "replace")) for path in files}
    assert len(files) > 50
    assert {name: found for name, found in faults.items() if found} == {}


def test_without_git_the_check_is_skipped_but_fails_in_ci(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="git"):
        without_git()
    monkeypatch.delenv("CI")
    with pytest.raises(pytest.skip.Exception, match="not a git working tree"):
        without_git()


@pytest.mark.parametrize(
    "planted",
    [
        "--index-url https://pypi.org/" + "simple",
        "open('/wor" + "k/x.tif')",
        "/ho" + "me/ana/pictures",
        "see the Transc" + "ript",
    ],
)
def test_something_foreign_is_noticed(planted: str) -> None:
    assert len(found_in(planted)) == 1


def test_our_own_words_are_not_taken_for_foreign() -> None:
    assert found_in("docs/home/index.md, artwork/ and --home DIR") == []
