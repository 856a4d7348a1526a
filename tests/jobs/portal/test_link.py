"""A private link: what it opens, how it comes in, and when it is over."""

import datetime as dt

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from jobs.portal.access import COOKIE
from jobs.portal.models import ClientLink, PortalSession
from jobs.portal.services import SESSION_DAYS, link_good, link_make, link_open, link_revoke, session_of
from tests.factories import make_client, make_instrument
from workshop.house.queries import the_shop
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


def enter(token):
    return f"/your-piano/enter/{token}/"


def test_looking_at_a_link_shows_one_button_and_opens_nothing(token):
    browser = Client()
    answer = browser.get(enter(token))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert page.count("<button") == 1
    assert "Ferrowby" not in page
    assert COOKIE not in browser.cookies
    assert not PortalSession.objects.exists()
    assert browser.get("/your-piano/").status_code == 410


def test_pressing_it_sets_a_cookie_nobody_can_read_and_leads_to_a_clean_address(token):
    browser = Client()
    answer = browser.post(enter(token))
    assert (answer.status_code, answer["Location"]) == (302, "/your-piano/")
    cookie = browser.cookies[COOKIE]
    assert cookie["httponly"]
    assert (cookie["samesite"], cookie["path"]) == ("Lax", "/your-piano/")
    assert int(cookie["max-age"]) == SESSION_DAYS * 24 * 3600
    assert token not in cookie.value
    assert token not in browser.get("/your-piano/").content.decode()


def test_behind_https_the_cookie_goes_nowhere_else(token, settings):
    settings.SESSION_COOKIE_SECURE = True
    browser = Client()
    browser.post(enter(token))
    assert browser.cookies[COOKIE]["secure"]


def test_neither_token_nor_cookie_is_kept_as_it_is(token, owner):
    link, session = ClientLink.objects.get(), PortalSession.objects.get()
    assert token not in str(vars(link))
    assert owner.cookies[COOKIE].value not in str(vars(session))
    assert link.first_used_at is not None


@pytest.mark.parametrize("how", ["altered", "cut", "longer", "hash", "empty-looking"])
def test_an_altered_link_is_gone(token, how):
    wrong = {
        "altered": ("B" if token[0] == "A" else "A") + token[1:],
        "cut": token[:-1],
        "longer": token + "A",
        "hash": ClientLink.objects.get().token_hash,
        "empty-looking": "%20",
    }[how]
    for answer in (Client().get(enter(wrong)), Client().post(enter(wrong))):
        assert answer.status_code == 410
        assert "does not open anything any more" in answer.content.decode()
    assert not PortalSession.objects.exists()


def test_a_link_is_over_after_its_days_and_so_is_who_came_in_by_it(mine):
    start = timezone.now()
    token = link_make(client=mine.instrument.client, instrument=mine.instrument, at=start)
    last = start + dt.timedelta(days=the_shop().link_valid_days)
    assert link_good(token=token, at=last - dt.timedelta(seconds=1))
    assert not link_good(token=token, at=last)
    assert link_open(token=token, at=last) is None
    cookie = link_open(token=token, at=last - DAY)
    assert session_of(cookie=cookie, at=last - dt.timedelta(seconds=1))
    assert session_of(cookie=cookie, at=last) is None


def test_a_browser_is_let_in_for_its_days_and_then_asked_for_the_link_again(token, owner):
    with time_machine.travel(timezone.now() + dt.timedelta(days=SESSION_DAYS, minutes=1), tick=False):
        assert owner.get("/your-piano/").status_code == 410
        assert owner.post(enter(token)).status_code == 302
        assert owner.get("/your-piano/").status_code == 200


def test_a_link_taken_back_shuts_everybody_out_at_once(token, owner, as_manager):
    link = ClientLink.objects.get()
    assert owner.get("/your-piano/").status_code == 200
    assert as_manager.post(reverse("link-revoke", args=[link.pk])).status_code == 302
    for answer in (owner.get("/your-piano/"), owner.post(enter(token)), Client().get(enter(token))):
        assert answer.status_code == 410
    first = ClientLink.objects.get().revoked_at
    assert link_revoke(link=ClientLink.objects.get(), at=first + DAY).revoked_at == first


def test_a_link_cannot_be_made_for_what_belongs_to_somebody_else(mine):
    with pytest.raises(Refused, match="does not belong to Mr Strudwicke"):
        link_make(client=make_client("Mr Strudwicke"), instrument=mine.instrument, at=timezone.now())
    assert not ClientLink.objects.exists()


def test_two_links_of_one_client_open_each_its_own_instrument(mine):
    second = make_instrument(client=mine.instrument.client, maker="Tithe & Gossamer")
    browser = Client()
    browser.post(enter(link_make(client=second.client, instrument=second, at=timezone.now())))
    assert "Gossamer" in browser.get("/your-piano/").content.decode()
    assert browser.get(reverse("portal-variation", args=[mine.variation.pk])).status_code == 404
