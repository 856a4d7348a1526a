"""Signing in and out; people and their leave."""

from typing import cast

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from workshop.people.forms import LeaveForm, PersonForm, SignInForm
from workshop.people.models import Leave, Person
from workshop.people.queries import leaves_from
from workshop.people.services import leave_drop, leave_write, person_write
from workshop.web.access import StaffRequest, manager_only
from workshop.web.errors import Refused

# Django's own views: a well-kept library for the one thing nobody should write again.
sign_in = LoginView.as_view(
    template_name="people/sign_in.html", authentication_form=SignInForm, redirect_authenticated_user=True
)
sign_out = LogoutView.as_view()


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def person_new(request: StaffRequest) -> HttpResponse:
    """Show and take the form of a new person."""
    return _person(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def person_change(request: StaffRequest, pk: int) -> HttpResponse:
    """Show and take the form of a person, with their leave."""
    return _person(request, get_object_or_404(Person, pk=pk))


def _as_is(person: Person | None) -> dict[str, object]:
    if person is None:
        return {"workdays": [0, 1, 2, 3, 4], "on_the_bench": True, "is_active": True, "role": "technician"}
    names = ("first_name", "username", "email", "role", "workdays", "on_the_bench", "is_active")
    return {**{name: getattr(person, name) for name in names}, "skills": list(person.skills.all())}


def _person(request: StaffRequest, person: Person | None) -> HttpResponse:
    form = PersonForm(request.POST or None, initial=_as_is(person))
    if request.method == "POST" and form.is_valid():
        try:
            kept = person_write(by=request.user, person=person, **form.cleaned_data)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            if kept.pk == request.user.pk:
                # A new password ends the sessions of the old one; whoever changes their own stays signed in.
                update_session_auth_hash(cast(HttpRequest, request), kept)
            messages.success(cast(HttpRequest, request), f"{kept} is written down.")
            return redirect("house-show")
    return _page(request, person, form, LeaveForm())


def _page(request: StaffRequest, person: Person | None, form: PersonForm, leave_form: LeaveForm) -> HttpResponse:
    page = {
        "form": form,
        "person": person,
        "leave_form": leave_form,
        "leaves": leaves_from(person, timezone.localdate()),
    }
    wrong = form.errors or leave_form.errors
    return render(cast(HttpRequest, request), "people/person.html", page, status=422 if wrong else 200)


@require_POST
@manager_only
def leave_new(request: StaffRequest, pk: int) -> HttpResponse:
    """Take days away of one person."""
    person = get_object_or_404(Person, pk=pk)
    form = LeaveForm(request.POST)
    if not form.is_valid():
        return _page(request, person, PersonForm(initial=_as_is(person)), form)
    leave_write(person=person, by=request.user, **form.cleaned_data)
    messages.success(cast(HttpRequest, request), f"{person} is away then. Work the plan out again to follow it.")
    return redirect("person-change", pk=pk)


@require_POST
@manager_only
def leave_take_back(request: StaffRequest, pk: int) -> HttpResponse:
    """Take days away back."""
    leave = get_object_or_404(Leave, pk=pk)
    person = leave.person_id
    leave_drop(leave=leave, by=request.user)
    return redirect("person-change", pk=person)
