"""Says each statement in words a parts person would use, once, where it enters a problem."""

from __future__ import annotations

from collections.abc import Sequence

from kb.entries import Part, Rule
from kb.graph import key_of, node
from kb.statements import Comparison, Conflict, Fits, Known, Need, Reference, Selector, WorkNeed
from rules.checking import Verdict
from rules.problem import Reason, ReasonType
from rules.situation import Member, Situation

STATED_FIT = "stated-fit"
"""The name under which a missing statement of fit is reported beside the checks."""


class Reasons:
    """Makes the reasons of one situation."""

    def __init__(self, situation: Situation, *, any_car: bool = False) -> None:
        """`any_car`: speak in general; what goes on this one car is of no account."""
        self.at, self.any_car = situation, any_car

    def pick(self, part: str) -> Reason:
        """The asker wants this part."""
        return Reason("pick", f"pick:{part}", f"you asked for {self.at.name(part)}")

    def wish(self, kind: str, value: str) -> Reason:
        """Something the asker does not want."""
        text = {
            "keep": f"the stock part in the place '{self.at.place_name(value)}' is to stay",
            "avoid": f"{self.at.name(value)} is not wanted" if kind == "avoid" else "",
            "avoid_makers": f"nothing made by {value} is wanted",
            "refuse_work": f"the work '{self.at.catalogue.work[value].name}' is refused"
            if kind == "refuse_work" else "",
            "reversible_only": "work that cannot be undone is refused",
            "certain_only": "nothing is to be left to measure",
        }[kind]
        return Reason("wish", f"wish:{kind}:{value}", text)

    def refusal(self, part: str, why: str) -> Reason:
        """A part that does not go on this car."""
        return Reason("fit", f"fit:{part}", f"{self.at.name(part)} does not go here: {why}")

    def not_sold(self, part: str) -> Reason:
        """A part that cannot be ordered."""
        after = self.at.successors(part)
        why = f"it was replaced by {self.at.name(after[-1])}" if after else "it is not for sale"
        return Reason("sale", f"sale:{part}", f"{self.at.name(part)} cannot be ordered: {why}")

    def contents(self, kit: str, inner: str) -> Reason:
        """A kit brings its contents."""
        text = f"{self.at.name(kit)} contains {self.at.name(inner)}"
        return Reason("contents", f"contents:{kit}/{inner}", text)

    def place(self, place: str) -> Reason:
        """One part per place."""
        text = f"only one part goes in the place '{self.at.place_name(place)}'"
        return Reason("place", f"place:{place}", text)

    def need(self, owner: str, need: Need) -> Reason:
        """Something needs something."""
        text = f"{self.owner(owner)} needs {self.what(need, owner)}"
        if need.kind and not self.any_car and not self.at.candidates(need, _part(owner)):
            text += ", and there is none for this car"
        return self._known("need", f"need:{owner}/{self._number(owner, need)}", text, need)

    def work(self, part: str, work: WorkNeed) -> Reason:
        """A part calls for work on the car."""
        steps = " or ".join(f"'{self.at.catalogue.work[step].name}'" for step in work.listed)
        text = f"{self.at.name(part)} takes the work {steps}"
        number = self._number(node("part", part), work)
        return self._known("work", f"work:{part}/{number}", text, work)

    def fit_with_work(self, part: str, fits: Fits, step: str) -> Reason:
        """A stated fit that takes work."""
        text = f"{self.at.name(part)} goes on this car only after " \
               f"'{self.at.catalogue.work[step].name}'"
        return self._known("work", f"fits:{part}/{step}", text, fits)

    def conflict(self, owner: str, target: str, conflict: Conflict) -> Reason:
        """Two things that may not be there together."""
        text = f"{self.owner(owner)} cannot be combined with {self.owner(target)}"
        number = self._number(owner, conflict)
        return self._known("conflict", f"conflict:{owner}/{target}/{number}", text, conflict)

    def rule(self, rule_id: str, rule: Rule) -> Reason:
        """A general rule."""
        when = " and ".join(self.what(selector, "") for selector in rule.when)
        then = " or ".join(self.what(selector, "") for selector in rule.then_any)
        if not rule.when:
            text = f"every package on this car needs {then}"
        elif not rule.then_any:
            text = f"{when} may not be combined"
        else:
            text = f"with {when} goes {then}"
        return self._known("rule", f"rule:{rule_id}", text, rule)

    def check(self, members: Sequence[Member], axle: str | None, verdict: Verdict) -> Reason:
        """What a check says of a combination."""
        names = " with ".join(self.at.name(member.part) for member in members)
        where = f" ({axle})" if axle else ""
        key = f"check:{verdict.check}/{verdict.aspect}/{axle}/" + "/".join(m.part for m in members)
        return Reason("check", key, f"{names}{where}: {verdict.says}",
                      verdict.says, verdict.basis, verdict.source)

    def trial_needed(self, part: str) -> Verdict:
        """The verdict on a part of which nobody says that it goes onto the car."""
        what = f"trial fit of {self.at.name(part)} on {self.at.baseline.name}"
        return Verdict(
            STATED_FIT, "not_known",
            "nobody has stated that it fits this car, and no dimensions decide it",
            measure=(what,), source="the catalogue states no fit",
        )

    def _number(self, owner: str, statement: Known) -> str:
        """Which of its owner's statements this is, or its words where a check made it."""
        kept: dict[str, dict[int, str]] = self.at.catalogue.caches.setdefault("numbers", {})
        if owner not in kept:
            kept[owner] = self._numbers(owner)
        return kept[owner].get(id(statement)) or statement.model_dump_json(exclude_defaults=True)

    def _numbers(self, owner: str) -> dict[int, str]:
        section, _, key = owner.partition(":")
        entry = self.at.parts.get(key) if section == "part" else self.at.catalogue.work.get(key)
        lists = {"requires": entry.requires, "conflicts": entry.conflicts} if entry else {}
        if isinstance(entry, Part):
            lists["work"] = entry.work
        return {
            id(statement): f"{name}/{i}"
            for name, statements in lists.items() for i, statement in enumerate(statements)
        }

    # -- words ----------------------------------------------------------------------------------

    def owner(self, owner: str) -> str:
        """A part or a work step by name."""
        section, _, key = owner.partition(":")
        if section == "step":
            return f"the work '{self.at.catalogue.work[key].name}'"
        return self.at.name(key) if section == "part" else key

    def what(self, selector: Selector, owner: str) -> str:
        """What a selector means, in words."""
        if selector.step is not None:
            return f"the work '{self.at.catalogue.work[selector.step].name}'"
        if selector.kind is not None:
            kind = selector.kind.replace("-", " ")
            article = "an" if kind[0] in "aeiou" else "a"
            stock = {True: "stock ", False: "new ", None: ""}[selector.fitted]
            text = f"{article if not stock else 'a'} {stock}{kind}"
            sizes = [
                f"{name.replace('_', ' ')} {self._compared(comparison, owner)}"
                for name, comparison in selector.match.items()
            ]
            text += f" ({', '.join(sizes)})" if sizes else ""
        else:
            text = " or ".join(map(self._listed, selector.listed))
        return text

    def _listed(self, part: str) -> str:
        """A part by name, and why naming it may be of no use."""
        name = self.at.name(part)
        if part in self.at.stock_places or self.at.successors(part):
            return name
        if self.at.refusal(part) and not self.any_car:
            return f"{name} (not for this car)"
        return name if self.at.parts[part].orderable else f"{name} (not sold)"

    def _compared(self, comparison: Comparison, owner: str) -> str:
        given = getattr(comparison, comparison.relation)
        shown = [self._operand(o, owner) for o in (given if isinstance(given, tuple) else (given,))]
        return {
            "equals": shown[0],
            "one_of": " or ".join(shown),
            "at_least": f"at least {shown[0]}",
            "at_most": f"at most {shown[0]}",
            "within": f"{shown[0]} to {shown[-1]}",
        }[comparison.relation]

    def _operand(self, operand: str | Reference, owner: str) -> str:
        if isinstance(operand, str):
            return operand
        if operand.own is not None:
            part = self.at.parts.get(key_of(owner))
            value = getattr(part.dimensions, operand.own, None) if part else None
            return str(value) if value is not None else f"as its {operand.own.replace('_', ' ')}"
        name = operand.fact or ""
        for axle in self.at.axles(key_of(owner)) if key_of(owner) in self.at.parts else (None,):
            fact = self.at.baseline.fact(name, axle)
            if fact:
                return str(fact.value)
        return f"as the car's {name.partition('.')[2].replace('_', ' ')}"

    def _known(self, kind: ReasonType, key: str, text: str, statement: Known) -> Reason:
        why = statement.why or ""
        full = f"{text}: {why}" if why else text
        return Reason(kind, key, full, why, statement.basis, statement.source or "")


def _part(owner: str) -> str | None:
    """The part a node stands for, if it is one."""
    section, _, key = owner.partition(":")
    return key if section == "part" else None
