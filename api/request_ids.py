"""An id for each request: the caller's own, if it is a plain one, or a new one.

It is sent back as `X-Request-ID` and stands in every line of the log about that request.
"""

from __future__ import annotations

import re
from uuid import uuid4

from flask import Flask, Response, g, has_request_context, request

HEADER = "X-Request-ID"
PLAIN = re.compile(r"[A-Za-z0-9._:-]{1,64}")


def number_requests(app: Flask) -> None:
    """Make `app` give every request an id."""
    app.before_request(_take)
    app.after_request(_send)


def request_id() -> str | None:
    """The id of the request at hand; None outside of one."""
    return g.get("request_id") if has_request_context() else None


def id_for(given: str) -> str:
    """The id of a request that was sent with this one."""
    return given if PLAIN.fullmatch(given) else uuid4().hex


def _take() -> None:
    g.request_id = id_for(request.headers.get(HEADER, ""))


def _send(response: Response) -> Response:
    response.headers[HEADER] = g.get("request_id", "")
    return response
