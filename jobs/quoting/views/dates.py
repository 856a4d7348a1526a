"""When a quote's ways would be finished, and what they do to the other jobs of the house."""

import datetime as dt

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_safe

from jobs import flow
from jobs.quoting import queries
from jobs.quoting.dates import answer_days, dates_page
from jobs.quoting.models import Quote
from workshop.web.access import manager_only

FARTHEST = dt.timedelta(days=365)


def _day(text: str, today: dt.date) -> dt.date:
    """Return the day asked for, from today on and within a year; today when it is none."""
    try:
        day = parse_date(text) or today
    except ValueError:
        day = today
    return min(max(day, today), today + FARTHEST)


@require_safe
@manager_only
def dates(request: HttpRequest, number: int) -> HttpResponse:
    """Show the honest date of each way beside all other work, today or on another day, and two weeks later."""
    try:
        quote = queries.quote_shown(number)
    except Quote.DoesNotExist as error:
        raise Http404 from error
    if quote.state not in (Quote.State.DRAFT, Quote.State.SENT):
        messages.info(request, f"Quote {number} waits for no answer any more: there is no date to try out.")
        return redirect("quote-show", number=number)
    today = timezone.localdate()
    answer = _day(request.GET.get("answer", ""), today)
    both = "later" in request.GET
    found = flow.quote_dates(quote, at=timezone.now(), answers=answer_days(answer)[: 1 + both])
    page = dates_page(quote, found, answer=answer, today=today, both=both)
    return render(request, "jobs/quoting/quote_dates.html", {"page": page, "quote": quote, "today": today})
