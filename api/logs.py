"""The log: one JSON object a line, or plain text, on standard error.

A line about a request names its route, never its address, query, body or caller.
"""

from __future__ import annotations

import json
import logging
import sys
from datetime import UTC, datetime
from typing import Literal

from api.request_ids import request_id

FIELDS = ("route", "method", "status", "ms", "code", "digest", "problems")
"""What a line may say besides its message, given to the logger as `extra`."""


class JsonLines(logging.Formatter):
    """A record as one JSON object."""

    def format(self, record: logging.LogRecord) -> str:
        """The record as a line of JSON."""
        said = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(), "logger": record.name,
            "message": record.getMessage(),
        }
        said |= {name: getattr(record, name) for name in FIELDS if hasattr(record, name)}
        if (asked := _request_of(record)) is not None:
            said["request_id"] = asked
        if record.exc_info:
            said["traceback"] = self.formatException(record.exc_info)
        return json.dumps(said, ensure_ascii=False, default=str)


class TextLines(logging.Formatter):
    """A record as a line of text, for a person who looks on."""

    def format(self, record: logging.LogRecord) -> str:
        """The record as text, with its id and what else it says."""
        said = [f"{name}={getattr(record, name)}" for name in FIELDS if hasattr(record, name)]
        asked = _request_of(record)
        ends = [f"request_id={asked}"] if asked is not None else []
        return " ".join([super().format(record), *said, *ends])


def _request_of(record: logging.LogRecord) -> str | None:
    """The id of the request that a line is about: as it says, or the one at hand."""
    stated: str | None = getattr(record, "request_id", None)
    return stated or request_id()


def start_log(form: Literal["json", "text"]) -> None:
    """Write what is logged from now on in this process to standard error."""
    handler = logging.StreamHandler(sys.stderr)
    text = TextLines("%(asctime)s %(levelname)s %(name)s %(message)s")
    handler.setFormatter(JsonLines() if form == "json" else text)
    logging.basicConfig(level=logging.INFO, handlers=[handler], force=True)
