"""What everything is measured beside: a Flask app with one route that sends JSON made before.

Run as `python -m tests.bench.bare PORT WORKERS THREADS` under the server that Kitwright runs under.
"""

from __future__ import annotations

import json
import sys

from flask import Flask, Response
from granian.constants import Interfaces
from granian.server import MPServer

MOST = 2**20


def create_app() -> Flask:
    """GET or POST /bare/SIZE answers with JSON of just so many bytes."""
    app = Flask("bare")
    made: dict[int, bytes] = {}

    @app.route("/bare/<int:size>", methods=["GET", "POST"])
    def bare(size: int) -> Response:
        size = min(size, MOST)
        if size not in made:
            made[size] = json.dumps("x" * (size - 2)).encode()
        return Response(made[size], mimetype="application/json")

    return app


if __name__ == "__main__":
    port, workers, threads = map(int, sys.argv[1:])
    MPServer(
        "bare", interface=Interfaces.WSGI, port=port, workers=workers, blocking_threads=threads,
        websockets=False, log_enabled=False,
    ).serve(target_loader=create_app, wrap_loader=False)
