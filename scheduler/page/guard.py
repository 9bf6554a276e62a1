"""Who may talk to the page: the browser of this machine, from the page itself, and nobody else.

A foreign site open in the same browser can send requests to this machine too. Three things hold it
off, each enough by itself: the Host header must name this machine (a foreign name that was pointed
here is refused), Origin and Sec-Fetch-Site must be the page's own, and every form carries a token
that a foreign site cannot read (OWASP Cheat Sheet Series, Cross-Site Request Forgery Prevention).
"""

from __future__ import annotations

import hmac
import secrets
from typing import Any

from flask import Flask, Response, abort, request

NAMES = ("127.0.0.1", "localhost")
MOST_BYTES = 256 * 1024  # of one form
_OWN = ("same-origin", "none")  # "none": typed by the user, or a bookmark

POLICY = (
    "default-src 'none'; style-src 'self'; img-src data:; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
# The calendar page brings its own style and script within itself, and may send nothing anywhere.
CALENDAR_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:; "
    "form-action 'none'; base-uri 'none'; frame-ancestors 'none'"
)


def guard(app: Flask, port: int) -> None:
    """Put the guard before every request of ``app``, which is served on ``port``."""
    hosts = {f"{name}:{port}" for name in NAMES} | (set(NAMES) if port == 80 else set())
    origins = {f"http://{host}" for host in hosts}
    token = secrets.token_urlsafe(32)
    app.config["MAX_CONTENT_LENGTH"] = MOST_BYTES
    app.jinja_env.globals["token"] = token

    @app.before_request
    def check() -> None:
        if request.headers.get("Host", "") not in hosts:
            abort(403, "The page answers to this machine only.")
        origin = request.headers.get("Origin")
        if origin is not None and origin not in origins:
            abort(403, "Another site sent this request.")
        if request.headers.get("Sec-Fetch-Site", "none") not in _OWN:
            abort(403, "Another site led here. Type the address instead.")
        if request.method == "POST":
            sent = request.form.get("token", "")
            if not hmac.compare_digest(sent.encode(), token.encode()):
                abort(
                    403,
                    "This form was opened before the program was started anew. Go back, "
                    "load the page again, and send what you typed once more.",
                )

    @app.after_request
    def close(response: Response) -> Response:
        set_: Any = response.headers.setdefault
        set_("Content-Security-Policy", POLICY)
        set_("X-Content-Type-Options", "nosniff")
        set_("X-Frame-Options", "DENY")
        set_("Referrer-Policy", "same-origin")
        set_("Cross-Origin-Opener-Policy", "same-origin")
        set_("Cross-Origin-Resource-Policy", "same-origin")
        set_("Cache-Control", "no-store")
        return response
