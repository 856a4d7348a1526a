"""Pages and buttons: clients, instruments, enquiries."""

from typing import cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from jobs import flow
from jobs.intake import queries, services
from jobs.intake.addresses import record_address
from jobs.intake.filters import ClientFilter, EnquiryFilter
from jobs.intake.forms import ClientForm, DeclineForm, EnquiryForm, InstrumentFields, InstrumentForm
from jobs.intake.models import Client, Enquiry, Instrument
from jobs.intake.tables import ClientTable, EnquiryTable
from workshop.web.access import StaffRequest, manager_only
from workshop.web.errors import Refused
from workshop.web.tables import list_page

ROOM = "Instruments"


@require_safe
@manager_only
def client_list(request: HttpRequest) -> HttpResponse:
    """Show all clients, or those a search finds."""
    return list_page(
        request, ClientTable, queries.clients_all(), ClientFilter, template="jobs/intake/client_list.html", room=ROOM
    )


@require_safe
@manager_only
def client_show(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a client with instruments and enquiries."""
    client = queries.client_record(pk)
    if client is None:
        raise Http404("There is no such client.")
    rows = [(each, record_address(each)) for each in client.instruments.all()]
    return render(request, "jobs/intake/client_show.html", {"client": client, "rows": rows, "room": ROOM})


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def client_new(request: HttpRequest) -> HttpResponse:
    """Write a new client down."""
    return _client_page(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def client_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what is known of a client."""
    return _client_page(request, get_object_or_404(Client, pk=pk))


def _client_page(request: HttpRequest, client: Client | None) -> HttpResponse:
    initial = {name: getattr(client, name) for name in ClientForm.base_fields} if client else None
    form = ClientForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            kept = services.client_write(by=cast(StaffRequest, request).user, client=client, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{kept.name} is kept.")
            return redirect("client-show", kept.pk)
    return render(
        request,
        "jobs/intake/client_form.html",
        {"form": form, "client": client, "room": ROOM},
        status=422 if form.errors else 200,
    )


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def instrument_new(request: HttpRequest) -> HttpResponse:
    """Write a new instrument down."""
    chosen = request.GET.get("client", "")
    form = InstrumentForm(request.POST or None, initial={"client": chosen} if chosen.isdecimal() else None)
    if request.method == "POST" and form.is_valid():
        try:
            kept = services.instrument_write(by=cast(StaffRequest, request).user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"No. {kept.number}, {kept.words}, is kept.")
            return redirect(record_address(kept))
    return render(
        request, "jobs/intake/instrument_form.html", {"form": form, "room": ROOM}, status=422 if form.errors else 200
    )


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def instrument_change(request: HttpRequest, number: int) -> HttpResponse:
    """Change what is known of an instrument."""
    instrument = get_object_or_404(Instrument.objects.select_related("client"), number=number)
    initial = {name: getattr(instrument, name) for name in InstrumentForm.base_fields}
    form = InstrumentForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            kept = flow.instrument_changed(instrument, by=cast(StaffRequest, request).user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            instrument.refresh_from_db()
        else:
            messages.success(request, f"No. {kept.number}, {kept.words}, is kept.")
            return redirect(record_address(kept))
    page = {"form": form, "instrument": instrument, "back": record_address(instrument), "room": ROOM}
    return render(request, "jobs/intake/instrument_form.html", page, status=422 if form.errors else 200)


@require_safe
@manager_only
def enquiry_list(request: HttpRequest) -> HttpResponse:
    """Show enquiries, newest first."""
    return list_page(
        request,
        EnquiryTable,
        queries.enquiries_all(),
        EnquiryFilter,
        template="jobs/intake/enquiry_list.html",
        open=queries.enquiries_open(),
        room=ROOM,
    )


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def enquiry_new(request: HttpRequest) -> HttpResponse:
    """Write an enquiry down, with a client and an instrument that are known or new."""
    data = request.POST if request.method == "POST" else None
    form = EnquiryForm(data, initial={"received_on": timezone.localdate(), "client": request.GET.get("client")})
    known_client, known_instrument = request.POST.get("client"), request.POST.get("instrument")
    client_form = ClientForm(None if known_client or known_instrument else data, prefix="client")
    instrument_form = InstrumentFields(None if known_instrument else data, prefix="instrument")
    forms = [each for each in (form, client_form, instrument_form) if each.is_bound]
    if request.method == "POST" and all([each.is_valid() for each in forms]):
        kept = _enquiry_keep(request, form, client_form, instrument_form)
        if kept is not None:
            messages.success(request, f"The enquiry is kept; the instrument is no. {kept.instrument.number}.")
            return redirect(record_address(kept.instrument))
    page = {"form": form, "client_form": client_form, "instrument_form": instrument_form, "room": ROOM}
    return render(
        request, "jobs/intake/enquiry_new.html", page, status=422 if any(each.errors for each in forms) else 200
    )


def _enquiry_keep(
    request: HttpRequest, form: EnquiryForm, client_form: ClientForm, instrument_form: InstrumentFields
) -> Enquiry | None:
    try:
        return services.enquiry_receive_all(
            by=cast(StaffRequest, request).user,
            client_fields=client_form.cleaned_data if client_form.is_bound else None,
            instrument_fields=instrument_form.cleaned_data if instrument_form.is_bound else None,
            **form.cleaned_data,
        )
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return None


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def enquiry_decline(request: HttpRequest, pk: int) -> HttpResponse:
    """Decline an enquiry, with the words said to the owner."""
    enquiry = get_object_or_404(Enquiry.objects.select_related("instrument__client"), pk=pk)
    form = DeclineForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            services.enquiry_decline(
                enquiry=enquiry, words=form.cleaned_data["words"], by=cast(StaffRequest, request).user
            )
        except Refused as refusal:
            messages.error(request, str(refusal))
        else:
            messages.success(request, f"The enquiry about no. {enquiry.instrument.number} is declined.")
        return redirect("enquiry-list")
    return render(
        request,
        "jobs/intake/enquiry_decline.html",
        {"form": form, "enquiry": enquiry, "room": ROOM},
        status=422 if form.errors else 200,
    )
