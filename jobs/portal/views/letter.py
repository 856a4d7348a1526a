"""Coming in by a link; the letter; where the work stands."""

from typing import cast

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from jobs.billing.queries import asked_before
from jobs.portal.access import COOKIE, COOKIE_PATH, ClientRequest, client_only, gone, sealed
from jobs.portal.forms import ChooseForm
from jobs.portal.queries import following_of, letter_of, open_for, papers_of
from jobs.portal.services import SESSION_DAYS, link_good, link_open


@require_http_methods(["GET", "HEAD", "POST"])
def enter(request: HttpRequest, token: str) -> HttpResponseBase:
    """Swap the key in a letter's address for a cookie and a clean address.

    Opening it shows one button: programs that look at links in mail beforehand press none.
    """
    if request.method != "POST":
        if not link_good(token=token, at=timezone.now()):
            return gone(request)
        return sealed(render(request, "jobs/portal/enter.html"))
    cookie = link_open(token=token, at=timezone.now())
    if cookie is None:
        return gone(request)
    response = redirect("portal-home")
    response.set_cookie(
        COOKIE,
        cookie,
        max_age=SESSION_DAYS * 24 * 60 * 60,
        path=COOKIE_PATH,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )
    return sealed(response)


@require_safe
def gone_page(request: HttpRequest) -> HttpResponse:
    """Show the page of a link that opens nothing any more."""
    return gone(request)


@require_safe
@client_only
def home(request: ClientRequest) -> HttpResponse:
    """Show the letter: what was found, the ways to go on, and the decision."""
    letter = letter_of(request.portal.link.instrument)
    form = ChooseForm(letter.quote) if letter.quote and letter.open_for_answer else None
    return render(
        cast(HttpRequest, request),
        "jobs/portal/home.html",
        {
            "letter": letter,
            "client": request.portal.link.client,
            "form": form,
            "following": following_of(letter.instrument),
            "asked_before": asked_before(letter.quote) if letter.quote and letter.open_for_answer else [],
            "to_pay": open_for(letter.instrument),
            "papers": papers_of(letter.instrument),
            "link": request.portal.link,
        },
    )


@require_safe
@client_only
def follow(request: ClientRequest) -> HttpResponse:
    """Show where the work stands: stages, date, questions, messages, what is to be paid."""
    instrument = request.portal.link.instrument
    return render(
        cast(HttpRequest, request),
        "jobs/portal/follow.html",
        {
            "following": following_of(instrument),
            "instrument": instrument,
            "client": request.portal.link.client,
            "papers": papers_of(instrument),
        },
    )
