"""Which paper: the conditions ranked for a picture."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from wallworthy.cli.tell import settings, shown_progress, tell
from wallworthy.cli.walk import Assume, BlackAndWhite, Crop, Fill, Force, PictureSize, WayOption


def together(
    context: typer.Context,
    tickets: Annotated[list[str], typer.Argument(metavar="TICKET", help="T1 T2 ...", show_default=False)],
    apart: Annotated[bool, typer.Option("--apart", help="Take their set apart again.")] = False,
) -> None:
    """Say which prints hang side by side: they share one tone curve and agree in black, white and mid-tone."""
    from wallworthy.journey.together import hang_together

    tell(context, lambda: hang_together(settings(context).home, tickets, apart=apart))


def choose(
    context: typer.Context,
    masters: Annotated[
        list[Path],
        typer.Argument(
            metavar="MASTER", help="The finished picture; several are a set for one wall.", show_default=False
        ),
    ],
    size: PictureSize,
    light: Annotated[
        str | None, typer.Option(metavar="L", help="A light you own, or words such as 'evening room'.")
    ] = None,
    distance: Annotated[
        str | None, typer.Option("--from", metavar="D", help="Seen from: 60cm, 2ft; the print's diagonal unless said.")
    ] = None,
    way: WayOption = None,
    black_and_white: BlackAndWhite = None,
    out: Annotated[
        Path | None, typer.Option("-o", "--out", metavar="FILE.png", help="The proofs side by side, best first.")
    ] = None,
    crop: Crop = None,
    fill: Fill = False,
    assume: Assume = None,
    force: Force = False,
) -> None:
    """Rank your conditions for a picture, or a set for one wall: which paper holds it best, and why."""
    from wallworthy.journey.ranking import ChooseWish, choose_condition

    wish = ChooseWish(
        masters=tuple(masters),
        size=size,
        light=light,
        distance=distance,
        way=way,
        black_and_white=black_and_white,
        out=out,
        crop=crop,
        fill=fill,
        assume=assume,
        force=force,
    )
    with shown_progress(context) as progress:
        tell(context, lambda: choose_condition(settings(context).home, wish, progress))
