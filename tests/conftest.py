"""What every test may ask for: fit settings, short or long counts, two devices with a browser, pictures."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NoReturn

import hypothesis
import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.db import connection
from django.db.backends.base.operations import BaseDatabaseOperations
from django.test import override_settings
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright
from pytest_django import DjangoDbBlocker

from checklists.models import guard

# Playwright's own loop runs in this thread, and Django would take its presence for asynchronous code.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
# Servers that tests start as processes of their own are asked faster than any hand asks.
os.environ |= {"COUNTERDRAW_REQUESTS": "0", "COUNTERDRAW_CLOCK_LEAP": "0"}

hypothesis.settings.register_profile("short", max_examples=60, deadline=None, derandomize=True)
hypothesis.settings.register_profile("long", max_examples=2000, deadline=None, print_blob=True)

PICTURES = Path(__file__).resolve().parents[1] / ".data" / "pictures"
LAUNCH = (
    "--no-sandbox",  # tests may run as root, where Chromium has no sandbox
    "--disable-quic",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--use-fake-device-for-media-stream",  # a camera that shows a moving test picture
    "--use-fake-ui-for-media-stream",
)
TELL_VIOLATIONS = """
document.addEventListener("securitypolicyviolation", (event) => window.tellViolation(
  `${event.effectiveDirective} refused ${event.blockedURI} ${event.sample} at ${event.sourceFile}
  on ${location.pathname} ${event.target?.outerHTML?.slice(0, 200)}`));
"""


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="run the counts that take too long for every day")
    parser.addoption(
        "--on-database", action="store_true", help="run only what asks something of the database"
    )


def pytest_configure(config: pytest.Config) -> None:
    hypothesis.settings.load_profile("long" if config.getoption("--long") else "short")


def asks_the_database(item: pytest.Item) -> bool:
    """Tell whether a test could end otherwise on another kind of database."""
    if item.get_closest_marker("any_database"):
        return False
    ways = {"db", "transactional_db", "live_server", "django_db_setup"}
    names = getattr(item, "fixturenames", ())
    return bool(ways.intersection(names)) or item.get_closest_marker("django_db") is not None


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--on-database"):
        apart = [item for item in items if not asks_the_database(item)]
        config.hook.pytest_deselected(items=apart)
        items[:] = [item for item in items if asks_the_database(item)]
    if not config.getoption("--long"):
        for item in items:
            if item.get_closest_marker("long"):
                item.add_marker(pytest.mark.skip(reason="long; runs with --long"))


def go_without(what: str) -> NoReturn:
    """Skip for want of something outside the project; where all must run, fail instead."""
    if os.environ.get("COUNTERDRAW_REQUIRE_ALL") == "1":
        pytest.fail(f"COUNTERDRAW_REQUIRE_ALL=1, but there is {what}", pytrace=False)
    pytest.skip(f"there is {what}")


@pytest.fixture(scope="session", autouse=True)
def fit_for_tests(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Static files under their own names, a quick hash for invented PINs, photographs apart."""
    plain = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    quick = "django.contrib.auth.hashers.MD5PasswordHasher"
    kept = tmp_path_factory.mktemp("photographs")
    quickly = {"PASSWORD_HASHERS": [quick], "MEDIA_ROOT": kept}
    quickly |= {"CLOCK_LEAP_SECONDS": 0, "REQUESTS_A_MINUTE": 0, "REQUESTS_A_MINUTE_SIGNED_OUT": 0}
    with override_settings(STORAGES=settings.STORAGES | {"staticfiles": plain}, **quickly):
        yield


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Put SQLite's test database into a file: in memory it has neither WAL nor more than one connection.

    Tests that run side by side have a database each, on PostgreSQL by the suffix of their name.
    """
    database = settings.DATABASES["default"]
    if database["ENGINE"] == "django.db.backends.sqlite3":
        database.setdefault("TEST", {})["NAME"] = str(tmp_path_factory.mktemp("sqlite") / "test.sqlite3")


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """End what still hangs on PostgreSQL's test database, which can only be dropped when nobody is in it.

    The live server's threads keep their connection until Chromium lets go of its own to them.
    """
    yield
    with django_db_blocker.unblock():
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute(
                    "select pg_terminate_backend(pid) from pg_stat_activity"
                    " where datname = current_database() and pid <> pg_backend_pid()"
                )


@pytest.fixture(scope="session", autouse=True)
def emptied_past_the_guard() -> Iterator[None]:
    """Let Django empty the tables after a test with real transactions; it lays the guard again by itself."""
    operations = type(connection.ops)
    empty = operations.execute_sql_flush

    def unguarded(self: BaseDatabaseOperations, sql_list: list[str]) -> None:
        guard.lift(self.connection)
        empty(self, sql_list)

    operations.execute_sql_flush = unguarded
    yield
    operations.execute_sql_flush = empty


@pytest.fixture
def times(request: pytest.FixtureRequest) -> Callable[[int, int], int]:
    """Choose how often to repeat: ``times(20, 2000)`` is 20, and 2000 under ``--long``."""
    is_long = request.config.getoption("--long")
    return lambda short, long: long if is_long else short


def chromium() -> str | None:
    """Find a Chromium: ``$CHROMIUM``, or the first of its usual names on the path."""
    names = (os.environ.get("CHROMIUM", ""), "chromium", "chromium-browser", "google-chrome")
    return next(filter(None, map(shutil.which, names)), None)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One headless Chromium for the whole session."""
    found = chromium()
    if found is None:
        go_without("no Chromium: install it (Debian: apt-get install chromium) or name it in $CHROMIUM")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=LAUNCH)
        yield browser
        browser.close()


