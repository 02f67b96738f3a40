"""The demo: the whole walk on an invented picture, printer and paper; every file it made stays.

A printer is characterised from noisy measurements and a picture proofed for it. A virtual eye, which
wants it a little otherwise, judges printed test sheets until one more would not pay. The final is
printed on that machine and on a drifted second one; what the proof promised is held against both.
"""

from __future__ import annotations

import shutil
import time
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.files import disk_trouble, write_whole
from wallworthy.base.progress import Progress, silent, within
from wallworthy.base.records import Correction
from wallworthy.base.ticket import WrittenFile
from wallworthy.base.units import MM_PER_INCH
from wallworthy.colour.float32 import lab_to_xyz_ratio32, planes_of
from wallworthy.colour.lab import lab_to_xyz, xyz_to_lab
from wallworthy.demo.eye import WANTED, distance_de00, look
from wallworthy.demo.looking import Likeness, averaged, likeness
from wallworthy.demo.printer import VirtualPrinter
from wallworthy.demo.profiling import characterised
from wallworthy.demo.scene import HEIGHT_PX, WIDTH_PX, render_scene
from wallworthy.fit.compose import direct
from wallworthy.icc.engine import from_lab
from wallworthy.icc.quick import print_lab
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile, working_profile
from wallworthy.journey.answers import DemoAnswer
from wallworthy.journey.chain import Job, load
from wallworthy.journey.conditions import add_condition
from wallworthy.journey.finishing import FinalWish, make_final
from wallworthy.journey.home import opened, written
from wallworthy.journey.judging import Opinion, judge_sheet
from wallworthy.journey.proofing import prove
from wallworthy.journey.testing import SheetWish, make_sheet
from wallworthy.journey.things import add_display, add_light, add_paper
from wallworthy.journey.tickets import Wish, start_ticket
from wallworthy.master.source import working_source
from wallworthy.raster.arrays import read_array
from wallworthy.raster.form import FileForm
from wallworthy.raster.scale import scaled_picture
from wallworthy.raster.write import write_picture

SIZE: Final = "30x20cm"
FINAL_PPI: Final = 240.0
"""A third of the 720 that inkjets raster at, and the master's own pixels shrunk a little."""
HOME: Final = "wallworthy-home"
MARK: Final = "made-by-wallworthy-demo.txt"
MOST_SHEETS: Final = 4
GLANCE_PX: Final = 480
APERTURE_MM: Final = 1.0
SHOWN_PX: Final = 1500
PREDICTED_ROWS: Final = 128
SCENARIO: Final = "A tidal bay at sundown, on warm cotton matt from an invented six-ink printer."


@dataclass(frozen=True, slots=True)
class Walked:
    """Where the demo's files are, and what its steps answered."""

    folder: Path
    files: tuple[WrittenFile, ...]
    promise: tuple[str, ...]
    taught: Taught
    lab: Path = field(repr=False)
    final: Path = field(repr=False)
    profile: Path = field(repr=False)
    size_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Taught:
    """What the test sheets brought: how many, and how far the print was from the wish before and after."""

    sheets: int
    before_de00: float
    after_de00: float
    files: tuple[WrittenFile, ...]
    sentences: tuple[str, ...]


def walk_demo(out: Path | None, progress: Progress = silent) -> DemoAnswer:
    """Walk the demo into a folder (`wallworthy-demo` here by default); earlier demo files are replaced."""
    began = time.monotonic()
    folder = (out or Path.cwd() / "wallworthy-demo").expanduser().resolve()
    _make(folder)
    master = folder / "tidal-bay.tif"
    write_demo_master(master, progress=within(progress, 0.0, 0.25))
    first = VirtualPrinter("matt", "first")
    profile = folder / "warm-cotton-matt.icc"
    write_whole(profile, characterised(first, within(progress, 0.25, 0.38)), overwrite=True)
    walked = _walk(folder, master, profile, first, progress)
    progress("printing on both machines", 0.8)
    seen_first, first_picture = _printed(first, walked, "print-first-machine.png")
    seen_second, second_picture = _printed(VirtualPrinter("matt", "second"), walked, "print-second-machine.png")
    rows, columns = seen_first.shape[:2]
    promised = averaged(lab_to_xyz(read_array(walked.lab)).astype(np.float32), rows, columns)
    one, other = likeness(promised, seen_first), likeness(promised, seen_second)
    own = likeness(_predicted(walked, rows, columns), seen_first)
    return DemoAnswer(
        scenario=SCENARIO,
        sheets_used=walked.taught.sheets,
        proof_print_mean_de00=one.mean_de00,
        proof_print_p95_de00=one.p95_de00,
        other_unit_mean_de00=other.mean_de00,
        other_unit_p95_de00=other.p95_de00,
        preference_before_de00=walked.taught.before_de00,
        preference_after_de00=walked.taught.after_de00,
        elapsed_s=time.monotonic() - began,
        sentences=(*walked.promise, *walked.taught.sentences, *_told(one, other, own)),
        files=(written("master", master), written("profile", profile), *walked.files, first_picture, second_picture),
        next=f"Look at the files in {folder}: the master, the proof, the final with its job card, and both prints.",
    )


