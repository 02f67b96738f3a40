"""A real server in a process of its own and a real browser before it."""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

ROOT = Path(__file__).resolve().parents[2]
STATIC = ROOT / "src" / "wallworthy" / "web" / "static" / "index.html"
ADDRESS = re.compile(r"http://127\.0\.0\.1:\d+/\S*")
SILENT = ("--headless=new", "--no-first-run", "--disable-background-networking", "--disable-component-update",
          "--disable-sync", "--disable-quic", "--no-sandbox", "--force-color-profile=srgb")  # fmt: skip
WINDOWS = ((1440, 900), (1024, 768), (360, 740))
"""Widths and heights that every stage is looked at in, CSS pixels."""
GRAVE = {"serious", "critical"}


@dataclass(frozen=True, slots=True)
class Served:
    """A running server: its address with the one-time token, without it, its process and home."""

    entry: str
    origin: str
    process: subprocess.Popen[str]
    home: Path


@contextmanager
def serving(home: Path, *options: str) -> Iterator[Served]:
    """`wallworthy open` on a free port, until the block ends."""
    command = [sys.executable, "-c", "from wallworthy.cli import main; main()", "--home", str(home), "open"]
    process = subprocess.Popen(
        [*command, "--no-browser", "--port", str(free_port()), *options],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    try:
        entry = _address(process)
        parts = urlsplit(entry)
        yield Served(entry, f"{parts.scheme}://{parts.netloc}", process, home)
    finally:
        process.terminate()
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        if process.stdout is not None:
            process.stdout.close()


def free_port() -> int:
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return int(door.getsockname()[1])


def _address(process: subprocess.Popen[str]) -> str:
    assert process.stdout is not None
    heard: list[str] = []
    for line in process.stdout:
        heard.append(line)
        found = ADDRESS.search(line)
        if found:
            return found.group().rstrip(".,")
    raise AssertionError("the server ended before it told its address:\n" + "".join(heard))


def browser_path() -> str | None:
    """The system's browser, or the one named by WALLWORTHY_BROWSER."""
    named = os.environ.get("WALLWORTHY_BROWSER")
    return named or shutil.which("chromium") or shutil.which("chromium-browser")


def need_page() -> str:
    """The browser's path; skips where page or browser is missing, which in CI is a failure."""
    path = browser_path()
    missing = "a browser (chromium)" if path is None else "the built page" if not STATIC.is_file() else None
    if missing is None and path is not None:
        return path
    if os.environ.get("CI") == "true":
        pytest.fail(f"Missing: {missing}.")
    pytest.skip(f"Missing: {missing}.")


class Watched:
    """A browser page that keeps what it asked for and what went wrong on it."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.requests: list[str] = []
        self.complaints: list[str] = []
        page.set_default_timeout(120_000)
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def _console(self, message: Any) -> None:
        if message.type in ("error", "warning") and "GPU stall" not in message.text:
            self.complaints.append(message.text)

    def stayed_home(self) -> bool:
        """Whether every request went to loopback or stayed inside the page."""
        return all(url.startswith(("http://127.0.0.1:", "data:", "blob:")) for url in self.requests)


def settled(watched: Watched) -> None:
    """The page at rest: its heading there, its pictures loaded."""
    watched.page.get_by_role("heading", level=1).first.wait_for(state="attached")
    for _ in range(240):  # the page's own rules forbid waiting by a function built from text
        if watched.page.evaluate("() => [...document.images].every((image) => image.complete)"):
            break
        watched.page.wait_for_timeout(250)
    watched.page.wait_for_timeout(500)


def findings(page: Any) -> list[str]:
    """What axe-core calls serious or worse, WCAG 2.2 A and AA."""
    from axe_playwright_python.sync_playwright import Axe

    rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    options = {"runOnly": rules, "resultTypes": ["violations"]}  # what passes is not told of at length
    found = Axe().run(page, options=options).response["violations"]
    return [f"{one['id']}: {one['nodes'][0]['html'][:160]} ({one['help']})" for one in found if one["impact"] in GRAVE]


def main(page: Any) -> Any:
    """What lies on the table and is scrolled between its two edges."""
    return page.locator("main").element_handle()


def assert_for_everyone(watched: Watched, width: int, height: int, *, sideways: bool = False) -> None:
    """No serious finding of axe-core, no sideways scroll unless it may be, nothing that leaves loopback or went wrong;
    as the page stands in its window, and with all that has to be scrolled up in one so large."""
    page = watched.page
    if not sideways:
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert page.evaluate("(main) => main.scrollWidth - main.clientWidth", main(page)) == 0
    assert findings(page) == []
    if unroll(page, width, height):
        assert findings(page) == []
    assert watched.stayed_home()
    assert watched.complaints == []


def unroll(page: Any, width: int, height: int) -> bool:
    """Makes a window of that size so high that nothing has to be scrolled up; whether anything had to be."""
    below = page.evaluate("(main) => main.scrollHeight - main.clientHeight", main(page))
    page.set_viewport_size({"width": width, "height": height + below + 40})
    return bool(below > 0)


def poster(page: Any, served: Served) -> Callable[..., Any]:
    """Asks the page's server with the page's own key and origin; what it answers, which must be no refusal."""

    def post(path: str, **options: Any) -> Any:
        asked = page.context.request
        answer = asked.post(served.origin + path, headers={"Origin": served.origin}, timeout=120_000, **options)
        assert answer.ok, answer.text()
        return answer.json()

    return post


def file(name: str, data: bytes) -> dict[str, Any]:
    """A file as a form sends it."""
    return {"file": {"name": name, "mimeType": "application/octet-stream", "buffer": data}}
