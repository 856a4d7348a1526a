"""One instrument from enquiry to proof, in a real browser, with real mail and real papers.

Every page on the way is looked at by axe-core (WCAG 2.x rules, 0 violations), and nothing may go wrong unseen in the
browser. The papers are read back with pypdf and their figures compared with the rows. The clock of the worker is
pressed by hand: mail and plan run when the test says so, through the very functions the worker calls. The steps are
in ``tests/journey/``.
"""

from io import StringIO

import pytest
from django.core.management import call_command

from jobs.updates.models import Update
from parts.catalogue.models import Part
from tests.factories import make_manager, make_place, make_supplier, make_technician
from tests.journey import home, house, owner
from tests.journey.walk import Walk, sign_in
from workshop.people.models import Person, Skill

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def people(db: None) -> tuple[Person, Person]:
    """The manager, and a technician who can do all of it, in a small workshop with the reference data."""
    call_command("load_reference", stdout=StringIO())
    manager = make_manager()
    technician = make_technician()
    technician.skills.set(Skill.objects.all())
    Part.objects.update(supplier=make_supplier())
    make_place("floor", 4)
    make_place("bench", 2)
    make_place("spray", 1)
    return manager, technician


def test_an_instrument_from_enquiry_to_proof(chromium, live_server, people, sink, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", sink.port
    settings.SITE_URL = live_server.url
    manager, technician = people
    contexts = [chromium.new_context(base_url=live_server.url, locale="en-GB") for _ in range(3)]
    desk, client, bench = (Walk(context) for context in contexts)
    sign_in(desk, manager)
    instrument = owner.enquiry(desk)
    owner.assessment(desk, instrument)
    owner.photographed(desk, instrument)
    quote = owner.quoted(desk, instrument)
    _, link = owner.letter_sent(desk, sink, Update.Event.QUOTE_SENT)
    job = owner.accepted(client, quote, link)
    house.planned(desk, job)
    first = house.clock_pressed(bench, technician)
    house.variation_agreed(bench, desk, client, sink, job)
    house.parts_came(desk, job)
    house.date_moved(desk, client, sink, job)
    house.plan_accepted(desk, technician)
    house.worked(bench, job, first)
    home.proved(desk, job)
    owner.letter_sent(desk, sink, Update.Event.READY)
    home.paid_and_home(desk, job, client)
    assert desk.errors + client.errors + bench.errors == []
    for context in contexts:
        context.close()
