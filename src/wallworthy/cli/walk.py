"""The walk: start, proof, final, what was done, and the demo."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from wallworthy.cli.own import Pick, chosen_profile
from wallworthy.cli.tell import settings, shown_progress, tell

Ticket = Annotated[str, typer.Argument(metavar="TICKET", help="T1, T2 ...", show_default=False)]
Correct = Annotated[
    str | None,
    typer.Option("--correct", metavar="AXIS=VALUE,...", help="lightness=2,chroma=1.05; 'none' clears."),
]
WayOption = Annotated[
    str | None,
    typer.Option("--way", metavar="WAY", help="whole, detail, perceptual, relative, relative-bpc or absolute."),
]
MustNotSuffer = Annotated[
    list[str] | None,
    typer.Option(
        "--must-not-suffer",
        metavar="WHAT",
        help="shadows, highlights, 'skin-like hues', blues, greens ..., or a place R,C,H,W; for whole and detail. "
        "'none' clears.",
    ),
]
BlackAndWhite = Annotated[
    str | None,
    typer.Option(
        "--black-and-white",
        metavar="TONE",
        help="Print in greys: neutral, paper-warm, cool or split. 'none' prints in colour.",
    ),
]
PictureSize = Annotated[str, typer.Option(metavar="S", help="A3, 30x40cm, 8x10in: the picture's size.")]
Crop = Annotated[str | None, typer.Option(metavar="R,C,H,W", help="Part of the master, in its pixels.")]
Fill = Annotated[bool, typer.Option("--fill", help="Fill the size exactly; cut the picture at its centre.")]
Assume = Annotated[
    Path | None,
    typer.Option(metavar="PROFILE", help="The profile of a file that has none: its file, or srgb or display-p3."),
]
Force = Annotated[bool, typer.Option("--force", help="Replace files that are there already.")]


def demo(
    context: typer.Context,
    out: Annotated[Path | None, typer.Option("--out", metavar="DIR", help="Where its files go.")] = None,
) -> None:
    """Walk the whole way on an invented picture, printer and paper."""
    from wallworthy.journey.demo_walk import walk_demo

    with shown_progress(context) as progress:
        tell(context, lambda: walk_demo(out, progress))


def start(
    context: typer.Context,
    master: Annotated[Path, typer.Argument(metavar="MASTER", help="The finished picture file.", show_default=False)],
    size: PictureSize,
    on: Annotated[str | None, typer.Option("--on", metavar="CONDITION", help="A condition you own.")] = None,
    profile: Annotated[
        Path | None, typer.Option(metavar="FILE/ZIP/FOLDER", help="A profile, taken in on the way.")
    ] = None,
    paper: Annotated[str | None, typer.Option(metavar="gloss/lustre/matt", help="No profile: a generic guess.")] = None,
    pick: Pick = None,
    light: Annotated[
        str | None, typer.Option(metavar="L", help="A light you own, or words such as 'evening room'.")
    ] = None,
    display: Annotated[str | None, typer.Option(metavar="D", help="A display you own.")] = None,
    distance: Annotated[str | None, typer.Option("--from", metavar="D", help="Seen from: 60cm, 2ft.")] = None,
    way: WayOption = None,
    must_not_suffer: MustNotSuffer = None,
    black_and_white: BlackAndWhite = None,
    border: Annotated[
        str,
        typer.Option(metavar="MM", help="Bare paper round the picture: 20, 2cm, or TOP,RIGHT,BOTTOM,LEFT."),
    ] = "0",
    crop: Crop = None,
    fill: Fill = False,
    assume: Assume = None,
) -> None:
    """Open a ticket: this picture, at this size, on this paper."""
    from wallworthy.journey.tickets import Wish, start_ticket

    picked = chosen_profile(context, profile, pick) if profile else pick
    wish = Wish(
        master=master,
        size=size,
        on=on,
        profile=profile,
        paper=paper,
        pick=picked,
        light=light,
        display=display,
        distance=distance,
        way=way,
        border=border,
        crop=crop,
        fill=fill,
        assume=assume,
        must_not_suffer=tuple(must_not_suffer or ()),
        black_and_white=black_and_white,
    )
    with shown_progress(context) as progress:
        tell(context, lambda: start_ticket(settings(context).home, wish, progress))


def appraise(
    context: typer.Context,
    master: Annotated[Path, typer.Argument(metavar="MASTER", help="The finished picture file.", show_default=False)],
    size: PictureSize,
    distance: Annotated[
        str | None, typer.Option("--from", metavar="D", help="Seen from: 60cm, 2ft; the print's diagonal unless said.")
    ] = None,
    on: Annotated[str | None, typer.Option("--on", metavar="CONDITION", help="A condition you own.")] = None,
    light: Annotated[
        str | None, typer.Option(metavar="L", help="A light you own, or words such as 'evening room'.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("-o", "--out", metavar="FILE.png", help="The picture with what was found outlined.")
    ] = None,
    crop: Crop = None,
    fill: Fill = False,
    subject: Annotated[
        str | None, typer.Option(metavar="R,C,H,W", help="What must be sharp, in the master's pixels.")
    ] = None,
    ink_spread: Annotated[
        float | None,
        typer.Option(metavar="C", help="Cycles per mm at which ink and paper keep half the contrast, if measured."),
    ] = None,
    assume: Assume = None,
    force: Force = False,
) -> None:
    """Say whether a file is good enough, at this size, from there, and what would show."""
    from wallworthy.journey.appraising import AppraisalWish, appraise_file

    wish = AppraisalWish(
        master=master,
        size=size,
        distance=distance,
        on=on,
        light=light,
        out=out,
        crop=crop,
        fill=fill,
        subject=subject,
        ink_spread=ink_spread,
        assume=assume,
        force=force,
    )
    with shown_progress(context) as progress:
        tell(context, lambda: appraise_file(settings(context).home, wish, progress))


def proof(
    context: typer.Context,
    ticket: Ticket,
    out: Annotated[Path | None, typer.Option("-o", "--out", metavar="FILE.png", help="Where the proof goes.")] = None,
    lab: Annotated[
        Path | None, typer.Option("--lab", metavar="FILE.tif", help="The predicted print as float Lab, D50.")
    ] = None,
    paper_white: Annotated[str, typer.Option("--paper-white", metavar="on/off", help="Show the paper's white.")] = "on",
    correct: Correct = None,
    way: WayOption = None,
    must_not_suffer: MustNotSuffer = None,
    black_and_white: BlackAndWhite = None,
    figures: Annotated[
        bool, typer.Option("--figures", help="Say what the fit keeps of this picture: texture, hues, steps.")
    ] = False,
    light: Annotated[
        str | None,
        typer.Option(metavar="L", help="Look at it in this light once: one you own, or words such as 'evening room'."),
    ] = None,
    force: Force = False,
) -> None:
    """Show the print on the screen, and say what the paper does to it."""
    from wallworthy.journey.proofing import prove

    home = settings(context).home
    with shown_progress(context) as progress:
        tell(
            context,
            lambda: prove(
                home,
                ticket,
                out=out,
                lab=lab,
                paper_white=paper_white,
                correct=correct,
                way=way,
                light=light,
                must_not_suffer=tuple(must_not_suffer or ()),
                black_and_white=black_and_white,
                figures=figures,
                force=force,
                progress=progress,
            ),
        )


def final(
    context: typer.Context,
    ticket: Ticket,
    out: Annotated[Path | None, typer.Option("-o", "--out", metavar="FILE", help="Where the print file goes.")] = None,
    ppi: Annotated[float | None, typer.Option(metavar="N", help="Pixels per inch on paper.")] = None,
    bits: Annotated[int | None, typer.Option(metavar="8/16")] = None,
    sharpen: Annotated[str | None, typer.Option(metavar="none/auto")] = None,
    file_format: Annotated[str | None, typer.Option("--format", metavar="tiff/png/jpeg")] = None,
    delivery: Annotated[
        str | None, typer.Option(metavar="numbers/standard", help="The condition's own unless said.")
    ] = None,
    again: Annotated[bool, typer.Option("--again", help="Exactly the last final of this ticket once more.")] = False,
    force: Force = False,
) -> None:
    """Make the print-ready file and its job card."""
    from wallworthy.journey.finishing import FinalWish, make_final

    wish = FinalWish(
        out=out,
        ppi=ppi,
        bits=bits,
        sharpen=sharpen,
        file_format=file_format,
        delivery=delivery,
        again=again,
        force=force,
    )
    home = settings(context).home
    with shown_progress(context) as progress:
        tell(context, lambda: make_final(home, ticket, wish, progress))


def make_test(
    context: typer.Context,
    ticket: Ticket,
    out: Annotated[Path | None, typer.Option("-o", "--out", metavar="FILE.tif", help="Where the sheet goes.")] = None,
    sheet: Annotated[str, typer.Option(metavar="10x15cm", help="Size of the sheet.")] = "10x15cm",
    ppi: Annotated[float | None, typer.Option(metavar="N", help="Pixels per inch on paper.")] = None,
    tiles: Annotated[int | None, typer.Option(metavar="N", help="4 to 8; by the sheet's size unless said.")] = None,
    slot: Annotated[str | None, typer.Option(metavar="next", help="Use the next quarter of a large sheet.")] = None,
    mode: Annotated[
        str, typer.Option(metavar="tiles/whole/prints", help="Tiles, one picture, or small prints.")
    ] = "tiles",
    force: Force = False,
) -> None:
    """Make the next test sheet: small, and it teaches most."""
    from wallworthy.journey.testing import SheetWish, make_sheet

    wish = SheetWish(out=out, sheet=sheet, ppi=ppi, tiles=tiles, slot=slot, mode=mode, force=force)
    with shown_progress(context) as progress:
        tell(context, lambda: make_sheet(settings(context).home, ticket, wish, progress))


def judge(
    context: typer.Context,
    ticket: Ticket,
    sheet: Annotated[int | None, typer.Option(metavar="N", help="Which sheet; the latest unless said.")] = None,
    best: Annotated[str | None, typer.Option(metavar="B2", help="The best tile.")] = None,
    next_best: Annotated[str | None, typer.Option("--next", metavar="A1", help="The next best tile.")] = None,
    say: Annotated[
        list[str] | None, typer.Option(metavar="TEXT", help="'A1 a touch too dark', 'B2 right', 'between B1 and B2'.")
    ] = None,
    none_right: Annotated[bool, typer.Option("--none-right", help="No tile is right.")] = False,
    stop_at: Annotated[
        float | None,
        typer.Option("--stop-at", metavar="DE00", help="Near enough to print, for this ticket; 2 unless said."),
    ] = None,
) -> None:
    """Say what the eye says of a test sheet; hear whether to print now or test again."""
    from wallworthy.journey.judging import Opinion, judge_sheet

    opinion = Opinion(sheet, best, next_best, tuple(say or ()), none_right, stop_at)
    tell(context, lambda: judge_sheet(settings(context).home, ticket, opinion))


def readback(
    context: typer.Context,
    ticket: Ticket,
    scan: Annotated[Path, typer.Argument(metavar="SCAN", help="A scan or photo of the printed sheet.")],
    sheet: Annotated[int | None, typer.Option(metavar="N", help="Which sheet; its mark says, unless said.")] = None,
    reference: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Known colours in the same picture, for absolute colour.")
    ] = None,
) -> None:
    """Measure a printed sheet from its scan, read its ticks, and name what went wrong with the print."""
    from wallworthy.journey.readingback import read_back

    tell(context, lambda: read_back(settings(context).home, ticket, scan, sheet=sheet, reference=reference))


def house(
    context: typer.Context,
    ticket: Ticket,
    reset: Annotated[bool, typer.Option("--reset", help="Forget what this condition's verdicts taught.")] = False,
    changed: Annotated[
        str | None, typer.Option(metavar="WHAT", help="An ink, a lot of paper: learned things count less surely.")
    ] = None,
) -> None:
    """Show what earlier verdicts taught about a ticket's condition and light."""
    from wallworthy.journey.house import show_house

    tell(context, lambda: show_house(settings(context).home, ticket, reset=reset, changed=changed))


def tickets(context: typer.Context) -> None:
    """List the tickets, the newest first."""
    from wallworthy.journey.tickets import list_tickets

    tell(context, lambda: list_tickets(settings(context).home))


def show(context: typer.Context, ticket: Ticket) -> None:
    """Show a ticket: what was settled, promised and done."""
    from wallworthy.journey.tickets import show_ticket

    tell(context, lambda: show_ticket(settings(context).home, ticket))


def doctor(context: typer.Context) -> None:
    """Check that everything here is in order."""
    from wallworthy.journey.doctor import examine

    tell(context, lambda: examine(settings(context).home))
