"""Changes: clients, instruments and enquiries."""

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from django.db import transaction
from django.db.models import Max

from jobs.intake.models import Client, Enquiry, Instrument
from workshop.house.models import Shop
from workshop.house.queries import the_shop
from workshop.keyboard.calc.notes import key_name
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check


@transaction.atomic
def client_write(
    *,
    name: str,
    by: Person,
    salutation: str = "",
    email: str = "",
    phone: str = "",
    address: str = "",
    note: str = "",
    client: Client | None = None,
) -> Client:
    """Write a client down, or change ``client``. Raises Refused when a field cannot be kept."""
    client = client or Client()
    client.name = name.strip()
    client.salutation = salutation.strip()
    client.email = email.strip()
    client.phone = phone.strip()
    client.address = address.strip()
    client.note = note.strip()
    row_check(client)
    client.save()
    return client


def _next_number() -> int:
    """Return the next free number; the shop row is held, so that two people never get the same one."""
    Shop.objects.select_for_update().get(pk=the_shop().pk)
    return (Instrument.objects.aggregate(last=Max("number"))["last"] or 0) + 1


@transaction.atomic
def instrument_write(
    *,
    client: Client,
    kind: str,
    by: Person,
    number: int | None = None,
    maker: str = "",
    year: int | None = None,
    year_is_estimate: bool = False,
    size_cm: int | None = None,
    first_key: int = 1,
    last_key: int = 88,
    last_wound_key: int | None = None,
    bars_above: Sequence[int] = (),
    finish: str = "",
    numbers: str = "",
    cautions: str = "",
    note: str = "",
    instrument: Instrument | None = None,
    keys_read: Collection[int] = (),
) -> Instrument:
    """Write an instrument down, or change ``instrument``; without ``number`` a new one gets the next.

    ``keys_read`` are keys that have readings already: the compass cannot be drawn in past them. Raises Refused
    when a field cannot be kept, the compass is not possible, or the break or a bar lies outside it.
    """
    instrument = instrument or Instrument(number=number or _next_number())
    instrument.client = client
    instrument.kind = kind
    instrument.maker = maker.strip()
    instrument.year = year
    instrument.year_is_estimate = year_is_estimate and year is not None
    instrument.size_cm = size_cm
    instrument.first_key = first_key
    instrument.last_key = last_key
    instrument.last_wound_key = last_wound_key
    instrument.bars_above = sorted(set(bars_above))
    instrument.finish = finish.strip()
    instrument.numbers = numbers.strip()
    instrument.cautions = cautions.strip()
    instrument.note = note.strip()
    row_check(instrument)
    lost = sorted(key for key in keys_read if key not in instrument.compass)
    if lost:
        raise Refused(
            f"There are readings at {key_name(lost[0])}, which would lie outside {instrument.compass.words()}. "
            "Keep that key in the compass, or strike the reading first."
        )
    instrument.save()
    return instrument


@transaction.atomic
def enquiry_receive(*, instrument: Instrument, aim: str, received_on: dt.date, by: Person, note: str = "") -> Enquiry:
    """Write an enquiry down in the owner’s words. Raises Refused without an aim."""
    if not aim.strip():
        raise Refused("Write what the owner hopes for, in the owner’s own words.")
    enquiry = Enquiry(instrument=instrument, aim=aim.strip(), received_on=received_on, note=note.strip())
    row_check(enquiry)
    enquiry.save()
    return enquiry


@transaction.atomic
def enquiry_receive_all(
    *,
    aim: str,
    received_on: dt.date,
    by: Person,
    client: Client | None = None,
    client_fields: Mapping[str, Any] | None = None,
    instrument: Instrument | None = None,
    instrument_fields: Mapping[str, Any] | None = None,
    note: str = "",
) -> Enquiry:
    """Write client, instrument and enquiry down together, or none of them.

    An instrument that is known brings its client; a known client brings a new instrument. Raises Refused when the
    instrument chosen belongs to another client, or as ``client_write`` and ``instrument_write``.
    """
    if instrument is not None:
        if client is not None and instrument.client_id != client.pk:
            raise Refused(
                f"No. {instrument.number} belongs to {instrument.client}, not to {client}. Choose one of the two "
                "again, or give the instrument its new owner first."
            )
    else:
        client = client or client_write(by=by, **(client_fields or {"name": ""}))
        instrument = instrument_write(client=client, by=by, **(instrument_fields or {"kind": ""}))
    return enquiry_receive(instrument=instrument, aim=aim, received_on=received_on, by=by, note=note)


@transaction.atomic
def enquiry_decline(*, enquiry: Enquiry, words: str, by: Person) -> Enquiry:
    """Decline an enquiry with the words said to the owner. Raises Refused without words, or when declined already."""
    enquiry = Enquiry.objects.select_for_update().get(pk=enquiry.pk)
    if enquiry.state == Enquiry.State.DECLINED:
        raise Refused("This enquiry was declined before; nothing was changed.")
    if not words.strip():
        raise Refused("Write what you tell the owner; it stays with the enquiry.")
    enquiry.state = Enquiry.State.DECLINED
    enquiry.note = f"{enquiry.note}\n{words.strip()}".strip()
    enquiry.save(update_fields=["state", "note"])
    return enquiry


@transaction.atomic
def enquiries_take_up(*, instrument: Instrument, by: Person) -> int:
    """Mark the open enquiries of an instrument as being assessed; returns how many there were."""
    return instrument.enquiries.filter(state=Enquiry.State.OPEN).update(state=Enquiry.State.ASSESSING)
