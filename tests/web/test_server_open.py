"""`wallworthy open` listens before it says where, answers there alone, and ends cleanly."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from wallworthy.base.errors import TroubleError
from wallworthy.web import serve

pytestmark = pytest.mark.practice

RUN = """
import sys
from pathlib import Path
from wallworthy.web import app, serve
serve.STATIC = app.STATIC = Path(sys.argv[1])
app.make_app.__defaults__ = (Path(sys.argv[1]),)
from wallworthy.cli.run import run
sys.exit(run(sys.argv[2:]))
"""


@contextmanager
def opened(tmp_path: Path, *options: str, built: bool = True) -> Iterator[subprocess.Popen[str]]:
    static = tmp_path / "static"
    static.mkdir()
    if built:
        (static / "index.html").write_text("<!doctype html><title>here</title>")
    words = ["--home", str(tmp_path / "home"), "open", "--no-browser", *options]
    command = [sys.executable, "-c", RUN, str(static), *words]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def test_the_address_answers_as_soon_as_it_is_told_and_ctrl_c_ends_it(tmp_path: Path) -> None:
    with opened(tmp_path) as process:
        assert process.stdout is not None
        url = process.stdout.readline().strip()
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+/\?token=[\w-]{40,}", url)
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        with opener.open(url, timeout=60) as answer:
            assert b"<title>here</title>" in answer.read()
        with pytest.raises(urllib.error.HTTPError):
            urllib.request.urlopen(url, timeout=60)
        port = int(url.split(":")[2].split("/")[0])
        assert listening_elsewhere(port) is False
        os.kill(process.pid, signal.SIGINT)
        _, told = process.communicate(timeout=60)
    assert process.returncode in (0, 130)
    assert "Traceback" not in told


def listening_elsewhere(port: int) -> bool:
    """Whether the port answers on this computer's address in its network."""
    try:
        address = serve.lan_address()
    except TroubleError:
        return False
    with socket.socket() as probe:
        probe.settimeout(1)
        return probe.connect_ex((address, port)) == 0


def test_a_page_that_is_not_built_says_so_in_one_sentence(tmp_path: Path) -> None:
    with opened(tmp_path, built=False) as process:
        out, told = process.communicate(timeout=120)
    assert (process.returncode, out) == (3, "")
    assert told.splitlines() == ["The page is not built yet.", "Build and open it with './scripts/open'."]


def test_a_port_in_use_is_refused_and_without_one_a_free_one_is_found() -> None:
    first = serve._listen(serve.LOOPBACK, None)
    second = serve._listen(serve.LOOPBACK, None)
    taken = int(first.getsockname()[1])
    assert taken != int(second.getsockname()[1])
    with pytest.raises(TroubleError, match=f"Port {taken} is in use"):
        serve._listen(serve.LOOPBACK, taken)
    for each in (first, second):
        each.close()
