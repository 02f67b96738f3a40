"""Opening the page: listen first, then say where; on this computer alone unless the LAN was asked for."""

from __future__ import annotations

import ipaddress
import socket
import sys
import webbrowser
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import uvicorn

from wallworthy.base.errors import InputError, TroubleError
from wallworthy.journey.live import Sessions
from wallworthy.web.app import STATIC, make_app
from wallworthy.web.context import Page
from wallworthy.web.guard import Guard
from wallworthy.web.phones import Phones
from wallworthy.web.queue import Queue

LOOPBACK: Final = "127.0.0.1"
FIRST_PORT: Final = 8741
PORTS_TRIED: Final = 20
BACKLOG: Final = 128
TEST_NET: Final = "192.0.2.1"
"""An address nobody has (RFC 5737): asking the way to it tells this computer's own address, sending nothing."""


@dataclass(frozen=True, slots=True)
class Opened:
    """What the person is told: the address that lets their browser in, once."""

    url: str
    lan_base: str | None


def open_page(home: Path, *, port: int | None, lan: bool, tell: Callable[[Opened], None], browse: bool = True) -> None:
    """Serve the page until interrupted. `tell` hears the address once the port listens.

    Raises InputError when the page was not built, TroubleError when the port is taken.
    """
    if not (STATIC / "index.html").is_file():
        raise InputError("page_not_built", "The page is not built yet.", "Build and open it with './scripts/open'.")
    listening = _listen(LOOPBACK, port)
    own_port = int(listening.getsockname()[1])
    sockets = [listening]
    lan_base, lan_hosts = None, frozenset[str]()
    if lan:
        address = lan_address()
        sockets.append(_listen(address, own_port))
        lan_base, lan_hosts = f"http://{address}:{own_port}", frozenset({f"{address}:{own_port}"})
    guard = Guard(frozenset({f"{LOOPBACK}:{own_port}", f"localhost:{own_port}"}), lan_hosts)
    page = Page(home, guard, Sessions(home), Queue(home), Phones(lan_base))
    url = f"http://{LOOPBACK}:{own_port}/?token={guard.token}"
    tell(Opened(url, lan_base))
    if browse:
        webbrowser.open(url)
    serve(page, sockets)


def serve(page: Page, sockets: Sequence[socket.socket]) -> None:
    """Answer on sockets that listen already, until interrupted."""
    config = uvicorn.Config(
        make_app(page),
        lifespan="on",
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=2,
    )
    try:
        uvicorn.Server(config).run(list(sockets))
    finally:
        for each in sockets:
            each.close()


def lan_address() -> str:
    """This computer's own address in its network. Raises TroubleError when it has none."""
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect((TEST_NET, 9))
            address = str(probe.getsockname()[0])
    except OSError as error:
        raise _no_lan() from error
    if not ipaddress.ip_address(address).is_private or ipaddress.ip_address(address).is_loopback:
        raise _no_lan()
    return address


def _no_lan() -> TroubleError:
    return TroubleError(
        "no_lan",
        "This computer has no address in a private network, so no phone can reach it.",
        "Join the network that the phone is in, or open the page without --lan.",
        where="--lan",
    )


def _listen(address: str, port: int | None) -> socket.socket:
    """A listening socket; without a port the first free one of a few, so that bookmarks mostly hold."""
    tried = range(FIRST_PORT, FIRST_PORT + PORTS_TRIED) if port is None else (port,)
    for number in tried:
        listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        try:
            if sys.platform != "win32":
                listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            listening.bind((address, number))
            listening.listen(BACKLOG)
        except OSError:
            listening.close()
            continue
        return listening
    text = f"Port {port} is in use." if port is not None else f"The ports {tried[0]} to {tried[-1]} are all in use."
    raise TroubleError("port_taken", text, "Choose another with --port.", where="--port")
