"""Dates of the plan in force, tried again once the planner is compiled."""

import datetime as dt
from collections.abc import Mapping

from jobs.scheduling.calc.solve import is_warm
from jobs.scheduling.outlook import outlook_add
from jobs.scheduling.queries import current_plan
from jobs.scheduling.services.making import house_read
from workshop.web.errors import Refused

FRESH = dt.timedelta(days=1)  # an older plan is about to be replaced, and its house is another one by now


def outlook_complete(
    *, at: dt.datetime, logged: Mapping[int, int] | None = None, working: Mapping[int, int] | None = None
) -> bool:
    """Say of the plan in force what decides its dates and what would help, where that was not followed up.

    A plan made while nothing was compiled yet has dates from a few futures only. Returns whether it was done: not
    for a plan that has all of it, nor where work has come since that the plan does not hold.
    """
    plan = current_plan()
    if plan is None or plan.made_at < at - FRESH or not is_warm():
        return False
    if not plan.ends.exists() or plan.ends.exclude(shares=[]).exists():
        return False
    try:
        read = house_read(at=plan.made_at, logged=logged, working=working)
    except Refused:
        return False
    outlook_add(plan, read.house, read.problem, may_compile=True)
    return plan.ends.exclude(shares=[]).exists()
