"""The catalogue read once for a run over many jobs: only inside its block, and never older than a change."""

import threading
from decimal import Decimal as D

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobs.operations import queries
from jobs.operations.norms import norm_change
from jobs.operations.queries import catalogue, catalogue_held, operations_by_code
from tests.factories import TODAY, make_manager, make_operation

pytestmark = pytest.mark.django_db


def questions(times):
    with CaptureQueriesContext(connection) as asked:
        for _ in range(times):
            found = catalogue(), operations_by_code(["ky-bush"])
    return len(asked), found


def changed(likely):
    norm_change(
        operation=make_operation("ky-bush"),
        hours_low=D(7),
        hours_likely=D(likely),
        hours_high=D(16),
        by=make_manager(),
        reason="three jobs in a row",
        on=TODAY,
    )


def test_inside_its_block_it_is_read_once_and_outside_each_time():
    make_operation("ky-bush"), make_operation("ky-ease")
    once, outside = questions(1)
    assert questions(3)[0] == 3 * once
    with catalogue_held():
        few, inside = questions(3)
        assert few == once
        assert inside == outside
        assert set(inside[1]) == {"ky-bush"}
    assert questions(2)[0] == 2 * once


def test_a_norm_changed_inside_or_after_the_block_is_seen():
    make_operation("ky-bush")
    with catalogue_held():
        assert catalogue().operations["ky-bush"].hours_likely == 11
        changed(12)
        assert catalogue().operations["ky-bush"].hours_likely == 12
        assert operations_by_code(["ky-bush"])["ky-bush"].hours_likely == 12
        make_operation("ky-ease")
        assert "ky-ease" not in catalogue().operations
    assert "ky-ease" in catalogue().operations


def test_another_thread_does_not_see_it_and_a_block_that_fails_leaves_nothing_behind():
    make_operation("ky-bush")
    seen = []

    def fail():
        with catalogue_held():
            catalogue()
            thread = threading.Thread(target=lambda: seen.append(queries._held.get()))
            thread.start()
            thread.join()
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    assert seen == [None]
    make_operation("ky-ease")
    assert "ky-ease" in catalogue().operations
