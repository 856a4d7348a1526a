"""The compiled scheduler is made once, before the first test that needs a plan: tests with a deadline do not wait."""

import pytest

from jobs.scheduling.calc.solve import warm_up


@pytest.fixture(scope="session", autouse=True)
def _compiled():
    warm_up()
