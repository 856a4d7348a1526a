"""Amounts typed by hand into a draft, on its page and on one of their own: added, changed, taken out, refused."""

from decimal import Decimal as D

import pytest
from django.contrib.messages import get_messages
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from jobs.quoting import services
from jobs.quoting.models import Quote, ScopeCharge


@pytest.fixture
def desk(boss):
    client = Client()
    client.force_login(boss, backend="django.contrib.auth.backends.ModelBackend")
    return client


def page(response):
    return response.content.decode()


def said(response):
    return " ".join(str(message) for message in get_messages(response.wsgi_request))


def test_an_amount_by_hand_is_added_and_taken_out(desk, scope):
    address = reverse("charge-add", args=[scope.pk])
    desk.post(address, {"kind": "transport", "words": "Carriage", "amount": "280.00", "vat_percent": "20", "stage": ""})
    charge = scope.charges.get(by_hand=True)
    assert (charge.words, charge.gross) == ("Carriage", D("280.00"))
    desk.post(reverse("charge-drop", args=[charge.pk]))
    assert not ScopeCharge.objects.filter(by_hand=True).exists()


@pytest.mark.parametrize(
    "bad",
    [{"amount": "much"}, {"amount": "-3"}, {"amount": "1.001"}, {"words": ""}, {"kind": "x"}, {"vat_percent": "101"}],
)
def test_a_bad_amount_comes_back_in_its_open_form(desk, scope, bad):
    data = {"kind": "outwork", "words": "Plating", "amount": "10", "vat_percent": "20", "stage": "", **bad}
    response = desk.post(reverse("charge-add", args=[scope.pk]), data)
    assert response.status_code == 422
    assert "One thing to mend" in page(response)
    assert f'value="{data["amount"]}"' in page(response)
    assert not scope.charges.filter(by_hand=True).exists()


@pytest.mark.parametrize(("mode", "side"), [("gross", "280.00"), ("net", "233.33")])
def test_an_amount_by_hand_is_changed_on_a_page_of_its_own(desk, draft, scope, mode, side):
    Quote.objects.filter(pk=draft.pk).update(vat_mode=mode)
    charge = ScopeCharge.objects.create(
        scope=scope, kind="transport", words="Carriage", net="233.33", gross="280.00", vat_percent=20, by_hand=True,
        stage="finish", position=501,
    )  # fmt: skip
    before = scope.total_likely
    address = reverse("charge-change", args=[charge.pk])
    assert address in page(desk.get(reverse("quote-show", args=[draft.number])))
    assert f'value="{side}"' in page(desk.get(address))
    data = {"kind": "outwork", "words": "Carriage, both ways", "amount": "600", "vat_percent": "20", "stage": ""}
    bad = desk.post(address, {**data, "amount": "1.001"})
    assert (bad.status_code, 'value="1.001"' in page(bad), "Carriage, both ways" in page(bad)) == (422, True, True)
    assert desk.post(address, data)["Location"] == reverse("quote-show", args=[draft.number])
    charge.refresh_from_db()
    scope.refresh_from_db()
    assert (charge.kind, charge.words, charge.stage, charge.position) == ("outwork", "Carriage, both ways", "", 501)
    assert {"gross": charge.gross, "net": charge.net}[mode] == 600
    assert scope.total_likely > before
    assert scope.charges.filter(by_hand=True).count() == 1


def test_only_an_amount_by_hand_of_a_draft_is_opened_for_change(desk, scope, boss):
    data = {"kind": "outwork", "words": "Gold", "amount": "99", "vat_percent": "20", "stage": ""}

    def refused(charge):
        address = reverse("charge-change", args=[charge.pk])
        assert desk.get(address).status_code == 302
        return said(desk.post(address, data))

    assert "follows from the work" in refused(scope.charges.filter(by_hand=False).first())
    typed = services.charge_write(scope=scope, kind="outwork", words="Plating", amount=D(10))
    services.quote_send(quote=scope.quote, by=boss, at=timezone.now())
    assert "stays as it was read" in refused(typed)
    assert not ScopeCharge.objects.filter(words="Gold").exists()


def test_an_amount_for_a_sent_quote_is_refused_in_words(desk, scope, boss):
    out = services.quote_send(quote=scope.quote, by=boss, at=timezone.now())
    data = {"kind": "outwork", "words": "Plating", "amount": "10", "vat_percent": "20", "stage": ""}
    response = desk.post(reverse("charge-add", args=[out.scopes.get().pk]), data)
    assert "stays as it was read" in said(response)
    assert not ScopeCharge.objects.filter(by_hand=True).exists()
