"""The list of quotes, one quote, sending it, keeping an answer."""

from typing import Any, cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobs import flow
from jobs.intake.models import Instrument
from jobs.operations.queries import catalogue
from jobs.quoting import queries, services
from jobs.quoting.filters import QuoteFilter
from jobs.quoting.forms import AnswerForm, BeginForm, ChargeForm, QuoteForm, QuoteStartForm
from jobs.quoting.models import Quote, TalkWish
from jobs.quoting.pdf import quote_pdf
from jobs.quoting.tables import QuoteTable, quote_look
from workshop.web.access import StaffRequest, manager_only
from workshop.web.errors import Refused
from workshop.web.tables import list_page


def _quote(number: int) -> Quote:
    try:
        return queries.quote_shown(number)
    except Quote.DoesNotExist as error:
        raise Http404 from error


@require_safe
@manager_only
def quote_list(request: HttpRequest) -> HttpResponse:
    """Show all quotes, newest first; with ``?number=`` begin a new one for that instrument."""
    begin = BeginForm(request.GET if request.GET.get("number") else None)
    if begin.is_bound and begin.is_valid():
        number = begin.cleaned_data["number"]
        if Instrument.objects.filter(number=number).exists():
            return redirect("quote-new", number=number)
        begin.add_error("number", f"There is no instrument {number}. Look its number up in the list of instruments.")
    return list_page(
        request,
        QuoteTable,
        queries.quotes_listed(),
        QuoteFilter,
        template="jobs/quoting/quote_list.html",
        begin=begin,
        counts=queries.quote_counts(timezone.localdate()),
    )


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def new(request: StaffRequest, number: int) -> HttpResponse:
    """Ask from which assessment a quote begins, and begin it; one press without the form takes the usual one."""
    instrument = get_object_or_404(Instrument.objects.select_related("client"), number=number)
    usual = queries.assessment_to_quote(instrument)
    asked = request.method == "POST"
    given = request.POST if "assessment" in request.POST else {"assessment": usual.pk if usual else ""}
    form = QuoteStartForm(instrument, given if asked else None, initial={"assessment": usual})
    if asked and form.is_valid():
        try:
            quote = services.quote_start(instrument=instrument, by=request.user, at=timezone.now(), **form.cleaned_data)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            return redirect("quote-show", number=quote.number)
    page = {"instrument": instrument, "form": form, "quotes": queries.quotes_for(instrument), "room": "Quotes"}
    status = 422 if form.errors else 200
    return render(cast(HttpRequest, request), "jobs/quoting/quote_new.html", page, status=status)


@require_safe
@manager_only
def show(request: HttpRequest, number: int) -> HttpResponse:
    """Show one quote: its scopes side by side, what differs, and what can be done next."""
    return quote_page(request, _quote(number))


