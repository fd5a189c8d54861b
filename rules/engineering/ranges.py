"""The shared guards for several values at once, named by their arguments.

`above_zero(master_bore=bore)` refuses with "master bore must be greater than zero, not -1".
"""

from rules.engineering import guards


def _words(name: str) -> str:
    return name.replace("_", " ")


def above_zero(**values: float) -> None:
    """Raise ValueError for the first value that is not a finite number above zero."""
    for name, value in values.items():
        guards.positive(_words(name), value)


def not_negative(**values: float) -> None:
    """Raise ValueError for the first value that is not a finite number of zero or more."""
    for name, value in values.items():
        guards.not_negative(_words(name), value)


def between(low: float, high: float, **values: float) -> None:
    """Raise ValueError for the first value that is not from `low` to `high`, ends included."""
    for name, value in values.items():
        guards.within(_words(name), value, low, high)


def ordered(smaller: str, low: float, larger: str, high: float) -> None:
    """Raise ValueError unless `low` is below `high`; the two names go into the message."""
    if not low < high:
        raise ValueError(f"{smaller} must be less than {larger}, but {low:g} is not below {high:g}")
