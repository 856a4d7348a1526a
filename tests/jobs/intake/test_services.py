"""Clients, instruments and enquiries are kept whole, or refused in a sentence."""

import pytest

from jobs.intake import services
from jobs.intake.calc import era_of
from jobs.intake.models import Client, Enquiry, Instrument
from tests.factories import TODAY, make_client, make_instrument, make_manager
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db


def write(**more):
    return services.instrument_write(**{"client": make_client(), "kind": "grand", "by": make_manager(), **more})


def test_instruments_are_numbered_one_after_another():
    first = write(number=212)
    assert write().number == first.number + 1


def test_a_compass_no_piano_has_is_refused_in_a_sentence():
    with pytest.raises(Refused, match="40 keys are too few"):
        write(first_key=1, last_key=40)
    assert not Instrument.objects.exists()


def test_a_break_outside_the_compass_is_refused():
    with pytest.raises(Refused, match="must lie inside the compass"):
        write(last_key=85, last_wound_key=87)


def test_the_compass_cannot_be_drawn_in_past_a_key_that_was_read():
    instrument = make_instrument(last_key=88)
    with pytest.raises(Refused, match="readings at C8"):
        write(instrument=instrument, client=instrument.client, last_key=85, keys_read={49, 88})


def test_an_estimate_without_a_year_is_no_estimate():
    assert not write(year=None, year_is_estimate=True).year_is_estimate


def test_client_instrument_and_enquiry_are_kept_together():
    enquiry = services.enquiry_receive_all(
        aim="To be played again",
        received_on=TODAY,
        by=make_manager(),
        client_fields={"name": "Ms Vanewood"},
        instrument_fields={"kind": "upright", "maker": "Emberquist"},
    )
    assert (enquiry.instrument.client.name, enquiry.instrument.maker) == ("Ms Vanewood", "Emberquist")


def test_nothing_is_kept_when_a_part_of_an_enquiry_cannot_be():
    with pytest.raises(Refused):
        services.enquiry_receive_all(
            aim="To be played again",
            received_on=TODAY,
            by=make_manager(),
            client_fields={"name": "Ms Vanewood"},
            instrument_fields={"kind": "upright", "first_key": 1, "last_key": 20},
        )
    assert not Client.objects.exists()
    assert not Enquiry.objects.exists()


def test_an_instrument_of_somebody_else_is_refused():
    instrument = make_instrument()
    with pytest.raises(Refused, match="belongs to Mrs Ferrowby, not to Mr Pasketh"):
        services.enquiry_receive_all(
            aim="x", received_on=TODAY, by=make_manager(), client=make_client("Mr Pasketh"), instrument=instrument
        )


def test_an_enquiry_is_declined_once_and_with_words():
    by = make_manager()
    enquiry = services.enquiry_receive(instrument=make_instrument(), aim="Play", received_on=TODAY, by=by)
    with pytest.raises(Refused, match="Write what you tell the owner"):
        services.enquiry_decline(enquiry=enquiry, words=" ", by=by)
    declined = services.enquiry_decline(enquiry=enquiry, words="The frame is cracked.", by=by)
    assert (declined.state, declined.note) == ("declined", "The frame is cracked.")
    with pytest.raises(Refused, match="declined before"):
        services.enquiry_decline(enquiry=enquiry, words="Again.", by=by)


@pytest.mark.parametrize(("year", "era"), [(1914, "old"), (1915, "modern"), (None, "modern")])
def test_the_era_follows_the_year(year, era):
    assert era_of(year) == Instrument(year=year).era == era
