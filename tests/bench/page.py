"""`python -m tests.bench.page`: what the counter page takes beside the answer it shows.

For each kit, processor time of this process, the least of several runs: the package alone, the page
with that package worked out anew, and the page while the package is kept, which is what the page
itself takes. "with a search" adds 20 parts with their verdicts. Then the time from a pick to the
changed page as a person sees it, in Chromium where there is one.
"""

from __future__ import annotations

import gc
import logging
import shutil
import threading
from collections.abc import Callable
from time import process_time

import click
from playwright.sync_api import sync_playwright
from rich.console import Console
from rich.table import Table
from werkzeug.serving import make_server

from api.answering import KEPT
from api.app import create_app
from api.asking import demo_folder
from api.settings import Settings
from kb.catalogue import Catalogue, load
from rules import answers as a
from rules.resolve import package

KITS = (
    ("wheel-corrie-15",), ("caliper-cairn",), ("caliper-cairn", "wheel-corrie-16"),
    ("kit-grit-heavy",), ("caliper-cairn", "kit-grit-heavy"), ("caliper-tor", "wheel-corrie-15"),
)
CAR = "vehicle=quernby&year=2017&variant=q16"
MS = 1000
CLICK = """id => new Promise(done => {
  const begun = performance.now();
  document.addEventListener("shown", () => done(performance.now() - begun), {once: true});
  document.getElementById(id).click();
})"""


@click.command()
@click.option("--runs", default=5, show_default=True, help="runs, of which the least counts")
def main(runs: int) -> None:
    """Measure the page on the demo catalogue."""
    catalogue = load(demo_folder())
    client = create_app(catalogue, Settings(answer_bytes=0)).test_client()
    table = Table("Asked for", "Answer alone", "Page in all", "Page, answer kept", "with a search",
                  title="Processor time, ms")
    for kit in KITS:
        address = f"/?{CAR}" + "".join(f"&pick={part}" for part in kit)
        question = a.Question(vehicle="quernby", year=2017, variant="q16",
                              picks=tuple(a.Item(part=part) for part in kit))

        def anew(address: str = address) -> None:
            catalogue.caches.pop(KEPT, None)
            client.get(address)

        table.add_row(", ".join(kit), *(f"{_least(act, runs):.0f}" for act in (
            lambda question=question: package(catalogue, question), anew,
            lambda address=address: client.get(address),
            lambda address=address: client.get(f"{address}&find=wheel"),
        )))
    Console(width=110).print(table)
    if found := shutil.which("chromium"):
        _seen(catalogue, found, runs)


def _least(act: Callable[[], object], runs: int) -> float:
    act()  # what is worked out once for a catalogue is not counted
    times = []
    for _ in range(runs):
        gc.collect()  # else one run in two pays for a collection that the others left over
        begun = process_time()
        act()
        times.append(process_time() - begun)
    return min(times) * MS


def _seen(catalogue: Catalogue, chromium: str, runs: int) -> None:
    """From a pick to the changed page: fetching, reading and putting it in place."""
    logging.getLogger("werkzeug").setLevel(logging.WARNING)
    server = make_server("127.0.0.1", 0, create_app(catalogue), threaded=True)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        page = browser.new_page()
        times = []
        for _ in range(runs + 1):  # after the first, the answer is one that was given before
            page.goto(f"http://127.0.0.1:{server.port}/?{CAR}&find=corrie+16")
            times.append(page.evaluate(CLICK, "pick-wheel-corrie-16"))
        browser.close()
    server.shutdown()
    print(f"From a pick to the changed page, its answer kept: {min(times[1:]):.0f} ms")


if __name__ == "__main__":
    main()
