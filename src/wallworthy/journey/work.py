"""Long work as the page asks for it: test sheets, finals, read-back, the demo; each leaves its files in the home."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from wallworthy.base.files import make_folder, sweep, write_whole
from wallworthy.base.progress import Progress, silent, within
from wallworthy.journey.finishing import FIRST_SUFFIX, FinalWish, final_files, make_final, settled_for
from wallworthy.journey.home import opened
from wallworthy.journey.incoming import MASTERS, keep_master, master_path
from wallworthy.journey.own_names import own_name
from wallworthy.journey.page_work import JobKind, JobResult
from wallworthy.journey.testing import SheetWish, make_sheet
from wallworthy.journey.tickets import Wish, start_ticket

PRINTS: Final = "prints"
DEMO: Final = "demo"
DEMO_MASTER: Final = "tidal-bay.tif"
DEMO_PX: Final = 3000
"""Wide: enough for its size, and a first look is not waited for too long."""
DEMO_SIZE: Final = "30x20cm"
DEMO_PAPER: Final = "warm cotton matt"
DEMO_CONDITION: Final = "warm cotton"
DEMO_LIGHT: Final = "living room"


def carry_out(
    home: Path, kind: JobKind, ticket: str | None, asked: Mapping[str, Any], progress: Progress = silent
) -> JobResult:
    """Do a job. Raises InputError or TroubleError; its files are whole or absent."""
    match kind:
        case "demo":
            return _demo(home, progress)
        case "sheet":
            return _sheet(home, str(ticket), asked, progress)
        case "final":
            return _final(home, str(ticket), asked, progress)
        case "scan":
            return _scan(home, str(ticket), asked, progress)


def prints_folder(home: Path, ticket: str) -> Path:
    """Where a ticket's sheets and finals go."""
    return home / PRINTS / ticket.upper()


def tidy(home: Path, ticket: str | None) -> None:
    """Remove what a job that was ended by force left half-written, and give back what it had reserved."""
    for folder in (home, home / DEMO, *((prints_folder(home, ticket),) if ticket else ())):
        sweep(folder, older_than_s=0)
    with opened(home) as journal:
        journal.sheets.give_back()


def _sheet(home: Path, ticket_id: str, asked: Mapping[str, Any], progress: Progress) -> JobResult:
    from wallworthy.base.records import Delivery

    folder = _ready(home, ticket_id)
    with opened(home) as journal:
        ticket = journal.tickets.get(ticket_id)
        delivery = journal.conditions.get(ticket.condition).delivery
        number = 1 + max((sheet.no for sheet in journal.sheets.list(ticket.id)), default=0)
    suffix = FIRST_SUFFIX["tiff" if delivery is Delivery.NUMBERS else "jpeg"]
    with own_name(home, folder, ticket, f"sheet-{number}", suffix) as out:
        answer = make_sheet(home, ticket.id, SheetWish(out=out, **asked), progress)
    return JobResult(ticket.id, sheet_no=answer.sheet_no)


def _final(home: Path, ticket_id: str, asked: Mapping[str, Any], progress: Progress) -> JobResult:
    folder = _ready(home, ticket_id)
    values = dict(asked)
    wish = FinalWish(file_format=values.pop("format", None), **values)
    with opened(home) as journal:
        ticket = journal.tickets.get(ticket_id)
        finals = journal.finals.list(ticket.id)
        condition = journal.conditions.get(ticket.condition)
        again = wish.again and bool(finals)
        form = finals[-1].settings["format"] if again else settled_for(wish, condition).format
    settings = {name: getattr(wish, name) for name in ("ppi", "bits", "sharpen", "file_format", "delivery", "again")}
    with own_name(home, folder, ticket, "final", FIRST_SUFFIX[form], files=final_files) as out:
        make_final(home, ticket.id, FinalWish(out=out, **settings), progress)
    with opened(home) as journal:
        return JobResult(ticket.id, final_no=journal.finals.list(ticket.id)[-1].no)


def _scan(home: Path, ticket: str, asked: Mapping[str, Any], progress: Progress) -> JobResult:
    from wallworthy.journey.readingback import read_back

    progress("looking at the scan", 0.1)
    scan = Path(asked["scan"])
    try:
        answer = read_back(home, ticket, scan, sheet=asked["sheet"])
    finally:
        scan.unlink(missing_ok=True)
    return JobResult(answer.ticket, sheet_no=answer.sheet_no, reading=answer)


def _demo(home: Path, progress: Progress) -> JobResult:
    """The invented scenario: a picture, a paper whose profile was made on the virtual printer, a light, a ticket."""
    from wallworthy.demo.printer import VirtualPrinter
    from wallworthy.demo.profiling import characterised
    from wallworthy.journey.conditions import add_condition
    from wallworthy.journey.demo_walk import write_demo_master
    from wallworthy.journey.things import add_light, add_paper

    folder = home / DEMO
    make_folder(folder)
    master = next(iter(sorted((home / MASTERS).glob(f"*/{DEMO_MASTER}"))), None)
    if master is None:
        picture = folder / DEMO_MASTER
        write_demo_master(picture, DEMO_PX, within(progress, 0.0, 0.5))
        progress("keeping the picture", 0.5)
        master = master_path(home, keep_master(home, picture, picture.name).sha256)
    with opened(home) as journal:
        papers, conditions, lights = journal.papers.names(), journal.conditions.names(), journal.lights.names()
    if DEMO_PAPER not in papers:
        add_paper(home, DEMO_PAPER, surface="matt", weight=310, stock="A4=25,10x15cm=40", price="A4=1.60,10x15cm=0.40")
    if DEMO_CONDITION not in conditions:
        profile = folder / "warm-cotton-matt.icc"
        write_whole(
            profile, characterised(VirtualPrinter("matt", "first"), within(progress, 0.55, 0.94)), overwrite=True
        )
        add_condition(home, DEMO_CONDITION, profile, paper=DEMO_PAPER, media="matt fine-art paper")
    if DEMO_LIGHT not in lights:
        add_light(home, DEMO_LIGHT, words="evening room")
    progress("opening a ticket", 0.96)
    ticket = start_ticket(home, Wish(master, DEMO_SIZE, on=DEMO_CONDITION, light=DEMO_LIGHT, border=15))
    return JobResult(ticket.ticket)


def _ready(home: Path, ticket: str) -> Path:
    folder = prints_folder(home, ticket)
    make_folder(folder)
    return folder
