"""What I own: papers, conditions, lights, displays."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from wallworthy.cli.tell import settings, tell

paper = typer.Typer(help="The stock: surface, weight, sheets left, prices.", no_args_is_help=True)
condition = typer.Typer(help="Printer, paper and settings with their ICC profile.", no_args_is_help=True)
light = typer.Typer(help="The lights prints are seen in.", no_args_is_help=True)
display = typer.Typer(help="The screen proofs are seen on.", no_args_is_help=True)

Name = Annotated[str, typer.Argument(help="Your own name for it.", show_default=False)]
Pick = Annotated[
    str | None, typer.Option("--pick", metavar="TEXT", help="Which profile, by its number or part of its description.")
]


@paper.command("add")
def paper_add(
    context: typer.Context,
    name: Name,
    surface: Annotated[str | None, typer.Option(metavar="gloss/lustre/matt/canvas")] = None,
    weight: Annotated[float | None, typer.Option(metavar="G", help="Grams per square metre.")] = None,
    stock: Annotated[str | None, typer.Option(metavar="A4=20,...", help="Sheets left, by size.")] = None,
    price: Annotated[str | None, typer.Option(metavar="A4=1.20,...", help="Price of a sheet, by size.")] = None,
) -> None:
    """Remember a paper."""
    from wallworthy.journey import things

    home = settings(context).home
    tell(context, lambda: things.add_paper(home, name, surface=surface, weight=weight, stock=stock, price=price))


@paper.command("list")
def paper_list(context: typer.Context) -> None:
    """List the papers."""
    from wallworthy.journey import things

    tell(context, lambda: things.list_papers(settings(context).home))


@paper.command("show")
def paper_show(context: typer.Context, name: Name) -> None:
    """Show one paper."""
    from wallworthy.journey import things

    tell(context, lambda: things.show_paper(settings(context).home, name))


@condition.command("add")
def condition_add(
    context: typer.Context,
    name: Name,
    profile: Annotated[Path, typer.Option(metavar="FILE/ZIP/FOLDER", help="The ICC profile, or where it lies.")],
    paper: Annotated[str | None, typer.Option(metavar="NAME", help="The paper it prints on.")] = None,
    delivery: Annotated[
        str | None, typer.Option(metavar="numbers/standard", help="How files leave; numbers unless said.")
    ] = None,
    media: Annotated[
        str | None, typer.Option(metavar="TEXT", help="The media setting the profile's maker states.")
    ] = None,
    pick: Pick = None,
) -> None:
    """Take in a profile and measure what it says."""
    from wallworthy.journey import conditions

    chosen = chosen_profile(context, profile, pick)
    tell(
        context,
        lambda: conditions.add_condition(
            settings(context).home, name, profile, pick=chosen, paper=paper, delivery=delivery, media=media
        ),
    )


@condition.command("list")
def condition_list(context: typer.Context) -> None:
    """List the conditions."""
    from wallworthy.journey import conditions

    tell(context, lambda: conditions.list_conditions(settings(context).home))


@condition.command("show")
def condition_show(context: typer.Context, name: Name) -> None:
    """Show one condition."""
    from wallworthy.journey import conditions

    tell(context, lambda: conditions.show_condition(settings(context).home, name))


@condition.command("ink-spread")
def condition_ink_spread(
    context: typer.Context,
    name: Name,
    cycles: Annotated[
        float | None, typer.Option(metavar="C", help="Cycles per mm at which half the contrast is kept.")
    ] = None,
    scan: Annotated[Path | None, typer.Option(metavar="FILE", help="A scan of sharp printed edges, instead.")] = None,
    ppi: Annotated[float | None, typer.Option(metavar="N", help="How fine the scan is, 600 or more.")] = None,
    crop: Annotated[str | None, typer.Option(metavar="R,C,H,W", help="Where in the scan, in its pixels.")] = None,
    forget: Annotated[bool, typer.Option("--forget", help="Go back to what such papers have.")] = False,
) -> None:
    """Say or measure how far ink spreads in the paper; 'appraise' goes by it."""
    from wallworthy.journey import inkspread

    home = settings(context).home
    tell(
        context,
        lambda: inkspread.keep_ink_spread(
            home, name, cycles_per_mm=cycles, scan=scan, ppi=ppi, crop=crop, forget=forget
        ),
    )


@light.command("add")
def light_add(
    context: typer.Context,
    name: Name,
    lux: Annotated[float | None, typer.Option(metavar="E", help="Illuminance on the print, in lux.")] = None,
    cct: Annotated[float | None, typer.Option(metavar="K", help="Correlated colour temperature.")] = None,
    spectrum: Annotated[
        Path | None,
        typer.Option(metavar="CSV", help="Wavelength in nm and power, a line each; or a CIE lamp: LED-B3, FL11, D55."),
    ] = None,
    surround: Annotated[str | None, typer.Option(metavar="dark/dim/average")] = None,
    words: Annotated[str | None, typer.Option(metavar="TEXT", help="The light in words, 'evening room'.")] = None,
    photo: Annotated[
        Path | None, typer.Option(metavar="FILE", help="A camera's photo of a blank sheet there, instead of lux.")
    ] = None,
) -> None:
    """Remember a light."""
    from wallworthy.journey import things

    home = settings(context).home
    tell(
        context,
        lambda: things.add_light(
            home, name, lux=lux, cct=cct, spectrum=spectrum, surround=surround, words=words, photo=photo
        ),
    )


@light.command("list")
def light_list(context: typer.Context) -> None:
    """List the lights, and the words for lights that are understood."""
    from wallworthy.journey import things

    tell(context, lambda: things.list_lights(settings(context).home))


@light.command("show")
def light_show(context: typer.Context, name: Name) -> None:
    """Show one light."""
    from wallworthy.journey import things

    tell(context, lambda: things.show_light(settings(context).home, name))


@display.command("add")
def display_add(
    context: typer.Context,
    name: Name,
    profile: Annotated[Path | None, typer.Option(metavar="ICC", help="The display's own profile.")] = None,
    space: Annotated[str | None, typer.Option(metavar="srgb/display-p3", help="Instead of a profile.")] = None,
    white: Annotated[float | None, typer.Option(metavar="CD_M2", help="Luminance of its white.")] = None,
    calibrated: Annotated[str | None, typer.Option(metavar="DATE", help="When it was calibrated, 2026-11-01.")] = None,
) -> None:
    """Remember the screen."""
    from wallworthy.journey import things

    home = settings(context).home
    tell(
        context,
        lambda: things.add_display(home, name, profile=profile, space=space, white=white, calibrated=calibrated),
    )


@display.command("list")
def display_list(context: typer.Context) -> None:
    """List the displays."""
    from wallworthy.journey import things

    tell(context, lambda: things.list_displays(settings(context).home))


@display.command("show")
def display_show(context: typer.Context, name: Name) -> None:
    """Show one display."""
    from wallworthy.journey import things

    tell(context, lambda: things.show_display(settings(context).home, name))


def chosen_profile(context: typer.Context, place: Path, pick: str | None) -> str | None:
    """`pick` as given; on a terminal, ask when a ZIP or folder holds several usable profiles."""
    from wallworthy.journey import conditions

    if pick is not None or settings(context).json or not (sys.stdin.isatty() and sys.stderr.isatty()):
        return pick
    usable = conditions.profile_choices(place)
    if len(usable) < 2:
        return None
    typer.echo(f"{place.name} holds {len(usable)} profiles:", err=True)
    for number, description in enumerate(usable, 1):
        typer.echo(f"  {number}  {description}", err=True)
    return str(typer.prompt("Which one", type=int, err=True))
