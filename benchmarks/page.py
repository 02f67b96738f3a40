"""Write docs/reference/page.md: how soon, how light, with how much memory the page works, and how fast it repaints.

    .venv/bin/python -m benchmarks.page [--small]

A real server on loopback and a real Chromium without a graphics chip, driven as a person would drive it. --small
takes a master of 6 megapixels instead of 60 and fewer turns, and writes nothing. Needs the built page.
"""

from __future__ import annotations

import argparse
import gzip
import os
import platform
import re
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pyvips

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from playwright.sync_api import sync_playwright  # noqa: E402

from support.browsing import SILENT, STATIC, Served, browser_path, file, serving  # noqa: E402
from wallworthy.demo.printer import VirtualPrinter  # noqa: E402
from wallworthy.demo.profiling import characterised  # noqa: E402
from wallworthy.demo.scene import render_scene  # noqa: E402
from wallworthy.icc.standard import working_profile  # noqa: E402

PAGE = ROOT / "docs" / "reference" / "page.md"
SIZE = "40x25cm"
SHOWN = (2560, 1600)
ROUND_IT = (702, 416)
"""What stands beside and above the print on the proof: a window this much larger shows it at SHOWN."""
PAPERS = ("matt", "gloss")
LIGHTS = {"dim hall": 80.0, "bright stair": 1200.0}
ASKED = {"paint": 1000, "weight": 300, "memory": 600, "repaint": 250}
PATIENCE_MS = 120_000
STUCK = Path(tempfile.gettempdir()) / "page-not-repainted.png"
NATURAL = """() => {
  const image = document.querySelector(".sheet .layer img");
  return [image.naturalWidth, image.naturalHeight];
}"""
RENDERER = """() => {
  const drawn = document.createElement("canvas").getContext("webgl2");
  const named = drawn?.getExtension("WEBGL_debug_renderer_info");
  return drawn ? String(drawn.getParameter(named ? named.UNMASKED_RENDERER_WEBGL : drawn.RENDERER)) : "no WebGL";
}"""

PAINTED = """() => new Promise((done) => {
  const pressed = { at: 0 };
  const press = (event) => { pressed.at ||= event.timeStamp; };
  for (const kind of ["pointerdown", "keydown"]) addEventListener(kind, press, { capture: true, once: true });
  const watch = new MutationObserver((changes) => {
    if (!pressed.at) return;
    const added = changes.flatMap((change) => [...change.addedNodes]);
    if (!added.some((node) => node.matches?.(".sheet .layer img") || node.querySelector?.(".sheet .layer img"))) return;
    watch.disconnect();
    requestAnimationFrame(() => setTimeout(() => { window.repaintMs = performance.now() - pressed.at; }, 0));
  });
  window.repaintMs = null;
  watch.observe(document.body, { childList: true, subtree: true });
  done(true);
})"""
"""From the press to the frame in which another picture lies on the sheet, in ms."""


@dataclass(slots=True)
class Measured:
    """All figures of a run; times in ms, memory in MB."""

    paint: list[float] = field(default_factory=list)
    print_seen: list[float] = field(default_factory=list)
    weight_kb: float = 0.0
    closer_kb: float = 0.0
    memory: dict[str, float] = field(default_factory=dict)
    repaint: dict[str, list[float]] = field(default_factory=dict)
    shown: tuple[int, int] = (0, 0)
    renderer: str = ""
    browser: str = ""
    requests: int = 0
    left: list[str] = field(default_factory=list)


def master(path: Path, megapixels: float) -> None:
    """The demo's picture enlarged to so many megapixels, 16 bits, in the working space."""
    small = render_scene()
    height, width = small.shape[:2]
    scale = (megapixels * 1e6 / (width * height)) ** 0.5
    picture = pyvips.Image.new_from_memory(np.ascontiguousarray(small).tobytes(), width, height, 3, "ushort")
    large = picture.copy(interpretation="rgb16").resize(scale, kernel="cubic").copy()
    large.set_type(pyvips.GValue.blob_type, "icc-profile-data", working_profile())
    large.tiffsave(str(path), compression="none")


