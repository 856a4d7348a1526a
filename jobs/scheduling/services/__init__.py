"""Changes of the plan and of promises.

``making`` works out and keeps plans, ``offering`` renews one around what people were told, ``answering`` is the
manager's answer to what is offered, ``outlooks`` tries its dates again, ``promises`` gives dates.
"""

from jobs.scheduling.services.answering import offer_troubles, offers_dismiss, plan_accept
from jobs.scheduling.services.making import plan_make, plans_thin
from jobs.scheduling.services.offering import Outcome, Overtaken, plan_renew
from jobs.scheduling.services.outlooks import outlook_complete
from jobs.scheduling.services.promises import promise_give

__all__ = [
    "Outcome",
    "Overtaken",
    "offer_troubles",
    "offers_dismiss",
    "outlook_complete",
    "plan_accept",
    "plan_make",
    "plan_renew",
    "plans_thin",
    "promise_give",
]
