"""The page answers while connections are held open that ask for nothing. On this machine only."""

from __future__ import annotations

import http.client
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

import pytest

pytest.importorskip("waitress")

import page_case

from scheduler.page import serve

HALF = {
    "nothing": b"",
    "a line": b"GET / HTTP/1.1\r\n",
    "half a form": b"POST /write HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 1000\r\n\r\ntoken=",
}


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return page_case.planned(tmp_path_factory.mktemp("page") / "season")


@contextmanager
def served(folder: Path) -> Iterator[serve.Serving]:
    made = serve.Serving(folder)

    def run() -> None:
        with suppress(OSError):  # closed from here while it waits
            made.run()

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    try:
        yield made
    finally:
        made.close()
        thread.join(10)


@pytest.fixture
def serving(planned: Path) -> Iterator[serve.Serving]:
    with served(planned) as made:
        yield made


def asked(port: int, seconds: float = 20.0) -> int:
    """The answer's status."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=seconds)
    try:
        connection.request("GET", "/style.css", headers={"Host": f"127.0.0.1:{port}"})
        return connection.getresponse().status
    finally:
        connection.close()


def closed(sock: socket.socket) -> bool:
    """Whether the other side has closed a connection that sent nothing back."""
    sock.setblocking(False)
    try:
        return sock.recv(1) == b""
    except BlockingIOError:
        return False
    except OSError:
        return True


@pytest.mark.slow
@pytest.mark.parametrize("what", list(HALF))
def test_half_open_connections_do_not_keep_others_out(serving: serve.Serving, what: str) -> None:
    """150 held open: with 100 the server stopped listening for two minutes."""
    with ExitStack() as stack:
        held = []
        for _ in range(150):
            sock = stack.enter_context(socket.create_connection(("127.0.0.1", serving.port), 10))
            sock.sendall(HALF[what])
            held.append(sock)
        for _ in range(3):
            assert asked(serving.port) == 200  # or it gives up: it took 120 s
        # The oldest made room; the newest are still waited for.
        assert closed(held[0])
        assert not closed(held[-1])


def test_an_asking_connection_is_kept_while_idle_ones_make_room(serving: serve.Serving) -> None:
    """One browser's connection asks again and again among many that come and wait."""
    connection = http.client.HTTPConnection("127.0.0.1", serving.port, timeout=20)
    with ExitStack() as stack:
        stack.callback(connection.close)
        for _ in range(3):
            for _ in range(serve.MOST_OPEN // 2):
                stack.enter_context(socket.create_connection(("127.0.0.1", serving.port), 10))
            connection.request("GET", "/style.css", headers={"Host": f"127.0.0.1:{serving.port}"})
            answer = connection.getresponse()
            answer.read()
            assert answer.status == 200
            assert connection.sock is not None  # the same connection, never opened anew


@pytest.mark.slow
def test_who_waits_too_long_is_let_go(planned: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Drop by drop as well: what counts is when the request began, not its last byte."""
    monkeypatch.setattr(serve, "MOST_WAIT", 1.5)
    with served(planned) as made, socket.create_connection(("127.0.0.1", made.port), 10) as sock:
        began = time.monotonic()
        sock.sendall(b"GET / HTTP/1.1\r\nX: ")
        for drops in range(200):
            if closed(sock):
                break
            assert drops < 199, "forty seconds of drops, and not let go"
            time.sleep(0.2)
            sock.setblocking(True)
            try:
                sock.sendall(b"x")
            except OSError:
                break
        assert time.monotonic() - began > 1.4
        assert asked(made.port) == 200
