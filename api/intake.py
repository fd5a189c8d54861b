"""Takes the body of a request in before anything else is done for it.

A body comes as slowly as its sender likes, and a thread waits for it. So only some threads may:
the others go on answering, whoever sends slowly. What finds no place is refused at once.
"""

from __future__ import annotations

from collections.abc import Iterable
from io import BytesIO
from threading import BoundedSemaphore
from typing import TYPE_CHECKING

from flask import Flask, request

from api.problems import Refused
from api.working import settings_of

if TYPE_CHECKING:
    from wsgiref.types import StartResponse, WSGIEnvironment

CROWDED = "kitwright.crowded"


def take_bodies_in(app: Flask) -> None:
    """Make `app` have bodies taken in first. It has to be the last that is put around the app."""
    app.wsgi_app = Intake(app)  # type: ignore[method-assign]
    app.before_request(_refuse_crowded)


class Intake:
    """Reads bodies, in half of the threads at most; what is too large is left for the app to say.
    """

    def __init__(self, app: Flask) -> None:
        settings = settings_of(app)
        self.beyond, self.most_bytes = app.wsgi_app, settings.most_bytes
        self.places = BoundedSemaphore(max(1, settings.threads // 2))

    def __call__(
        self, environ: WSGIEnvironment, start_response: StartResponse
    ) -> Iterable[bytes]:
        """One request, as PEP 3333 has it."""
        expected = self._expected(environ)
        if expected and self.places.acquire(blocking=False):
            try:
                environ["wsgi.input"] = BytesIO(environ["wsgi.input"].read(expected))
            finally:
                self.places.release()
        elif expected:
            environ[CROWDED] = True
        return self.beyond(environ, start_response)

    def _expected(self, environ: WSGIEnvironment) -> int:
        """So many bytes to read: as stated, or one more than are taken where nothing is stated."""
        if environ.get("HTTP_TRANSFER_ENCODING"):
            return self.most_bytes + 1
        stated = environ.get("CONTENT_LENGTH") or ""
        length = int(stated) if stated.isdecimal() else 0
        return length if length <= self.most_bytes else 0


def _refuse_crowded() -> None:
    if request.environ.get(CROWDED):
        raise Refused("busy", "too many requests are being sent at once", headers={
            "Retry-After": "1"})
