"""The Workshop room: the shop, its people, places and closed days."""

import datetime as dt
from typing import Any, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from workshop.calendar.models import Closure
from workshop.calendar.queries import closed_days
from workshop.calendar.words import weekdays_words
from workshop.house.forms import ClosureForm, PlaceForm, ShopForm
from workshop.house.queries import the_shop
from workshop.house.services import closure_drop, closure_write, place_write, shop_write
from workshop.people.queries import people_with_leave
from workshop.places.models import Place
from workshop.web.access import StaffRequest, manager_only
from workshop.web.errors import Refused

DAYS_SHOWN = 365


@require_safe
@manager_only
def show(request: StaffRequest) -> HttpResponse:
    """Show the shop as it is set."""
    return _house(request, ClosureForm())


def _house(request: StaffRequest, closure_form: ClosureForm) -> HttpResponse:
    shop = the_shop()
    today = timezone.localdate()
    page = {
        "house": shop,
        "people": people_with_leave(today),
        "places": Place.objects.all(),
        "closures": Closure.objects.filter(last_day__gte=today),
        "closure_form": closure_form,
        "shut": closed_days(shop, today, today + dt.timedelta(days=DAYS_SHOWN)),
        "weekdays": weekdays_words(shop.workdays),
    }
    status = 422 if closure_form.errors else 200
    return render(cast(HttpRequest, request), "workshop/house/house_show.html", page, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def change(request: StaffRequest) -> HttpResponse:
    """Show and take the form of the shop."""
    form = ShopForm(request.POST or None, instance=the_shop())
    if request.method == "POST" and form.is_valid():
        try:
            shop_write(by=request.user, **form.cleaned_data)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), "Kept. What was sent before keeps the rates it was sent with.")
            return redirect("house-show")
    status = 422 if form.errors else 200
    return render(cast(HttpRequest, request), "workshop/house/house_change.html", {"form": form}, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def place_new(request: StaffRequest) -> HttpResponse:
    """Show and take the form of a new place."""
    return _place(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def place_change(request: StaffRequest, pk: int) -> HttpResponse:
    """Show and take the form of a place."""
    return _place(request, get_object_or_404(Place, pk=pk))


def _place(request: StaffRequest, place: Place | None) -> HttpResponse:
    form = PlaceForm(request.POST or None, instance=place)
    if request.method == "POST" and form.is_valid():
        try:
            place_write(by=request.user, place=place, **form.cleaned_data)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            return redirect("house-show")
    return _form(request, form, place.name if place else "A new place")


def _form(request: StaffRequest, form: Any, head: str) -> HttpResponse:
    page = {"form": form, "head": head}
    return render(
        cast(HttpRequest, request), "workshop/house/house_form.html", page, status=422 if form.errors else 200
    )


@require_POST
@manager_only
def closure_new(request: StaffRequest) -> HttpResponse:
    """Take days on which the shop is shut."""
    form = ClosureForm(request.POST)
    if not form.is_valid():
        return _house(request, form)
    closure_write(by=request.user, **form.cleaned_data)
    messages.success(cast(HttpRequest, request), "Kept. Work the plan out again to follow it.")
    return redirect("house-show")


@require_POST
@manager_only
def closure_take_back(request: StaffRequest, pk: int) -> HttpResponse:
    """Take a closure back."""
    closure_drop(closure=get_object_or_404(Closure, pk=pk), by=request.user)
    return redirect("house-show")
