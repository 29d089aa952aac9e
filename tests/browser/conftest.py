from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from importlib.util import find_spec
from typing import TYPE_CHECKING

import pytest
from pytest_django.live_server_helper import LiveServer

from loft.common.models import LoftProfile
from tests import desk
from tests.conftest import missing_part

if TYPE_CHECKING:
    from playwright.sync_api import Browser, ConsoleMessage, Page

_QUIET = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip

#: A new page of a browser that knows nothing yet: open_page(width=390, scripts=False).
OpenPage = Callable[..., "Page"]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Chromium as the system has it; without it, or without playwright, the test is skipped, or fails where all parts are required.

    Playwright keeps an event loop running in this thread, where Django refuses plain database calls unless it is told otherwise.
    """
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    if program is None:
        missing_part("a browser: install chromium")
    if find_spec("playwright") is None:
        missing_part("playwright: install requirements/browser.txt")
    from playwright.sync_api import sync_playwright

    with pytest.MonkeyPatch.context() as environment, sync_playwright() as started:
        environment.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
        launched = started.chromium.launch(executable_path=program, args=list(_QUIET))
        yield launched
        launched.close()


@pytest.fixture
def site(browser: Browser, transactional_db: None, live_server: LiveServer) -> str:
    """The address of the running service, with the invented loft's catalogue; links in its letters lead back to it."""
    desk.load_catalogue()
    LoftProfile.objects.update(public_base_url=live_server.url)
    return live_server.url


@pytest.fixture
def open_page(browser: Browser) -> Iterator[OpenPage]:
    """Opens pages, each in a browser of its own. What a page complains of on its console fails the test at the end."""
    complaints: list[str] = []
    contexts = []

    def listen(message: ConsoleMessage) -> None:
        # An answer of 4xx is noted there too; whether one was due is for the test to say.
        if message.type in ("error", "warning") and "Failed to load resource" not in message.text:
            complaints.append(message.text)

    def new(*, width: int = 1280, scripts: bool = True) -> Page:
        context = browser.new_context(viewport={"width": width, "height": 844}, java_script_enabled=scripts)
        contexts.append(context)
        page = context.new_page()
        page.on("console", listen)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        return page

    yield new
    for context in contexts:
        context.close()
    assert complaints == []
