import datetime as dt

import pytest

from jobs.assessment.models import Finding
from jobs.quoting import queries, services
from jobs.quoting.models import ScopeOperation
from tests.factories import MOMENT, make_assessment, make_instrument, make_technician
from workshop.house.queries import the_shop
from workshop.web.errors import Refused

TODAY = dt.date(2027, 1, 7)


def finding(assessment, work, *codes, severity="playing", state="kept"):
    row = Finding.objects.create(assessment=assessment, severity=severity, sentence=f"About {codes}.", state=state)
    row.operations.set([work[code] for code in codes])
    return row


def codes(scope, because):
    return set(scope.operations.filter(because=because).values_list("operation__code", flat=True))


def test_it_takes_the_kept_findings_operations_and_what_they_drag_along(work, boss):
    assessment = make_assessment(on=TODAY)
    finding(assessment, work, "ac-shank")
    finding(assessment, work, "ky-bush", state="struck")
    quote = services.quote_start(instrument=assessment.instrument, assessment=assessment, by=boss, at=MOMENT)
    scope = quote.scopes.get()
    assert codes(scope, "chosen") == {"ac-shank"}
    assert codes(scope, "implied") == {"ac-hang", "ac-hbore", "ky-weigh", "rg-fine"}
    assert scope.total_likely > 0


def test_of_two_alternatives_the_one_the_graver_finding_points_to_stays(work, boss):
    assessment = make_assessment(on=TODAY)
    finding(assessment, work, "ac-shape", severity="wear")
    finding(assessment, work, "ac-hang", severity="safety")
    quote = services.quote_start(instrument=assessment.instrument, assessment=assessment, by=boss, at=MOMENT)
    assert codes(quote.scopes.get(), "chosen") == {"ac-hang"}


def test_work_for_the_other_kind_of_instrument_is_left_aside(work, boss):
    assessment = make_assessment(on=TODAY)
    finding(assessment, work, "ac-ubutt", "ky-bush")
    quote = services.quote_start(instrument=assessment.instrument, assessment=assessment, by=boss, at=MOMENT)
    assert codes(quote.scopes.get(), "chosen") == {"ky-bush"}


def test_the_letter_opens_with_the_instrument_and_the_day(work, boss):
    assessment = make_assessment(on=TODAY)
    quote = services.quote_start(instrument=assessment.instrument, assessment=assessment, by=boss, at=MOMENT)
    assert "your Larkwhistle grand, about 1887" in quote.letter
    assert "Thu 7 Jan 2027" in quote.letter


def test_it_takes_todays_rates_of_the_shop_and_the_next_number(draft, boss):
    shop = the_shop()
    shop.hourly_rate = shop.hourly_rate + 5
    shop.save()
    second = services.quote_start(instrument=draft.instrument, assessment=None, by=boss, at=MOMENT)
    assert second.number == draft.number + 1
    assert (draft.hourly_rate, second.hourly_rate) == (shop.hourly_rate - 5, shop.hourly_rate)


def test_a_technician_writes_no_quote(work):
    with pytest.raises(Refused, match="by the manager"):
        services.quote_start(instrument=make_instrument(), assessment=None, by=make_technician(), at=MOMENT)


def test_an_assessment_of_another_instrument_is_refused(work, boss):
    with pytest.raises(Refused, match="another instrument"):
        services.quote_start(instrument=make_instrument(), assessment=make_assessment(), by=boss, at=MOMENT)


def test_a_copy_takes_ways_refusals_and_amounts_by_hand_and_leaves_the_old_alone(sent, boss):
    scope = sent.scopes.get()
    before = queries.quote_print(sent)
    copied = services.quote_copy(quote=sent, by=boss, at=MOMENT)
    new = copied.scopes.get()
    assert copied.state == "draft"
    assert (new.title, new.total_likely) == (scope.title, scope.total_likely)
    assert codes(new, "chosen") == codes(scope, "chosen")
    assert queries.quote_print(sent) == before


def test_a_copied_scope_keeps_its_refusal_and_its_transport(draft, scope):
    services.scope_write(
        scope=scope, chosen={"ac-shank": None}, refused={"rg-fine": "The owner regulates it herself."}, title="A"
    )
    services.charge_write(scope=scope, kind="transport", words="Carriage both ways", amount=scope.total_likely)
    scope.refresh_from_db()
    twin = services.scope_add(quote=draft, copy_of=scope)
    twin.refresh_from_db()
    assert twin.total_likely == scope.total_likely
    refused = twin.operations.get(because=ScopeOperation.Because.REFUSED)
    assert (refused.operation.code, refused.reason) == ("rg-fine", "The owner regulates it herself.")


def test_a_sixth_way_is_refused(draft, scope):
    for _ in range(4):
        services.scope_add(quote=draft)
    with pytest.raises(Refused, match="at most 5 ways"):
        services.scope_add(quote=draft)


def test_the_ways_close_up_when_one_is_removed(draft, scope):
    second, third = services.scope_add(quote=draft), services.scope_add(quote=draft)
    services.scope_remove(scope=second)
    third.refresh_from_db()
    assert third.position == 2


def test_the_last_way_stays(draft, scope):
    with pytest.raises(Refused, match="at least one way"):
        services.scope_remove(scope=scope)
