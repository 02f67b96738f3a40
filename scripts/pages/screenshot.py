"""Take docs/page.png, the picture of the page in README: the demo laid out, its proof settled.

    .venv/bin/python scripts/pages/screenshot.py

Needs the built page and a browser (scripts/test brings both).
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests"))

from playwright.sync_api import sync_playwright  # noqa: E402

from support.browsing import SILENT, browser_path, serving  # noqa: E402

TARGET = ROOT / "docs" / "page.png"


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, serving(Path(folder) / "home") as served, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=browser_path(), args=list(SILENT))
        page = browser.new_context(viewport={"width": 1440, "height": 900}).new_page()
        page.set_default_timeout(300_000)
        page.goto(served.entry)
        page.get_by_role("button", name="Walk through the demo").click()
        with page.expect_response(lambda answer: "quality=fine" in answer.url):
            page.wait_for_url("**/proof")
        page.wait_for_timeout(4000)
        page.get_by_role("button", name="Show me where").first.click()
        page.wait_for_timeout(1000)
        page.screenshot(path=TARGET)
        browser.close()


if __name__ == "__main__":
    main()
