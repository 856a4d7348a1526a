"""Fixtures of the whole suite: a browser, a real SMTP sink, and people who are signed in."""

import os
import shutil
from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client
from hypothesis import HealthCheck, settings

from tests.factories import make_manager, make_technician
from tests.sink import Sink

# Playwright keeps an event loop in this thread; Django would take that for an asynchronous view.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

# A busy machine is no defect of the code. Runs of .ci/run try the same examples each time, those by hand new ones.
settings.register_profile(
    "here", deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize="CI" in os.environ
)
settings.load_profile("here")

CHROMIUM_ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def find_chromium() -> str | None:
    """Return the Chromium of this machine: CHROMIUM in the environment, or the first one on the path."""
    named = os.environ.get("CHROMIUM")
    if named:
        return named
    return next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """One Chromium for all browser tests of this process."""
    path = find_chromium()
    if path is None:
        pytest.skip("No Chromium here. Debian, Ubuntu: apt-get install chromium. Elsewhere: set CHROMIUM to its path.")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=CHROMIUM_ARGS)
        yield started
        started.close()


@pytest.fixture
def browser(chromium: Any, live_server: Any) -> Iterator[Any]:
    """A fresh browser context (no cookies) whose relative addresses lead to the live server."""
    context = chromium.new_context(base_url=live_server.url, locale="en-GB", timezone_id="Europe/London")
    context.set_default_timeout(10_000)
    yield context
    context.close()


@pytest.fixture
def sink() -> Iterator[Sink]:
    """A real SMTP server on a free port that keeps what it is given."""
    with Sink() as running:
        yield running


@pytest.fixture
def manager(db: None) -> Any:
    return make_manager()


@pytest.fixture
def technician(db: None) -> Any:
    return make_technician()


@pytest.fixture
def as_manager(manager: Any) -> Client:
    """A test client signed in as the manager."""
    client = Client()
    client.force_login(manager, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def as_technician(technician: Any) -> Client:
    """A test client signed in as a technician."""
    client = Client()
    client.force_login(technician, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def stranger() -> Client:
    """A test client of nobody."""
    return Client()
