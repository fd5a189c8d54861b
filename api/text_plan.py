"""The order of work for the garage wall: stage by stage, with times, parts, torque and cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from rich.text import Text

from api import text as t
from api.text_choices import ways_out_section
from rules.plan_models import Joint, Operation, Plan, StagePlan, Times, TodoList, Used


def stage_name(stage: str) -> str:
    """A stage as people say it."""
    return stage.replace("-", " ")


def plan_page(found: Plan, *, why: bool) -> t.Page:
    """The plan as a page; with `why`, also the reason for each operation."""
    yield from t.car(found.baseline)
    yield t.say(_outcome(found), "bold")
    yield from t.notes(found.notes)
    yield from t.clashes(found.clashes)
    yield from ways_out_section(found.ways_out, found.catalog.currency)
    yield from t.measures(found.measure_first)
    if found.times:
        yield from _times(found, found.times)
    yield from _to_hand(found)
    names = {o.id: f"{o.number}" for stage in found.stages for o in stage.operations}
    for stage in found.stages:
        yield from _stage(stage, names, why=why)
    for todo in found.lists:
        yield from _todo(todo)
    yield from _general(found)
    yield from t.origin(found.catalog)


def _outcome(found: Plan) -> str:
    if found.outcome == "impossible":
        return "No: this cannot all go on this car, so there is no order of work."
    if found.outcome == "complete_once_measured":
        return "Not certain yet: the order of work holds once the questions below are answered."
    return "Yes: the order of work is complete."


# -- times and what to have ready -------------------------------------------------------------


def _times(found: Plan, times: Times) -> t.Page:
    yield from t.heading("Time")
    yield t.fact_lines([
        ("One person", t.hours(times.one_person)),
        ("Two people", f"{t.hours(times.two_people)} ({_proof(times)})"),
        ("Longest chain", f"{t.hours(times.critical_path)}, marked * below"),
    ])
    if found.untimed:
        count = t.count(len(found.untimed), "operation")
        yield t.say(f"Not in these times, because the catalogue does not say: {count}, marked ?.")


def _proof(times: Times) -> str:
    if times.two_people_proven:
        return "no way to share the work is shorter"
    return f"no way is shorter than {t.hours(times.two_people_least)}"


def _to_hand(found: Plan) -> t.Page:
    if found.tools:
        yield from t.heading("Tools beyond the usual")
        yield t.bullets(map(t.say, found.tools))
    if found.renew:
        yield from t.heading("Renewed, never used again")
        yield t.bullets(t.say(_used(used)) for used in found.renew)


def _used(used: Used) -> str:
    return f"{t.amount(used.qty, used.unit)} {t.named(used.name, used.part)}"


# -- stages -----------------------------------------------------------------------------------


def _stage(stage: StagePlan, names: Mapping[str, str], *, why: bool) -> t.Page:
    yield from t.heading(f"{stage_name(stage.stage)}, {t.hours(stage.minutes)}")
    table = t.table("No", "Time", "Who", "Operation", right=[0, 1], rigid=[2])
    said: set[str] = set()
    for operation in stage.operations:
        table.add_row(
            f"{operation.number}", _minutes(operation), _who(operation),
            t.stack([*_said(operation, names, why=why), *_cautions(operation, said)]),
        )
    yield table


def _minutes(operation: Operation) -> str:
    if not operation.timed:
        return "?"
    mark = "*" if operation.critical else ""
    return f"{t.hours(operation.minutes)}{mark}" if operation.minutes else "-"


def _who(operation: Operation) -> str:
    """With two people: who, and from which minute on."""
    if not operation.minutes:
        return ""
    starts = round(operation.starts)
    return f"{'AB'[operation.person - 1]} {starts // 60}:{starts % 60:02d}"


def _said(operation: Operation, names: Mapping[str, str], *, why: bool) -> Iterator[Text]:
    many = f", {t.amount(operation.qty, operation.unit)}"
    yield t.say(f"{operation.text}{many if operation.qty != 1 or operation.unit else ''}")
    if operation.after:
        numbers = sorted((names[key] for key in operation.after), key=int)
        yield t.say(f"after {', '.join(numbers)}", "dim")
    for used in operation.with_parts:
        yield t.say(f"with {_used(used)}{' (new)' if used.renew else ''}", "dim")
    if operation.tools:
        yield t.say(f"tools: {', '.join(operation.tools)}", "dim")
    yield from (t.say(_torque(joint)) for joint in operation.torque)
    if why and operation.because:
        yield t.say(f"because {operation.because}", "dim")


def _cautions(operation: Operation, said: set[str]) -> Iterator[Text]:
    """Cautions; one that stands for several operations of a stage is said with the first."""
    for text in operation.cautions:
        if text not in said:
            said.add(text)
            yield t.say(f"Caution: {t.sentence(text)}", "bold")


def _torque(joint: Joint) -> str:
    return f"{t.sentence(joint.what)[:-1]}: {joint.text}{t.stated(joint.basis, joint.source)}"


# -- lists ------------------------------------------------------------------------------------


def _todo(todo: TodoList) -> t.Page:
    yield from t.heading(todo.name)
    yield t.bullets(
        [t.stack([t.say(item.text), t.say(f"{item.because} [{item.source}]", "dim")])
         for item in todo.items],
        ["[ ]"] * len(todo.items),
    )


def _general(found: Plan) -> t.Page:
    """Cautions that stand with no single operation."""
    said = set(_flat(found.stages))
    yield from t.cautions([c for c in found.cautions if c.text not in said], {}, why=False)


def _flat(stages: Sequence[StagePlan]) -> Iterable[str]:
    return (text for stage in stages for o in stage.operations for text in o.cautions)
