"""Answers sent as gzip to callers that take it.

With the standard library, as one coding is enough and werkzeug reads what a caller accepts. The
entity tags are weak (RFC 9110, section 8.8.1): they are of the answer, however it is coded.
"""

from __future__ import annotations

import gzip

from flask import Flask, Response, request

LEAST = 1000
"""Bytes. Less fits into one packet either way. Common practice, no source."""

LEVEL = 5
"""Higher levels take longer and gain little. Common practice, no source."""

SORTS = ("application/json", "application/problem+json", "image/svg+xml")


def compress_answers(app: Flask) -> None:
    """Make `app` send its texts as gzip to those who accept it."""
    app.after_request(_compressed)


def _compressed(response: Response) -> Response:
    response.vary.add("Accept-Encoding")
    if response.content_encoding or not _is_text(response) or not _wanted():
        return response
    plain = response.get_data()
    if len(plain) >= LEAST:
        response.set_data(gzip.compress(plain, LEVEL, mtime=0))
        response.content_encoding = "gzip"
    return response


def _is_text(response: Response) -> bool:
    if response.is_streamed or response.direct_passthrough:
        return False
    sort = response.mimetype or ""
    return sort.startswith("text/") or sort in SORTS


def _wanted() -> bool:
    accepted = request.accept_encodings
    return accepted["gzip"] > 0 and accepted["gzip"] >= accepted["identity"]
