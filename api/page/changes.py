"""Every change that the page offers, as the address it leads to."""

from __future__ import annotations

from collections.abc import Iterable
from functools import reduce

from api.page.address import Address
from rules import answers as a
from rules.asking import current
from rules.situation import Situation
from rules.ways_out import changed


class Changes:
    """The changes to one question about one car."""

    def __init__(self, address: Address, question: a.Question, situation: Situation) -> None:
        self.address, self.question, self.at = address, question, situation

    def _to(self, **changes: object) -> str:
        return self.address.asking(self.question.model_copy(update=changes)).to()

    # -- picks ----------------------------------------------------------------------------------

    def picking(self, part: str) -> str:
        """One more pick, which is then no longer avoided."""
        avoid = tuple(other for other in self.question.avoid if other != part)
        return self._to(picks=(*self.question.picks, a.Item(part=part)), avoid=avoid)

    def leaving_out(self, part: str) -> str:
        """Without a pick, whether it was asked for by this id or by that of an older part."""
        return self._to(picks=tuple(self._others(part)))

    def _others(self, part: str) -> Iterable[a.Item]:
        return (item for item in self.question.picks if current(self.at, item.part) != part)

    def correcting(self, field: str, index: int, part: str | None) -> str:
        """A pick or a part on hand put right, or left out."""
        items = list(getattr(self.question, field))
        items[index:index + 1] = [] if part is None else [a.Item(part=part)]
        return self._to(**{field: tuple(items)})

    # -- ways out -------------------------------------------------------------------------------

    def making(self, changes: Iterable[a.Change], then_pick: str = "") -> str:
        """The question after some changes, perhaps with a part picked that they make room for."""
        question = reduce(
            lambda question, change: changed(self.at, question, change), changes, self.question
        )
        if then_pick:
            question = question.model_copy(update={
                "picks": (*question.picks, a.Item(part=then_pick)),
            })
        return self.address.asking(question).to()

    # -- wishes ---------------------------------------------------------------------------------

    def avoiding(self, part: str) -> str:
        """With a part that is not wanted."""
        return self._to(avoid=(*self.question.avoid, part))

    def keeping(self, places: Iterable[str]) -> str:
        """With stock parts that are to stay."""
        return self._to(keep=tuple(dict.fromkeys((*self.question.keep, *places))))

    def refusing(self, step: str) -> str:
        """With work that is not to be done."""
        return self._to(refuse_work=(*self.question.refuse_work, step))

    def giving_up(self, wish: str, value: str) -> str:
        """Without one of the wishes."""
        return self.making([a.Change(type="give_up_wish", text="", wish=wish, by=value)])
