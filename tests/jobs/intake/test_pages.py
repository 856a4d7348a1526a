"""The pages of clients, instruments and enquiries, for each of the cast."""

import pytest
from django.urls import reverse

from jobs.intake.models import Client, Enquiry, Instrument
from tests.factories import TODAY, make_client, make_instrument

pytestmark = pytest.mark.django_db

PAGES = ["client-list", "client-new", "instrument-new", "enquiry-list", "enquiry-new"]
NASTY = 'O\'Brien "the <b>Bösendörfler</b>" 🎹 & sons'


def enquiry_fields(**more):
    return {
        "aim": "To be played two hours a day",
        "received_on": "2026-01-11",
        "client": "",
        "instrument": "",
        "client-name": "Ms Vanewood",
        "instrument-kind": "grand",
        "instrument-first_key": "A0",
        "instrument-last_key": "85",
        "instrument-last_wound_key": "E2",
        "instrument-bars_above": "C4, F♯5",
        **more,
    }


@pytest.mark.parametrize("name", PAGES)
def test_managers_see_a_page_technicians_are_told_and_strangers_sign_in(name, as_manager, as_technician, stranger):
    assert as_manager.get(reverse(name)).status_code == 200
    assert as_technician.get(reverse(name)).status_code == 403
    asked = stranger.get(reverse(name))
    assert asked.status_code == 302
    assert asked["Location"].startswith(reverse("people-sign-in"))


def test_an_enquiry_brings_client_and_instrument_with_it(as_manager):
    sent = as_manager.post(reverse("enquiry-new"), enquiry_fields())
    assert sent.status_code == 302
    instrument = Instrument.objects.get()
    assert instrument.compass.words() == "85 notes, A0 to A7"
    assert (instrument.last_wound_key, instrument.bars_above, instrument.client.name) == (20, [40, 58], "Ms Vanewood")


def test_a_known_instrument_brings_its_owner(as_manager):
    instrument = make_instrument()
    as_manager.post(reverse("enquiry-new"), {"aim": "Again", "received_on": "2026-01-11", "instrument": instrument.pk})
    assert Enquiry.objects.get().instrument == instrument
    assert Client.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("instrument-last_key", "H9", "is not a note"),
        ("instrument-last_key", "120", "lies outside every piano"),
        ("instrument-last_key", "E2", "too few for a piano"),
        ("instrument-last_wound_key", "C8", "The break must lie inside the compass"),
        ("instrument-bars_above", "C4, Q", "is not a note"),
        ("instrument-year", "2999", "is still to come"),
        ("instrument-kind", "square", "square"),
        ("client-email", "nobody", "That is not an e-mail address"),
        ("client-name", "x" * 300, "at most 120 characters"),
        ("aim", "", "in the owner’s own words"),
        ("received_on", "2999-01-01", "That day is still to come"),
    ],
)
def test_a_bad_value_is_told_beside_its_field_and_nothing_typed_is_lost(field, value, sentence, as_manager):
    sent = as_manager.post(reverse("enquiry-new"), enquiry_fields(**{field: value}))
    page = sent.content.decode()
    assert sent.status_code == 422
    assert sentence in page
    assert "Ms Vanewood" in page or field == "client-name"
    assert "To be played two hours a day" in page or field == "aim"
    assert value in page
    assert not Client.objects.exists()
    assert not Instrument.objects.exists()


def test_a_name_with_quotes_markup_and_emoji_is_shown_safely(as_manager):
    as_manager.post(reverse("client-new"), {"name": NASTY})
    client = Client.objects.get(name=NASTY)
    for address in (reverse("client-show", args=[client.pk]), reverse("client-list")):
        page = as_manager.get(address).content.decode()
        assert "<b>Bös" not in page
        assert "🎹 &amp; sons" in page


def test_a_client_is_found_by_any_of_the_words_and_by_the_maker(as_manager):
    make_instrument(client=make_client("Mr Pasketh", email=""), maker="Marchpane")
    make_instrument(client=make_client("Mrs Ferrowby", email=""), maker="Larkwhistle")
    found = as_manager.get(reverse("client-list"), {"q": "march pask"}).content.decode()
    assert "Mr Pasketh" in found
    assert "Mrs Ferrowby" not in found


def test_the_list_of_clients_is_exported_harmless(as_manager):
    make_client("=HYPERLINK(1)")
    text = as_manager.get(reverse("client-list"), {"as": "csv"}).content.decode("utf-8-sig")
    assert "'=HYPERLINK(1)" in text


@pytest.mark.parametrize("name", ["client-list", "enquiry-list"])
def test_a_list_asks_the_database_as_often_for_five_hundred_as_for_fifty(
    name, as_manager, django_assert_max_num_queries
):
    def ask():
        with django_assert_max_num_queries(100) as asked:
            as_manager.get(reverse(name))
        return len(asked.captured_queries)

    grow(50)
    fifty = ask()
    grow(450)
    assert ask() == fifty


def grow(count):
    clients = Client.objects.bulk_create(Client(name=f"Client {n}") for n in range(count))
    last = Instrument.objects.count()
    rows = Instrument.objects.bulk_create(
        Instrument(number=1000 + last + n, client=client, kind="grand") for n, client in enumerate(clients)
    )
    Enquiry.objects.bulk_create(Enquiry(instrument=row, received_on=TODAY, aim="Play") for row in rows)


def test_an_instrument_is_changed_and_a_compass_past_its_readings_refused(as_manager):
    from tests.factories import make_assessment, make_reading

    instrument = make_instrument(last_key=88)
    make_reading(make_assessment(instrument), 88, 50)
    sent = {"client": instrument.client.pk, "kind": "grand", "first_key": "A0", "last_key": "A7", "maker": "Hollowby"}
    page = as_manager.post(reverse("instrument-change", args=[instrument.number]), sent)
    assert "There are readings at C8" in page.content.decode()
    assert 'value="Hollowby"' in page.content.decode()
    instrument.refresh_from_db()
    assert (instrument.last_key, instrument.maker) == (88, "Larkwhistle")
    page = as_manager.post(reverse("instrument-change", args=[instrument.number]), {**sent, "last_key": "C8"})
    assert page.status_code == 302
    instrument.refresh_from_db()
    assert instrument.maker == "Hollowby"


def test_an_enquiry_is_declined_by_its_button(as_manager):
    enquiry = Enquiry.objects.create(instrument=make_instrument(), received_on=TODAY, aim="Play")
    address = reverse("enquiry-decline", args=[enquiry.pk])
    assert "Write what you tell the owner" in as_manager.post(address, {"words": ""}).content.decode()
    assert as_manager.post(address, {"words": "We are full."}).status_code == 302
    enquiry.refresh_from_db()
    assert (enquiry.state, enquiry.note) == ("declined", "We are full.")
