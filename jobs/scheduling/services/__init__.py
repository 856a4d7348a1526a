"""Changes of the plan and of promises."""

from jobs.scheduling.services.making import plan_make, plans_thin
from jobs.scheduling.services.promises import promise_give

__all__ = ["plan_make", "plans_thin", "promise_give"]
