"""Loading the reference data into the database."""

import shutil
from decimal import Decimal
from io import StringIO
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command

from jobs.assessment.measure_load import measures_load
from jobs.assessment.models import Measure, MeasureRange
from jobs.operations.models import AlternativeGroup, Operation, OperationPart
from jobs.operations.queries import catalogue
from jobs.operations.reference import read_reference
from jobs.operations.services import reference_load
from parts.catalogue.models import Part
from parts.scale.models import WireSize

FOLDER = Path(__file__).parents[3] / "fixtures" / "reference"

pytestmark = pytest.mark.django_db


def load(*arguments):
    out = StringIO()
    call_command("load_reference", *arguments, stdout=out, skip_checks=True)
    return out.getvalue()


def test_everything_arrives():
    load()
    assert Operation.objects.count() == 100
    assert Operation.before.through.objects.count() == 205
    assert Operation.implies.through.objects.count() == 122
    assert AlternativeGroup.objects.get(code="hammers").operations.count() == 2
    assert Measure.objects.get(code="down-weight").points_to.count() == 4
    assert WireSize.objects.get(gauge="American piano wire", size="14").diameter_mm == Decimal("0.838")
    assert OperationPart.objects.get(operation__code="st-bass", part__code="wound-set").part.lead_days == 35


def test_the_catalogue_of_the_database_is_that_of_the_files():
    load()
    stored, read = catalogue(), read_reference(FOLDER).catalogue()
    assert list(stored.operations) == list(read.operations)
    assert {c: stored.before.get(c, frozenset()) for c in read.before} == dict(read.before)
    assert {c: set(stored.implies.get(c, ())) for c in read.implies} == {c: set(i) for c, i in read.implies.items()}
    assert {n: set(c) for n, c in stored.alternatives.items()} == {n: set(c) for n, c in read.alternatives.items()}
    assert stored.operations["tn-settle"] == read.operations["tn-settle"]


def test_loading_twice_changes_nothing():
    load()
    assert "0 added, 0 changed" in load()
    assert Operation.objects.count() == 100


def test_the_workshops_own_figures_are_kept():
    load()
    Operation.objects.filter(code="ky-bush").update(hours_likely=Decimal(12), edited=True)
    MeasureRange.objects.filter(measure__code="down-weight").update(high=Decimal(58), edited=True)
    Part.objects.filter(code="glue").update(price=Decimal("21.50"))
    load()
    assert Operation.objects.get(code="ky-bush").hours_likely == 12
    assert set(MeasureRange.objects.filter(measure__code="down-weight").values_list("high", flat=True)) == {58}
    assert Part.objects.get(code="glue").price == Decimal("21.50")


def test_a_changed_line_is_taken_over(tmp_path):
    load()
    folder = shutil.copytree(FOLDER, tmp_path / "reference")
    text = (folder / "operations.csv").read_text(encoding="utf-8")
    (folder / "operations.csv").write_text(text.replace("no,7,11,16,", "no,7,11.5,16,", 1), encoding="utf-8")
    assert "0 added, 1 changed" in load("--folder", str(folder))


def test_bad_data_is_told_and_nothing_is_loaded(tmp_path):
    folder = shutil.copytree(FOLDER, tmp_path / "reference")
    line = (folder / "measure_ranges.csv").read_text(encoding="utf-8").count("\n") + 1
    with (folder / "measure_ranges.csv").open("a", encoding="utf-8") as file:
        file.write("warp,grand,new,0,2,,verified,nowhere\n")
    with pytest.raises(CommandError, match=rf"(?s)Nothing was loaded.*measure_ranges.csv, line {line}, column era"):
        load("--folder", str(folder))
    assert Operation.objects.count() == 0


@pytest.mark.django_db(transaction=True)
def test_a_row_the_database_refuses_undoes_the_whole_load(monkeypatch):
    def refuse(self, *args, **kwargs):
        raise ValidationError("refused")

    monkeypatch.setattr(MeasureRange, "full_clean", refuse)
    with pytest.raises(ValidationError):
        load()
    assert Operation.objects.count() == Measure.objects.count() == 0


def test_services_take_the_read_data():
    reference = read_reference(FOLDER)
    assert reference_load(reference=reference).added > 250
    assert measures_load(reference=reference).added > 200
