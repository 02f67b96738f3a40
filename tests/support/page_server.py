"""The page's server in this process, with a client that is let in, for tests."""

from __future__ import annotations

import io
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import tifffile
from starlette.testclient import TestClient

from support.synthetic_profile import synthetic_profile
from wallworthy.icc.standard import srgb_profile
from wallworthy.journey.live import Sessions
from wallworthy.web.app import make_app
from wallworthy.web.context import Page
from wallworthy.web.guard import Guard
from wallworthy.web.phones import Phones
from wallworthy.web.queue import Queue

HOST = "127.0.0.1:8741"
LAN = "192.168.7.5:8741"
ORIGIN = f"http://{HOST}"


@dataclass(frozen=True)
class Server:
    """A running page and a client that has its cookie."""

    page: Page
    client: TestClient
    home: Path

    def ask(self, method: str, path: str, status: int = 200, **options: Any) -> Any:
        """The JSON of an answer, whose status is checked."""
        answer = self.client.request(method, path, **options)
        assert answer.status_code == status, answer.text
        return answer.json()

    def upload(self, path: str, data: bytes, name: str, status: int = 200) -> Any:
        return self.ask("POST", path, status, files={"file": (name, data)})

    def done(self, job: dict[str, Any], within_s: float = 120) -> dict[str, Any]:
        """The job once it is over."""
        end = time.monotonic() + within_s
        while job["state"] in ("waiting", "running") and time.monotonic() < end:
            time.sleep(0.05)
            job = self.ask("GET", f"/api/jobs/{job['job']}")
        return job

    def started(self, **changes: Any) -> dict[str, Any]:
        """A new ticket for a small picture on a test paper."""
        facts = self.upload("/api/masters", tiff(), "dusk.tif")
        upload = self.upload("/api/profiles", paper(), "paper.icc")["upload"]
        asked = {"master_sha256": facts["sha256"], "size": "15x10cm", "upload": upload, **changes}
        return self.ask("POST", "/api/tickets", json=asked)


@contextmanager
def serving(home: Path, *, lan: bool = False) -> Iterator[Server]:
    """The page of a home, its queue running."""
    guard = Guard(frozenset({HOST}), frozenset({LAN}) if lan else frozenset())
    page = Page(home, guard, Sessions(home), Queue(home), Phones(f"http://{LAN}" if lan else None))
    with TestClient(make_app(page), base_url=ORIGIN, headers={"origin": ORIGIN}) as client:
        client.get("/", params={"token": guard.token}, follow_redirects=False)
        yield Server(page, client, home)


def tiff(rows: int = 120, columns: int = 180, *, tagged: bool = True, seed: int = 1) -> bytes:
    """A small 16-bit picture: colourful slopes from black to white, a little noise; another one for each number."""
    row, column = np.mgrid[0:rows, 0:columns].astype(float)
    across, down = column / columns, row / rows
    rgb = np.stack([across, 0.5 + 0.5 * np.sin(6 * down + 4 * across + seed), 1 - down], axis=-1)
    rgb = np.clip(rgb + np.random.default_rng(seed).normal(0, 0.004, rgb.shape), 0, 1)
    out = io.BytesIO()
    profile = {"iccprofile": srgb_profile()} if tagged else {}
    tifffile.imwrite(out, np.rint(rgb * 65535).astype(np.uint16), photometric="rgb", **profile)
    return out.getvalue()


def paper() -> bytes:
    """An RGB paper from L* 18 to its white, of half the colour there is."""

    def to_lab(device: np.ndarray) -> np.ndarray:
        a = (device[:, 0] - device[:, 1]) * 50
        b = (device[:, 1] - device[:, 2]) * 50
        return np.stack([18 + 82 * device.mean(axis=1), a, b], axis=1)

    def from_lab(lab: np.ndarray) -> np.ndarray:
        mean, red, blue = (lab[:, 0] - 18) / 82, lab[:, 1] / 50, lab[:, 2] / 50
        green = mean + (blue - red) / 3
        return np.clip(np.stack([green + red, green, green - blue], axis=1), 0, 1)

    return synthetic_profile("RGB", to_lab, from_lab, white=(0.83, 0.86, 0.68))


def poor() -> bytes:
    """A paper from L* 40 up, nearly without colour."""

    def to_lab(device: np.ndarray) -> np.ndarray:
        a, b = (device[:, 0] - device[:, 1]) * 8, (device[:, 1] - device[:, 2]) * 8
        return np.stack([40 + 60 * device.mean(axis=1), a, b], axis=1)

    def from_lab(lab: np.ndarray) -> np.ndarray:
        mean, red, blue = (lab[:, 0] - 40) / 60, lab[:, 1] / 8, lab[:, 2] / 8
        green = mean + (blue - red) / 3
        return np.clip(np.stack([green + red, green, green - blue], axis=1), 0, 1)

    return synthetic_profile("RGB", to_lab, from_lab, white=(0.7, 0.73, 0.6))
