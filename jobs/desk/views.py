"""Today, the list of instruments, and the record of one."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from jobs.desk.filters import InstrumentFilter
from jobs.desk.queries.completion import jobs_at_end
from jobs.desk.queries.house_costs import house_costs
from jobs.desk.queries.record import instruments_listed, record_of
from jobs.desk.queries.today import today_page
from jobs.desk.tables import InstrumentTable
from jobs.intake.models import Instrument
from workshop.web.access import StaffRequest, manager_only, staff_only
from workshop.web.tables import list_page


@require_safe
@staff_only
def today(request: StaffRequest) -> HttpResponse:
    """Show the manager what waits; a technician's day is the bench."""
    if not request.user.is_manager:
        return redirect("bench-mine")
    return render(request, "jobs/desk/today.html", {"page": today_page(timezone.localdate())})


@require_safe
@staff_only
def instruments(request: HttpRequest) -> HttpResponse:
    """Show all instruments, newest number first."""
    rows = instruments_listed()
    return list_page(
        request,
        InstrumentTable,
        rows,
        InstrumentFilter,
        template="jobs/desk/instruments.html",
        number_here=rows.filter(job_state__in=("in_house", "ready")).count(),
    )


@require_safe
@manager_only
def at_the_end(request: HttpRequest) -> HttpResponse:
    """Show where the jobs in hand will likely end, the dearest first, and what the house bore that nobody pays."""
    jobs = jobs_at_end()
    page = {"jobs": jobs, "warned": [one for one in jobs if one.whole.warned], "costs": house_costs()}
    return render(request, "jobs/desk/at_the_end.html", page)


@require_safe
@staff_only
def instrument(request: StaffRequest, number: int) -> HttpResponse:
    """Show the record of one instrument."""
    one = get_object_or_404(Instrument.objects.select_related("client"), number=number)
    record = record_of(one, money=request.user.is_manager)
    links = one.links.filter(revoked_at=None, expires_at__gt=timezone.now()) if request.user.is_manager else ()
    return render(request, "jobs/desk/instrument.html", {"record": record, "instrument": one, "links": links})
