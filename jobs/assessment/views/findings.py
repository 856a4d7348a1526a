"""Buttons and forms for findings."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from jobs.assessment import services
from jobs.assessment.forms import FindingForm
from jobs.assessment.models import Finding
from jobs.assessment.views.fetch import ROOM, person, the_assessment
from workshop.web.access import manager_only, staff_only
from workshop.web.errors import Refused


def _the_finding(pk: int) -> Finding:
    return get_object_or_404(Finding.objects.select_related("assessment__instrument__client"), pk=pk)


def _back(finding: Finding) -> HttpResponse:
    return redirect(f"{reverse('assessment-show', args=[finding.assessment_id])}#finding-{finding.pk}")


@require_POST
@manager_only
def keep(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep a finding: it may be quoted and shown to the client."""
    finding = _the_finding(pk)
    services.finding_keep(finding=finding, by=person(request))
    return _back(finding)


@require_POST
@manager_only
def strike(request: HttpRequest, pk: int) -> HttpResponse:
    """Strike a finding out; it stays readable."""
    finding = _the_finding(pk)
    services.finding_strike(finding=finding, by=person(request))
    return _back(finding)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the sentence, severity, certainty, reason or operations of a finding."""
    finding = _the_finding(pk)
    instrument = finding.assessment.instrument
    initial = {
        "sentence": finding.sentence,
        "severity": finding.severity,
        "certainty": finding.certainty,
        "why": finding.why,
        "operations": finding.operations.all(),
    }
    form = FindingForm(request.POST or None, initial=initial, instrument_kind=instrument.kind)
    if request.method == "POST" and form.is_valid():
        try:
            services.finding_change(finding=finding, by=person(request), **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The finding is kept as you changed it.")
            return _back(finding)
    page = {"form": form, "finding": finding, "assessment": finding.assessment, "instrument": instrument, "room": ROOM}
    return render(request, "jobs/assessment/finding_form.html", page, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def add(request: HttpRequest, pk: int) -> HttpResponse:
    """Write a finding by hand: a manager's is kept at once, a technician's waits to be confirmed."""
    assessment = the_assessment(pk)
    instrument = assessment.instrument
    initial = {"severity": "playing", "certainty": "seen"}
    form = FindingForm(request.POST or None, initial=initial, instrument_kind=instrument.kind)
    if request.method == "POST" and form.is_valid():
        try:
            finding = services.finding_add(
                assessment=assessment, by=person(request), at=timezone.now(), **form.cleaned_data
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The finding is written down.")
            return _back(finding)
    page = {"form": form, "assessment": assessment, "instrument": instrument, "room": ROOM}
    return render(request, "jobs/assessment/finding_form.html", page, status=422 if form.errors else 200)
