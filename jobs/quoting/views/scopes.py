"""The scopes of a draft: added, edited, taken out; amounts typed by hand."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from jobs.operations.queries import catalogue
from jobs.quoting import queries, services
from jobs.quoting.choices import choices_of, choices_posted
from jobs.quoting.editor import editor_stages, stages_of_codes
from jobs.quoting.forms import ChargeForm, ScopeWordsForm, charge_typed
from jobs.quoting.models import Quote, Scope, ScopeCharge
from jobs.quoting.views.quotes import quote_page
from workshop.web.access import manager_only
from workshop.web.errors import Refused


def _scope(pk: int) -> Scope:
    try:
        return queries.scope_shown(pk)
    except Scope.DoesNotExist as error:
        raise Http404 from error


@require_POST
@manager_only
def add(request: HttpRequest, number: int) -> HttpResponse:
    """Add a way to a draft, like another one if asked, and open it."""
    quote = get_object_or_404(Quote, number=number)
    wanted = request.POST.get("like", "")
    like = quote.scopes.filter(pk=int(wanted)).first() if wanted.isdecimal() else None
    try:
        scope = services.scope_add(quote=quote, copy_of=like)
    except Refused as error:
        messages.error(request, str(error))
        return redirect("quote-show", number=number)
    return redirect("scope-change", pk=scope.pk)


@require_POST
@manager_only
def remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a way out of a draft."""
    scope = _scope(pk)
    try:
        services.scope_remove(scope=scope)
    except Refused as error:
        messages.error(request, str(error))
    return redirect("quote-show", number=scope.quote.number)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """Show and take what a way holds; what was typed stays when it is refused."""
    scope = _scope(pk)
    if scope.quote.state != Quote.State.DRAFT:
        messages.error(request, f"Quote {scope.quote.number} was sent and stays as it was read. Copy it to change it.")
        return redirect("quote-show", number=scope.quote.number)
    cat, seen = catalogue(), request.POST.get("seen") or queries.scope_seen(scope)
    start = {"title": scope.title, "notice": scope.notice, "stays_open": scope.stays_open}
    form = ScopeWordsForm(request.POST or None, initial=start)
    choices = (
        choices_posted(request.POST, cat.operations) if request.method == "POST" else choices_of(scope.operations.all())
    )
    if request.method == "POST" and form.is_valid():
        for code, sentence in choices.errors.items():
            form.add_error(None, f"{cat.title(code)}: {sentence}")
        if not choices.errors:
            try:
                services.scope_write(
                    scope=scope,
                    chosen=choices.chosen,
                    refused=choices.refused,
                    seen=seen,
                    **form.cleaned_data,
                )
            except services.ChangedMeanwhile as error:
                form.add_error(None, str(error))
                seen = queries.scope_seen(scope)  # told once; kept again, it replaces what the other wrote
            except Refused as error:
                form.add_error(None, str(error))
            else:
                if "stay" in request.POST:
                    messages.success(request, "Kept. What it makes necessary is marked below.")
                    return redirect("scope-change", pk=pk)
                return redirect("quote-show", number=scope.quote.number)
    stages = editor_stages(scope, cat, choices, stages_of_codes())
    context = {
        "scope": scope,
        "quote": scope.quote,
        "form": form,
        "seen": seen,
        "stages": stages,
        "inside": sum(stage.inside for stage in stages),
        "needed": sum(stage.needed for stage in stages),
        "notes": queries.scope_notes(scope, cat),
    }
    return render(request, "jobs/quoting/scope_change.html", context, status=422 if form.errors else 200)


@require_POST
@manager_only
def charge_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add an amount typed by hand to a way."""
    scope = _scope(pk)
    quote = queries.quote_shown(scope.quote.number)
    form = ChargeForm(quote, request.POST, auto_id=f"id_{pk}_%s")
    if form.is_valid():
        try:
            services.charge_write(scope=scope, **form.cleaned_data)
        except Refused as error:
            if quote.state != Quote.State.DRAFT:
                messages.error(request, str(error))
                return redirect("quote-show", number=quote.number)
            form.add_error(None, str(error))
        else:
            return redirect("quote-show", number=quote.number)
    return quote_page(request, quote, status=422, charge_form=form, charge_scope=pk)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def charge_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Show and take an amount typed by hand; what was typed stays when it is refused."""
    charge = get_object_or_404(ScopeCharge.objects.select_related("scope__quote__instrument__client"), pk=pk)
    scope, quote = charge.scope, charge.scope.quote
    if quote.state != Quote.State.DRAFT:
        messages.error(request, f"Quote {quote.number} was sent and stays as it was read. Copy it to change it.")
        return redirect("quote-show", number=quote.number)
    if not charge.by_hand:
        messages.error(request, "This amount follows from the work: change the work or its norm, and it changes.")
        return redirect("quote-show", number=quote.number)
    form = ChargeForm(quote, request.POST if request.method == "POST" else None, initial=charge_typed(charge, quote))
    if request.method == "POST" and form.is_valid():
        try:
            services.charge_write(scope=scope, charge=charge, **form.cleaned_data)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            return redirect("quote-show", number=quote.number)
    page = {"charge": charge, "scope": scope, "quote": quote, "form": form}
    return render(request, "jobs/quoting/charge_change.html", page, status=422 if form.errors else 200)


@require_POST
@manager_only
def charge_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Take an amount typed by hand out again."""
    charge = get_object_or_404(ScopeCharge.objects.select_related("scope__quote"), pk=pk)
    try:
        services.charge_drop(charge=charge)
    except Refused as error:
        messages.error(request, str(error))
    return redirect("quote-show", number=charge.scope.quote.number)
