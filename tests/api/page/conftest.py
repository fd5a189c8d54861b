"""A browser, the page served from a catalogue, and an eye on everything that goes wrong in it."""

from __future__ import annotations

import os
import shutil
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright
from werkzeug.serving import make_server

from api.app import create_app
from api.asking import demo_folder
from kb.catalogue import Catalogue, load

HERE = Path(__file__).parent
CHROMIUM = ("chromium", "chromium-browser", "google-chrome")
FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update",
)
PATIENCE = 60_000
"""Milliseconds: for machines that are busy with other things. Nothing is ever waited out."""
REQUIRED = os.environ.get("KITWRIGHT_BROWSER") == "required"

AWAIT_SHOWN = """() => {
  window.shownOnce = new Promise((done, fail) => {
    document.addEventListener("shown", done, { once: true });
    setTimeout(() => fail(new Error("nothing was shown")), 60000);
  }).then(() => true);
}"""

Serve = Callable[[Catalogue], str]
Visit = Callable[..., Page]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """werkzeug's server leaves the file it is sending open when the browser hangs up meanwhile."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.filterwarnings("ignore:unclosed file:ResourceWarning"))


@pytest.fixture(scope="session")
def demo() -> Catalogue:
    return load(demo_folder())


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium. Without one the test is skipped, but never where it is required."""
    found = next(filter(None, map(shutil.which, CHROMIUM)), None)
    if found is None:
        missing = "no Chromium on this machine: Debian's package 'chromium' has one"
        (pytest.fail if REQUIRED else pytest.skip)(missing)
    with sync_playwright() as playwright:
        expect.set_options(timeout=PATIENCE)
        started = playwright.chromium.launch(executable_path=found, args=list(FLAGS))
        yield started
        started.close()


@pytest.fixture(scope="session")
def serve() -> Iterator[Serve]:
    """Serves the page of a catalogue on a free port of this machine; answers with its address."""
    servers = {}

    def start(catalogue: Catalogue) -> str:
        if catalogue.digest not in servers:
            server = make_server("127.0.0.1", 0, create_app(catalogue), threaded=True)
            threading.Thread(target=server.serve_forever, daemon=True).start()
            servers[catalogue.digest] = server
        return f"http://127.0.0.1:{servers[catalogue.digest].port}"

    yield start
    for server in servers.values():
        server.shutdown()
        server.server_close()


@pytest.fixture
def visit(browser: Browser, serve: Serve, demo: Catalogue) -> Iterator[Visit]:
    """Opens an address of the page.

    Fails at the end if the browser complained (which includes every breach of the
    Content-Security-Policy) or asked anything of another host.
    """
    contexts: list[BrowserContext] = []
    wrong: list[str] = []

    def open_(
        path: str = "/", *, catalogue: Catalogue = demo, script: bool = True,
        size: tuple[int, int] = (1280, 900), may_fail: bool = False,
    ) -> Page:
        home = serve(catalogue)
        context = browser.new_context(
            base_url=home, java_script_enabled=script,
            viewport={"width": size[0], "height": size[1]},
        )
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(PATIENCE)
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("request", lambda r: _from_here(r.url, home) or wrong.append(f"asked {r.url}"))
        if not may_fail:
            page.on("console", lambda said: said.type == "error" and wrong.append(said.text))
        page.goto(path)
        return page

    yield open_
    for context in contexts:
        context.close()
    assert wrong == []


def _from_here(url: str, home: str) -> bool:
    return urlsplit(url).netloc == urlsplit(home).netloc


@pytest.fixture
def settled() -> Callable[[Page, Callable[[], object]], None]:
    """Does something and waits until the page shows what came of it."""

    def wait(page: Page, act: Callable[[], object]) -> None:
        page.evaluate(AWAIT_SHOWN)
        act()
        page.evaluate("window.shownOnce")

    return wait