class Visitor:
    """A browser at the page, and what it asked for."""

    def __init__(self, browser: Any, served: Served, told: Measured) -> None:
        self.browser, self.served, self.told = browser, served, told
        first = browser.new_context()
        page = first.new_page()
        page.goto(served.entry)
        self.state = first.storage_state()
        first.close()

    def window(self, path: str, width: int = 1440, height: int = 900) -> Any:
        """A window of its own, with nothing kept from earlier ones but the key."""
        context = self.browser.new_context(storage_state=self.state, viewport={"width": width, "height": height})
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        page.on("request", self._request)
        page.goto(self.served.origin + path)
        return page

    def _request(self, request: Any) -> None:
        self.told.requests += 1
        if not request.url.startswith((self.served.origin, "data:", "blob:")):
            self.told.left.append(request.url)

    def post(self, path: str, **options: Any) -> Any:
        context = self.browser.new_context(storage_state=self.state)
        headers = {"Origin": self.served.origin}
        answer = context.request.post(self.served.origin + path, headers=headers, timeout=PATIENCE_MS, **options)
        told = answer.json()
        assert answer.ok, told
        context.close()
        return told

    def laid_down(self, picture: Path) -> dict[str, Any]:
        """The master, by the page's own place for it: the browser reads it from disk, not the driver."""
        page = self.window("/")
        with page.expect_response(lambda answer: answer.url.endswith("/api/masters"), timeout=PATIENCE_MS) as heard:
            page.locator("input[type=file]").first.set_input_files(picture)
        told = heard.value.json()
        assert heard.value.ok, told
        page.context.close()
        return dict(told)

    def things(self, picture: Path) -> str:
        """The master, two papers, two lights, and a ticket on the first of each; its number."""
        facts = self.laid_down(picture)
        for name in PAPERS:
            data = characterised(VirtualPrinter(name))
            upload = self.post("/api/profiles", multipart=file(f"{name}.icc", data))["upload"]
            self.post("/api/conditions", data={"name": name, "upload": upload})
        for name, lux in LIGHTS.items():
            self.post("/api/lights", data={"name": name, "lux": lux})
        asked = {"master_sha256": facts["sha256"], "size": SIZE, "fill": True, "border_mm": 0}
        made = self.post("/api/tickets", data={**asked, "on": PAPERS[0], "light": next(iter(LIGHTS))})
        return str(made["ticket"])


def seen(page: Any) -> None:
    """The print is on the table and its sentences beside it."""
    page.locator(".sheet .layer img").wait_for()
    page.get_by_role("button", name="Show me where").first.wait_for()


def paints(visitor: Visitor, ticket: str, turns: int) -> None:
    """From asking for the page to its first useful sight: the heading at home, the print at the proof."""
    for turn in range(turns + 1):
        page = visitor.window("/")
        page.get_by_role("heading", level=1).first.wait_for()
        painted = "performance.getEntriesByName('first-contentful-paint')"
        page.wait_for_function(f"{painted}.length")  # it may be written down after the heading is there
        first = page.evaluate(f"{painted}[0].startTime")
        page.context.close()
        page = visitor.window(f"/t/{ticket}/proof")
        page.locator(".sheet .layer img").wait_for()
        there = page.evaluate("performance.now()")
        page.context.close()
        if turn:  # the first is the server's own warming up
            visitor.told.paint.append(first)
            visitor.told.print_seen.append(there)


def memory(visitor: Visitor, ticket: str) -> None:
    """The tab's own process after looking closer, down to single pixels, in four corners."""
    page = visitor.window(f"/t/{ticket}/proof")
    seen(page)
    visitor.told.memory["the proof"] = tab_mb(visitor.browser)
    page.get_by_role("button", name="Look closer").click()
    place = page.locator(".view canvas, .view img").first
    place.wait_for()
    page.get_by_role("button", name="Pixel for pixel").click()
    for keys in ("ArrowRight", "ArrowDown", "ArrowLeft", "ArrowUp"):
        for _ in range(12):
            page.keyboard.press(keys)
            page.wait_for_timeout(100)
    page.wait_for_timeout(3000)
    visitor.told.memory["after looking closer"] = tab_mb(visitor.browser)
    page.context.close()


def tab_mb(browser: Any) -> float:
    """Proportional set size of the largest renderer: the page's own share of memory."""
    line = browser.new_browser_cdp_session()
    told = line.send("SystemInfo.getProcessInfo")["processInfo"]
    line.detach()
    return max(pss_mb(one["id"]) for one in told if one["type"] == "renderer")


def pss_mb(pid: int) -> float:
    rollup = Path(f"/proc/{pid}/smaps_rollup").read_text()
    return int(next(line for line in rollup.splitlines() if line.startswith("Pss:")).split()[1]) * 1024 / 1e6


def repaints(visitor: Visitor, ticket: str, turns: int) -> None:
    """From a press to another picture on the sheet, at SHOWN, each kind of change in turn."""
    page = visitor.window(f"/t/{ticket}/proof", SHOWN[0] + ROUND_IT[0], SHOWN[1] + ROUND_IT[1])
    seen(page)
    page.locator("summary").filter(has_text="How it is squeezed in").click()
    visitor.told.shown = tuple(page.evaluate(NATURAL))
    visitor.told.renderer = page.evaluate(RENDERER)
    changes: dict[str, Callable[[int], Any]] = {
        "a correction": lambda turn: page.get_by_role(
            "button", name=f"Lightness: one step {('more', 'less')[turn % 2]}"
        ).click(),
        "the light": lambda turn: page.locator(".light").filter(has_text=list(LIGHTS)[1 - turn % 2]).click(),
        "the way": lambda turn: page.locator("label.pick:not(:has(:checked))").nth(turn % 2).click(),
    }
    for turn in range(turns + 1):
        for name, change in changes.items():
            page.wait_for_timeout(2500)  # the fine picture and the sentences have come; nothing else is at work
            page.evaluate(PAINTED)
            change(turn)
            taken = repainted(page, name)
            if turn:  # the first of each composes what later ones find ready
                visitor.told.repaint.setdefault(name, []).append(taken)
        taken = another_paper(page, ticket, PAPERS[1 - turn % 2])
        if turn:
            visitor.told.repaint.setdefault("the paper", []).append(taken)
    page.context.close()


