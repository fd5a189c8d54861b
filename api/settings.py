"""How a service is set: one model, filled from flags, from KITWRIGHT_* variables, or by default.

Every field is a flag of `kitwright serve` (`most_picks` is `--most-picks`) and a variable of the
environment (`KITWRIGHT_MOST_PICKS`; several values are separated by spaces). A flag goes before
a variable, a variable before the default.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import wraps
from pathlib import Path
from typing import Any, Literal, get_origin

import click
from pydantic import BaseModel, ConfigDict, Field, SecretStr, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

SPARE_THREADS = 4
"""Threads of a worker that nobody can take: for health, metrics and refusals."""

Command = Callable[..., None]


class Settings(BaseModel):
    """All that can be set of a service. Times are in seconds, sizes in bytes."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    host: str = Field("127.0.0.1", min_length=1, description="address to listen on")
    port: int = Field(8000, ge=1, le=65535, description="port to listen on")
    workers: int = Field(2, ge=1, le=64, description="processes that answer")
    watch: bool = Field(False, description="read the catalogue again when its files change")
    audit: bool = Field(True, description="refuse to reload a catalogue whose audit finds errors")
    cache_folder: Path | None = Field(None, description="where snapshots of catalogues are kept")

    token: SecretStr | None = Field(
        None, min_length=16, description="what callers have to send as 'Authorization: Bearer ...'"
    )
    token_for: Literal["all", "non-get"] = Field(
        "all", description="requests that need the token; health checks never do"
    )
    cors_origins: tuple[str, ...] = Field(
        (), description="origins of web pages that may ask, such as https://shop.example, or *"
    )

    most_bytes: int = Field(256 * 1024, ge=1024, le=2**26, description="the largest body")
    most_picks: int = Field(200, ge=1, le=200, description="parts picked or in the cart")
    most_batch: int = Field(100, ge=1, le=1000, description="questions in one batch")
    most_seconds: float = Field(
        30.0, gt=0, le=120, description="the longest deadline of a question, or of a batch"
    )
    questions: int = Field(2, ge=1, le=64, description="questions a worker has in hand at a time")
    queue: int = Field(16, ge=0, le=1000, description="questions that wait in a worker")
    queue_seconds: float = Field(5.0, ge=0, le=60, description="the longest a question waits")

    answer_bytes: int = Field(
        32 * 2**20, ge=0, le=2**34, description="answers that a worker keeps at hand"
    )

    log_format: Literal["json", "text"] = Field("json", description="how the log is written")
    log_requests: bool = Field(False, description="write a line for every request")

    @property
    def threads(self) -> int:
        """Threads of a worker: for questions in hand and waiting, for as many whose bodies are
        still coming in (`api.intake`), and some that none of them can take.
        """
        return 2 * (self.questions + self.queue) + SPARE_THREADS

    def lines(self) -> Iterator[str]:
        """Each setting as `name=value`, fit to be printed: secrets are not shown."""
        for name in type(self).model_fields:
            yield f"{name}={_printed(getattr(self, name))}"


def settings_options(command: Command) -> Command:
    """Give a command an option for each setting; it is called with `settings`."""
    @wraps(command)
    def called(**given: Any) -> None:
        chosen = {name: given.pop(name) for name in Settings.model_fields}
        command(settings=_settings(chosen), **given)

    made: Command = called
    for name, field in reversed(Settings.model_fields.items()):
        made = _option(name, field)(made)
    return made


def _settings(given: dict[str, Any]) -> Settings:
    """The settings of what was given. Raises click.BadParameter with each that is wrong."""
    try:
        return Settings.model_validate({k: v for k, v in given.items() if v not in (None, ())})
    except ValidationError as error:
        raise click.BadParameter("; ".join(map(_said, error.errors(include_url=False)))) from None


def _said(error: ErrorDetails) -> str:
    said = error["msg"].removeprefix("Input ")
    if error["type"] == "too_short":
        said = f"should have at least {error['ctx']['min_length']} characters"
    return f"{_flag(str(error['loc'][0]))}: {said}"


def _option(name: str, field: FieldInfo) -> Callable[[Command], Command]:
    """The option of a setting. What is a good value is for the model to say."""
    about = f"{str(field.description)[:1].upper()}{str(field.description)[1:]}."
    default = "" if field.default in (None, ()) else f" Default: {_printed(field.default)}."
    said = f"{about}{default}"
    variable = f"KITWRIGHT_{name.upper()}"
    if field.annotation is bool:
        return click.option(f"{_flag(name)}/--no-{_flag(name)[2:]}", name, default=None,
                            envvar=variable, help=said)
    several = get_origin(field.annotation) is tuple
    return click.option(_flag(name), name, multiple=several, envvar=variable, metavar=_sort(field),
                        help=f"{about} May be repeated." if several else said)


def _sort(field: FieldInfo) -> str:
    """What kind of value a setting takes, for the help."""
    if get_origin(field.annotation) is Literal:
        return "|".join(field.annotation.__args__)  # type: ignore[union-attr]
    return {int: "N", float: "S"}.get(field.annotation, "TEXT")  # type: ignore[arg-type]


def _flag(name: str) -> str:
    return "--" + name.replace("_", "-")


def _printed(value: object) -> str:
    if isinstance(value, SecretStr):
        return "(set)"
    if isinstance(value, tuple):
        return " ".join(value) or "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "-" if value is None else str(value)
