"""The same request again gets the reply that is kept, before Flask sees it.

A reply is kept when it is a whole answer that has an entity tag: it then depends on the catalogue
and on what stands in `DEPENDS` and in the body, and on nothing else of the request.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from io import BytesIO
from time import perf_counter
from typing import TYPE_CHECKING

from flask import Flask, Response, request

from api.current import SERVED, current_of
from api.replies import Reply
from api.request_ids import HEADER, id_for
from api.working import metrics_of, route_of_request, settings_of

if TYPE_CHECKING:
    from wsgiref.types import StartResponse, WSGIEnvironment

DEPENDS = (
    "REQUEST_METHOD", "PATH_INFO", "QUERY_STRING", "CONTENT_TYPE", "HTTP_ACCEPT_ENCODING",
    "HTTP_AUTHORIZATION", "HTTP_IF_NONE_MATCH", "HTTP_ORIGIN",
)
MOST_BODY = 8 * 1024
"""Larger bodies are hardly asked twice."""

KEY = "kitwright.key"


def keep_replies(app: Flask) -> None:
    """Make `app` keep replies and send them again, if it is set to.

    It has to be the first of those that see a response, and so the last to see it.
    """
    if settings_of(app).answer_bytes:
        app.after_request(_keep)
        app.wsgi_app = Shortcut(app)  # type: ignore[method-assign]


class Shortcut:
    """Sends the reply that is kept, or else passes the request on to the app."""

    def __init__(self, app: Flask) -> None:
        self.app, self.beyond = app, app.wsgi_app

    def __call__(
        self, environ: WSGIEnvironment, start_response: StartResponse
    ) -> Iterable[bytes]:
        """One request, as PEP 3333 has it."""
        begun = perf_counter()
        served = environ[SERVED] = current_of(self.app).served
        key = environ[KEY] = _key(environ)
        reply = served.replies.get(key) if key else None
        if reply is None:
            return self.beyond(environ, start_response)
        asked = id_for(environ.get("HTTP_X_REQUEST_ID", ""))
        start_response(reply.status, [*reply.headers, (HEADER, asked)])
        metrics_of(self.app).count(
            environ["REQUEST_METHOD"], reply.route, 200, perf_counter() - begun, asked)
        return [reply.body]


def _key(environ: WSGIEnvironment) -> Hashable:
    """All of a request that a reply may depend on; None for requests whose replies are not kept."""
    method = environ["REQUEST_METHOD"]
    if method == "GET":
        body = b""
    elif method == "POST" and isinstance(sent := environ["wsgi.input"], BytesIO):
        body = sent.getvalue()
    else:
        return None
    return None if len(body) > MOST_BODY else (body, *map(environ.get, DEPENDS))


def _keep(response: Response) -> Response:
    key = request.environ.get(KEY)
    if key and response.status_code == 200 and _lasts(response):
        headers = response.get_wsgi_headers(request.environ)
        del headers[HEADER]
        served = request.environ[SERVED]
        served.replies.keep(key, Reply(
            response.status, tuple(headers), response.get_data(), route_of_request()))
    return response


def _lasts(response: Response) -> bool:
    """Whether the same request gets the same reply for as long as the catalogue is the same."""
    if response.is_streamed or response.direct_passthrough:
        return False
    return "ETag" in response.headers and response.headers.get("Cache-Control") == "no-cache"
