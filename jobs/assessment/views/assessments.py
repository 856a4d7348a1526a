"""Starting, showing and finishing an assessment."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobs import flow
from jobs.assessment import pdf, queries, services
from jobs.assessment.forms import PhotographForm, RemarkForm, StartForm
from jobs.assessment.models import Assessment
from jobs.assessment.views.fetch import ROOM, person, the_assessment
from jobs.intake.addresses import record_address
from jobs.intake.models import Instrument
from workshop.house.queries import the_shop
from workshop.web.access import manager_only, staff_only
from workshop.web.errors import Refused


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def start(request: HttpRequest, number: int) -> HttpResponse:
    """Begin an assessment: purpose, place, state and air, and whether readings can be trusted in it."""
    instrument = get_object_or_404(Instrument.objects.select_related("client"), number=number)
    before = list(queries.assessments_of(instrument))
    form = StartForm(request.POST or None, initial=_first_values(before))
    valid = request.method == "POST" and form.is_valid()
    if valid and "look" not in request.POST:
        try:
            begun = services.assessment_start(instrument=instrument, by=person(request), **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("assessment-show", begun.pk)
    page = {
        "form": form,
        "instrument": instrument,
        "record": record_address(instrument),
        "before": before,
        "climate": _climate(form, instrument) if valid else None,
        "room": ROOM,
    }
    return render(request, "jobs/assessment/assessment_start.html", page, status=422 if form.errors else 200)


def _first_values(before: list[Assessment]) -> dict[str, object]:
    today = timezone.localdate()
    same_day = next((each for each in before if each.on == today), None)
    return {
        "purpose": "review" if before else "first",
        "on": today,
        "where": same_day.where if same_day else "bench",
        "state_words": same_day.state_words if same_day else "",
        "temperature_c": same_day.temperature_c if same_day else None,
        "humidity_percent": same_day.humidity_percent if same_day else None,
    }


def _climate(form: StartForm, instrument: Instrument) -> queries.ClimateWords:
    data = form.cleaned_data
    return queries.climate_words(data["temperature_c"], data["humidity_percent"], queries.earlier_humidity(instrument))


@require_safe
@staff_only
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what was read, what was found, and what to read next."""
    assessment = the_assessment(pk)
    page = queries.assessment_page(assessment)
    context = {
        "page": page,
        "assessment": assessment,
        "instrument": assessment.instrument,
        "record": record_address(assessment.instrument),
        "climate": queries.climate_words(
            assessment.temperature_c,
            assessment.humidity_percent,
            queries.earlier_humidity(assessment.instrument),
        ),
        "remark_form": RemarkForm(),
        "photograph_form": PhotographForm(),
        "money": flow.assessment_money(assessment, timezone.localdate()) if person(request).is_manager else None,
        "room": ROOM,
    }
    return render(request, "jobs/assessment/assessment_show.html", context)


@require_POST
@staff_only
def finish(request: HttpRequest, pk: int) -> HttpResponse:
    """Work out the findings and close the assessment."""
    assessment = the_assessment(pk)
    try:
        flow.assessment_finished(assessment, by=person(request), at=timezone.now())
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "The assessment is finished. Its findings wait to be kept or struck out.")
    return redirect("assessment-show", pk)


@require_POST
@manager_only
def reopen(request: HttpRequest, pk: int) -> HttpResponse:
    """Open a finished assessment again."""
    try:
        services.assessment_reopen(assessment=the_assessment(pk), by=person(request))
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "The assessment is open again. Finishing it works the findings out anew.")
    return redirect("assessment-show", pk)


@require_POST
@staff_only
def remark_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep a remark; one that cannot be kept comes back in its field."""
    assessment = the_assessment(pk)
    form = RemarkForm(request.POST)
    if form.is_valid():
        try:
            services.remark_keep(assessment=assessment, by=person(request), at=timezone.now(), **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect(f"{reverse('assessment-show', args=[pk])}#remarks")
    page = {"form": form, "assessment": assessment, "instrument": assessment.instrument, "room": ROOM}
    return render(request, "jobs/assessment/remark_form.html", page, status=422 if form.errors else 200)


@require_safe
@staff_only
def paper(request: HttpRequest, pk: int) -> HttpResponse:
    """Return the assessment on paper."""
    page = queries.assessment_page(the_assessment(pk))
    return HttpResponse(pdf.draw(page, the_shop()), content_type="application/pdf")
