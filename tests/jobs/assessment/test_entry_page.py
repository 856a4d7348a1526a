"""Entering note after note, as the bench does it: plain forms, one after another."""

import re

import pytest
from django.urls import reverse

from jobs.assessment.models import Reading
from tests.factories import make_measure, make_reading

pytestmark = pytest.mark.django_db


def address(assessment, code="down-weight"):
    return reverse("assessment-enter", args=[assessment.pk, code])


def sent(client, assessment, code="down-weight", **fields):
    return client.post(address(assessment, code), {"which": "quick", "kind": "note", **fields})


def test_the_first_note_of_the_sample_comes_up(as_technician, assessment, down_weight):
    page = as_technician.get(address(assessment), {"which": "quick"}).content.decode()
    assert "<b>A0</b>" in page
    assert "key 1 of 85" in page
    assert "Keep, next is C2" in page
    assert "Ordinary here 46–54 g" in page
    assert 'inputmode="decimal"' in page


def test_keeping_goes_on_to_the_next_note_and_the_strip_and_last_five_follow(as_technician, assessment, down_weight):
    answer = sent(as_technician, assessment, key=1, value="61")
    assert answer.status_code == 302
    assert "key=16" in answer["Location"]
    page = as_technician.get(answer["Location"]).content.decode()
    assert "1 read, 0 not measured" in page
    assert "<b>C2</b>" in page
    assert re.search(r'<th scope="row">A0</th><td class="num">61 g</td><td><span.*?7 over', page)
    assert 'aria-label="A0"' in page  # every key of the strip can be tapped
    assert f"{address(assessment)}?which=quick&amp;key=85" in page


def test_a_bad_value_stays_in_its_field_with_the_sentence_beside_it(as_technician, assessment, down_weight):
    page = sent(as_technician, assessment, key=16, value="52 mm", remark="clicks").content.decode()
    assert 'value="52 mm"' in page
    assert "does not fit this measure" in page
    assert 'aria-invalid="true"' in page
    assert 'value="clicks"' in page
    assert "<b>C2</b>" in page
    assert not Reading.objects.exists()


@pytest.mark.parametrize("value", ["x" * 300, "<b>52</b>", "52🎹", "NaN", "-1", "99999999999999"])
def test_hostile_values_are_shown_safely_and_not_kept(value, as_technician, assessment, down_weight):
    page = sent(as_technician, assessment, key=16, value=value).content.decode()
    assert "<b>52</b>" not in page
    assert 'id="value_error"' in page
    assert not Reading.objects.exists()


def test_another_unit_is_converted(as_technician, assessment, down_weight):
    sent(as_technician, assessment, key=16, value="1.8 oz")
    assert str(Reading.objects.get().value) == "51.029"


def test_minus_and_plus_work_without_a_script_and_keep_nothing(as_technician, assessment, down_weight):
    answer = sent(as_technician, assessment, key=16, value="52", step="-1")
    assert "value=51" in answer["Location"]
    assert 'value="51"' in as_technician.get(answer["Location"]).content.decode()
    assert not Reading.objects.exists()


def test_minus_on_an_empty_field_begins_where_the_last_note_stood(as_technician, assessment, down_weight):
    make_reading(assessment, 1, 58, measure=down_weight)
    assert "value=58" in sent(as_technician, assessment, key=16, value="", step="-1")["Location"]


def test_enter_keeps_and_does_not_press_minus(as_technician, assessment, down_weight):
    page = as_technician.get(address(assessment)).content.decode()
    form = page[page.index('id="keep"') :]
    assert form.index(">Keep</button>") < form.index('name="step"')


def test_the_gauge_stays_for_the_next_reading_and_the_remark_does_not(as_technician, assessment, down_weight):
    answer = sent(as_technician, assessment, key=1, value="61", gauge="brass weights", remark="sluggish")
    page = as_technician.get(answer["Location"]).content.decode()
    assert 'name="gauge" autocomplete="off" value="brass weights"' in page
    assert "sluggish" not in page
    assert Reading.objects.get().gauge == "brass weights"


def test_a_place_of_ones_own_is_read_under_its_name(as_technician, assessment, finish_grade):
    page = as_technician.get(address(assessment, "finish-grade"), {"kind": "panel", "spot": "Candle <arm>"})
    assert "<b>Candle &lt;arm&gt;</b>" in page.content.decode()
    as_technician.post(address(assessment, "finish-grade"), {"kind": "panel", "spot": "Candle <arm>", "choice": "1"})
    assert Reading.objects.get().spot == "Candle <arm>"


def test_not_measured_is_kept_with_its_reason(as_technician, assessment, down_weight):
    answer = sent(as_technician, assessment, key=16, skip="1", because="string missing")
    assert answer.status_code == 302
    assert Reading.objects.get().not_measured_because == "string missing"
    sent(as_technician, assessment, key=28, skip="1", because="string missing", own_words="swapped with A♯")
    assert Reading.objects.get(key=28).not_measured_because == "swapped with A♯"


