"""Types that pydantic reads from text: the root of every quantity, size and count.

The reader hands every scalar over as text, so each type says itself what it takes. What the type
shows to the JSON Schema is what an editor sees, where an unquoted `4` is a number.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Annotated, Any

from pydantic import BeforeValidator, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from kb.errors import shown

_COUNT = re.compile(r"[0-9]{1,9}")
_NUMBER = re.compile(r"[+-]?[0-9]{1,12}(?:\.[0-9]{1,12})?")


def text_type(
    of: type, parse: Callable[[str], Any], what: str, example: str, *, schema: str = "string"
) -> Any:
    """Metadata that makes pydantic read a value `of` a type from text with `parse`.

    `what` and `example` describe the text in errors and in the JSON Schema. `schema` names the
    JSON type that the text has in an editor when it is not quoted.
    """

    due = f"{what}, such as '{example}'"

    class _FromText:
        reads = of, what

        @staticmethod
        def __get_pydantic_core_schema__(_source: Any, _handler: Any) -> CoreSchema:
            return core_schema.no_info_plain_validator_function(
                read, serialization=core_schema.to_string_ser_schema()
            )

        @staticmethod
        def __get_pydantic_json_schema__(
            _schema: CoreSchema, _handler: GetJsonSchemaHandler
        ) -> dict[str, Any]:
            kind = "string" if schema == "string" else ["string", schema]
            return {"type": kind, "description": what, "examples": [example]}

    def read(value: Any) -> Any:
        if not isinstance(value, str):
            if isinstance(value, of):
                return value
            raise PydanticCustomError("text_due", "{what}", {"what": due})
        try:
            return parse(value)
        except ValueError as error:
            raise PydanticCustomError("unreadable", "{why}", {"why": str(error)}) from None

    return _FromText


def parse_count(text: str) -> int:
    """A whole number, zero or more. Raises ValueError saying what was expected."""
    if not _COUNT.fullmatch(text):
        raise ValueError(f"{shown(text)} is not a whole number, such as '4'")
    return int(text)


def parse_number(text: str) -> float:
    """A plain decimal number. Raises ValueError saying what was expected."""
    if not _NUMBER.fullmatch(text):
        raise ValueError(f"{shown(text)} is not a number, such as '0.42'")
    return float(text)


def _truth(value: Any) -> Any:
    """Only the texts true and false are truth values; YAML's other spellings are not."""
    if isinstance(value, bool):
        return value
    if value not in ("true", "false"):
        raise PydanticCustomError("text_due", "{what}", {"what": "true or false"})
    return value == "true"


Count = Annotated[int, text_type(int, parse_count, "whole number", "4", schema="integer")]
Number = Annotated[float, text_type(float, parse_number, "number", "0.42", schema="number")]
Flag = Annotated[bool, BeforeValidator(_truth)]
