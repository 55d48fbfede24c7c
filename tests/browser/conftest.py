"""A real browser on the pages: Debian's Chromium, driven from here.

Nothing leaves the machine: whatever a page asks of another address is counted and refused.
"""

import subprocess
import sys
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.conf import settings
from django.contrib.sessions.backends.db import SessionStore
from django.test import Client
from playwright.sync_api import Browser, ConsoleMessage, Page, Route, expect, sync_playwright

from tests.api.scene import Scene, scene_make

#: A chart whose drawing has not ended yet, one way or the other.
NOT_DRAWN = "[data-chart]:not([data-drawn])"
PhoneOrDesk = int
WIDTHS: tuple[PhoneOrDesk, ...] = (390, 1440)


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "browser: drives a real browser")


class Visit:
    """One page in the browser, with what it complained of and whom else it asked."""

    def __init__(self, page: Page, base: str) -> None:
        self.page = page
        self.base = base
        self.complaints: list[str] = []
        self.outside: list[str] = []
        page.on("console", self._heard)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.route("**/*", self._asked)

    def go(self, path: str) -> Page:
        """Open a page and wait until its charts are drawn."""
        self.page.goto(f"{self.base}{path}")
        expect(self.page.locator(NOT_DRAWN)).to_have_count(0)
        return self.page

    def _heard(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.complaints.append(message.text)

    def _asked(self, route: Route) -> None:
        if route.request.url.startswith((self.base, "data:")):
            route.continue_()
        else:
            self.outside.append(route.request.url)
            route.abort()


VisitOf = Callable[..., Visit]


@pytest.fixture(scope="session")
def chart_library(repo: Path) -> None:
    """The charts' script, made in a process of its own."""
    made = "from garage.pages.chart_bundle import chart_bundle_build; chart_bundle_build()"
    subprocess.run([sys.executable, "-c", made], cwd=repo, check=True, timeout=120)


@pytest.fixture(scope="module")
def browser(chromium_program: str) -> Iterator[Browser]:
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        # As long as the browser runs, its driver keeps an event loop in this thread, beside which
        # Django would refuse to ask the database.
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
        # Chromium's own sandbox does not work as root, whom containers run tests as.
        found = playwright.chromium.launch(executable_path=chromium_program, args=["--no-sandbox"])
        yield found
        found.close()


@pytest.fixture
def scene(browser: Browser, transactional_db: None) -> Scene:
    # The browser before the database: their ends come in the other order, and the database's must
    # not come after the setting that lets it be asked beside an event loop is gone.
    import_module("garage.records.migrations.0002_catalogue").add_particulate_filter(apps, None)
    return scene_make()


@pytest.fixture
def visit_of(
    scene: Scene, live_server: Any, browser: Browser, chart_library: None
) -> Iterator[VisitOf]:
    """A browser window, signed in as the owner of Alder unless `user` says otherwise."""
    opened = []

    def make(*, width: int = 1440, user: Any = None, **options: Any) -> Visit:
        context = browser.new_context(viewport={"width": width, "height": 900}, **options)
        context.set_default_timeout(15_000)
        opened.append(context)
        client = Client()
        client.force_login(user or scene.cast.owner)
        assert isinstance(client.session, SessionStore)
        context.add_cookies(
            [
                {
                    "name": settings.SESSION_COOKIE_NAME,
                    "value": str(client.session.session_key),
                    "url": live_server.url,
                }
            ]
        )
        return Visit(context.new_page(), live_server.url)

    yield make
    for context in opened:
        context.close()
