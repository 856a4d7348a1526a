import pytest
from django.contrib.auth.models import AnonymousUser

from tests.factories import make_manager, make_technician

pytestmark = pytest.mark.django_db
PASSWORD = "a long password"


def sign_in(client, person, password=PASSWORD, **more):
    return client.post("/sign-in/", {"username": person.username, "password": password, **more})


def user_of(response):
    return getattr(response.wsgi_request, "user", AnonymousUser())


def test_the_right_password_opens_the_house(stranger, technician):
    response = sign_in(stranger, technician, next="/workshop/")
    assert (response.status_code, response.url) == (302, "/workshop/")
    assert user_of(response) == technician


def test_a_wrong_password_is_told_kindly_and_the_name_is_kept(stranger, technician):
    page = sign_in(stranger, technician, "wrong")
    assert "Name and password do not belong together" in page.content.decode()
    assert f'value="{technician.username}"' in page.content.decode()
    assert not user_of(page).is_authenticated


def test_an_empty_form_says_what_to_write(stranger):
    page = stranger.post("/sign-in/", {}).content.decode()
    assert "Write the name you sign in with." in page
    assert "Write your password." in page


@pytest.mark.parametrize("elsewhere", ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)"])
def test_nobody_is_sent_to_another_house_after_signing_in(stranger, technician, elsewhere):
    assert "elsewhere" not in sign_in(stranger, technician, next=elsewhere).url
    assert "alert" not in sign_in(stranger, technician, next=elsewhere).url


def test_signing_out_needs_a_press_and_ends_the_session(as_technician):
    assert as_technician.get("/sign-out/").status_code == 405
    response = as_technician.post("/sign-out/")
    assert (response.status_code, response.url) == (302, "/sign-in/")
    assert as_technician.get("/workshop/").url.startswith("/sign-in/")


def test_somebody_who_leaves_is_out_at_the_next_page(as_manager, manager):
    assert as_manager.get("/workshop/").status_code == 200
    manager.is_active = False
    manager.save()
    gone = as_manager.get("/workshop/")
    assert (gone.status_code, gone.url) == (302, "/sign-in/?next=/workshop/")
    assert not user_of(sign_in(as_manager, manager)).is_authenticated


def test_a_manager_who_becomes_a_technician_is_stopped_at_the_next_page(as_manager, manager):
    make_manager("Wilf")
    manager.role = "technician"
    manager.save()
    assert as_manager.get("/workshop/").status_code == 403


def test_a_technician_at_a_managers_page_is_told_in_a_friendly_page(as_technician):
    page = as_technician.get("/workshop/")
    assert page.status_code == 403
    assert "This page is for the manager" in page.content.decode()
    assert "Back to the beginning" in page.content.decode()


def test_guessing_is_stopped_after_eight_tries_even_with_the_right_password_then(stranger, settings):
    settings.AXES_ENABLED = True
    person, other = make_technician("Bram"), make_technician("Dilys")
    for _ in range(settings.AXES_FAILURE_LIMIT):
        page = sign_in(stranger, person, "a wrong guess")
    assert page.status_code == 429
    assert "Too many tries. Wait a quarter of an hour." in page.content.decode()
    assert sign_in(stranger, person).status_code == 429
    assert sign_in(stranger, other).status_code == 302


def test_the_pages_of_the_door_run_no_script_and_no_style_of_their_own(stranger):
    page = stranger.get("/sign-in/")
    assert "style=" not in page.content.decode()
    assert "<script" not in page.content.decode()
    assert "default-src 'self'" in page.headers["Content-Security-Policy"]
