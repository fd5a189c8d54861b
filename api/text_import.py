"""What came of a sheet as a page for people."""

from __future__ import annotations

from api import text as t
from kb.importing import Import


def import_page(found: Import, *, written: bool) -> t.Page:
    """What was taken, what was not and why, and what is left in the file."""
    already = len(found.taken) - len(found.added)
    yield t.say(
        f"{t.count(len(found.taken), 'row')} can be taken: {len(found.added)} new, {already} in "
        f"the file already; {t.count(len(found.refused), 'reason')} against others.", "bold",
    )
    if found.refused:
        yield from t.heading("Rows that cannot be taken")
        yield t.bullets([t.say(str(problem)) for problem in found.refused])
    if found.left:
        yield from t.heading("In the file and not in the sheet; left as they are")
        yield t.say(", ".join(found.left))
    yield t.say(_outcome(found, written))


def _outcome(found: Import, written: bool) -> str:
    if not found.changes:
        return f"{found.into.name} is as it should be; nothing was changed."
    return f"Written to {found.into}." if written else "Nothing was written."
