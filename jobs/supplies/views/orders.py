"""The buttons of an order that jobs feel: sending it, what arrives, calling off the rest."""

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from jobs import flow
from jobs.supplies.queries import needs_of_line
from parts.catalogue.words import amount_words
from parts.orders.forms import CallOffForm, ReceiptForm
from parts.orders.models import OrderLine, PurchaseOrder
from parts.orders.queries import lines_of
from parts.orders.views import order_page
from workshop.calendar.words import day_words
from workshop.web.access import StaffRequest, manager_only, staff_only
from workshop.web.errors import Refused


@require_POST
@manager_only
def order_send(request: HttpRequest, pk: int) -> HttpResponse:
    """Send a draft to its supplier."""
    order = get_object_or_404(PurchaseOrder.objects.select_related("supplier"), pk=pk)
    try:
        order = flow.order_sent(order, by=cast(StaffRequest, request).user, at=timezone.now())
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("order-show", pk)
    due = f" All of it should be here by {day_words(order.expected_on)}." if order.expected_on else ""
    if order.supplier.email:
        messages.success(request, f"Order {order.number} goes to {order.supplier} with its sheet.{due}")
    else:
        messages.warning(
            request,
            f"Order {order.number} is kept as sent, but {order.supplier} has no e-mail address: print the order "
            f"sheet and send it yourself.{due}",
        )
    return redirect("order-show", pk)


@require_POST
@manager_only
def order_cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Call off what has not arrived of an order."""
    order = get_object_or_404(PurchaseOrder.objects.select_related("supplier", "created_by"), pk=pk)
    form = CallOffForm(request.POST)
    if form.is_valid():
        try:
            flow.order_called_off(
                order, form.cleaned_data["reason"], by=cast(StaffRequest, request).user, at=timezone.now()
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"The rest of order {order.number} is called off; what jobs need is open again.")
            return redirect("order-show", pk)
    return order_page(request, order, off_form=form)


@require_POST
@staff_only
def order_receive(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep what arrived for one line; a count that cannot be kept is shown again as it was entered."""
    line = get_object_or_404(OrderLine.objects.select_related("order__supplier", "order__created_by"), pk=pk)
    today = timezone.localdate()
    state = next(each for each in lines_of(line.order, today) if each.line.pk == line.pk)
    form = ReceiptForm(request.POST, state=state, today=today)
    if form.is_valid():
        try:
            receipt = flow.goods_received(
                line, by=cast(StaffRequest, request).user, at=timezone.now(), **form.cleaned_data
            )
        except Refused as refusal:
            form.add_error("quantity", str(refusal))
        else:
            jobs = ", ".join(
                str(need.task.job) for need in needs_of_line([line]).get(pk, []) if need.state == need.State.HERE
            )
            words = f"{amount_words(receipt.quantity, state.line.part.unit)} of {line.name} arrived"
            messages.success(request, f"{words}; here for {jobs}." if jobs else f"{words}.")
            return redirect("order-show", line.order_id)
    if not state.outstanding:
        messages.error(request, " ".join(str(error) for errors in form.errors.values() for error in errors))
        return redirect("order-show", line.order_id)
    return order_page(request, line.order, receipt_form=form)
