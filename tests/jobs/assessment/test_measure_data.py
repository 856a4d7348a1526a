"""Measures as the calculations take them, after a load."""

from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import call_command

from jobs.assessment.calc.findings import Reading, findings
from jobs.assessment.measure_data import measures_as_data, measures_read_as, reference, reference_measure
from jobs.assessment.models import MeasureRange
from workshop.keyboard.calc.notes import Compass

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _loaded():
    call_command("load_reference", stdout=StringIO(), skip_checks=True)


def test_what_was_loaded_comes_back_as_it_stands_in_the_files():
    stored = measures_as_data()
    for row in reference().measures:
        read, kept = reference_measure(row, reference()), stored[row.code]
        assert set(kept.ranges) == set(read.ranges), row.code
        assert set(kept.points_to) == set(read.points_to), row.code
        assert (kept.over, kept.under, kept.yes, kept.meaning) == (read.over, read.under, read.yes, read.meaning)
        assert (kept.kind, kept.severity, kept.choices) == (read.kind, read.severity, read.choices)


def test_it_asks_the_database_three_times(django_assert_num_queries):
    with django_assert_num_queries(3):
        measures_as_data()


def test_the_workshops_own_range_decides():
    MeasureRange.objects.filter(measure__code="felt-left").update(low=Decimal(1), edited=True)
    readings = [Reading("felt-left", "note", 40, value=3.0)]
    assert findings(readings, measures_as_data(), Compass(1, 88), "grand", "modern") == []


def test_a_measure_that_is_worked_out_is_there_but_cannot_be_entered():
    assert "touch-friction" in measures_as_data()
    assert "touch-friction" not in {measure.code for measure in measures_read_as()}