def another_paper(page: Any, ticket: str, paper: str) -> float:
    """From the press of 'Print on this' beside the papers to the proof of the print on it."""
    page.locator(f"a[href='/t/{ticket}/paper']").first.click()
    page.locator(".line svg").wait_for()  # the papers lie in their order
    page.wait_for_timeout(2500)
    page.evaluate(PAINTED)
    page.get_by_role("button", name=re.compile(f": {paper}$", re.IGNORECASE)).click()
    taken = repainted(page, "the paper")
    seen(page)
    page.locator("summary").filter(has_text="How it is squeezed in").click()
    return taken


def repainted(page: Any, name: str) -> float:
    """The time of the repaint that was begun, once it is done. Raises TimeoutError when it does not come."""
    for _ in range(PATIENCE_MS // 20):
        taken = page.evaluate("window.repaintMs")
        if taken is not None:
            return float(taken)
        page.wait_for_timeout(20)
    page.screenshot(path=STUCK)
    raise TimeoutError(f"nothing was repainted after changing {name}; {STUCK} shows the page")


def weigh(told: Measured) -> None:
    """Scripts and styles as they are sent compressed, those of looking closer apart."""
    for path in sorted((STATIC.parent / "assets").iterdir()):
        if path.suffix in (".js", ".css"):
            size = len(gzip.compress(path.read_bytes())) / 1e3
            if path.name.startswith("openseadragon"):
                told.closer_kb += size
            else:
                told.weight_kb += size


def measure(megapixels: float, turns: int) -> Measured:
    told = Measured()
    weigh(told)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        picture = Path(folder) / "master.tif"
        master(picture, megapixels)
        with serving(Path(folder) / "home") as served:
            browser = play.chromium.launch(executable_path=browser_path(), args=list(SILENT))
            told.browser = browser.version
            visitor = Visitor(browser, served, told)
            ticket = visitor.things(picture)
            paints(visitor, ticket, turns)
            repaints(visitor, ticket, turns)
            memory(visitor, ticket)
            browser.close()
    return told


def row(what: str, values: list[float], unit: str, asked: float | None) -> str:
    wanted = "" if asked is None else f"under {asked:g} {unit}"
    return f"| {what} | {statistics.median(values):.0f} {unit} | {max(values):.0f} {unit} | {wanted} |"


def written(told: Measured, megapixels: float, turns: int, load: float) -> str:
    """The page, all figures in it measured."""
    weight = told.weight_kb + told.closer_kb
    away = "none" if not told.left else ", ".join(sorted(set(told.left)))
    rows = [
        row(f"repaint after changing {name}", values, "ms", ASKED["repaint"]) for name, values in told.repaint.items()
    ]
    return "\n".join(
        [
            "# The page: how soon, how light, how fast",
            "",
            "Made by `.venv/bin/python -m benchmarks.page`; do not edit. A server on loopback, a browser on the same",
            f"machine, a master of {megapixels:g} megapixels in 16 bits; each figure {turns} times, median and worst.",
            f"{platform.machine()}, {os.cpu_count()} processors shared by server and browser, load {load:.1f} when it",
            f"began; Chromium {told.browser} without a graphics chip ({told.renderer}).",
            "",
            "| | median | worst | asked |",
            "|---|---|---|---|",
            row("first visit: something useful is seen", told.paint, "ms", ASKED["paint"]),
            row("a ticket's proof, asked for anew: the print is seen", told.print_seen, "ms", None),
            *rows,
            "",
            "A repaint is counted from the press of a key or button to the frame that shows another picture, at",
            f"{told.shown[0]} x {told.shown[1]} pixels; where it is slow, down to half as many an edge are asked for",
            "until the fine picture follows. The paper's is from 'Print on this' among the papers to the proof on it.",
            "The first change of each kind, which readies what later ones find, is left out.",
            "With a graphics chip the browser paints by itself; that can't be measured here.",
            "",
            "| | measured | asked |",
            "|---|---|---|",
            f"| scripts and styles, compressed | {weight:.0f} kB, of which {told.closer_kb:.0f} only for looking "
            f"closer | at most {ASKED['weight']} kB |",
            *(
                f"| memory of the tab, {when} | {used:.0f} MB | under {ASKED['memory']} MB |"
                for when, used in told.memory.items()
            ),
            f"| requests that leave loopback, of {told.requests} | {away} | none |",
            "",
            "Memory is the proportional set size of the browser's process for the tab.",
            "",
        ]
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", action="store_true", help="6 megapixels, three turns, nothing written")
    small = parser.parse_args().small
    megapixels, turns = (6, 3) if small else (60, 5)
    load = os.getloadavg()[0]
    began = time.monotonic()
    text = written(measure(megapixels, turns), megapixels, turns, load)
    if small:
        sys.stdout.write(text)
    else:
        PAGE.write_text(text, encoding="utf-8")
    sys.stderr.write(f"took {time.monotonic() - began:.0f} s\n")


if __name__ == "__main__":
    main()
