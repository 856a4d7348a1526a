"""Photographs: taking them in, and handing them out to those who may see them."""

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from jobs.assessment import services
from jobs.assessment.forms import PhotographForm
from jobs.assessment.models import Assessment, Photograph
from jobs.assessment.views.fetch import ROOM, person
from jobs.intake.addresses import record_address
from jobs.intake.models import Instrument
from workshop.web.access import staff_only
from workshop.web.errors import Refused


def picture_response(photograph: Photograph) -> HttpResponseBase:
    """Return the bytes of a photograph whose reader was checked: as a JPEG and nothing else, kept by nobody between."""
    try:
        picture = photograph.image.open("rb")
    except FileNotFoundError as error:
        raise Http404("The file of this photograph is missing.") from error
    response = FileResponse(picture, content_type="image/jpeg", filename=f"photograph-{photograph.pk}.jpg")
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, max-age=3600"
    return response


@require_safe
@staff_only
def show(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Return a photograph to somebody of the house."""
    return picture_response(get_object_or_404(Photograph, pk=pk))


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def add(request: HttpRequest, number: int) -> HttpResponse:
    """Take a photograph in, for an instrument or for one of its assessments."""
    instrument = get_object_or_404(Instrument.objects.select_related("client"), number=number)
    assessment = _assessment(request, instrument)
    form = PhotographForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        try:
            services.photograph_keep(
                instrument=instrument,
                upload=form.cleaned_data["picture"],
                caption=form.cleaned_data["caption"],
                for_client=form.cleaned_data["for_client"],
                assessment=assessment,
                by=person(request),
                at=timezone.now(),
            )
        except Refused as refusal:
            form.add_error("picture", str(refusal))
        else:
            messages.success(request, "The photograph is kept.")
            if assessment is not None:
                return redirect(f"{reverse('assessment-show', args=[assessment.pk])}#photographs")
            return redirect(record_address(instrument))
    back = reverse("assessment-show", args=[assessment.pk]) if assessment else record_address(instrument)
    page = {"form": form, "instrument": instrument, "assessment": assessment, "back": back, "room": ROOM}
    return render(request, "jobs/assessment/photograph_form.html", page, status=422 if form.errors else 200)


def _assessment(request: HttpRequest, instrument: Instrument) -> Assessment | None:
    asked = request.GET.get("assessment", "")
    if not asked.isdecimal() or len(asked) > 12:
        return None
    return instrument.assessments.filter(pk=int(asked)).first()
