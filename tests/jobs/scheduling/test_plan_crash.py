"""A worker that dies in the middle of a search leaves the plan in force, and its wish is taken up again."""

import datetime as dt
import os
import signal
import sys

import pytest
from django.utils import timezone

from jobs import tasks
from jobs.scheduling.models import Plan, PlanWish, Stint
from jobs.scheduling.services import plan_make
from jobs.scheduling.wishes import GIVEN_UP_AFTER
from tests.factories import make_job, make_person
from tests.jobs.scheduling.stored import make_shop, make_work
from tests.processes import environment, running, wait_for

WORKER = "import django, sys; django.setup(); from jobs.tasks import plan_make; plan_make(int(sys.argv[1]))"


@pytest.mark.django_db(transaction=True)
def test_a_killed_worker_leaves_the_old_plan_and_its_wish_to_be_taken_up_again(tmp_path):
    make_shop()
    make_person("Corin", skills=("action",))
    for _ in range(3):
        make_work(make_job(), 6)
    old = plan_make(by=None, at=timezone.now(), why="told")
    stints = set(Stint.objects.values_list("pk", flat=True))
    wish = PlanWish.objects.create(asked_at=timezone.now() - 2 * tasks.LATE, why="a part came")
    env, log = environment(tmp_path, PLAN_SECONDS="600"), tmp_path / "worker.log"
    with running([sys.executable, "-c", WORKER, str(wish.pk)], env, log) as worker:
        wait_for(lambda: PlanWish.objects.exclude(first_plan_seconds=None).exists(), 60, log)
        os.killpg(worker.pid, signal.SIGKILL)
    assert (Plan.objects.get(), set(Stint.objects.values_list("pk", flat=True))) == (old, stints)
    wish.refresh_from_db()
    assert (wish.begun_at is None, wish.done_at) == (False, None)
    tasks.plan_tick()
    assert Plan.objects.count() == 1, "it may still be alive"
    PlanWish.objects.update(begun_at=wish.begun_at - GIVEN_UP_AFTER - dt.timedelta(seconds=1))
    tasks.plan_tick()
    wish.refresh_from_db()
    assert wish.plan == Plan.objects.get(is_current=True) != old
