"""What jobs need: the buyer's list and its buttons."""

from collections.abc import Iterable
from typing import cast

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobs import flow
from jobs.supplies import queries, services
from jobs.supplies.forms import DropForm, MeasureForm, NeedsFilterForm
from jobs.supplies.models import Need
from jobs.supplies.tables import NeedTable
from parts.catalogue.words import amount_words
from parts.orders.models import PurchaseOrder
from workshop.web.access import StaffRequest, manager_only, staff_only
from workshop.web.errors import Refused
from workshop.web.tables import csv_response

ROOM = "Parts"
ROWS_A_PAGE = 50


@require_safe
@staff_only
def needs_list(request: HttpRequest) -> HttpResponse:
    """Show what is to be ordered, by supplier, and what is on its way."""
    return _needs_page(request, request.GET)


def _needs_page(
    request: HttpRequest, asked: QueryDict, ticked: Iterable[str] = (), *, status: int = 200
) -> HttpResponse:
    form = NeedsFilterForm(asked)
    needs = queries.open_needs()
    if form.is_valid():
        if form.cleaned_data["job"]:
            needs = needs.filter(task__job=form.cleaned_data["job"])
        if form.cleaned_data["supplier"]:
            needs = needs.filter(part__supplier=form.cleaned_data["supplier"])
    today = timezone.localdate()
    rows = queries.need_rows(needs, flow.work_begins(), today)
    if asked.get("as") == "csv":
        return csv_response(NeedTable(rows), NeedTable.file_name)
    to_order = [row for row in rows if row.need.state == Need.State.OPEN and not row.shelf_gives_it]
    ticks = {int(key) for key in ticked if key.isdecimal()}
    pages = Paginator(queries.most_pressing_first(to_order), max(len(to_order), 1) if ticks else ROWS_A_PAGE)
    shown = pages.get_page(asked.get("page"))
    page = {
        "shown": shown,
        "on_shelf": [row for row in rows if row.shelf_gives_it],
        "filter_form": form,
        "groups": queries.needs_by_supplier(shown),
        "coming": sorted((row for row in rows if row.need.state == Need.State.ORDERED), key=_expected),
        "number_to_order": sum(row.draft is None for row in to_order),
        "number_measures": sum(row.measure_missing for row in to_order),
        "number_late": sum(bool(row.slip and row.slip.is_late) and row.draft is None for row in to_order),
        "number_today": sum(row.is_due(today) and row.draft is None for row in to_order),
        "today": today,
        "ticked": ticks,  # a page sent back shows every need, so that no tick is out of sight
        "manager": cast(StaffRequest, request).user.is_manager,
        "room": ROOM,
    }
    return render(request, "jobs/supplies/needs_list.html", page, status=status)


def _expected(row: queries.NeedRow) -> tuple[str, int]:
    line = row.need.order_line
    return (line.expected_on.isoformat() if line is not None and line.expected_on else "", row.need.pk)


@require_POST
@manager_only
def need_order(request: HttpRequest) -> HttpResponse:
    """Put the ticked needs on draft orders, one a supplier; the ticks stay when it cannot be done."""
    ticked = request.POST.getlist("need")
    needs = list(Need.objects.filter(pk__in=[int(key) for key in ticked if key.isdecimal() and len(key) < 18]))
    try:
        orders = services.needs_order_by_supplier(needs=needs, by=cast(StaffRequest, request).user, at=timezone.now())
    except Refused as refusal:
        messages.error(request, str(refusal))
        return _needs_page(request, QueryDict(), ticked, status=422)
    messages.success(request, f"{_names(orders)} written. Nothing is sent before you have read it.")
    return redirect("order-show", orders[0].pk) if len(orders) == 1 else redirect("order-list")


def _names(orders: list[PurchaseOrder]) -> str:
    names = " and ".join(f"to {order.supplier}" for order in orders)
    return f"Draft order {names} is" if len(orders) == 1 else f"Draft orders {names} are"


@require_POST
@staff_only
def need_shelf(request: HttpRequest, pk: int) -> HttpResponse:
    """Take what a need wants from the shelf."""
    need = get_object_or_404(Need.objects.select_related("part"), pk=pk)
    try:
        services.need_from_shelf(need=need, by=cast(StaffRequest, request).user, at=timezone.now())
        messages.success(request, f"{amount_words(need.quantity, need.part.unit)} of {need.part} taken from the shelf.")
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("needs-list")


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def need_measure(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down the measure of a need."""
    need = get_object_or_404(queries.needs_with_words(), pk=pk)
    form = MeasureForm(request.POST or None, need=need)
    if request.method == "POST" and form.is_valid():
        try:
            services.need_measure(need=need, by=cast(StaffRequest, request).user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"The measure of {need.part} for {need.task.job} is kept.")
            return redirect("needs-list")
    page = {"form": form, "need": need, "amount": amount_words(need.quantity, need.part.unit), "room": ROOM}
    return render(request, "jobs/supplies/need_measure.html", page, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def need_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Let go of a need, with the reason."""
    need = get_object_or_404(queries.needs_with_words(), pk=pk)
    form = DropForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            services.need_drop(need=need, by=cast(StaffRequest, request).user, at=timezone.now(), **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{need.part} for {need.task.job} is not needed any more.")
            return redirect("needs-list")
    page = {"form": form, "need": need, "amount": amount_words(need.quantity, need.part.unit), "room": ROOM}
    return render(request, "jobs/supplies/need_drop.html", page, status=422 if form.errors else 200)