def _make(folder: Path) -> None:
    """The demo's folder: new, empty, or an earlier demo's by its mark; the home of that one makes way."""
    if folder.exists() and not folder.is_dir():
        raise InputError("out_is_file", f"{folder} is a file.", "Name a folder with --out.", where=str(folder))
    if not folder.parent.is_dir():
        raise InputError(
            "folder_missing", f"The folder {folder.parent} does not exist.", "Make it first.", where=str(folder)
        )
    home, mark = folder / HOME, folder / MARK
    try:
        folder.mkdir(exist_ok=True)
        if any(folder.iterdir()) and not mark.is_file():
            raise InputError(
                "out_in_use",
                f"{folder} holds other files and was left alone.",
                "Name an empty or a new folder with --out.",
                where=str(folder),
            )
        mark.write_text("Made by 'wallworthy demo', which may replace everything here.\n")
        if home.is_dir() and not home.is_symlink():
            shutil.rmtree(home)
    except OSError as error:
        raise disk_trouble(error, folder) from error


def write_demo_master(target: Path, width_px: int = WIDTH_PX, progress: Progress = silent) -> None:
    """The invented picture as a TIFF, width_px wide, in its proportions of 3 : 2."""
    pixels = render_scene(width_px, round(width_px * HEIGHT_PX / WIDTH_PX), progress=progress)
    height, width = pixels.shape[:2]
    form = FileForm("tiff", width, height, 3, 16, "RGB", 300.0, working_profile())
    write_picture(target, [pixels], form, overwrite=True)


def _walk(folder: Path, master: Path, profile: Path, printer: VirtualPrinter, progress: Progress) -> Walked:
    """The commands a person would give, in order."""
    home = folder / HOME
    add_paper(home, "warm cotton matt", surface="matt", weight=310, stock="A4=25", price="A4=1.60")
    add_condition(home, "warm cotton", profile, paper="warm cotton matt", media="matt fine-art paper")
    add_light(home, "living room", words="evening room")
    add_display(home, "desk", space="srgb", white=120)
    ticket = start_ticket(home, Wish(master, SIZE, on="warm cotton", light="living room", display="desk"))
    progress("proofing", 0.4)
    first_look = prove(home, ticket.ticket, out=folder / "proof-uncorrected.png", force=True)
    taught = _test(home, ticket.ticket, folder, printer, progress)
    proof = prove(home, ticket.ticket, out=folder / "proof.png", lab=folder / "proof-lab.tif", force=True)
    progress("making the final", 0.7)
    final = make_final(home, ticket.ticket, FinalWish(out=folder / "final.tif", ppi=FINAL_PPI, force=True))
    places = tuple(f"{number}. {place.text}" for number, place in enumerate(first_look.worst[:3], 1))
    return Walked(
        folder=folder,
        files=(*first_look.files, *taught.files, *proof.files, *final.files),
        promise=(*first_look.sentences, *places),
        taught=taught,
        lab=folder / "proof-lab.tif",
        final=folder / "final.tif",
        profile=profile,
        size_mm=final.size_mm,
    )


