"""Django's entry for the jobs app."""

from threading import Thread
from typing import Any

from django.apps import AppConfig
from django.conf import settings
from django.core.signals import request_started

WARMED_ONCE = "jobs.planner"


class JobsConfig(AppConfig):
    """The steps of a job, one app with one history."""

    name = "jobs"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have the first request of a web process load the planner's scheduler beside it."""
        if settings.PLANNER_WARM:
            request_started.connect(first_request, dispatch_uid=WARMED_ONCE)


def first_request(sender: Any, **_: Any) -> None:
    """Load the scheduler in the background, once a process: nobody who asks for a date waits for its two seconds.

    A web process never compiles: that is the worker's, and this waits until it has.
    """
    if request_started.disconnect(dispatch_uid=WARMED_ONCE):
        from jobs.scheduling.calc.solve import warm_up_when_compiled

        Thread(target=warm_up_when_compiled, daemon=True).start()
