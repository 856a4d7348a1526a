"""Pages and buttons: the list of orders, one order, its draft. Sending and arriving belong to the jobs that wait."""

from typing import cast

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from parts.orders import queries, services
from parts.orders.feed import arrivals_calendar
from parts.orders.filters import OrderFilter
from parts.orders.forms import CallOffForm, DraftForm, LineChangeForm, LineForm, NoteForm, ReceiptForm
from parts.orders.models import OrderLine, PurchaseOrder
from parts.orders.pdf import order_pdf
from parts.orders.tables import OrderTable, OrderTableForBench, order_look
from workshop.house.queries import the_shop
from workshop.web.access import StaffRequest, manager_only, staff_only
from workshop.web.errors import Refused
from workshop.web.tables import list_page

ROOM = "Parts"


@require_safe
@staff_only
def order_list(request: HttpRequest) -> HttpResponse:
    """Show all orders, newest first."""
    today = timezone.localdate()
    rows = queries.orders_for_list(today)
    manager = cast(StaffRequest, request).user.is_manager
    return list_page(
        request,
        OrderTable if manager else OrderTableForBench,
        rows,
        OrderFilter,
        template="parts/orders/order_list.html",
        number_late=queries.number_late(today),
        number_drafts=rows.filter(state=PurchaseOrder.State.DRAFT).count(),
        room=ROOM,
    )


@require_safe
@staff_only
def arrivals_ics(request: HttpRequest) -> HttpResponse:
    """Return what is still to come as a calendar file."""
    feed = arrivals_calendar(queries.arrivals_expected(), domain=settings.MAIL_DOMAIN, at=timezone.now())
    response = HttpResponse(feed, content_type="text/calendar; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="parts-expected.ics"'
    return response


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def order_new(request: HttpRequest) -> HttpResponse:
    """Begin an order by hand."""
    form = DraftForm(request.POST or None, initial={"supplier": request.GET.get("supplier")})
    if request.method == "POST" and form.is_valid():
        user = cast(StaffRequest, request).user
        order = services.order_draft(supplier=form.cleaned_data["supplier"], by=user, at=timezone.now())
        return redirect("order-show", order.pk)
    return render(
        request, "parts/orders/order_new.html", {"form": form, "room": ROOM}, status=422 if form.errors else 200
    )


@require_safe
@staff_only
def order_show(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one order with its lines and what arrived."""
    return order_page(request, get_object_or_404(PurchaseOrder.objects.select_related("supplier", "created_by"), pk=pk))


def order_page(
    request: HttpRequest,
    order: PurchaseOrder,
    *,
    line_form: LineForm | None = None,
    receipt_form: ReceiptForm | None = None,
    off_form: CallOffForm | None = None,
) -> HttpResponse:
    """Return the page of an order; a form that could not be kept is handed in and shown as it was entered."""
    today = timezone.localdate()
    lines = queries.lines_of(order, today)
    forms = [ReceiptForm(state=state, today=today) for state in lines if state.outstanding]
    if receipt_form is not None:
        forms = [receipt_form if form.state.line.pk == receipt_form.state.line.pk else form for form in forms]
    draft = order.state == PurchaseOrder.State.DRAFT
    late = any(state.late for state in lines)
    page = {
        "order": order,
        "lines": lines,
        "late": late,
        "look": ("wedge", "late") if late else order_look(order),
        "total": sum(state.total for state in lines),
        "receipt_forms": forms,
        "line_form": line_form or (LineForm(supplier=order.supplier) if draft else None),
        "note_form": NoteForm(initial={"note": order.note}) if draft else None,
        "off_form": off_form or CallOffForm(),
        "manager": cast(StaffRequest, request).user.is_manager,
        "room": ROOM,
    }
    refused = any(form.errors for form in (line_form, receipt_form, off_form) if form is not None)
    return render(request, "parts/orders/order_show.html", page, status=422 if refused else 200)


@require_safe
@manager_only
def order_paper(request: HttpRequest, pk: int) -> HttpResponse:
    """Return the order sheet as a PDF; a draft says that it is one."""
    order = get_object_or_404(PurchaseOrder.objects.select_related("supplier"), pk=pk)
    paper = order_pdf(order=order, lines=queries.lines_of(order, timezone.localdate()), shop=the_shop())
    response = HttpResponse(paper, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="order-{order.number or "draft"}.pdf"'
    return response


@require_POST
@manager_only
def line_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a line to a draft."""
    order = get_object_or_404(PurchaseOrder.objects.select_related("supplier"), pk=pk)
    form = LineForm(request.POST, supplier=order.supplier)
    if form.is_valid():
        try:
            line = services.order_line_add(order=order, by=cast(StaffRequest, request).user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{line.name} is on the order.")
            return redirect("order-show", pk)
    return order_page(request, order, line_form=form)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def line_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a line of a draft."""
    line = get_object_or_404(OrderLine.objects.select_related("order__supplier", "part"), pk=pk)
    form = LineChangeForm(request.POST or None, line=line)
    if request.method == "POST" and form.is_valid():
        try:
            services.order_line_change(line=line, by=cast(StaffRequest, request).user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{line.name} is changed.")
            return redirect("order-show", line.order_id)
    return render(
        request,
        "parts/orders/line_form.html",
        {"form": form, "line": line, "room": ROOM},
        status=422 if form.errors else 200,
    )


@require_POST
@manager_only
def line_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a line off a draft."""
    line = get_object_or_404(OrderLine.objects.select_related("part"), pk=pk)
    try:
        services.order_line_remove(line=line, by=cast(StaffRequest, request).user)
        messages.success(request, f"{line.name} is off the order.")
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("order-show", line.order_id)


@require_POST
@manager_only
def note_write(request: HttpRequest, pk: int) -> HttpResponse:
    """Write words to the supplier on a draft."""
    order = get_object_or_404(PurchaseOrder, pk=pk)
    form = NoteForm(request.POST)
    try:
        if not form.is_valid():
            raise Refused("The words to the supplier may have 1,000 letters at most.")
        services.order_note_write(order=order, note=form.cleaned_data["note"], by=cast(StaffRequest, request).user)
        messages.success(request, "The words to the supplier are kept.")
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("order-show", pk)


@require_POST
@manager_only
def throw_away(request: HttpRequest, pk: int) -> HttpResponse:
    """Throw a draft away."""
    order = get_object_or_404(PurchaseOrder.objects.select_related("supplier"), pk=pk)
    try:
        services.draft_throw_away(order=order, by=cast(StaffRequest, request).user)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("order-show", pk)
    messages.success(request, f"The draft to {order.supplier} is thrown away; what jobs need of it is open again.")
    return redirect("order-list")
