"""A catalogue file as a model: the entries of `kb.entries` with every kind of part and every group
of facts that there is, told apart by one field.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from types import GenericAlias
from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag, TypeAdapter, create_model

from kb.dimensions import Dimensions, Facts, fact_groups, kinds
from kb.entries import Header, Limits, Part, Rule, Trial, Vehicle, Work
from kb.remembered import RememberedKit
from kb.statements import Id, Statement


def _tagged(models: dict[str, type[Any]], field: str) -> Any:
    """A union of models told apart by the text in `field`."""
    members = tuple(Annotated[model, Tag(tag)] for tag, model in models.items())
    union: Any = members[0]
    for member in members[1:]:
        union = union | member
    return Annotated[union, Discriminator(field)]


@cache
def part_models() -> dict[str, type[Part]]:
    """The model of a part of each kind: `Part` with that kind's dimensions."""
    return {kind: _part_model(kind, dimensions) for kind, dimensions in kinds().items()}


def _part_model(kind: str, dimensions: type[Dimensions]) -> type[Part]:
    fields: dict[str, Any] = {
        "kind": (Literal[kind], Field(description="decides which dimensions it has")),
        "dimensions": (
            dimensions, Field(dimensions(), description="what is known of its dimensions")
        ),
    }
    name = f"{dimensions.__name__}Part"
    return create_model(
        name, __base__=Part, __module__=__name__, __doc__=dimensions.__doc__, **fields
    )


@cache
def fact_models() -> dict[str, type[Facts]]:
    """The model of a fact block for each group of facts."""
    return {group: _fact_model(group, facts) for group, facts in fact_groups().items()}


def _fact_model(group: str, facts: type[Facts]) -> type[Facts]:
    fields: dict[str, Any] = {
        "about": (Literal[group], Field(description="what these facts are about"))
    }
    name = f"{facts.__name__}Block"
    return create_model(name, __base__=facts, __module__=__name__, __doc__=facts.__doc__, **fields)


@cache
def vehicle_model() -> type[Vehicle]:
    """`Vehicle` with its fact blocks told apart by `about`."""
    blocks = GenericAlias(tuple, (_tagged(fact_models(), "about"), ...))
    facts = Field((), description="what was measured or stated about the car")
    fields: dict[str, Any] = {"facts": (blocks, facts)}
    return create_model(
        "CarVehicle", __base__=Vehicle, __module__=__name__, __doc__=Vehicle.__doc__, **fields
    )


@cache
def entry_types() -> dict[str, Any]:
    """The type of one entry of each section that holds entries by id."""
    return {
        "vehicles": vehicle_model(),
        "parts": _tagged(part_models(), "kind"),
        "work": Work,
        "rules": Rule,
        "trials": Trial,
        "kits": RememberedKit,
    }


def __getattr__(name: str) -> type[Statement]:
    """The models made above, by name: an entry that travels to another process finds its own."""
    models = (*part_models().values(), *fact_models().values(), vehicle_model())
    for model in models:
        if model.__name__ == name:
            return model
    raise AttributeError(name)


SINGLES: dict[str, type[Statement]] = {"catalog": Header, "limits": Limits}
"""Sections that stand once in the whole catalogue."""


@cache
def file_model() -> type[Statement]:
    """One catalogue file: any of the sections, merged by id over all files."""
    sections: dict[str, Any] = {
        name: (model | None, Field(None, description=_line(model)))
        for name, model in SINGLES.items()
    }
    for name, entry in entry_types().items():
        about = Field(None, description=f"{name} by id")
        sections[name] = (GenericAlias(dict, (Id, entry)) | None, about)
    return create_model(
        "CatalogueFile", __base__=Statement, __module__=__name__,
        __doc__="One file of a catalogue. Entries are merged by id over all files.", **sections,
    )


def _line(model: type[Statement]) -> str:
    return (model.__doc__ or "").partition("\n")[0]


@cache
def entry_adapters() -> dict[str, TypeAdapter[Any]]:
    """What validates one entry of each section."""
    return {section: TypeAdapter(kind) for section, kind in entry_types().items()}


@cache
def entry_reader(section: str) -> Callable[[Any], Any]:
    """What turns one raw entry of a section into its model. It raises ValidationError."""
    if section in SINGLES:
        return SINGLES[section].__pydantic_validator__.validate_python
    return entry_adapters()[section].validator.validate_python


@cache
def entry_json_reader(section: str) -> Callable[[bytes], Any]:
    """As `entry_reader`, from the raw entry as JSON."""
    if section in SINGLES:
        return SINGLES[section].__pydantic_validator__.validate_json
    return entry_adapters()[section].validator.validate_json
