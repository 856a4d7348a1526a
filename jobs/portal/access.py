"""The guard of the client's pages: a cookie opens one instrument's papers, and nothing else.

The token of a link has 256 random bits: guessing is no way in, so guesses are not counted or slowed.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any, cast

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone

from jobs.portal.models import PortalSession
from jobs.portal.services import session_of

COOKIE = "your_piano"
COOKIE_PATH = "/your-piano/"

View = Callable[..., HttpResponseBase]


class ClientRequest(HttpRequest):
    """A request of a client who came in by a link (for type checking)."""

    portal: PortalSession


def sealed(response: HttpResponseBase) -> HttpResponseBase:
    """Keep an answer out of caches, search engines and the addresses other sites are told."""
    response.headers["Cache-Control"] = "no-store, private"
    # Not "no-referrer": under it a browser posts with "Origin: null", and no form of these pages could be sent.
    response.headers["Referrer-Policy"] = "same-origin"
    response.headers["X-Robots-Tag"] = "noindex, nofollow"
    return response


def gone(request: HttpRequest) -> HttpResponse:
    """Return the page of a link that opens nothing (any more): it says no more than that."""
    return cast(HttpResponse, sealed(render(request, "jobs/portal/gone.html", status=410)))


def client_only(view: View) -> View:
    """Let a client with a good cookie in; everybody else sees the page of a link that is gone."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        session = session_of(cookie=request.COOKIES.get(COOKIE, ""), at=timezone.now())
        if session is None:
            return gone(request)
        request = cast(ClientRequest, request)
        request.portal = session
        return sealed(view(request, *args, **kwargs))

    return guarded