def quote_page(request: HttpRequest, quote: Quote, status: int = 200, **more: Any) -> HttpResponse:
    """Return the page of a quote, with a form that was refused if there is one.

    ``charge_form`` and ``charge_scope`` (pk) bring back an amount by hand that was refused.
    """
    draft = quote.state == Quote.State.DRAFT
    scopes = list(quote.scopes.all())
    cat = catalogue() if draft else None
    notes = [(scope, queries.scope_notes(scope, cat)) for scope in scopes] if cat else []
    refused, refused_at = more.pop("charge_form", None), more.pop("charge_scope", None)
    context = {
        "quote": quote,
        "draft": draft,
        "words": queries.quote_print(quote).words,
        "sheet": queries.quote_sheet(quote),
        "look": quote_look(quote),
        "notes": [(scope, sentences) for scope, sentences in notes if sentences],
        "charge_forms": [
            (scope, refused if scope.pk == refused_at else ChargeForm(quote, auto_id=f"id_{scope.pk}_%s"))
            for scope in (scopes if draft else [])
        ],
        "refused_at": refused_at,
        "answer_form": AnswerForm(quote),
        "talks": quote.talk_wishes.filter(settled_at=None),
        "by_hand": [(scope, row) for scope in scopes for row in scope.charges.all() if row.by_hand],
        "waiting": queries.quote_waiting(quote) if draft else None,
        "after": queries.quote_after(quote),
        "coming_off": flow.invoices_coming_off(quote) if draft or quote.state == Quote.State.SENT else [],
        "holds": draft or queries.quote_check(quote),
        **more,
    }
    return render(request, "jobs/quoting/quote_show.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def change(request: HttpRequest, number: int) -> HttpResponse:
    """Show and take the letter and rates of a draft."""
    quote = _quote(number)
    if request.method != "POST" and quote.state != Quote.State.DRAFT:
        messages.error(request, f"Quote {number} was sent and stays as it was read. Copy it to change it.")
        return redirect("quote-show", number=number)
    names = ("letter", "vat_mode", "vat_percent", "hourly_rate", "deposit_percent")
    form = QuoteForm(request.POST or None, initial={name: getattr(quote, name) for name in names})
    if request.method == "POST" and form.is_valid():
        try:
            services.quote_change(quote=quote, **form.cleaned_data)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            return redirect("quote-show", number=number)
    context = {"quote": quote, "form": form}
    return render(request, "jobs/quoting/quote_change.html", context, status=422 if form.errors else 200)


@require_POST
@manager_only
def work_out(request: HttpRequest, number: int) -> HttpResponse:
    """Work the figures of a draft out anew, from today's norms and prices."""
    try:
        changed = services.quote_work_out(quote=_quote(number))
    except Refused as error:
        messages.error(request, str(error))
    else:
        messages.success(request, "The figures have changed: look at them." if changed else "Every figure still holds.")
    return redirect("quote-show", number=number)


@require_POST
@manager_only
def send(request: StaffRequest, number: int) -> HttpResponse:
    """Freeze a draft and draft the letter to the client."""
    try:
        flow.quote_sent(_quote(number), by=request.user, at=timezone.now())
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
    else:
        messages.success(
            cast(HttpRequest, request), "The quote is frozen. Its letter waits in Messages for you to read and send."
        )
    return redirect("quote-show", number=number)


@require_POST
@manager_only
def copy(request: StaffRequest, number: int) -> HttpResponse:
    """Begin a new draft like this quote, at today's rates."""
    try:
        new_one = services.quote_copy(quote=_quote(number), by=request.user, at=timezone.now())
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
        return redirect("quote-show", number=number)
    return redirect("quote-show", number=new_one.number)


@require_safe
@manager_only
def pdf(request: HttpRequest, number: int) -> HttpResponse:
    """Return the quote as PDF."""
    response = HttpResponse(quote_pdf(queries.quote_print(_quote(number))), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="quote-{number}.pdf"'
    return response


@require_POST
@manager_only
def answer(request: StaffRequest, number: int) -> HttpResponse:
    """Keep an answer the client gave by letter, by telephone or in person."""
    quote = _quote(number)
    form = AnswerForm(quote, request.POST)
    if not form.is_valid():
        return quote_page(cast(HttpRequest, request), quote, status=422, answer_form=form)
    given = form.cleaned_data["answer"]
    scope = None if given == AnswerForm.DECLINED else quote.scopes.get(pk=int(given))
    try:
        flow.quote_answered(
            quote,
            scope=scope,
            name=form.cleaned_data["name"],
            words=form.cleaned_data["words"],
            at=timezone.now(),
            via=f"{form.cleaned_data['via']}, kept by {request.user}"[:40],
            content_hash=quote.content_hash,
        )
    except Refused as error:
        form.add_error(None, str(error))
        return quote_page(cast(HttpRequest, request), quote, status=422, answer_form=form)
    messages.success(cast(HttpRequest, request), "The answer is kept.")
    return redirect("quote-show", number=number)


@require_POST
@manager_only
def talked(request: StaffRequest, pk: int) -> HttpResponse:
    """Note that somebody talked to the client."""
    wish = get_object_or_404(TalkWish.objects.select_related("quote"), pk=pk)
    services.talk_settle(wish=wish, by=request.user, at=timezone.now())
    return redirect("quote-show", number=wish.quote.number)
