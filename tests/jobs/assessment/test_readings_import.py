"""A table of readings comes in whole or not at all."""

import pytest

from jobs.assessment import services
from jobs.assessment.models import Reading
from tests.factories import MOMENT
from workshop.web.errors import Refused

GOOD = """note;measure;value;unit;remark
A4;Down weight;52;g;
G♯4;down-weight;1,8;oz;sluggish
50;down-weight;not measured: string missing;;
"""


def take_in(assessment, text):
    return services.readings_import(assessment=assessment, text=text, by=assessment.by, at=MOMENT)


def test_every_row_is_kept_in_the_unit_of_its_measure(assessment, down_weight):
    assert take_in(assessment, GOOD) == 3
    kept = {r.key: (r.value, r.not_measured_because, r.remark) for r in Reading.objects.all()}
    assert kept[49] == (52, "", "")
    assert str(kept[48][0]) == "51.029"
    assert kept[50] == (None, "string missing", "")


def test_a_row_replaces_the_reading_that_stands_at_its_spot(assessment, down_weight):
    take_in(assessment, GOOD)
    take_in(assessment, "note,measure,value,unit\nA4,down-weight,49,g\n")
    assert Reading.objects.count() == 3
    assert Reading.objects.get(key=49).value == 49


def test_a_grade_of_a_panel_is_kept_as_the_grade(assessment, finish_grade):
    take_in(assessment, "spot,measure,value\nFall,finish-grade,2\n")
    reading = Reading.objects.get()
    assert (reading.spot_kind, reading.spot, reading.choice, reading.value) == ("panel", "fall", "2", None)


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        ("A4,down-weight,52,mm", "Line 3, column unit: .*does not fit"),
        ("C8,down-weight,52,g", "Line 3, column note: C8 lies outside this instrument"),
        ("H4,down-weight,52,g", "Line 3, column note: “H4” is not a note"),
        ("A4,up-and-down,52,g", "Line 3, column measure: “up-and-down” is no measure"),
        ("A4,down-weight,heavy,g", "Line 3, column value"),
        ("A4,down-weight,,g", "Line 3, column value: No value is given"),
        ("C4,down-weight,50,g", "Line 3, column note: This measure at C4 is on line 2 already"),
    ],
)
def test_a_bad_row_is_told_by_line_and_nothing_is_kept(row, sentence, assessment, down_weight):
    with pytest.raises(Refused, match=sentence):
        take_in(assessment, f"note,measure,value,unit\nC4,down-weight,50,g\n{row}\n")
    assert not Reading.objects.exists()


@pytest.mark.parametrize("text", ["", "note,measure,value,unit\n", "colour,shape\nred,round\n"])
def test_a_table_without_readings_is_refused(text, assessment, down_weight):
    with pytest.raises(Refused):
        take_in(assessment, text)
