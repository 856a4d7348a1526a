"""Base pages: nothing inline, the rooms one may enter, messages and errors in words."""

import re
from xml.etree import ElementTree

import pytest
from django import forms
from django.contrib import messages
from django.contrib.auth.models import AnonymousUser
from django.contrib.messages.storage.cookie import CookieStorage
from django.template import Context, Template
from django.template.loader import render_to_string
from django.test import RequestFactory

from workshop.people.models import Person
from workshop.web.context import rooms_for

pytestmark = pytest.mark.urls("tests.workshop.web.rooms_urls")
TEMPLATES = [
    "base.html", "base_client.html", "404.html", "403.html", "500.html", "tables/page.html",
]  # fmt: skip


def request_of(user=None, address="/"):
    request = RequestFactory().get(address)
    request.user = user or AnonymousUser()
    request._messages = CookieStorage(request)
    return request


@pytest.fixture
def manager():
    return Person(username="tamsin", first_name="Tamsin", role="manager")


@pytest.fixture
def technician():
    return Person(username="corin", first_name="Corin", role="technician")


@pytest.mark.django_db
@pytest.mark.parametrize("name", [each for each in TEMPLATES if not each.startswith("tables")])
def test_no_page_carries_a_style_or_a_script_of_its_own_or_asks_another_host(name, manager):
    html = render_to_string(name, {}, request=request_of(manager))
    assert " style=" not in html
    assert "<style" not in html
    assert "<script" not in html
    assert not re.findall(r'(?:src|href)="(?:https?:)?//', html)
    assert html.count("<h1") == 1
    assert '<html lang="en-GB">' in html


@pytest.mark.django_db
def test_the_page_has_a_skip_link_a_main_part_and_every_mark_once(manager):
    html = render_to_string("base.html", {}, request=request_of(manager))
    assert html.index('class="skip" href="#main"') < html.index("<header")
    assert html.count("<main ") == 1
    ids = re.findall(r'id="([^"]+)"', html)
    assert len(ids) == len(set(ids))
    assert "m-wedge" in ids


def test_a_manager_sees_every_room_that_exists_and_a_technician_five(manager, technician):
    assert [door.label for door in rooms_for(request_of(manager))] == [
        "Today", "Instruments", "Quotes", "Plan", "Bench", "Parts", "Money", "Workshop",
    ]  # fmt: skip
    assert [door.label for door in rooms_for(request_of(technician))] == [
        "Today", "Instruments", "Plan", "Bench", "Parts",
    ]  # fmt: skip
    assert rooms_for(request_of()) == []


def test_the_page_names_the_room_it_is_in(manager):
    request = request_of(manager)
    request.resolver_match = type("Match", (), {"url_name": "assessment-readings"})()
    assert [door.label for door in rooms_for(request) if door.current] == ["Instruments"]


@pytest.mark.django_db
def test_messages_are_a_word_a_mark_and_a_colour(manager):
    request = request_of(manager)
    messages.success(request, "Quote 34 was sent.")
    messages.error(request, "Quote 33 was not sent: <no address>.")
    html = render_to_string("base.html", {}, request=request)
    assert '<div class="success" role="status">' in html
    assert '<div class="trouble" role="alert">' in html
    assert "<b>Not done.</b> Quote 33 was not sent: &lt;no address&gt;." in html
    assert html.count('href="#m-wedge"') == 1


class Intake(forms.Form):
    name = forms.CharField(label="Name on the fall", help_text="Even if worn.")
    keys = forms.IntegerField(label="Keys", min_value=49)
    aim = forms.ChoiceField(label="Aim", widget=forms.RadioSelect, choices=[("a", "played"), ("b", "kept")])
    here = forms.BooleanField(label="In the house", required=False)
    secret = forms.CharField(widget=forms.HiddenInput, required=False)


def drawn(source, **context):
    return Template("{% load wrestplank %}" + source).render(Context(context))


def test_a_field_has_its_label_above_its_error_beside_and_its_hint_below():
    form = Intake({"name": "", "keys": "12"})
    html = drawn("{% field form.name %}", form=form)
    assert html.index("<label") < html.index("<input") < html.index('id="id_name_error"') < html.index("Even if worn.")
    assert 'aria-describedby="id_name_error id_name_helptext"' in html
    assert html.count("aria-describedby") == 1
    assert html.count('aria-invalid="true"') == 1
    assert 'class="field bad"' in html


def test_what_was_entered_is_kept_and_each_fault_is_listed_with_a_link_to_its_field():
    form = Intake({"name": "Marchpane", "keys": "12", "aim": "a"})
    html = drawn("{% fields form %}", form=form)
    assert 'value="Marchpane"' in html
    assert 'value="12"' in html
    assert "One thing to mend before this can be kept" in html
    assert '<a href="#id_keys">Keys</a>' in html
    assert "mend" not in drawn("{% form_errors form %}", form=Intake())


def test_choices_are_a_group_with_a_legend_and_a_tick_stands_before_its_label():
    form = Intake()
    assert "<fieldset" in drawn("{% field form.aim %}", form=form)
    assert "<legend>Aim</legend>" in drawn("{% field form.aim %}", form=form)
    tick = drawn("{% field form.here %}", form=form)
    assert tick.index("<input") < tick.index("In the house")
    assert drawn("{% field form.secret %}", form=form).strip().startswith('<input type="hidden"')


def test_every_link_of_a_list_of_faults_leads_to_something():
    form = Intake({})
    html = drawn("{% fields form %}", form=form)
    ids = set(re.findall(r'id="([^"]+)"', html))
    assert set(re.findall(r'href="#(id_[^"]+)"', html)) <= ids
    assert set(re.findall(r'aria-describedby="([^" ]+)', html)) <= ids


def test_the_little_pin_is_a_sound_drawing():
    from django.contrib.staticfiles import finders

    for name in ("workshop/pin.svg", "workshop/style.css"):
        assert finders.find(name)
    assert ElementTree.parse(finders.find("workshop/pin.svg")).getroot().tag.endswith("svg")
