"""One reading a spot, replaced by the later one, or refused in a sentence."""

import datetime as dt
from decimal import Decimal

import pytest

from jobs.assessment import services
from jobs.assessment.models import Reading
from tests.factories import MOMENT, make_assessment, make_instrument
from workshop.web.errors import Refused

LATER = MOMENT + dt.timedelta(minutes=5)


def keep(assessment, measure, **more):
    return services.reading_keep(assessment=assessment, measure=measure, by=assessment.by, **{"at": MOMENT, **more})


def test_a_reading_is_kept_in_the_unit_of_its_measure(assessment, down_weight):
    keep(assessment, down_weight, key=48, value_text="1.8 oz", gauge="weights", remark="sluggish")
    reading = Reading.objects.get()
    assert (reading.value, reading.key, reading.spot_kind) == (Decimal("51.029"), 48, "note")
    assert (reading.gauge, reading.remark, reading.by) == ("weights", "sluggish", assessment.by)


def test_keeping_a_spot_again_replaces_its_reading_in_the_same_row(assessment, down_weight):
    first = keep(assessment, down_weight, key=48, value_text="52", remark="sluggish")
    second = keep(assessment, down_weight, key=48, value_text="55", at=LATER)
    reading = Reading.objects.get()
    assert first.pk == second.pk == reading.pk
    assert (reading.value, reading.at, reading.remark) == (55, LATER, "")


def test_a_reason_replaces_a_reading_and_a_reading_a_reason(assessment, down_weight):
    keep(assessment, down_weight, key=48, value_text="52")
    keep(assessment, down_weight, key=48, not_measured_because="string missing")
    assert Reading.objects.get().value is None
    keep(assessment, down_weight, key=48, value_text="50")
    assert Reading.objects.get().not_measured_because == ""


def test_a_grade_and_an_answer_are_choices(assessment, finish_grade, key_split):
    assert keep(assessment, finish_grade, spot=" Fall ", choice="2").choice == "2"
    assert Reading.objects.get(measure=finish_grade).spot == "fall"
    assert keep(assessment, key_split, key=5, choice="Yes").choice == "yes"


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"key": 48, "value_text": "52 mm"}, "does not fit this measure"),
        ({"key": 48, "value_text": "heavy"}, "“heavy” is not a number"),
        ({"key": 48}, "Write what you read at G♯4, or say why"),
        ({"key": 86, "value_text": "52"}, r"A♯7 \(key 86\) is outside this instrument’s compass, A0 to A7"),
        ({"key": 0, "value_text": "52"}, "outside this instrument’s compass"),
        ({"spot": "bass", "value_text": "52"}, "is not read by section or panel, but for a note"),
        ({"value_text": "52"}, "Say where down weight was read: a note"),
        ({"key": 48, "value_text": "52", "not_measured_because": "no time"}, "not both"),
        ({"key": 48, "not_measured_because": "x" * 300}, "300 characters long; 120 is the most"),
        ({"key": 48, "value_text": "52", "remark": "x" * 300}, "The remark is 300 characters long"),
        ({"key": 48, "value_text": "52", "gauge": "x" * 300}, "The gauge is 300 characters long"),
    ],
)
def test_a_bad_reading_is_refused_in_a_sentence_and_nothing_is_kept(given, sentence, assessment, down_weight):
    with pytest.raises(Refused, match=sentence):
        keep(assessment, down_weight, **given)
    assert not Reading.objects.exists()


@pytest.mark.parametrize("choice", ["", "5", "crazed", "x" * 300])
def test_a_choice_that_is_none_is_refused_with_the_choices(choice, assessment, finish_grade):
    with pytest.raises(Refused, match="0, 1, 2, 3, 4"):
        keep(assessment, finish_grade, spot="fall", choice=choice)


def test_a_measure_of_the_other_kind_is_refused(assessment, down_weight):
    down_weight.applies_to = "upright"
    with pytest.raises(Refused, match="is read on uprights only"):
        keep(assessment, down_weight, key=48, value_text="52")


def test_a_finished_assessment_stands(assessment, down_weight):
    keep(assessment, down_weight, key=48, value_text="52")
    services.assessment_finish(assessment=assessment, by=assessment.by, at=LATER)
    with pytest.raises(Refused, match="was finished on 11 January 2027"):
        keep(assessment, down_weight, key=48, value_text="60")
    assert Reading.objects.get().value == 52


def test_the_same_note_of_another_assessment_is_another_reading(assessment, down_weight):
    again = make_assessment(assessment.instrument, by=assessment.by, purpose="final")
    keep(assessment, down_weight, key=48, value_text="52")
    keep(again, down_weight, key=48, value_text="48")
    assert Reading.objects.count() == 2


def test_a_reading_is_taken_back(assessment, down_weight):
    services.reading_take_back(reading=keep(assessment, down_weight, key=48, value_text="52"), by=assessment.by)
    assert not Reading.objects.exists()


def column(assessment, measure, rows):
    return services.readings_keep(assessment=assessment, measure=measure, rows=rows, by=assessment.by, at=LATER)


def test_a_column_is_kept_at_once_and_only_what_changed_is_written(assessment, down_weight):
    first = keep(assessment, down_weight, key=1, value_text="60", remark="heavy")
    keep(assessment, down_weight, key=2, value_text="61")
    keep(assessment, down_weight, key=3, value_text="62")
    rows = {1: ("60", ""), 2: ("", ""), 3: ("2 oz", ""), 4: ("", "string missing"), 5: ("", "")}
    assert column(assessment, down_weight, rows) == 3
    kept = {r.key: (r.value, r.not_measured_because) for r in Reading.objects.all()}
    assert kept == {1: (60, ""), 3: (Decimal("56.699"), ""), 4: (None, "string missing")}
    first.refresh_from_db()
    assert (first.at, first.remark) == (MOMENT, "heavy")


def test_a_column_with_a_bad_row_keeps_none_and_says_which(assessment, down_weight):
    with pytest.raises(services.RowsRefused) as refusal:
        column(assessment, down_weight, {1: ("60", ""), 2: ("heavy", ""), 3: ("52 mm", "")})
    assert set(refusal.value.rows) == {2, 3}
    assert "“heavy” is not a number" in refusal.value.rows[2]
    assert "2 readings cannot be kept as written" in str(refusal.value)
    assert not Reading.objects.exists()


def test_an_instrument_with_a_short_old_compass_reads_its_own_keys(down_weight):
    old = make_assessment(make_instrument(first_key=-3, last_key=80, last_wound_key=16))
    assert keep(old, down_weight, key=-3, value_text="52").key == -3
    with pytest.raises(Refused, match="outside"):
        keep(old, down_weight, key=85, value_text="52")
