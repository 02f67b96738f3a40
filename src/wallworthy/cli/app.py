"""The commands and their options (CONTRACT). Each asks journey for an answer and tells it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from wallworthy.cli import choosing, own, page, walk
from wallworthy.cli.tell import Settings

app = typer.Typer(
    name="wallworthy",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _say_version(wanted: bool) -> None:
    if wanted:
        from wallworthy import __version__

        typer.echo(f"wallworthy {__version__}")
        raise typer.Exit


@app.callback()
def wallworthy(
    context: typer.Context,
    home: Annotated[
        Path | None,
        typer.Option("--home", metavar="DIR", envvar="WALLWORTHY_HOME", help="Where everything is remembered."),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Answer with one JSON object on stdout.")] = False,
    version: Annotated[
        bool, typer.Option("--version", is_eager=True, callback=_say_version, help="Say the version, and stop.")
    ] = False,
) -> None:
    """From a finished picture on the screen to the print on the wall.

    The first evening: start, proof, final. 'wallworthy demo' walks the whole way on an invented picture.
    """
    context.obj = Settings(home, json)


app.command("demo")(walk.demo)
app.command("open")(page.open_page)
app.command("appraise")(walk.appraise)
app.command("choose")(choosing.choose)
app.command("start")(walk.start)
app.command("together")(choosing.together)
app.command("proof")(walk.proof)
app.command("test")(walk.make_test)
app.command("judge")(walk.judge)
app.command("readback")(walk.readback)
app.command("final")(walk.final)
app.command("tickets")(walk.tickets)
app.command("show")(walk.show)
app.command("house")(walk.house)
app.add_typer(own.paper, name="paper")
app.add_typer(own.condition, name="condition")
app.add_typer(own.light, name="light")
app.add_typer(own.display, name="display")
app.command("doctor")(walk.doctor)
