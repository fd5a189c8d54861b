"""Who may ask: a token, where one is set, and pages of other origins, where some are named."""

from __future__ import annotations

from hmac import compare_digest

from flask import Flask, Response, request
from flask_cors import CORS

from api.problems import Refused
from api.settings import Settings

OPEN = ("/healthz", "/readyz")
"""What never needs the token: whoever watches over a service asks without one."""


def guard(app: Flask, settings: Settings) -> None:
    """Make `app` keep to the settings of the token and of the origins."""
    if settings.cors_origins:
        CORS(
            app, origins=list(settings.cors_origins), methods=["GET", "HEAD", "POST"],
            allow_headers=["Authorization", "Content-Type", "If-None-Match", "X-Request-ID"],
            expose_headers=["ETag", "Retry-After", "X-Request-ID"], max_age=600,
        )
        app.after_request(_depends_on_origin)
    if settings.token is not None:
        expected = settings.token.get_secret_value().encode()
        app.before_request(lambda: _check(expected, settings))


def needs_token(settings: Settings, method: str, path: str) -> bool:
    """Whether a request needs the token. OPTIONS never does: browsers ask it without."""
    if settings.token is None or path in OPEN or method == "OPTIONS":
        return False
    return settings.token_for == "all" or method not in ("GET", "HEAD")


def _check(expected: bytes, settings: Settings) -> None:
    if not needs_token(settings, request.method, request.path):
        return
    given = request.authorization
    sent = (given.token or given.password or "") if given else ""  # browsers: as the password
    if not compare_digest(sent.encode(), expected):
        detail = "the token is wrong" if sent else "a token is needed: Authorization: Bearer ..."
        raise Refused("token_needed", detail, headers={
            "WWW-Authenticate": 'Bearer realm="kitwright", Basic realm="kitwright"'})


def _depends_on_origin(response: Response) -> Response:
    """Tell caches so always: flask-cors does only where several origins may ask."""
    response.vary.add("Origin")
    return response
