"""The server itself: one port on loopback, one site, until it is stopped."""

import contextlib
import hashlib
import os
import socket
import webbrowser
from collections.abc import Callable
from pathlib import Path

import uvicorn

from fieldmap.serve import guard
from fieldmap.serve.app import application
from fieldmap.serve.desk import Desk

HOST = "127.0.0.1"
# Ports that no service has for its own (RFC 6335, dynamic ports).
_FIRST_PORT, _PORTS = 49152, 16384


def usual_port(folder: Path) -> int:
    """The port that a site is asked for first, so that its page keeps what a browser keeps."""
    digest = hashlib.sha256(bytes(folder.resolve())).digest()
    return _FIRST_PORT + int.from_bytes(digest[:4]) % _PORTS


def listening(port: int) -> socket.socket:
    """A socket on loopback: the port asked for, else any that is free."""
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":  # elsewhere it would let others take the port as well
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((HOST, port))
    except OSError:
        made.bind((HOST, 0))
    return made


def serve(
    folder: Path, tell: Callable[[str], None], *, opens_browser: bool = True
) -> None:
    """Serve the page of a site until the command is stopped.

    Parameters
    ----------
    folder
        Of the site.
    tell
        Is called with the address once it answers.
    opens_browser
        Whether the page is opened in the usual browser.

    Raises
    ------
    FieldmapError
        When the site cannot be drawn on at all.
    """
    Desk(folder).state()  # what is wrong is said here, and not on a page
    token = guard.new_token()
    with contextlib.closing(listening(usual_port(folder))) as held:
        port = held.getsockname()[1]
        address = f"http://{HOST}:{port}/{token}/"
        answering = server(folder, token, port)
        tell(address)
        if opens_browser:
            webbrowser.open(address)
        with contextlib.suppress(KeyboardInterrupt):
            answering.run(sockets=[held])


def server(folder: Path, token: str, port: int) -> uvicorn.Server:
    """What answers on a port.

    Parameters
    ----------
    folder
        Of the site.
    token
        Secret part of the address; who asks without it is refused.
    port
        On this machine alone.
    """
    config = uvicorn.Config(
        application(folder, token, port),
        log_level="critical",
        access_log=False,
        server_header=False,
        date_header=False,
        ws="none",
        timeout_graceful_shutdown=3,
    )
    return uvicorn.Server(config)
