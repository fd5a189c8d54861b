"""The app factory: one Flask app that answers questions about one catalogue."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from flask import Flask, Response, request
from flask_openapi3.openapi import OpenAPI

from api import (
    routes_batch,
    routes_build,
    routes_choices,
    routes_drawings,
    routes_graph,
    routes_parts,
    routes_questions,
    routes_search,
    routes_service,
    routes_setup,
    routes_vehicles,
)
from api.access import guard
from api.compression import compress_answers
from api.current import KEY, Current, Served, served
from api.document import INFO, document, operations, with_examples
from api.failures import handle_failures
from api.gate import Gate
from api.intake import take_bodies_in
from api.page.routes import page
from api.problems import ProblemDetails
from api.reading import refuse_unreadable
from api.replies import Replies
from api.request_ids import number_requests
from api.settings import Settings
from api.shortcut import keep_replies
from api.views import RouteView
from api.working import GATE, SETTINGS, settings_of
from kb.catalogue import Catalogue, load
from kb.graph import graph_of

ROUTES = (
    routes_service, routes_vehicles, routes_parts, routes_questions, routes_choices, routes_search,
    routes_build, routes_setup, routes_graph, routes_drawings, routes_batch,
)


def create_app(catalogue: Catalogue | str | Path, settings: Settings | None = None) -> OpenAPI:
    """An app for a catalogue, or for the one in a folder. Raises CatalogueError.

    Everything a first question needs of the catalogue is prepared here.
    """
    from api.metrics import count_requests  # looks at its environment when it is imported

    chosen = settings or Settings()
    app = OpenAPI(
        "kitwright", info=INFO, doc_ui=False, static_folder=None,
        validation_error_model=ProblemDetails, security_schemes={},
    )
    app.config["MAX_CONTENT_LENGTH"] = chosen.most_bytes
    app.extensions[SETTINGS] = chosen
    app.extensions[GATE] = Gate(chosen.questions, chosen.queue, chosen.queue_seconds)
    app.url_map.merge_slashes = False  # an odd address is a wrong one, not a redirect
    for module in ROUTES:
        app.register_api(module.routes)
    app.register_blueprint(page)
    _describe(app, chosen)
    known = catalogue if isinstance(catalogue, Catalogue) else load(catalogue)
    app.extensions[KEY] = Current(prepared(app, known))
    handle_failures(app)
    keep_replies(app)  # first, so that it sees what the others make of a response
    count_requests(app)
    number_requests(app)
    guard(app, chosen)
    refuse_unreadable(app)
    compress_answers(app)
    app.after_request(_harden)
    take_bodies_in(app)
    return app


def prepared(app: Flask, known: Catalogue) -> Served:
    """A catalogue with what its first question needs, made before there is any question."""
    graph_of(known)
    described = with_examples(app.extensions["kitwright.document"], known)
    replies = Replies(settings_of(app).answer_bytes)
    return Served(known, json.dumps(described, ensure_ascii=False), replies)


def _describe(app: OpenAPI, settings: Settings) -> None:
    """Add the OpenAPI document, and the list of routes for the index."""
    described = document(app, settings)
    routes = [
        RouteView(method=method.upper(), path=path, summary=operation["summary"])
        for path, method, operation in operations(described)
    ]
    routes.append(RouteView(method="GET", path="/openapi.json", summary="This API, described."))
    routes.append(RouteView(method="GET", path="/metrics", summary="Figures for Prometheus."))
    app.extensions["kitwright.routes"] = tuple(sorted(routes, key=lambda r: (r.path, r.method)))
    app.extensions["kitwright.document"] = described

    def openapi() -> Any:
        response = Response(served().document, mimetype="application/json")
        response.headers["Cache-Control"] = "no-cache"
        response.add_etag(weak=True)
        return response.make_conditional(request)

    app.add_url_rule("/openapi.json", view_func=openapi)


def _harden(response: Response) -> Response:
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response
