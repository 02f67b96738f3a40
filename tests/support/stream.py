"""A stream of writes for the kill tests, run as a program: stream.py HOME PREFIX COUNT ARM_AFTER BARRIER.

Each round writes a whole file, a blob, and in one transaction a paper and an event; when all is done it
says the round's name. From round ARM_AFTER on the process ends at BARRIER, if one is given.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

from wallworthy.base.files import write_whole
from wallworthy.base.records import Condition, ConditionFacts, Delivery, Master, Paper, Way
from wallworthy.base.ticket import TicketDraft
from wallworthy.journal.journal import Journal

MASTER_SHA256 = "5e" * 32


def content(name: str) -> bytes:
    """Bytes that belong to a round's name, large enough to be written in several goes."""
    return (name.encode() + b"\n") * 20_000


def blob(name: str) -> bytes:
    return b"blob " + name.encode()


def a_condition(name: str = "Generic", paper: str | None = None) -> Condition:
    facts = ConditionFacts(
        device_space="CMYK",
        icc_version="2.4",
        profile_description="A profile",
        intents=("perceptual", "relative"),
        white_lab=(95.1, 0.1, -2.3),
        black_lab=(7.88, 5.79, -5.94),
        neutral_tint_ab=(0.1, -0.2),
        density_y=2.0547,
        range_stops=6.7,
        roundtrip_mean_de00=0.31,
        roundtrip_p95_de00=1.1,
        gamut_volume_lab3=402_337.25,
    )
    return Condition(name, paper, b"profile bytes", "", Delivery.NUMBERS, "Photo paper", False, facts)


def a_master(sha256: str = MASTER_SHA256) -> Master:
    return Master(
        path="pictures/pier.tif",
        sha256=sha256,
        format="tiff",
        width_px=6000,
        height_px=4000,
        bits=16,
        floating=False,
        space="RGB",
        alpha=False,
        profile=b"a wide profile",
        profile_description="Wide",
        assumed=False,
        capture={"lens_mm": "35"},
    )


def a_draft(title: str = "Pier") -> TicketDraft:
    return TicketDraft(
        master_sha256=MASTER_SHA256,
        master_path="pictures/pier.tif",
        title=title,
        size_mm=(297.0, 198.0),
        distance_mm=356.9,
        condition="Generic",
        way=Way.RELATIVE_BPC,
    )


def ready(journal: Journal) -> str:
    """The ticket that the events are written on, opened once by whoever comes first."""
    with journal.write():
        if "Generic" not in journal.conditions:
            journal.conditions.add(a_condition())
            journal.masters.add(a_master())
            journal.tickets.open(a_draft())
        return journal.tickets.list()[0].id


def rounds(home: Path, prefix: str, count: int, arm_after: int, barrier: str) -> Iterator[str]:
    (home / "out").mkdir(parents=True, exist_ok=True)
    with Journal.open(home) as journal:
        ticket = ready(journal)
        for index in range(count):
            if barrier and index == arm_after:
                os.environ["WALLWORTHY_KILL_AT"] = barrier
            name = f"{prefix}.{index}"
            write_whole(home / "out" / f"{name}.bin", content(name))
            journal.store.put(blob(name))
            with journal.write():
                journal.papers.add(Paper(name, stock={"A4": index}))
                journal.tickets.note(ticket, "paper", {"name": name})
            yield name


if __name__ == "__main__":
    place, prefix, count, arm_after, barrier = sys.argv[1:]
    for done in rounds(Path(place), prefix, int(count), int(arm_after), barrier):
        sys.stdout.write(done + "\n")
        sys.stdout.flush()
