"""In which stage of a build each line and each work step of a package comes up."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice

from kb.catalogue import Catalogue
from kb.order import STEP_STAGE, stage_of_part, stage_of_step
from kb.stages import STAGES, Stage
from rules import answers as a


class Staging:
    """The stages of one package. What has none of its own comes up with what asks for it."""

    def __init__(self, catalogue: Catalogue, package: a.Package) -> None:
        self.catalogue = catalogue
        self.lines = {line.part: line for line in package.lines}

    def of_step(self, step: str) -> Stage:
        """The stage of a work step."""
        return stage_of_step(self.catalogue.work[step])

    def of_part(self, part: str) -> Stage:
        """The stage of a line: its own, its kind's, or the first in which something asks for it."""
        own = stage_of_part(self.catalogue.parts[part])
        return own or first_stage(self._asking(part)) or STEP_STAGE

    def _asking(self, part: str) -> Iterator[Stage]:
        """The stages of what asks for a part directly; else the nearest on its chain of reasons."""
        line = self.lines.get(part)
        if line is None:
            return
        direct = list(self._stages(serving.asked_by for serving in line.serves))
        chain = self._stages(link.node for link in reversed(line.because[:-1]))
        yield from direct or islice(chain, 1)

    def _stages(self, nodes: Iterable[str]) -> Iterator[Stage]:
        for name in nodes:
            section, _, key = name.partition(":")
            if section == "step" and key in self.catalogue.work:
                yield self.of_step(key)
            if section == "part" and (own := stage_of_part(self.catalogue.parts[key])):
                yield own


def first_stage(stages: Iterable[Stage]) -> Stage | None:
    """The earliest of some stages."""
    return min(stages, key=STAGES.index, default=None)
