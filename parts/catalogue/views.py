"""Pages and buttons: parts, suppliers, the shelf."""

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from parts.catalogue import queries, services
from parts.catalogue.filters import PartFilter
from parts.catalogue.forms import PartForm, ShelfForm, SupplierForm
from parts.catalogue.models import Part, Supplier
from parts.catalogue.tables import PartTable, PartTableForBench, SupplierTable
from parts.catalogue.words import amount_words
from parts.orders.queries import orders_of_supplier, parts_with_orders
from workshop.web.access import StaffRequest, manager_only, staff_only
from workshop.web.errors import Refused
from workshop.web.tables import list_page

ROOM = "Parts"


@require_safe
@staff_only
def part_list(request: HttpRequest) -> HttpResponse:
    """Show all parts with what lies on the shelf."""
    manager = cast(StaffRequest, request).user.is_manager
    return list_page(
        request,
        PartTable if manager else PartTableForBench,
        parts_with_orders(),
        PartFilter,
        template="parts/catalogue/part_list.html",
        number_low=queries.number_low(),
        room=ROOM,
    )


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def part_new(request: HttpRequest) -> HttpResponse:
    """Write a new part."""
    return _part_page(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def part_change(request: HttpRequest, code: str) -> HttpResponse:
    """Change a part."""
    return _part_page(request, get_object_or_404(Part, code=code))


def _part_page(request: HttpRequest, part: Part | None) -> HttpResponse:
    name = part.name if part else ""
    form = PartForm(request.POST or None, instance=part)
    if request.method == "POST" and form.is_valid():
        try:
            kept = services.part_write(
                part=Part.objects.get(pk=part.pk) if part else None,
                by=cast(StaffRequest, request).user,
                **form.cleaned_data,
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{kept.name} is kept.")
            return redirect("part-show", kept.code)
    page = {"form": form, "part": part, "name": name, "room": ROOM}
    return render(request, "parts/catalogue/part_form.html", page, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def shelf_move(request: HttpRequest, code: str) -> HttpResponse:
    """Put something on the shelf or take it off, with the reason."""
    part = get_object_or_404(Part, code=code)
    form = ShelfForm(request.POST or None, unit=part.unit)
    if request.method == "POST" and form.is_valid():
        try:
            move = services.stock_move(
                part=part,
                quantity=form.moved,
                reason=form.cleaned_data["reason"],
                by=cast(StaffRequest, request).user,
                at=timezone.now(),
            )
        except Refused as refusal:
            form.add_error("quantity", str(refusal))
        else:
            way = "is on the shelf" if move.quantity > 0 else "is off the shelf"
            messages.success(request, f"{amount_words(abs(move.quantity), part.unit)} of {part.name} {way}.")
            return redirect("part-show", part.code)
    page = {"form": form, "part": part, "here": amount_words(queries.shelf_of(part), part.unit), "room": ROOM}
    return render(request, "parts/catalogue/shelf_move.html", page, status=422 if form.errors else 200)


@require_safe
@manager_only
def supplier_list(request: HttpRequest) -> HttpResponse:
    """Show all suppliers."""
    return list_page(
        request,
        SupplierTable,
        queries.suppliers_with_counts(),
        template="parts/catalogue/supplier_list.html",
        room=ROOM,
    )


@require_safe
@manager_only
def supplier_show(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a supplier with parts and orders."""
    supplier = get_object_or_404(Supplier, pk=pk)
    page = {
        "supplier": supplier,
        "parts": parts_with_orders().filter(supplier=supplier),
        "orders": orders_of_supplier(supplier, timezone.localdate())[:20],
        "room": ROOM,
    }
    return render(request, "parts/catalogue/supplier_show.html", page)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def supplier_new(request: HttpRequest) -> HttpResponse:
    """Write a new supplier."""
    return _supplier_page(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def supplier_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a supplier."""
    return _supplier_page(request, get_object_or_404(Supplier, pk=pk))


def _supplier_page(request: HttpRequest, supplier: Supplier | None) -> HttpResponse:
    name = supplier.name if supplier else ""
    form = SupplierForm(request.POST or None, instance=supplier)
    if request.method == "POST" and form.is_valid():
        try:
            kept = services.supplier_write(
                supplier=Supplier.objects.get(pk=supplier.pk) if supplier else None,
                by=cast(StaffRequest, request).user,
                **form.cleaned_data,
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{kept.name} is kept.")
            return redirect("supplier-show", kept.pk)
    page = {"form": form, "supplier": supplier, "name": name, "room": ROOM}
    return render(request, "parts/catalogue/supplier_form.html", page, status=422 if form.errors else 200)
