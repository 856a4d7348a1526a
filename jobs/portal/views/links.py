"""Making a private link and taking it back."""

from typing import cast

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from jobs.intake.models import Instrument
from jobs.portal.models import ClientLink
from jobs.portal.services import link_make, link_revoke
from workshop.web.access import StaffRequest, manager_only


@require_POST
@manager_only
def make(request: StaffRequest, number: int) -> HttpResponse:
    """Make a link for the owner of an instrument and show it, this once."""
    instrument = get_object_or_404(Instrument.objects.select_related("client"), number=number)
    token = link_make(client=instrument.client, instrument=instrument, at=timezone.now())
    page = {
        "instrument": instrument,
        "url": settings.SITE_URL + reverse("portal-enter", args=[token]),
        "links": instrument.links.filter(revoked_at=None),
    }
    return render(cast(HttpRequest, request), "jobs/portal/link_made.html", page)


@require_POST
@manager_only
def revoke(request: StaffRequest, pk: int) -> HttpResponse:
    """Take a link back; whoever came in by it is out at once."""
    link = get_object_or_404(ClientLink.objects.select_related("instrument"), pk=pk)
    link_revoke(link=link, at=timezone.now())
    return redirect("desk-instrument", number=link.instrument.number)
