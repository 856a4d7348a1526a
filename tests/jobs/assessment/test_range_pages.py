from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from jobs.assessment.models import MeasureRange
from jobs.assessment.services.ranges import range_change
from tests.factories import make_manager, make_measure, make_technician
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk():
    client = Client()
    client.force_login(make_manager(), backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def row():
    return make_measure().ranges.get(instrument_kind="grand", era="old")


def change(desk, row, **more):
    return desk.post(reverse("range-change", args=[row.pk]), {"low": "44", "high": "56", "why": "Our own log", **more})


def test_the_list_shows_every_range_with_its_source(desk, row):
    text = desk.get(reverse("ranges-list")).content.decode()
    assert text.count('<th scope="row">Down weight') == 1
    assert text.count(">Down weight, ") == 4
    assert "46–54 g" in text
    assert reverse("range-change", args=[row.pk]) in text


def test_it_keeps_our_own_range_and_why(desk, row):
    assert change(desk, row).status_code == 302
    row.refresh_from_db()
    assert (row.low, row.high, row.edited) == (Decimal(44), Decimal(56), True)
    assert "Our own log" in row.source


def test_a_range_stands_in_its_form_as_somebody_would_write_it(desk, row):
    row.low, row.high = Decimal("40.000"), None
    row.save()
    text = desk.get(reverse("range-change", args=[row.pk])).content.decode()
    assert 'name="low" value="40"' in text
    assert 'name="high" value' not in text
    assert "in grams; now: " in text


def test_an_open_end_is_a_range_too(desk, row):
    change(desk, row, low="")
    row.refresh_from_db()
    assert row.low is None


@pytest.mark.parametrize("bad", [{"low": "60"}, {"low": "", "high": ""}, {"low": "x"}, {"why": ""}, {"high": "1e20"}])
def test_a_range_that_cannot_be_comes_back(desk, row, bad):
    response = change(desk, row, **bad)
    assert response.status_code == 422
    assert "to mend before this can be kept" in response.content.decode()
    row.refresh_from_db()
    assert (row.low, row.edited) == (Decimal(46), False)


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"low": Decimal(60)}, "lies below the lower one"),
        ({"low": None, "high": None}, "needs a lower limit"),
        ({"why": "  "}, "Say where the range comes from"),
    ],
)
def test_the_service_checks_the_range_again(row, given, sentence):
    limits = {"low": Decimal(44), "high": Decimal(56), "why": "Our own log", **given}
    with pytest.raises(Refused, match=sentence):
        range_change(row=row, by=make_manager(), **limits)
    with pytest.raises(Refused, match="set by the manager"):
        range_change(row=row, by=make_technician(), low=Decimal(44), high=Decimal(56), why="Our own log")


def test_a_technician_and_a_stranger_change_no_range(row):
    bench = Client()
    bench.force_login(make_technician(), backend="django.contrib.auth.backends.ModelBackend")
    assert change(bench, row).status_code == 403
    assert change(Client(), row).status_code == 302
    assert not MeasureRange.objects.filter(edited=True).exists()
