"""Pages and buttons of quotes: they work, bad values come back as sentences, and nothing typed is lost."""

import datetime as dt
import re
from decimal import Decimal

import pytest
from django.contrib.messages import get_messages
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from jobs.quoting import services
from jobs.quoting.models import Answer, Quote, TalkWish
from tests.factories import make_instrument, make_technician

D = Decimal


@pytest.fixture
def desk(boss):
    client = Client()
    client.force_login(boss, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def out(scope, boss):
    """The draft, sent today by the clock."""
    return services.quote_send(quote=scope.quote, by=boss, at=timezone.now())


def said(response):
    return " ".join(str(message) for message in get_messages(response.wsgi_request))


def page(response):
    return response.content.decode()


def keep(desk, scope, **more):
    words = {"title": "One way", "notice": "", "stays_open": "", "stay": "1"}
    return desk.post(reverse("scope-change", args=[scope.pk]), {**words, **more})


@pytest.mark.parametrize("name", ["quote-show", "quote-change", "quote-pdf"])
def test_a_technician_is_told_and_a_stranger_is_led_to_the_door(draft, name):
    address = reverse(name, args=[draft.number])
    bench = Client()
    bench.force_login(make_technician(), backend="django.contrib.auth.backends.ModelBackend")
    assert bench.get(address).status_code == 403
    assert Client().get(address).status_code == 302


@pytest.mark.parametrize("name", ["quote-show", "quote-change", "quote-pdf"])
def test_a_page_of_a_quote_that_is_not_there_is_not_found(desk, name):
    assert desk.get(reverse(name, args=[4711])).status_code == 404


@pytest.mark.parametrize("name", ["quote-send", "quote-copy", "quote-answer", "quote-work-out", "scope-add"])
def test_buttons_want_a_press_and_a_quote_that_is_there(desk, draft, name):
    assert desk.get(reverse(name, args=[draft.number])).status_code == 405
    assert desk.post(reverse(name, args=[4711])).status_code == 404


def test_the_list_says_first_what_waits(desk, out):
    assert "One quote waits for an answer." in page(desk.get(reverse("quote-list")))
    TalkWish.objects.create(quote=out, words="Please ring.", at=timezone.now())
    text = page(desk.get(reverse("quote-list")))
    assert "One client wants to talk before deciding." in text
    assert "asks you" in text


def test_an_answer_is_overdue_the_day_after_the_last(desk, out):
    Quote.objects.filter(pk=out.pk).update(valid_until=timezone.localdate())
    assert "answer overdue" not in page(desk.get(reverse("quote-list")))
    Quote.objects.filter(pk=out.pk).update(valid_until=timezone.localdate() - dt.timedelta(days=1))
    text = page(desk.get(reverse("quote-list")))
    assert "One answer is overdue." in text
    assert "answer overdue" in text


@pytest.mark.parametrize(
    ("query", "found"),
    [("q=ferrowby", 1), ("q=larkwhistle+ferrowby", 1), ("q=larkwhistle+nobody", 0), ("state=sent", 1),
     ("state=draft", 0), ("kind=upright", 0), ("sent_from=2000-01-01", 1), ("sent_to=2000-01-01", 0),
     ("sent_from=rubbish", 1), ("q=" + "9" * 40, 0)],
)  # fmt: skip
def test_the_list_is_narrowed_by_words_state_kind_and_day(desk, out, query, found):
    response = desk.get(reverse("quote-list") + "?" + query)
    assert response.context["table"].number_of_rows == found


def test_the_list_is_exported_with_plain_numbers(desk, out):
    lines = desk.get(reverse("quote-list") + "?as=csv").content.decode().splitlines()
    assert lines[0].lstrip("\ufeff").startswith("No.,Instrument,Client,Ways,From,To")
    assert f"{out.scopes.get().total_likely:.2f}" in lines[1]


def test_a_number_leads_to_a_new_quote_and_an_unknown_one_says_so(desk, draft):
    known = desk.get(reverse("quote-list"), {"number": draft.instrument.number})
    assert known["Location"] == reverse("quote-new", args=[draft.instrument.number])
    assert "There is no instrument 999998" in page(desk.get(reverse("quote-list"), {"number": 999_998}))


def test_a_quote_is_begun_with_one_press(desk, work):
    response = desk.post(reverse("quote-new", args=[make_instrument().number]))
    assert response["Location"] == reverse("quote-show", args=[Quote.objects.get().number])


def test_the_page_shows_the_ways_side_by_side_with_what_differs(desk, draft, scope):
    twin = services.scope_add(quote=draft, copy_of=scope)
    refused = {"rg-fine": "Next year."}
    services.scope_write(scope=twin, chosen={"ac-shank": None}, refused=refused, title="New shanks")
    text = page(desk.get(reverse("quote-show", args=[draft.number])))
    for words in ("Two ways for the Larkwhistle grand, about 1887", "Work ac-hang", "because of: Work ac-shank",
                  "Next year.", "is refused, but made necessary by",
                  "four operations added, one not done"):  # fmt: skip
        assert words in text


def test_a_cheaper_way_is_said_to_be_less(desk, draft, scope):
    twin = services.scope_add(quote=draft, copy_of=scope)
    services.scope_write(scope=twin, chosen={"ac-shape": None}, refused={}, title="Less")
    twin.refresh_from_db()
    text = page(desk.get(reverse("quote-show", args=[draft.number])))
    assert f"£{scope.total_likely - twin.total_likely:,.2f} less" in text
    assert "-£" not in text


def test_the_editor_keeps_ticks_counts_and_reasons(desk, scope):
    response = keep(desk, scope, pick=["ac-shank", "tn-settle"], **{"count-tn-settle": "3", "why-rg-fine": "Not now."})
    assert response.status_code == 302
    rows = dict(scope.operations.values_list("operation__code", "because"))
    assert (rows["tn-settle"], rows["rg-fine"], rows["ac-hang"]) == ("chosen", "refused", "implied")
    assert scope.operations.get(operation__code="tn-settle").quantity == 3
    text = page(desk.get(response["Location"]))
    assert "because of: Work ac-shank" in text
    assert 'value="Not now."' in text


def test_a_reason_taken_back_lets_the_work_in_again(desk, scope):
    keep(desk, scope, pick=["ac-shank"], **{"why-rg-fine": "Not now."})
    keep(desk, scope, pick=["ac-shank"], **{"why-rg-fine": ""})
    assert scope.operations.get(operation__code="rg-fine").because == "implied"


def test_ticking_what_was_refused_takes_it_in(desk, scope):
    keep(desk, scope, pick=["ac-shank"], **{"why-rg-fine": "Not now."})
    keep(desk, scope, pick=["ac-shank", "rg-fine"], **{"why-rg-fine": "Not now."})
    assert scope.operations.get(operation__code="rg-fine").because == "chosen"


def test_alternatives_are_one_choice(desk, scope):
    address = reverse("scope-change", args=[scope.pk])
    text = page(desk.get(address))
    assert "Hammers: at most one" in text
    assert text.count('name="group-1"') == 3  # none of them, hanging, shaping
    assert '<input type="radio" name="group-1" value="" checked>' in text
    keep(desk, scope, **{"group-1": "ac-shape"})
    assert scope.operations.get().operation.code == "ac-shape"
    assert '<input type="radio" name="group-1" value="">' in page(desk.get(address))


def test_a_group_spread_over_two_stages_stays_one_choice(desk, scope, work):
    work["ac-shape"].stage = "regulation"
    work["ac-shape"].save()
    keep(desk, scope, **{"group-1": "ac-hang"})
    text = page(desk.get(reverse("scope-change", args=[scope.pk])))
    assert text.count('name="group-1" value=""') == 1
    assert '<input type="radio" name="group-1" value="">' in text


def test_two_alternatives_come_back_as_a_sentence_with_everything_that_was_typed(desk, scope):
    response = keep(desk, scope, pick=["ac-hang", "ac-shape"], title="Both, please", **{"count-ac-hang": "1"})
    text = page(response)
    assert response.status_code == 422
    assert "are alternatives (hammers): choose one of them" in text
    assert 'value="Both, please"' in text
    assert scope.operations.get().operation.code == "ky-bush"


def seen_on(response):
    return re.search(r'name="seen" value="([0-9a-f]{64})"', page(response)).group(1)


def test_what_somebody_else_changed_meanwhile_is_not_lost_in_silence(desk, scope):
    seen = seen_on(desk.get(reverse("scope-change", args=[scope.pk])))
    assert keep(desk, scope, pick=["rg-fine"], title="Hers", seen=seen).status_code == 302
    mistyped = keep(desk, scope, pick=["ac-shape"], title="", seen=seen)
    assert seen_on(mistyped) == seen, "another mistake does not wave the warning through"
    late = keep(desk, scope, pick=["ac-shape"], title="His", seen=seen)
    assert late.status_code == 422
    assert "changed by somebody else since you opened it" in page(late)
    assert 'value="His"' in page(late)
    scope.refresh_from_db()
    assert scope.title == "Hers"
    assert keep(desk, scope, pick=["ac-shape"], title="His", seen=seen_on(late)).status_code == 302
    scope.refresh_from_db()
    assert scope.title == "His"


@pytest.mark.parametrize("count", ["many", "1e5", "NaN", "-1", "0", "٣٣٣٣", "9" * 30, "1,5,5"])
def test_a_count_that_is_none_comes_back_with_what_was_typed(desk, scope, count):
    response = keep(desk, scope, pick=["ac-shape"], **{"count-ac-shape": count})
    assert response.status_code == 422
    assert f'value="{count}"' in page(response)
    assert scope.operations.get().operation.code == "ky-bush"


def test_a_comma_is_a_decimal_point_too(desk, scope):
    keep(desk, scope, pick=["ac-shape"], **{"count-ac-shape": "1,5"})
    assert scope.operations.get().quantity == D("1.5")


def test_a_code_from_nowhere_is_refused_in_words(desk, scope):
    assert "holds no operation “no-such”" in page(keep(desk, scope, pick=["no-such"]))


def test_a_missing_name_comes_back(desk, scope):
    assert keep(desk, scope, title="  ", pick=["ac-shape"]).status_code == 422
    assert scope.operations.get().operation.code == "ky-bush"


def test_letter_and_rates_are_changed_and_the_amounts_follow(desk, draft, scope):
    before = scope.total_likely
    data = {"letter": "Hello.", "vat_mode": "net", "vat_percent": "20", "hourly_rate": "96", "deposit_percent": "25"}
    desk.post(reverse("quote-change", args=[draft.number]), data)
    draft.refresh_from_db()
    scope.refresh_from_db()
    assert (draft.vat_mode, draft.hourly_rate, draft.letter) == ("net", 96, "Hello.")
    assert scope.total_likely > before * D("1.8")


def test_bad_rates_come_back(desk, draft):
    data = {"letter": "Hello.", "vat_mode": "x", "vat_percent": "200", "hourly_rate": "0", "deposit_percent": "-1"}
    response = desk.post(reverse("quote-change", args=[draft.number]), data)
    assert response.status_code == 422
    assert page(response).count("Four things to mend") == 1


def test_a_way_is_added_like_another_and_removed(desk, draft, scope):
    response = desk.post(reverse("scope-add", args=[draft.number]), {"like": str(scope.pk)})
    twin = draft.scopes.get(position=2)
    assert response["Location"] == reverse("scope-change", args=[twin.pk])
    assert twin.operations.count() == scope.operations.count()
    desk.post(reverse("scope-remove", args=[twin.pk]))
    assert draft.scopes.get() == scope
    assert "at least one way" in said(desk.post(reverse("scope-remove", args=[scope.pk])))


def test_sending_freezes_and_says_what_comes_next(desk, draft, scope):
    response = desk.post(reverse("quote-send", args=[draft.number]))
    assert "frozen" in said(response)
    draft.refresh_from_db()
    assert draft.state == "sent"
    assert "Freeze and write the letter" not in page(desk.get(response["Location"]))


@pytest.mark.parametrize("like", ["²", "9" * 40, "-1", "x"])
def test_a_way_like_one_that_is_not_there_begins_empty(desk, draft, scope, like):
    assert desk.post(reverse("scope-add", args=[draft.number]), {"like": like}).status_code == 302
    assert not draft.scopes.get(position=2).operations.exists()


def test_a_reason_with_a_sign_no_database_keeps_comes_back(desk, scope):
    response = keep(desk, scope, pick=["ac-shank"], **{"why-ky-weigh": "Next\x00year"})
    assert response.status_code == 422
    assert "The reason “Next?year” holds a sign that cannot be kept" in page(response)


def test_the_letter_of_a_sent_quote_is_not_opened_for_change(desk, out):
    response = desk.get(reverse("quote-change", args=[out.number]))
    assert response["Location"] == reverse("quote-show", args=[out.number])
    assert "stays as it was read" in said(response)


def test_a_sent_way_cannot_be_opened_for_change(desk, out):
    response = desk.get(reverse("scope-change", args=[out.scopes.get().pk]))
    assert response.status_code == 302
    assert "stays as it was read" in said(response)


def test_sending_an_empty_draft_is_refused_in_words(desk, draft):
    assert "holds no work yet" in said(desk.post(reverse("quote-send", args=[draft.number])))


def test_an_answer_by_telephone_is_kept_once(desk, out, boss):
    address = reverse("quote-answer", args=[out.number])
    data = {"answer": str(out.scopes.get().pk), "name": "Mrs Ferrowby", "via": "telephone", "words": "Yes, please."}
    desk.post(address, data)
    answer = Answer.objects.get()
    assert (answer.kind, answer.via) == ("accepted", f"telephone, kept by {boss}")
    again = desk.post(address, {**data, "answer": "none"})
    assert again.status_code == 422
    assert "A quote is answered once" in page(again)
    assert Answer.objects.count() == 1


@pytest.mark.parametrize("bad", [{"name": ""}, {"answer": "4711"}, {"answer": ""}, {"via": "pigeon"}])
def test_an_answer_that_cannot_be_comes_back(desk, out, bad):
    data = {"answer": "none", "name": "Mrs Ferrowby", "via": "letter", "words": "Sorry, “no”.", **bad}
    response = desk.post(reverse("quote-answer", args=[out.number]), data)
    assert response.status_code == 422
    assert "Sorry, “no”." in page(response)
    assert not Answer.objects.exists()


def test_a_quote_changed_behind_our_back_says_so_on_its_page(desk, out):
    out.scopes.update(title="Cheaper")
    assert "is not what was sent" in page(desk.get(reverse("quote-show", args=[out.number])))


def test_the_letter_is_a_pdf(desk, draft):
    response = desk.get(reverse("quote-pdf", args=[draft.number]))
    assert response["Content-Type"] == "application/pdf"
    assert response.content.startswith(b"%PDF")


def test_working_out_anew_says_whether_figures_changed(desk, draft, scope, work):
    address = reverse("quote-work-out", args=[draft.number])
    assert "still holds" in said(desk.post(address))
    work["ky-bush"].hours_likely = D(15)
    work["ky-bush"].save()
    assert "have changed" in said(desk.post(address))


def test_a_page_asks_the_database_as_often_for_five_ways_as_for_two(desk, draft, scope, django_assert_num_queries):
    address = reverse("quote-show", args=[draft.number])
    services.scope_add(quote=draft, copy_of=scope)
    desk.get(address)
    with CaptureQueriesContext(connection) as two:
        desk.get(address)
    for _ in range(3):
        services.scope_add(quote=draft, copy_of=scope)
    with django_assert_num_queries(len(two)):
        desk.get(address)
