"""The local page."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from wallworthy.cli.tell import settings


def open_page(
    context: typer.Context,
    port: Annotated[int | None, typer.Option(metavar="N", min=1, max=65535, help="A free one unless said.")] = None,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Only say the address.")] = False,
    lan: Annotated[
        bool, typer.Option("--lan", help="Let phones in this network reach test sheets, each by its own code.")
    ] = False,
) -> None:
    """Open the local page: the whole way, from a picture to its print."""
    from wallworthy.journey.home import home_folder
    from wallworthy.web.serve import Opened
    from wallworthy.web.serve import open_page as serve_page

    def tell(opened: Opened) -> None:
        sys.stdout.write(f"{opened.url}\n")
        sys.stdout.flush()
        also = f" Phones reach test sheets at {opened.lan_base}." if opened.lan_base else ""
        sys.stderr.write(f"The page is open there, for one browser on this computer.{also} Ctrl-C closes it.\n")

    serve_page(home_folder(settings(context).home), port=port, lan=lan, tell=tell, browse=not no_browser)
