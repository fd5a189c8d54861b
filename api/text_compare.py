"""What changes between two catalogues, as Markdown for a pull request."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from api.text import count
from rules.compare import Change, Comparison, What

TITLES: dict[What, str] = {
    "impossible": "No longer possible",
    "possible": "Now possible",
    "dearer": "Dearer",
    "cheaper": "Cheaper",
    "to_measure": "Now to be measured first",
    "measured": "No longer to be measured first",
    "other_lines": "Other lines at the same price",
}


def compare_report(found: Comparison) -> str:
    """The whole report."""
    return "\n".join(_report(found)) + "\n"


def _report(found: Comparison) -> Iterator[str]:
    yield f"# What changes: {_plain(found.new.name)}"
    yield ""
    yield (
        f"From digest `{found.old.digest}` to `{found.new.digest}`: "
        f"{count(len(found.altered), 'entry', 'entries')} altered, "
        f"{count(found.questions, 'question')}, of which {found.asked_again} met an altered one, "
        f"**{count(len(found.changes), 'other answer')}**."
    )
    for what, title in TITLES.items():
        changes = [change for change in found.changes if change.what[0] == what]
        if changes:
            yield from _section(title, changes, found.new.currency)
    if found.altered:
        yield ""
        yield "## Altered entries"
        yield ""
        yield from (f"- {_plain(entry)}" for entry in found.altered)


def _section(title: str, changes: Sequence[Change], currency: str) -> Iterator[str]:
    yield ""
    yield f"## {title} ({len(changes)})"
    yield ""
    yield f"| asked for | on | before, {currency} | after, {currency} | lines | because |"
    yield "| --- | --- | ---: | ---: | --- | --- |"
    for change in changes:
        cells = (
            _asked(change), change.cars, change.before or "-", change.after or "-",
            _lines(change), "; ".join(change.because),
        )
        yield f"| {' | '.join(map(_plain, cells))} |"


def _asked(change: Change) -> str:
    names = ", ".join(
        f"{name} ({part})" for name, part in zip(change.names, change.picks, strict=True)
    )
    return f"kit '{change.kit}': {names}" if change.kit else names


def _lines(change: Change) -> str:
    return ", ".join((*(f"+ {line}" for line in change.gained),
                      *(f"- {line}" for line in change.lost)))


def _plain(text: str) -> str:
    """A text that Markdown takes literally, on one line."""
    return re.sub(r"([\\`*_{}\[\]<>#|~])", r"\\\1", " ".join(text.split()))