def _test(home: Path, ticket: str, folder: Path, printer: VirtualPrinter, progress: Progress) -> Taught:
    """Print test sheets and let the virtual eye judge them, until the advice is to print."""
    with opened(home) as journal:
        job = load(journal, journal.tickets.get(ticket))
    picture = looked_at(job)
    seen = partial(_seen, job, picture, printer)
    wished = seen(WANTED)
    before = distance_de00(seen(job.correction), wished)
    files: list[WrittenFile] = []
    sentences = ["A virtual eye wants this print a little otherwise and says so of printed test sheets."]
    correction, sheets = job.correction, 0
    for number in range(1, MOST_SHEETS + 1):
        progress(f"test sheet {number}", 0.45 + 0.05 * number)
        sheet = make_sheet(home, ticket, SheetWish(out=folder / f"test-sheet-{number}.tif", force=True))
        files += sheet.files
        codes = [tile.code for tile in sheet.tiles]
        opinion = look([seen(Correction(**tile.correction)) for tile in sheet.tiles], wished, seed=number)
        best = codes[opinion.best]
        heard = judge_sheet(
            home,
            ticket,
            Opinion(
                best=best,
                next=None if opinion.next is None else codes[opinion.next],
                say=(f"{best} {opinion.word}",),
            ),
        )
        correction = Correction(**heard.correction)
        sheets = number
        step = "print it" if heard.advice == "print" else "one more sheet"
        expected = f"{heard.expected_de00:.1f} dE00 expected to be left"
        sentences.append(f"Sheet {number}: best {best}, '{opinion.word}'; {expected}: {step}.")
        if heard.advice == "print":
            break
    after = distance_de00(seen(correction), wished)
    sentences.append(f"From its wish the print was {before:.1f} dE00 away before, and {after:.1f} after.")
    return Taught(sheets, before, after, tuple(files), tuple(sentences))


def looked_at(job: Job) -> NDArray[np.float32]:
    """The master small enough to be taken in at a glance, in the working encoding."""
    source = working_source(job.master, job.crop_px, job.way)
    return scaled_picture(source, GLANCE_PX, round(GLANCE_PX * source.height_px / source.width_px))


def _seen(
    job: Job, picture: NDArray[np.float32], printer: VirtualPrinter, correction: Correction
) -> NDArray[np.float32]:
    """What the printer makes of the picture with a correction, as Lab."""
    return printer.print(direct(job.output, job.way, correction, job.source)(picture))


def _printed(printer: VirtualPrinter, walked: Walked, name: str) -> tuple[NDArray[np.float64], WrittenFile]:
    """Print the final file; the print as an instrument sees it in 1 mm cells, and a picture of it."""
    xyz = printer.print_xyz(read_array(walked.final))
    columns, rows = (round(edge / APERTURE_MM) for edge in walked.size_mm)
    height = round(SHOWN_PX * walked.size_mm[1] / walked.size_mm[0])
    lab = xyz_to_lab(averaged(xyz, height, SHOWN_PX))
    shown = np.clip(from_lab(parse_profile(srgb_profile(), "sRGB"), lab, "relative"), 0, 1)
    target = walked.folder / name
    ppi = SHOWN_PX / walked.size_mm[0] * MM_PER_INCH
    form = FileForm("png", SHOWN_PX, height, 3, 8, "RGB", ppi, srgb_profile())
    write_picture(target, [np.round(shown * 255).astype(np.uint8)], form, overwrite=True)
    return averaged(xyz, rows, columns), written("print", target)


def _predicted(walked: Walked, rows: int, columns: int) -> NDArray[np.float64]:
    """What the profile alone says of the final's numbers, in the same cells."""
    output = parse_profile(walked.profile.read_bytes(), walked.profile.name)
    device = read_array(walked.final)
    xyz = np.empty((*device.shape[:2], 3), dtype=np.float32)
    white = np.asarray(output.white_xyz, dtype=np.float32)[:, None]
    for top in range(0, len(device), PREDICTED_ROWS):
        part = slice(top, top + PREDICTED_ROWS)
        ratio = lab_to_xyz_ratio32(planes_of(print_lab(output, device[part] / np.float32(65535))))
        xyz[part] = (ratio * white).T.reshape(xyz[part].shape)
    return averaged(xyz, rows, columns)


def _told(one: Likeness, other: Likeness, own: Likeness) -> tuple[str, ...]:
    return (
        f"Printed on the machine that was measured, the print is within {one.mean_de00:.2f} dE00 of what the proof "
        f"promised on average, {one.p95_de00:.2f} for 95 % of it (seen through a 1 mm aperture).",
        f"Of that the profile's own error is {own.mean_de00:.2f} on average.",
        f"A second machine of the same make has drifted: there it is {other.mean_de00:.2f} on average, "
        f"{other.p95_de00:.2f} at 95 %. A profile is true for one machine, ink lot and paper lot.",
    )
