"""What a service allows of a question beside its form: how many picks, how long a deadline."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, TypeVar

from flask import current_app
from pydantic import BaseModel

from api.problems import WrongField
from api.reading import wrong_request
from api.settings import Settings
from api.working import settings_of
from rules.answers import Question

M = TypeVar("M", bound=BaseModel)

COUNTED = {
    "picks": "most_picks", "pick": "most_picks", "cart": "most_picks", "questions": "most_batch",
}
"""The lists of a question whose length a service limits, and the setting that does."""


def within_limits(asked: M) -> M:
    """The question; one that left its deadline open keeps to the service's.

    Raises Refused when it asks for more than the service allows.
    """
    settings = settings_of(current_app)
    wrong = tuple(_beyond(asked, settings))
    if wrong:
        raise wrong_request(wrong)
    if getattr(asked, "deadline", 0) > settings.most_seconds:
        return asked.model_copy(update={"deadline": settings.most_seconds})
    return asked


def state_limits(schemas: Iterable[Mapping[str, Any]], settings: Settings) -> None:
    """Write what a service allows into the JSON Schemas of questions, property by property."""
    for properties in schemas:
        for name, setting in COUNTED.items():
            if "maxItems" in (items := properties.get(name, {})):
                items["maxItems"] = min(items["maxItems"], getattr(settings, setting))
        if "maximum" in (deadline := properties.get("deadline", {})):
            deadline["maximum"] = settings.most_seconds
            deadline["default"] = min(deadline["default"], settings.most_seconds)


def usual_deadline() -> float:
    """The deadline in seconds of a question that names none."""
    usual: float = Question.model_fields["deadline"].default
    return min(usual, settings_of(current_app).most_seconds)


def _beyond(asked: BaseModel, settings: Settings) -> Iterator[WrongField]:
    for name, setting in COUNTED.items():
        most = getattr(settings, setting)
        if len(getattr(asked, name, ())) > most:
            yield _wrong(name, f"this service takes at most {most}")
    stated = asked.model_fields_set & {"deadline"}
    if stated and getattr(asked, "deadline", 0) > settings.most_seconds:
        yield _wrong("deadline", f"this service takes at most {settings.most_seconds:g} s")


def _wrong(field: str, message: str) -> WrongField:
    return WrongField(field=field, message=message, nearest=None)
