"""A real Chromium that opens the product's pages, and what every page must be free of: errors, outside addresses, barriers."""

import os
import re
import shutil
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.conf import settings
from django.test import Client

FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",  # containers give it little shared memory
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1280, "height": 900}
# Chromium writes every refused answer to its console. 422 is how a form says that it needs another look.
EXPECTED_ON_CONSOLE = re.compile(r"the server responded with a status of 422")


def pytest_collection_modifyitems(items):
    """Mark everything in this folder, so that ``-m "not browser"`` leaves it out."""
    here = Path(__file__).parent
    for item in items:
        if item.path.is_relative_to(here):
            item.add_marker(pytest.mark.browser)


def skip_or_fail(reason):
    """Skip where a person runs the tests without a browser; in CI a missing browser is a failure."""
    if os.environ.get("CI"):
        pytest.fail(f"{reason} (CI is set, so this may not be skipped)")
    pytest.skip(reason)


@pytest.fixture(scope="session")
def chromium():
    """One headless Chromium for all tests of a worker."""
    try:
        from playwright.sync_api import expect, sync_playwright
    except ImportError:
        skip_or_fail("Playwright is not installed: uv sync --group browser")
    executable = os.environ.get("CHROMIUM") or shutil.which("chromium") or "/usr/bin/chromium"
    if not Path(executable).exists():
        skip_or_fail("No Chromium at /usr/bin/chromium: apt-get install chromium, or name one in CHROMIUM")
    # Playwright's sync API keeps an event loop in this thread, in which Django would refuse the database, to the very end.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    expect.set_options(timeout=15_000)  # a busy machine is slow, not wrong
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=executable, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def live_server(live_server, settings):
    """The product on a port of its own; addresses in mails lead to it."""
    settings.SITE_URL = live_server.url
    return live_server


@pytest.fixture
def page_errors():
    """What went wrong in the page: a test may clear what it provoked on purpose."""
    return []


@pytest.fixture
def new_page(chromium, live_server, page_errors):
    """Return a function that opens a page in a browser of its own, as each person has one; addresses may be relative.

    Any console error or outside request, in whichever page, fails the test.
    """
    contexts = []

    def new_page(viewport):
        context = chromium.new_context(
            base_url=live_server.url,
            viewport=viewport,
            locale="en-GB",
            timezone_id="Europe/London",
            reduced_motion="reduce",
        )
        contexts.append(context)
        context.set_default_timeout(15_000)
        context.on("page", lambda page: _watch(page, page_errors, live_server.url))
        return context.new_page()

    yield new_page
    for context in contexts:
        context.close()
    assert page_errors == [], f"The page reported: {page_errors}"


@pytest.fixture
def page(new_page):
    """A fresh page."""
    return new_page(DESKTOP)


def _watch(page, page_errors, own_url):
    page.on("console", lambda message: _keep_console_error(page_errors, message))
    page.on("pageerror", lambda error: page_errors.append(f"script error: {error}"))
    page.on("request", lambda request: _keep_outside_request(page_errors, request, own_url))


def _keep_console_error(page_errors, message):
    if message.type == "error" and not EXPECTED_ON_CONSOLE.search(message.text):
        page_errors.append(f"console on {message.page.url}, {message.location}: {message.text}")


def _keep_outside_request(page_errors, request, own_url):
    if request.url.startswith(("data:", "blob:", "about:")):
        return
    if urlsplit(request.url).netloc != urlsplit(own_url).netloc:
        page_errors.append(f"outside address: {request.url}")


@pytest.fixture
def phone(page):
    """The same page, as wide as a phone."""
    page.set_viewport_size(PHONE)
    return page


@pytest.fixture
def log_in(page, live_server):
    """Return a function that logs a member of staff in, without typing."""

    def log_in(user):
        browser = Client()
        browser.force_login(user)
        cookie = browser.cookies[settings.SESSION_COOKIE_NAME]
        page.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
        return page

    return log_in


@pytest.fixture(scope="session")
def axe():
    """Return a function that asserts that axe-core finds nothing in a page, in light and in dark.

    ``axe(page)`` looks at the page as it is sized; ``axe(page, both_widths=True)`` at a dark phone and a light desktop, since what
    a scheme changes is not what a width changes.
    """
    try:
        from axe_playwright_python.sync_playwright import Axe
    except ImportError:
        skip_or_fail("axe-playwright-python is not installed: uv sync --group browser")
    rules = Axe()

    def axe(page, *, both_widths=False):
        here = page.viewport_size
        looks = ((PHONE, "dark"), (DESKTOP, "light")) if both_widths else ((here, "dark"), (here, "light"))
        for viewport, scheme in looks:
            page.set_viewport_size(viewport)
            page.emulate_media(color_scheme=scheme)
            found = rules.run(page)
            assert found.violations_count == 0, f"{page.url} ({scheme}, {viewport}):\n{_report(found)}"

    return axe


def _report(found):
    lines = []
    for violation in found.response["violations"]:
        lines.append(f"{violation['id']}: {violation['help']}")
        lines += [f"    {node['html']}\n    {node.get('failureSummary', '')}" for node in violation["nodes"]]
    return "\n".join(lines)


@pytest.fixture
def screenshot():
    """Return a function that keeps a picture of a page, where SCREENSHOTS names a folder; otherwise it does nothing."""
    folder = os.environ.get("SCREENSHOTS")

    def screenshot(page, name):
        if folder:
            Path(folder).mkdir(parents=True, exist_ok=True)
            # Hiding the caret writes styles into the fields, and htmx would carry them over against the content policy.
            page.screenshot(path=Path(folder) / f"{name}.png", full_page=True, caret="initial")

    return screenshot


def no_sideways_scroll(page):
    """Assert that nothing makes the page wider than its window."""
    width, window = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
    assert width <= window, f"{page.url} is {width} px wide in a window of {window} px"


def tab_to(page, target, most=80):
    """Press Tab until an element has the focus."""
    for _press in range(most):
        if target.evaluate("element => element === document.activeElement"):
            return
        page.keyboard.press("Tab")
    pytest.fail(f"Nobody gets to {target} with the keyboard")
