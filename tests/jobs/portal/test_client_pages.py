"""The client's pages: sealed, theirs alone, and answered once by name."""

import datetime as dt
import re
from decimal import Decimal

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from jobs import flow
from jobs.billing.models import Invoice
from jobs.portal.models import ClientLink
from jobs.portal.services import link_make
from jobs.portal.urls import urlpatterns
from jobs.quoting.models import Answer, TalkWish
from jobs.quoting.services import quote_send, quote_start, scope_write
from jobs.scheduling.models import Promise
from jobs.worklist.models import Job, Variation
from tests.factories import make_assessment, make_client, make_instrument
from workshop.calendar.words import day_words, day_words_year

pytestmark = pytest.mark.django_db
PORTAL = sorted(one.name for one in urlpatterns if one.name.startswith("portal-"))


def address(name, owned, token):
    given = {
        "portal-enter": [token],
        "portal-agree": [owned.quote.scopes.get().pk],
        "portal-variation": [owned.variation.pk],
        "portal-paper": ["quote", owned.quote.number],
        "portal-photograph": [owned.photograph.pk],
    }
    return reverse(name, args=given.get(name, []))


@pytest.mark.parametrize("name", PORTAL)
def test_every_page_stays_out_of_caches_search_engines_and_other_sites(name, mine, token, owner):
    method = "post" if name == "portal-choose" else "get"
    inside = getattr(owner, method)(address(name, mine, token))
    outside = getattr(Client(), method)(address(name, mine, token))
    assert inside.status_code == {"portal-gone": 410, "portal-choose": 302}.get(name, 200)
    assert outside.status_code == (200 if name == "portal-enter" else 410)
    if inside.streaming:
        inside.getvalue()
    for answer in (inside, outside):
        assert "no-store" in answer.headers["Cache-Control"]
        # The address with the key in it is told to no other site; a form of ours must still say where it comes from.
        assert answer.headers["Referrer-Policy"] == "same-origin"
        assert "noindex" in answer.headers["X-Robots-Tag"]
        assert "default-src 'self'" in answer.headers["Content-Security-Policy"]


@pytest.mark.parametrize("kind", ["quote", "invoice", "variation", "proof", "no-such-paper", "__class__"])
def test_the_papers_of_somebody_else_are_not_there(kind, owner, theirs):
    keys = {"quote": theirs.quote.number, "invoice": theirs.invoice.number, "variation": theirs.variation.pk}
    assert owner.get(reverse("portal-paper", args=[kind, keys.get(kind, theirs.job.pk)])).status_code == 404


@pytest.mark.parametrize("kind", ["quote", "invoice", "variation"])
def test_ones_own_papers_open_as_pdf(kind, owner, mine):
    keys = {"quote": mine.quote.number, "invoice": mine.invoice.number, "variation": mine.variation.pk}
    answer = owner.get(reverse("portal-paper", args=[kind, keys[kind]]))
    assert (answer.status_code, answer.content[:5]) == (200, b"%PDF-")


def test_the_variation_way_and_photograph_of_somebody_else_are_not_there(owner, theirs):
    way = theirs.quote.scopes.get().pk
    for name, key in [
        ("portal-variation", theirs.variation.pk),
        ("portal-photograph", theirs.photograph.pk),
        ("portal-agree", way),
        ("portal-agree", "no-such-way"),
        ("portal-agree", "²"),
        ("portal-agree", "9" * 30),
    ]:
        assert owner.get(reverse(name, args=[key])).status_code == 404, (name, key)
        assert owner.post(reverse(name, args=[key]), {"name": "Zoë", "content_hash": "0"}).status_code in {404, 405}
    theirs.variation.refresh_from_db()
    assert theirs.variation.state == "sent"


def test_a_photograph_not_meant_for_the_client_and_a_variation_not_sent_are_not_there(owner, mine):
    shown = owner.get(reverse("portal-photograph", args=[mine.photograph.pk]))
    assert (shown.status_code, shown.getvalue()[:2]) == (200, b"\xff\xd8")
    type(mine.photograph).objects.update(for_client=False)
    assert owner.get(reverse("portal-photograph", args=[mine.photograph.pk])).status_code == 404
    Variation.objects.update(state="withdrawn")
    assert owner.get(reverse("portal-variation", args=[mine.variation.pk])).status_code == 404


@pytest.mark.parametrize("name", [name for name in PORTAL if name not in {"portal-enter", "portal-gone"}])
def test_being_signed_in_at_the_workshop_does_not_open_a_clients_page(name, mine, token, as_manager):
    method = "post" if name == "portal-choose" else "get"
    assert getattr(as_manager, method)(address(name, mine, token)).status_code == 410


def test_a_link_does_not_sign_anybody_in_at_the_workshop(owner):
    assert owner.get("/").status_code in {302, 403}
    assert owner.get("/money/").status_code == 302


