"""Fetching what a page is about, or saying that there is no such thing."""

from typing import cast

from django.http import Http404, HttpRequest

from jobs.assessment import queries
from jobs.assessment.models import Assessment, Measure
from workshop.people.models import Person
from workshop.web.access import StaffRequest

ROOM = "Instruments"


def person(request: HttpRequest) -> Person:
    """Return who is signed in; the guard of the view has seen to it that somebody is."""
    return cast(StaffRequest, request).user


def the_assessment(pk: int) -> Assessment:
    """Return an assessment with its instrument. Raises Http404."""
    assessment = queries.assessment_record(pk)
    if assessment is None:
        raise Http404("There is no such assessment.")
    return assessment


def the_measure(assessment: Assessment, code: str) -> Measure:
    """Return a measure of this kind of instrument. Raises Http404."""
    measure = queries.measure_for(assessment.instrument, code)
    if measure is None or not measure.spot_kinds:
        raise Http404("There is no such measure for this kind of instrument.")
    return measure
