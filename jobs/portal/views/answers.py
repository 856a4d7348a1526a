"""Choosing a way, agreeing to it, answering a variation."""

from typing import cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from jobs import flow
from jobs.billing.queries import coming_off
from jobs.portal.access import ClientRequest, client_only
from jobs.portal.forms import DECLINE, TALK, ChooseForm, NameForm
from jobs.portal.queries import letter_of, variations_of
from jobs.quoting.models import Scope
from jobs.worklist.models import Variation
from workshop.web.errors import Refused

VIA = "private link"


@require_POST
@client_only
def choose(request: ClientRequest) -> HttpResponseBase:
    """Take a choice to the summary page; a wish to talk is noted for the workshop at once."""
    letter = letter_of(request.portal.link.instrument)
    if letter.quote is None or not letter.open_for_answer:
        messages.error(cast(HttpRequest, request), "This quote is no longer open for an answer. Please telephone us.")
        return redirect("portal-home")
    form = ChooseForm(letter.quote, request.POST)
    if not form.is_valid():
        page = {"letter": letter, "client": request.portal.link.client, "form": form, "link": request.portal.link}
        return render(cast(HttpRequest, request), "jobs/portal/home.html", page, status=422)
    words = form.cleaned_data["words"]
    if form.cleaned_data["way"] == TALK:
        flow.client_wants_to_talk(letter.quote, words=words, at=timezone.now())
        messages.success(cast(HttpRequest, request), "Thank you. We will telephone you; nothing has been agreed.")
        return redirect("portal-home")
    request.session["words"] = words
    return redirect("portal-agree", way=form.cleaned_data["way"])


@require_http_methods(["GET", "HEAD", "POST"])
@client_only
def agree(request: ClientRequest, way: str) -> HttpResponseBase:
    """Show the summary of one way, and take the answer by typed name."""
    letter = letter_of(request.portal.link.instrument)
    quote = letter.quote
    if quote is None:
        raise Http404
    scope: Scope | None = None
    if way != DECLINE:
        scope = next((one for one in quote.scopes.all() if str(one.pk) == way), None)
        if scope is None:
            raise Http404
    if request.method != "POST":
        form = NameForm(initial={"content_hash": quote.content_hash})
        return _summary(request, quote_page={"letter": letter, "scope": scope, "form": form, "way": way})
    form = NameForm(request.POST)
    if not form.is_valid():
        return _summary(request, {"letter": letter, "scope": scope, "form": form, "way": way}, status=422)
    try:
        flow.quote_answered(
            quote,
            scope=scope,
            name=form.cleaned_data["name"],
            words=request.session.pop("words", ""),
            at=timezone.now(),
            via=VIA,
            content_hash=form.cleaned_data["content_hash"],
        )
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
        return redirect("portal-home")
    thanks = "Thank you. Your answer is with us, and in writing." if scope else "Thank you for telling us."
    messages.success(cast(HttpRequest, request), thanks)
    return redirect("portal-follow" if scope else "portal-home")


def _summary(request: ClientRequest, quote_page: dict[str, object], status: int = 200) -> HttpResponse:
    scope = quote_page["scope"]
    come_off = coming_off(scope) if isinstance(scope, Scope) else []
    page = {**quote_page, "client": request.portal.link.client, "come_off": come_off}
    return render(cast(HttpRequest, request), "jobs/portal/agree.html", page, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@client_only
def variation(request: ClientRequest, pk: int) -> HttpResponseBase:
    """Show a variation, and take the answer by typed name."""
    one = get_object_or_404(variations_of(request.portal.link.instrument), pk=pk)
    form = NameForm(initial={"content_hash": one.content_hash})
    status = 200
    if request.method == "POST":
        form = NameForm(request.POST)
        if request.POST.get("answer") not in ("agree", "decline"):
            form.add_error(None, "Press “I agree” or the other button, so that we know which you mean.")
        if form.is_valid():
            return _answer(request, one, form)
        status = 422
    page = {
        "variation": one,
        "rows": one.operations.select_related("operation"),
        "form": form,
        "client": request.portal.link.client,
        "instrument": request.portal.link.instrument,
    }
    return render(cast(HttpRequest, request), "jobs/portal/variation.html", page, status=status)


def _answer(request: ClientRequest, one: Variation, form: NameForm) -> HttpResponseBase:
    yes = request.POST.get("answer") == "agree"
    try:
        flow.variation_answered(
            one,
            agree=yes,
            name=form.cleaned_data["name"],
            at=timezone.now(),
            content_hash=form.cleaned_data["content_hash"],
        )
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
        return redirect("portal-variation", pk=one.pk)
    messages.success(cast(HttpRequest, request), "Thank you. We go on as you decided.")
    return redirect("portal-follow")