@pytest.fixture
def asked(boss):
    """A browser of an owner whose quote waits for an answer, and the quote."""
    piano = make_instrument(client=make_client("Dr Strudwicke"))
    quote = quote_start(instrument=piano, assessment=None, by=boss, at=timezone.now())
    scope_write(scope=quote.scopes.get(), chosen={"ky-bush": None}, refused={}, title="Quiet keys")
    sent = quote_send(quote=quote, by=boss, at=timezone.now())
    browser = Client()
    browser.post(f"/your-piano/enter/{link_make(client=piano.client, instrument=piano, at=timezone.now())}/")
    return browser, sent


def agree(browser, quote, name="Dr Strudwicke", way=None, **more):
    way = way or str(quote.scopes.get().pk)
    return browser.post(
        f"/your-piano/agree/{way}/", {"name": name, "content_hash": quote.content_hash, **more}, follow=True
    )


def test_a_choice_agrees_to_nothing_and_its_words_come_along_with_the_name(asked):
    browser, quote = asked
    way = str(quote.scopes.get().pk)
    answer = browser.post("/your-piano/choose/", {"way": way, "words": "Before Easter, please."})
    assert answer["Location"] == f"/your-piano/agree/{way}/"
    assert not Answer.objects.exists()
    agree(browser, quote)
    given = Answer.objects.get()
    assert (given.name, given.words, given.kind) == ("Dr Strudwicke", "Before Easter, please.", "accepted")


def test_accepting_makes_one_job_and_a_second_press_is_told_kindly(asked):
    browser, quote = asked
    assert "Thank you" in agree(browser, quote).content.decode()
    again = agree(browser, quote, name="Mrs Strudwicke")
    page = again.content.decode()
    assert again.status_code == 200
    assert "Dr Strudwicke accepted" in page
    assert "answered once" in page
    assert (Answer.objects.count(), Job.objects.count()) == (1, 1)
    assert Invoice.objects.filter(job__quote=quote).count() == 1
    late = browser.post("/your-piano/choose/", {"way": "decline"}, follow=True)
    assert "no longer open for an answer" in late.content.decode()


def test_declining_makes_no_job(asked):
    browser, quote = asked
    agree(browser, quote, way="decline")
    assert (Answer.objects.get().kind, Job.objects.count()) == ("declined", 0)


@pytest.mark.parametrize(("name", "status"), [("", 422), ("   ", 422), ("x" * 121, 422)])
def test_without_a_proper_name_nothing_is_kept_and_the_page_says_so(asked, name, status):
    browser, quote = asked
    answer = agree(browser, quote, name=name)
    assert answer.status_code == status
    assert not Answer.objects.exists()


def test_a_quote_that_reads_differently_from_the_page_is_not_answered(asked):
    browser, quote = asked
    assert "as it was sent" in agree(browser, quote, content_hash="0" * 64).content.decode()
    assert not Answer.objects.exists()


def test_a_wish_to_talk_is_kept_and_nothing_is_agreed(asked):
    browser, _ = asked
    answer = browser.post("/your-piano/choose/", {"way": "talk", "words": "What is bushing?"}, follow=True)
    assert "nothing has been agreed" in answer.content.decode()
    assert TalkWish.objects.count() == 1
    assert not Answer.objects.exists()


@pytest.mark.parametrize("way", ["", "0", "no-such", "<script>"])
def test_a_choice_that_is_none_comes_back_with_what_was_written(asked, way):
    browser, _ = asked
    answer = browser.post("/your-piano/choose/", {"way": way, "words": "I cannot decide."})
    assert answer.status_code == 422
    assert "I cannot decide." in answer.content.decode()


def test_a_variation_is_answered_once_by_name(owner, mine):
    page = reverse("portal-variation", args=[mine.variation.pk])
    total = Job.objects.get(pk=mine.job.pk).agreed_total
    given = {"name": "Mrs Ferrowby", "content_hash": mine.variation.content_hash, "answer": "agree"}
    assert owner.post(page, given | {"name": ""}).status_code == 422
    assert owner.post(page, given)["Location"] == reverse("portal-follow")
    again = owner.post(page, given | {"answer": "decline", "name": "Mr Ferrowby"}, follow=True)
    assert "Mrs Ferrowby answered this on" in again.content.decode()
    mine.variation.refresh_from_db()
    assert mine.variation.state == "agreed"
    assert Job.objects.get(pk=mine.job.pk).agreed_total == total + mine.variation.total


def test_an_answer_without_a_choice_is_no_answer(owner, mine):
    page = reverse("portal-variation", args=[mine.variation.pk])
    for given in ({}, {"answer": ""}, {"answer": "perhaps"}):
        answer = owner.post(page, {"name": "Zoë", "content_hash": mine.variation.content_hash, **given})
        assert answer.status_code == 422
        assert "so that we know which you mean" in answer.content.decode()
        assert "Zoë" in answer.content.decode()
    mine.variation.refresh_from_db()
    assert mine.variation.state == "sent"


