"""Who may see a page: guards for views.

Roles: a manager may do everything; a technician sees instruments, the plan, the bench and parts and logs
time and readings. Clients come by private link only (jobs/portal) and never pass these guards.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any, cast

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase

from workshop.people.models import Person

View = Callable[..., HttpResponseBase]


class StaffRequest(HttpRequest):
    """A request of somebody who signed in (for type checking)."""

    user: Person


def staff_only(view: View) -> View:
    """Let any signed-in person of the house in; others go to the sign-in page."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        return view(request, *args, **kwargs)

    return cast(View, login_required(guarded))


def manager_only(view: View) -> View:
    """Let managers in; a technician is told so in a friendly page (403)."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if not cast(Person, request.user).is_manager:
            raise PermissionDenied("This page is for the manager. Ask them if you need something from it.")
        return view(request, *args, **kwargs)

    return cast(View, login_required(guarded))
