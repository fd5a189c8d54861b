"""Changing single fields of a catalogue file and leaving all else as it stands, comments too."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap
from ruamel.yaml.scalarstring import DoubleQuotedScalarString

from kb.reading import read_yaml

Raw = Mapping[str, Any]

PLAIN = re.compile(r"\w[\w .,/+±°·()-]*")
"""Texts without a sign that YAML could take for one of its own; all others are quoted."""


def with_parts(name: str, text: str, parts: Mapping[str, Raw]) -> str:
    """The text of a catalogue file with these parts in it.

    A part that is there keeps what is not named here; only values that differ are written. The
    text comes back as it was when none does.
    """
    before = _stated(name, text)
    changed = {key: raw for key, raw in parts.items() if _differs(raw, before.get(key))}
    if not changed:
        return text
    yaml = _yaml()
    top: Any = yaml.load(text) if text.strip() else None
    head = ""
    if top is None:  # nothing but comments, which the library would drop
        head, top = text, CommentedMap()
    if top.get("parts") is None:
        top["parts"] = CommentedMap()
    for key, raw in changed.items():
        if key not in top["parts"]:
            top["parts"][key] = CommentedMap()
        _write(top["parts"][key], raw, before.get(key, {}))
    out = io.StringIO()
    yaml.dump(top, out)
    return head + out.getvalue()


def _stated(name: str, text: str) -> Mapping[str, Any]:
    """The parts of a file as the catalogue reads them: every value a text."""
    top = read_yaml(name, text, []) if text.strip() else None
    parts = top.get("parts") if top is not None else None
    return parts if isinstance(parts, Mapping) else {}


def _differs(new: Any, old: Any) -> bool:
    if isinstance(new, Mapping):
        if not isinstance(old, Mapping):
            return True
        return any(_differs(value, old.get(key)) for key, value in new.items())
    return bool(new != old)


def _write(node: Any, new: Raw, old: Raw) -> None:
    for key, value in new.items():
        if not _differs(value, old.get(key)):
            continue
        if isinstance(value, Mapping):
            if not isinstance(node.get(key), Mapping):
                node[key] = CommentedMap()
            _write(node[key], value, old.get(key) or {})
        else:
            node[key] = _quoted(value)


def _quoted(value: Any) -> Any:
    """The library leaves some texts bare that do not read back, such as `: *`."""
    if isinstance(value, list | tuple):
        return [_quoted(item) for item in value]
    if isinstance(value, str) and not PLAIN.fullmatch(value):
        return DoubleQuotedScalarString(value)
    return value


def _yaml() -> YAML:
    yaml = YAML(typ="rt")
    yaml.preserve_quotes = True
    yaml.width = 1_000_000
    yaml.indent(mapping=2, sequence=4, offset=2)
    return yaml