def test_before_a_letter_was_sent_nothing_is_offered_to_read(boss):
    piano = make_instrument(client=make_client("Miss Tarn"))
    link = link_make(client=piano.client, instrument=piano, at=timezone.now())
    browser = Client()
    browser.post(f"/your-piano/enter/{link}/")
    page = browser.get(reverse("portal-follow")).content.decode()
    assert "We have not written to you yet about what we found." in page
    assert "the ways to go on" not in page


def test_names_with_markup_are_text(owner, mine):
    type(mine.instrument).objects.filter(pk=mine.instrument.pk).update(maker="<script>alert(1)</script>")
    for name in ("portal-home", "portal-follow"):
        page = owner.get(address(name, mine, "")).content.decode()
        assert "<script>alert" not in page
        assert "&lt;script&gt;alert" in page


def test_the_manager_makes_a_link_and_sees_it_this_once(as_manager, mine):
    page = as_manager.post(reverse("link-make", args=[mine.instrument.number])).content.decode()
    link = ClientLink.objects.get()
    token = page.split("/your-piano/enter/")[1].split("/")[0]
    assert Client().post(f"/your-piano/enter/{token}/").status_code == 302
    assert link.token_hash not in page
    assert token not in as_manager.get(reverse("desk-instrument", args=[mine.instrument.number])).content.decode()


# ---- the date, and by when to say yes ------------------------------------------------------------------------


@pytest.fixture
def dated(boss):
    """A quote sent three days ago whose date holds for an answer within two weeks, and its owner’s browser."""
    sent_at = timezone.now() - dt.timedelta(days=3)
    piano = make_instrument(client=make_client("Dr Strudwicke"))
    quote = quote_start(instrument=piano, assessment=None, by=boss, at=sent_at)
    scope = quote.scopes.get()
    scope_write(scope=scope, chosen={"ky-bush": None}, refused={}, title="Quiet keys")
    day = timezone.localdate() + dt.timedelta(days=120)
    by = timezone.localdate() + dt.timedelta(days=11)
    quote_send(quote=quote, by=boss, at=sent_at, ready={scope.pk: (day, Decimal("0.80"))}, answer_by={scope.pk: by})
    browser = Client()
    browser.post(f"/your-piano/enter/{link_make(client=piano.client, instrument=piano, at=timezone.now())}/")
    quote.refresh_from_db()
    return browser, quote, day, by


def words_of(answer):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode())).replace(" ,", ",")


def test_the_owner_reads_the_date_and_by_when_to_say_yes_and_nothing_of_others(dated):
    browser, quote, day, by = dated
    told = f"{day_words_year(day)}, if you say yes by {day_words(by)}"
    assert told in words_of(browser.get("/your-piano/"))
    assert told in words_of(browser.get(reverse("portal-agree", args=[quote.scopes.get().pk])))
    assert "moves" not in words_of(browser.get("/your-piano/"))


def test_a_yes_in_time_is_promised_the_date(dated):
    browser, quote, day, _ = dated
    agree(browser, quote)
    assert Promise.objects.get(job__quote=quote).date == day


def test_after_that_day_the_date_is_no_longer_told_nor_promised_while_the_prices_hold(dated):
    browser, quote, day, by = dated
    with time_machine.travel(timezone.now() + dt.timedelta(days=12), tick=False):
        words = words_of(browser.get("/your-piano/"))
        assert f"we will tell you it was {day_words_year(day)} for an answer by {day_words(by)}" in words
        assert "if you say yes by" not in words_of(browser.get(reverse("portal-agree", args=[quote.scopes.get().pk])))
        agree(browser, quote)
        assert Job.objects.filter(quote=quote).exists()
        assert not Promise.objects.filter(job__quote=quote).exists()


def test_an_assessment_paid_for_alone_is_asked_for_and_opens_for_its_owner_only(boss, theirs):
    at = timezone.now()
    piano = make_instrument(client=make_client("Miss Thorne"))
    looked = make_assessment(piano, finished_at=at, on=timezone.localdate())
    invoice = flow.assessment_invoiced(looked, Decimal("180.00"), by=boss, on=timezone.localdate(), at=at)
    browser = Client()
    token = link_make(client=piano.client, instrument=piano, at=at)
    assert browser.post(f"/your-piano/enter/{token}/").status_code == 302
    home = " ".join(browser.get("/your-piano/").content.decode().split())
    assert "To be paid" in home
    assert "for the assessment, £180.00, by" in home
    assert f"Assessment, invoice {invoice.number} (PDF)" in home
    own = reverse("portal-paper", args=["invoice", invoice.number])
    assert browser.get(own).content[:5] == b"%PDF-"
    assert browser.get(reverse("portal-paper", args=["invoice", theirs.invoice.number])).status_code == 404
    other = Client()
    token = link_make(client=theirs.instrument.client, instrument=theirs.instrument, at=at)
    other.post(f"/your-piano/enter/{token}/")
    assert other.get(own).status_code == 404
