"""What a caller and an operator need to know of the service itself."""

from __future__ import annotations

from flask import current_app

from api.current import catalogue, current_of
from api.document import SERVICE, answers, blueprint
from api.endpoint import VERSION, NoQuery, endpoint, passing
from api.problems import KINDS, Refused, WrongField
from api.views import Health, Index, ProblemView, Readiness
from kb.errors import nearest_name
from rules.answers import Model
from rules.naming import catalog_ref

routes = blueprint("service", SERVICE)


class ProblemPath(Model):
    """Which kind of problem."""

    code: str


@routes.get("/v1", responses=answers(Index))
@endpoint
def index(query: NoQuery) -> Index:
    """What there is here: the catalogue, the routes, the kinds of problems."""
    return Index(
        name="Kitwright", version=VERSION, catalog=catalog_ref(catalogue()),
        routes=current_app.extensions["kitwright.routes"], problems=tuple(KINDS),
    )


@routes.get("/healthz", responses=answers(Health))
@passing
def alive(query: NoQuery) -> Health:
    """Whether the process is alive."""
    return Health(status="ok")


@routes.get("/readyz", responses=answers(Readiness))
@passing
def ready(query: NoQuery) -> Readiness:
    """Whether the catalogue is in; which it always is once requests are accepted."""
    known = catalogue()
    return Readiness(
        status="ready", catalog=catalog_ref(known), vehicles=len(known.vehicles),
        parts=len(known.parts), refused=current_of(current_app).refused,
    )


@routes.get("/problems/<code>", responses=answers(ProblemView, 404))
@endpoint
def show_problem(path: ProblemPath, query: NoQuery) -> ProblemView:
    """What a kind of problem means, which is what the `type` of a problem points to."""
    kind = KINDS.get(path.code)
    if kind is None:
        near = nearest_name(path.code, KINDS)
        wrong = WrongField(
            field="code", message=f"there is no kind of problem '{path.code}'", nearest=near
        )
        raise Refused("unknown_problem", wrong.message, [wrong])
    return ProblemView(
        code=path.code, status=kind.status, title=kind.title, meaning=kind.meaning
    )
