"""Packages of the demo, drawn once for all tests."""

from __future__ import annotations

from functools import cache

from api.asking import demo_folder
from api.drawings.all import drawings_of
from api.drawings.drawing import Drawing
from kb.catalogue import Catalogue, load
from rules import answers as a
from rules.resolve import package

KITS = {
    "brakes and wheels": ("quernby", 2017, "q16", ("caliper-cairn", "wheel-corrie-16")),
    "what cannot be": ("quernby", 2017, "q16", ("caliper-tor", "wheel-corrie-15")),
    "dampers": ("quernby", 2017, "q16", ("kit-grit-heavy",)),
    "early car": ("quernby", 2014, "q12", ("wheel-corrie-15", "kit-kerb-light")),
    "van": ("haulwick", 2017, "h15d", ("wheel-corrie-16", "kit-grit-van")),
    "nothing to see": ("quernby", 2017, "q16", ("cap-bleed",)),
}
"""Vehicle, year, variant and picks."""


@cache
def demo() -> Catalogue:
    return load(demo_folder())


@cache
def answered(kit: str) -> tuple[a.Question, a.Package]:
    vehicle, year, variant, picks = KITS[kit]
    question = a.Question(
        vehicle=vehicle, year=year, variant=variant, alternatives=False, deadline=60,
        picks=tuple(a.Item(part=part) for part in picks),
    )
    return question, package(demo(), question)


@cache
def drawn(kit: str) -> dict[str, Drawing]:
    return {drawing.name: drawing for drawing in drawings_of(demo(), *answered(kit))}
