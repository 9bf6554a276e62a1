"""Serving the page on this machine."""

from __future__ import annotations

import os
import socket
from pathlib import Path
from typing import Any

from waitress.server import create_server

from scheduler.faults import DrylineError
from scheduler.page.app import create_app

HOST = "127.0.0.1"


class Serving:
    """The page on a port of 127.0.0.1; ``port`` 0 takes any that is free.

    Further options are those of `scheduler.page.app.create_app`.

    Raises
    ------
    BadInput
        No plan in the folder.
    DrylineError
        The port is taken.
    """

    def __init__(self, folder: Path, port: int = 0, **options: Any) -> None:
        # The socket first: the page must know its port to tell its own requests from others.
        sock = socket.socket()
        try:
            if os.name == "posix":  # a port just left can be taken at once; never one in use
                sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            sock.bind((HOST, port))
        except OSError as error:
            sock.close()
            why = error.strerror or error
            raise DrylineError(f"port {port}: {why}; choose another with --port") from None
        self.port = sock.getsockname()[1]
        try:
            self.app = create_app(folder, self.port, **options)
        except BaseException:
            sock.close()
            raise
        self._server = create_server(self.app, sockets=[sock], threads=4, ident=None)
        self.address = f"http://{HOST}:{self.port}/"

    def run(self) -> None:
        """Serve until interrupted or closed."""
        self._server.run()

    def close(self) -> None:
        """End a search that runs, and let go of the port."""
        self.app.extensions["desk"].discard()
        self._server.close()