def test_not_measured_without_a_reason_is_asked_again(as_technician, assessment, down_weight):
    page = sent(as_technician, assessment, key=16, skip="1").content.decode()
    assert "Choose or write the reason why it is not measured" in page
    assert not Reading.objects.exists()


def test_another_note_is_found_by_name_or_number(as_technician, assessment, down_weight):
    for note in ("c#5", "53", "D♭5"):
        assert "key=53" in as_technician.get(address(assessment), {"note": note, "which": "quick"})["Location"]
    answer = as_technician.get(address(assessment), {"note": "H4", "from": "16"}, follow=True)
    assert "“H4” is not a note" in answer.content.decode()
    assert "<b>C2</b>" in answer.content.decode()


@pytest.mark.parametrize("key", ["86", "0", "-9", "999", "abc", "9" * 40])
def test_a_note_outside_the_compass_is_told_and_never_an_error(key, as_technician, assessment, down_weight):
    answer = as_technician.get(address(assessment), {"key": key})
    assert answer.status_code == 200
    assert ("outside this instrument’s compass" in answer.content.decode()) == (key in {"86", "0", "-9", "999"})


def test_a_posted_note_outside_the_compass_is_refused(as_technician, assessment, down_weight):
    answer = sent(as_technician, assessment, key=88, value="52")
    assert "outside this instrument’s compass" in answer.content.decode()
    assert not Reading.objects.exists()


def test_when_the_sample_is_read_the_page_says_so(as_technician, assessment, down_weight):
    for key in assessment.instrument.compass:
        make_reading(assessment, key, 50, measure=down_weight)
    assert "Every note of this sample is read" in as_technician.get(address(assessment)).content.decode()


def test_a_grade_is_pressed_and_the_next_panel_comes_up(as_technician, assessment, finish_grade):
    page = as_technician.get(address(assessment, "finish-grade")).content.decode()
    assert "<b>Front lid</b>" in page
    assert '<button name="choice" value="2">' in page
    answer = as_technician.post(
        address(assessment, "finish-grade"), {"kind": "panel", "spot": "front lid", "choice": "2"}
    )
    assert "spot=main+lid" in answer["Location"]
    assert "<b>Main lid</b>" in as_technician.get(answer["Location"]).content.decode()


def test_an_upright_has_the_panels_of_an_upright(as_technician, assessment, finish_grade):
    assessment.instrument.kind = "upright"
    assessment.instrument.save()
    page = as_technician.get(address(assessment, "finish-grade")).content.decode()
    assert "bottom door" in page
    assert "lyre" not in page


def test_an_answer_note_by_note_stands_on_the_strip_as_words(as_technician, assessment, key_split):
    sent(as_technician, assessment, "key-split", key=1, choice="yes")
    page = as_technician.get(address(assessment, "key-split")).content.decode()
    assert ">yes</text>" in page
    assert ">no</text>" in page


def test_a_reading_of_the_whole_goes_back_to_the_assessment(as_technician, assessment):
    make_measure("board-crack", name="Crack", value_kind="yesno", choices=["yes", "no"], unit="", spot_kinds=["whole"])
    answer = as_technician.post(address(assessment, "board-crack"), {"kind": "whole", "choice": "yes"})
    assert answer["Location"] == reverse("assessment-show", args=[assessment.pk])


def test_a_reading_is_taken_back_by_its_button(as_technician, assessment, down_weight):
    reading = make_reading(assessment, 16, 50, measure=down_weight)
    answer = as_technician.post(reverse("reading-take-back", args=[reading.pk]), {"which": "quick"})
    assert "key=16" in answer["Location"]
    assert not Reading.objects.exists()


def test_strangers_sign_in_and_an_unknown_measure_is_not_found(stranger, as_technician, assessment, down_weight):
    assert stranger.get(address(assessment))["Location"].startswith(reverse("people-sign-in"))
    assert sent(stranger, assessment, key=1, value="52").status_code == 302
    assert not Reading.objects.exists()
    assert as_technician.get(address(assessment, "nothing")).status_code == 404


def test_the_page_asks_as_often_for_ten_readings_as_for_eighty_five(
    as_technician, assessment, down_weight, django_assert_max_num_queries
):
    def ask():
        with django_assert_max_num_queries(60) as asked:
            as_technician.get(address(assessment), {"key": 85})
        return len(asked.captured_queries)

    for key in range(1, 11):
        make_reading(assessment, key, 50, measure=down_weight)
    ten = ask()
    for key in range(11, 86):
        make_reading(assessment, key, 60, measure=down_weight)
    assert ask() == ten
