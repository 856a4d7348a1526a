import datetime as dt
from decimal import Decimal

import pytest

from tests.factories import make_person, make_place
from workshop.calendar.models import Closure
from workshop.house.queries import the_shop
from workshop.people.models import Leave
from workshop.places.models import Place

pytestmark = pytest.mark.django_db
SHOP = {
    "name": "The Workshop", "street": "2 Ropewalk", "town": "Harrowmere", "postcode": "HM1 2AB",
    "email": "workshop@harrowmere.example", "phone": "01632 960001", "vat_number": "", "opens": "07:30",
    "closes": "16:00", "slot_minutes": "30", "workdays": ["0", "1", "2", "3", "4"], "country": "GB",
    "subdivision": "ENG", "hourly_rate": "52.50", "parts_markup_percent": "15", "vat_percent": "20",
    "vat_mode": "gross", "deposit_percent": "30", "quote_valid_days": "28", "link_valid_days": "180",
}  # fmt: skip


def test_the_room_shows_hours_rates_people_places_and_days_shut(as_manager):
    make_place("spray", 1)
    page = as_manager.get("/workshop/").content.decode()
    assert "Open Monday to Friday, 08:00 to 16:00" in page
    assert "£48.00" in page
    assert "spray room" in page
    assert "Christmas Day" in page


def test_the_room_asks_the_database_as_often_for_fifty_people_as_for_five(as_manager, django_assert_num_queries):
    def fill(number):
        for _ in range(number):
            person = make_person(skills=("action",))
            Leave.objects.create(person=person, first_day="2099-02-01", last_day="2099-02-05")

    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    fill(5)
    as_manager.get("/workshop/")
    with CaptureQueriesContext(connection) as few:
        as_manager.get("/workshop/")
    fill(45)
    with django_assert_num_queries(len(few)):
        as_manager.get("/workshop/")


def test_the_shop_is_changed(as_manager):
    response = as_manager.post("/workshop/change/", SHOP)
    assert (response.status_code, response.url) == (302, "/workshop/")
    shop = the_shop()
    assert (shop.hourly_rate, shop.opens, shop.workdays) == (Decimal("52.50"), dt.time(7, 30), [0, 1, 2, 3, 4])


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"closes": "07:00"}, "The shop closes before it opens: change one of the two."),
        ({"workdays": []}, "The shop opens on one day at least."),
        ({"slot_minutes": "0"}, "A step between 5 and 60 minutes works; 30 is usual."),
        ({"subdivision": "XYZ"}, "No public holidays are known for “GB-XYZ”."),
        ({"subdivision": ""}, "For GB say which part keeps the holidays"),
        ({"country": "ZZ"}, "No public holidays are known for “ZZ"),
        ({"hourly_rate": "lots"}, "Write a number in figures, such as 12.5."),
        ({"hourly_rate": "-1"}, "above nought"),
        ({"vat_percent": "120"}, "from 0 to 100"),
        ({"deposit_percent": "-5"}, "from 0 to 100"),
        ({"parts_markup_percent": "-5"}, "nought or more"),
        ({"quote_valid_days": "0"}, "one day at least"),
        ({"link_valid_days": "0"}, "one day at least"),
        ({"email": "nobody"}, "That is not an e-mail address"),
    ],
)
def test_what_makes_no_sense_is_refused_with_a_sentence_and_nothing_is_changed(as_manager, change, sentence):
    before = the_shop().opens
    page = as_manager.post("/workshop/change/", {**SHOP, **change})
    assert page.status_code == 422
    assert sentence in page.content.decode()
    assert 'value="2 Ropewalk"' in page.content.decode()
    assert the_shop().opens == before


def test_a_place_is_added_and_changed(as_manager):
    given = {"kind": "bench", "name": "Bench by the window", "holds": "1", "in_use": "on"}
    assert as_manager.post("/workshop/places/new/", given).status_code == 302
    place = Place.objects.get()
    assert as_manager.post(f"/workshop/places/{place.pk}/", {**given, "holds": "2", "in_use": ""}).status_code == 302
    place.refresh_from_db()
    assert (place.holds, place.in_use) == (2, False)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"name": "taken"}, "already exists"),
        ({"holds": "0"}, "one at least"),
        ({"kind": "shed"}, "is not one of the choices here"),
    ],
)
def test_a_place_that_cannot_be_is_refused_with_a_sentence(as_manager, change, sentence):
    Place.objects.create(kind="bench", name="taken")
    page = as_manager.post("/workshop/places/new/", {"kind": "bench", "name": "new", "holds": "1", **change})
    assert page.status_code == 422
    assert sentence in page.content.decode()
    assert Place.objects.count() == 1


def test_days_shut_are_written_down_shown_and_taken_back(as_manager):
    day = dt.date.today() + dt.timedelta(days=20)
    as_manager.post("/workshop/closures/new/", {"first_day": day, "last_day": day, "reason": "new floor"})
    closure = Closure.objects.get()
    assert "new floor" in as_manager.get("/workshop/").content.decode()
    as_manager.post(f"/workshop/closures/{closure.pk}/take-back/")
    assert not Closure.objects.exists()


def test_days_shut_that_end_before_they_begin_are_refused_and_kept_in_the_form(as_manager):
    given = {"first_day": "2027-02-05", "last_day": "2027-02-01", "reason": "new floor"}
    page = as_manager.post("/workshop/closures/new/", given)
    assert page.status_code == 422
    assert "The last day lies before the first" in page.content.decode()
    assert 'value="new floor"' in page.content.decode()
    assert not Closure.objects.exists()


@pytest.mark.parametrize("who", ["technician", "stranger"])
def test_the_room_is_for_the_manager(who, as_technician, stranger):
    client = {"technician": as_technician, "stranger": stranger}[who]
    place, closure = make_place(), Closure.objects.create(first_day="2027-02-01", last_day="2027-02-05")
    for method, path in [
        (client.get, "/workshop/"),
        (client.get, "/workshop/change/"),
        (client.post, "/workshop/change/"),
        (client.get, "/workshop/places/new/"),
        (client.post, f"/workshop/places/{place.pk}/"),
        (client.post, "/workshop/closures/new/"),
        (client.post, f"/workshop/closures/{closure.pk}/take-back/"),
    ]:
        response = method(path, SHOP)
        if who == "technician":
            assert response.status_code == 403
        else:
            assert response.url.startswith("/sign-in/")
    assert Closure.objects.count() == 1
    assert the_shop().street == ""