@pytest.fixture
def csp_violations() -> Iterator[list[str]]:
    """Collect what the content security policy refused on any device; nothing may be left at the end."""
    violations: list[str] = []
    yield violations
    assert violations == []


@pytest.fixture
def script_faults() -> Iterator[list[str]]:
    """Collect what scripts threw and nobody caught, on any device; nothing may be left at the end."""
    faults: list[str] = []
    yield faults
    assert faults == []


@pytest.fixture
def device(
    browser: Browser, live_server, csp_violations: list[str], script_faults: list[str]
) -> Iterator[Callable[..., BrowserContext]]:
    """Make devices: ``device(width, height)`` is a touch screen of its own at the live server's address."""
    contexts: list[BrowserContext] = []

    def make(width: int, height: int, **options: object) -> BrowserContext:
        context = browser.new_context(
            base_url=live_server.url,
            viewport={"width": width, "height": height},
            **{
                "has_touch": True,
                "locale": "en-US",
                "timezone_id": "UTC",
                "service_workers": "block",
                **options,
            },
        )
        context.set_default_timeout(10_000)
        context.expose_function("tellViolation", lambda told: csp_violations.append(told))
        context.add_init_script(TELL_VIOLATIONS)
        context.on("weberror", lambda fault: script_faults.append(str(fault.error)))
        contexts.append(context)
        return context

    yield make
    for context in contexts:
        context.close()


@pytest.fixture
def tablet(device: Callable[..., BrowserContext]) -> BrowserContext:
    """The technician's tablet beside the hood."""
    return device(1280, 800)


@pytest.fixture
def phone(device: Callable[..., BrowserContext]) -> BrowserContext:
    """The checker's phone."""
    return device(390, 844, is_mobile=True, device_scale_factor=2)


@pytest.fixture(scope="session")
def shot() -> Callable[..., Path]:
    """Take a picture: ``shot(page, "technician-draw")`` writes ``.data/pictures/technician-draw.png``."""

    def take(page: Page, name: str, **options: object) -> Path:
        PICTURES.mkdir(parents=True, exist_ok=True)
        path = PICTURES / f"{name}.png"
        # Hiding the caret would leave style attributes behind, which our policy refuses when a piece is swapped.  # noqa: E501
        page.screenshot(path=path, caret="initial", **options)
        return path

    return take


@pytest.fixture(scope="session")
def axe() -> Callable[[Page], None]:
    """Let axe-core examine a page; every violation it finds is told."""
    examiner = Axe()

    def examine(page: Page) -> None:
        found = examiner.run(page)
        # axe leaves style attributes behind, which our policy would refuse when a piece is swapped.
        page.evaluate(
            "() => document.querySelectorAll('[style]').forEach((one) => one.removeAttribute('style'))"
        )
        assert found.violations_count == 0, found.generate_report()

    return examine
