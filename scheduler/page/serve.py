"""Serving the page on this machine, also while connections are held open that ask for nothing.

Any program here, and any site open in a browser, can open connections to a port and leave them
idle. A request is answered however many there are: the longest idle ones are closed.
"""

from __future__ import annotations

import os
import socket
import time
from pathlib import Path
from typing import Any

from flask import Flask
from waitress.channel import HTTPChannel
from waitress.server import TcpWSGIServer

from scheduler.base.faults import DrylineError
from scheduler.page.app import create_app
from scheduler.page.first import create_first
from scheduler.plans.folder import holds_plan
from scheduler.plans.home import plan_at

HOST = "127.0.0.1"
# A browser opens some six connections to a page and sends what it asks at once: common practice, no
# source for the figures.
MOST_OPEN = 64  # connections at a time
MOST_WAIT = 10.0  # [s] from the first byte of a request, or from the answer before, to its last


class _Channel(HTTPChannel):
    """A connection that knows since when it has asked for nothing whole."""

    def __init__(self, *args: Any, **options: Any) -> None:
        self.waits_since = time.monotonic()
        super().__init__(*args, **options)

    def waits(self) -> bool:
        """Whether no request is being answered."""
        return not self.requests and not self.total_outbufs_len

    def service(self) -> None:
        self.waits_since = time.monotonic()
        super().service()
        self.waits_since = time.monotonic()


class _Server(TcpWSGIServer):
    """Closes connections that ask for nothing: after a while, or when others want their room."""

    channel_class = _Channel

    def maintenance(self, now: float) -> None:
        super().maintenance(now)
        latest = time.monotonic() - MOST_WAIT
        for channel in list(self.active_channels.values()):
            if channel.waits() and channel.waits_since < latest:
                channel.will_close = True

    def handle_accept(self) -> None:
        there = [c for c in self.active_channels.values() if not c.will_close]
        waiting = [c for c in there if not c.requests]
        if len(there) >= MOST_OPEN and waiting:
            # Not closed at once: the new connection could get its number while that is looked at.
            min(waiting, key=lambda c: c.waits_since).will_close = True
        super().handle_accept()


def plan_in(folder: Path) -> Path | None:
    """The folder itself if it holds a plan, else the current plan of its garden."""
    place = plan_at(folder)
    return place if place.is_dir() and holds_plan(place) else None


class Serving:
    """The page on a port of 127.0.0.1; ``port`` 0 takes any that is free.

    Further options are those of `scheduler.page.app.create_app`. Without a plan in the folder it
    is the page to begin with (`scheduler.page.first`) until there is one.

    Raises
    ------
    BadInput
        Faults in the plan, or what is no folder for one.
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
            self.app = self._opened(Path(folder), options)
        except BaseException:
            sock.close()
            raise
        where = (sock.family, sock.type, sock.proto, sock.getsockname())
        self._server = _Server(
            self._answer,
            _sock=sock,
            bind_socket=False,
            sockinfo=where,
            threads=4,
            ident=None,
            # The last one would stop listening, a minute and more; the room is made before.
            channel_timeout=MOST_WAIT,
            cleanup_interval=1,
            connection_limit=4 * MOST_OPEN,
        )
        self.address = f"http://{HOST}:{self.port}/"

    def _opened(self, folder: Path, options: dict[str, Any]) -> Flask:
        """The page of the folder's plan; where there is none, the one to begin with."""
        planned = plan_in(folder)
        if planned is not None:
            return create_app(planned, self.port, **options)

        def done(season: Path) -> None:
            self.app = create_app(season, self.port, **options)

        return create_first(folder, self.port, done, **options)

    def _answer(self, environ: Any, start_response: Any) -> Any:
        return self.app(environ, start_response)

    def run(self) -> None:
        """Serve until interrupted or closed."""
        self._server.run()

    def close(self) -> None:
        """End a search that runs, and let go of the port."""
        self.app.extensions["desk"].discard()
        self._server.close()
