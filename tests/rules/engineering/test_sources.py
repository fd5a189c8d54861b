"""Every engineering function says where its formula comes from."""

import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterator

import pytest

from rules import engineering

# These hold no formula of the trade: refusals, and the carrying of a tolerance.
HELPERS = {"guards", "ranges", "tolerance"}


def formulas() -> Iterator[tuple[str, Callable[..., object]]]:
    for module in pkgutil.iter_modules(engineering.__path__):
        if module.name in HELPERS:
            continue
        loaded = importlib.import_module(f"rules.engineering.{module.name}")
        for name, entry in inspect.getmembers(loaded, inspect.isfunction):
            if entry.__module__ == loaded.__name__ and not name.startswith("_"):
                yield f"{module.name}.{name}", entry


@pytest.mark.parametrize("formula", [pytest.param(f, id=name) for name, f in formulas()])
def test_the_docstring_ends_with_its_source(formula: Callable[..., object]) -> None:
    words = inspect.cleandoc(formula.__doc__ or "").splitlines()
    sources = [number for number, line in enumerate(words) if line.startswith("Source: ")]
    assert sources, "no line 'Source: ...'"
    assert all(line.strip() for line in words[sources[-1] :]), "the source must come last"
