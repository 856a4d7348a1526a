"""The lists of quotes, norms and ranges ask the database as often at 500 rows as at 50."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.assessment.models import Measure, MeasureRange
from jobs.operations.models import Operation
from jobs.quoting.models import Quote, Scope
from tests.factories import MOMENT, make_instrument, make_measure, make_operation


def more_quotes(boss, first, count):
    piano = make_instrument()
    Quote.objects.bulk_create(
        Quote(
            number=first + place, instrument=piano, vat_mode="gross", vat_percent=20, hourly_rate=48,
            deposit_percent=30, created_at=MOMENT, created_by=boss,
        )
        for place in range(count)
    )  # fmt: skip
    quotes = Quote.objects.filter(number__gte=first)
    Scope.objects.bulk_create(Scope(quote=quote, position=place, title="W") for quote in quotes for place in (1, 2))


def more_norms(boss, first, count):
    pattern = make_operation(f"x-{first}")
    rows = []
    for place in range(count):
        row = Operation.objects.get(pk=pattern.pk)
        row.pk, row.code, row.position = None, f"y-{first + place}", first + place
        rows.append(row)
    Operation.objects.bulk_create(rows)


def more_ranges(boss, first, count):
    pattern = make_measure()
    rows = []
    for place in range(count):
        row = Measure.objects.get(pk=pattern.pk)
        row.pk, row.code = None, f"m-{first + place}"
        rows.append(row)
    measures = Measure.objects.bulk_create(rows)
    MeasureRange.objects.bulk_create(
        MeasureRange(measure=each, instrument_kind="grand", era="old", low=1, high=2, status="-", source="-")
        for each in measures
    )


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("name", "more", "model"),
    [
        ("quote-list", more_quotes, Quote),
        ("norms-list", more_norms, Operation),
        ("ranges-list", more_ranges, MeasureRange),
    ],
)
def test_it_asks_as_often_for_five_hundred_as_for_fifty(boss, name, more, model):
    client = Client()
    client.force_login(boss, backend="django.contrib.auth.backends.ModelBackend")

    def asked():
        with CaptureQueriesContext(connection) as queries:
            assert client.get(reverse(name)).status_code == 200
        return len(queries)

    more(boss, 1000, 50)
    few = asked()
    more(boss, 2000, 450)
    assert model.objects.count() >= 500
    assert asked() == few < 20
