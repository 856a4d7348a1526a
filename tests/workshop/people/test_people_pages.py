import datetime as dt

import pytest

from tests.factories import make_manager, make_skill, make_technician
from workshop.people.models import Leave, Person

pytestmark = pytest.mark.django_db
NEW = {
    "first_name": "Edda",
    "username": "edda",
    "role": "technician",
    "workdays": ["0", "1", "4"],
    "on_the_bench": "on",
    "is_active": "on",
    "password": "felt and glue 88",
}


def test_a_new_person_can_sign_in(as_manager, stranger):
    skill = make_skill("voicing")
    response = as_manager.post("/workshop/people/new/", {**NEW, "skills": [skill.pk]})
    assert (response.status_code, response.url) == (302, "/workshop/")
    edda = Person.objects.get(username="edda")
    assert (edda.workdays, list(edda.skills.all()), edda.role) == ([0, 1, 4], [skill], "technician")
    assert stranger.post("/sign-in/", {"username": "edda", "password": NEW["password"]}).status_code == 302


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"first_name": ""}, "Write the person’s name."),
        ({"username": "two words"}, "Use letters, figures and hyphens only."),
        ({"password": ""}, "A new person needs a password of at least twelve characters."),
        ({"password": "short"}, "This password is too short"),
        ({"password": "password12345"}, "too common"),
        ({"role": "owner"}, "is not one of the choices here"),
        ({"workdays": ["7"]}, "is not one of the choices here"),
        ({"username": "taken"}, "already exists"),
    ],
)
def test_what_cannot_be_kept_is_said_and_the_form_keeps_what_was_entered(as_manager, change, sentence):
    make_technician(username="taken")
    page = as_manager.post("/workshop/people/new/", {**NEW, "email": "edda@harrowmere.example", **change})
    assert page.status_code == 422
    assert sentence in page.content.decode()
    assert 'value="edda@harrowmere.example"' in page.content.decode()
    assert not Person.objects.filter(email="edda@harrowmere.example").exists()


def test_a_name_with_quotes_and_a_picture_letter_is_kept_and_shown_as_text(as_manager):
    as_manager.post("/workshop/people/new/", {**NEW, "first_name": '<b>"Ed" O’Hara</b> 🎹'})
    assert Person.objects.get(username="edda").first_name == '<b>"Ed" O’Hara</b> 🎹'
    assert "&lt;b&gt;&quot;Ed&quot; O’Hara&lt;/b&gt; 🎹" in as_manager.get("/workshop/").content.decode()


def test_the_only_manager_cannot_step_down_or_leave(as_manager, manager):
    start = {"first_name": "Tamsin", "username": manager.username, "workdays": ["0"], "on_the_bench": "on"}
    for change in ({"role": "technician", "is_active": "on"}, {"role": "manager"}):
        page = as_manager.post(f"/workshop/people/{manager.pk}/", {**start, **change})
        assert "is the only manager: make somebody else manager first." in page.content.decode()
    make_manager("Wilf")
    assert as_manager.post(f"/workshop/people/{manager.pk}/", {**start, **change}).status_code == 302


def test_who_changes_their_own_password_stays_signed_in_here_and_nowhere_else(as_manager, manager, client):
    client.force_login(manager, backend="django.contrib.auth.backends.ModelBackend")
    own = {
        "first_name": "Tamsin",
        "username": manager.username,
        "role": "manager",
        "is_active": "on",
        "password": "new words of mine",
    }
    assert as_manager.post(f"/workshop/people/{manager.pk}/", own).status_code == 302
    assert as_manager.get("/workshop/").status_code == 200
    assert client.get("/workshop/").status_code == 302


def test_days_away_are_written_down_shown_and_taken_back(as_manager, technician):
    day = dt.date.today() + dt.timedelta(days=10)
    given = {"first_day": day, "last_day": day + dt.timedelta(days=4), "reason": "walking"}
    assert as_manager.post(f"/workshop/people/{technician.pk}/leave/", given).status_code == 302
    leave = technician.leaves.get()
    assert "walking" in as_manager.get(f"/workshop/people/{technician.pk}/").content.decode()
    as_manager.post(f"/workshop/leave/{leave.pk}/take-back/")
    assert not technician.leaves.exists()


def test_days_away_that_end_before_they_begin_are_refused_and_kept_in_the_form(as_manager, technician):
    given = {"first_day": "2027-02-05", "last_day": "2027-02-01", "reason": "walking"}
    page = as_manager.post(f"/workshop/people/{technician.pk}/leave/", given)
    assert page.status_code == 422
    assert "The last day lies before the first" in page.content.decode()
    assert 'value="walking"' in page.content.decode()
    assert 'value="2027-02-05"' in page.content.decode()
    assert not Leave.objects.exists()


@pytest.mark.parametrize("who", ["technician", "stranger"])
def test_people_and_leave_are_for_the_manager(who, as_technician, stranger, technician):
    client = {"technician": as_technician, "stranger": stranger}[who]
    leave = Leave.objects.create(person=technician, first_day="2027-02-01", last_day="2027-02-05")
    for method, path in [
        (client.get, "/workshop/people/new/"),
        (client.get, f"/workshop/people/{technician.pk}/"),
        (client.post, "/workshop/people/new/"),
        (client.post, f"/workshop/people/{technician.pk}/"),
        (client.post, f"/workshop/people/{technician.pk}/leave/"),
        (client.post, f"/workshop/leave/{leave.pk}/take-back/"),
    ]:
        response = method(path, NEW)
        if who == "technician":
            assert response.status_code == 403
        else:
            assert response.url.startswith("/sign-in/")
    assert Leave.objects.count() == 1
    assert not Person.objects.filter(username="edda").exists()
