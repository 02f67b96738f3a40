"""Small and read-only disks for tests: tmpfs mounts, which ask for root."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest


def may_mount() -> bool:
    """Whether this process holds CAP_SYS_ADMIN (bit 21); root in an ordinary container does not."""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("CapEff:"):
            return bool(int(line.split()[1], 16) >> 21 & 1)
    return os.geteuid() == 0


@contextmanager
def small_disk(folder: Path, size: str = "1m") -> Iterator[Path]:
    """A disk of that size at `folder`. Skips where mounting is not allowed; where it is, CI must have it."""
    folder.mkdir(parents=True, exist_ok=True)
    answer = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", folder], capture_output=True, text=True, check=False
    )
    if answer.returncode != 0:
        reason = f"a small disk can't be mounted here: {answer.stderr.strip()}"
        if may_mount() and os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", folder], check=True)


@contextmanager
def read_only(folder: Path) -> Iterator[Path]:
    """A mounted disk, turned read-only for the block."""
    subprocess.run(["mount", "-o", "remount,ro", folder], check=True)
    try:
        yield folder
    finally:
        subprocess.run(["mount", "-o", "remount,rw", folder], check=True)


@contextmanager
def shut_folder() -> Iterator[Path]:
    """A folder that this process may look into but not write to; root becomes nobody for the block."""
    nobody = 65534
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o555)
    root = os.geteuid() == 0
    try:
        if root:
            os.seteuid(nobody)
        yield folder
    finally:
        if root:
            os.seteuid(0)
        folder.chmod(0o755)
        shutil.rmtree(folder)


def fill(folder: Path, leave: int = 0) -> None:
    """Use up a disk's space but for `leave` bytes, with a file called ballast."""
    with (folder / "ballast").open("wb", buffering=0) as ballast:
        block = bytes(4096)
        try:
            while True:
                ballast.write(block)
        except OSError:
            pass
        if leave:
            ballast.truncate(max(0, ballast.tell() - leave))
