"""The demo shop as a world for tests: built once for a module, rolled back after it."""

from collections.abc import Iterator
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.db import transaction
from django.utils import timezone

from jobs.demo.build import demo_build


@pytest.fixture(scope="module")
def shop(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """Fourteen instruments at every stage and two years of finished jobs, inside one transaction."""
    with django_db_blocker.unblock(), transaction.atomic():
        call_command("load_reference", stdout=StringIO())
        demo_build(at=timezone.now(), say=lambda _: None)
        yield
        transaction.set_rollback(True)
