"""Starting, showing, finishing; columns and tables; findings and photographs as pages."""

import csv
import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from jobs.assessment import services
from jobs.assessment.models import Assessment, Finding, Photograph, Reading, Remark
from tests.factories import MOMENT, make_instrument, make_manager, make_measure, make_operation, make_reading

pytestmark = pytest.mark.django_db


def show(assessment):
    return reverse("assessment-show", args=[assessment.pk])


def start_fields(**more):
    return {
        "purpose": "first",
        "on": "2026-01-11",
        "where": "bench",
        "temperature_c": "18.5",
        "humidity_percent": "47",
        **more,
    }


def test_an_assessment_begins_with_its_air_and_takes_up_the_enquiry(as_technician, technician):
    instrument = make_instrument()
    enquiry = instrument.enquiries.create(received_on="2026-01-05", aim="Play")
    answer = as_technician.post(reverse("assessment-start", args=[instrument.number]), start_fields())
    begun = Assessment.objects.get()
    assert answer["Location"] == show(begun)
    assert (begun.by, str(begun.humidity_percent)) == (technician, "47.0")
    enquiry.refresh_from_db()
    assert enquiry.state == "assessing"


@pytest.mark.parametrize(
    ("humidity", "words"), [("47", "readings can be trusted today"), ("30", "the air is dry"), ("", "climate not read")]
)
def test_the_air_is_judged_before_anything_is_read(humidity, words, as_technician):
    instrument = make_instrument()
    page = as_technician.post(
        reverse("assessment-start", args=[instrument.number]), start_fields(humidity_percent=humidity, look="1")
    )
    assert words in page.content.decode()
    assert not Assessment.objects.exists()


def test_what_the_instrument_lived_in_is_remembered(as_technician):
    instrument = make_instrument()
    Assessment.objects.create(
        instrument=instrument, on="2026-01-02", by=make_manager(), where="drawing room", humidity_percent=70,
        finished_at=MOMENT,
    )  # fmt: skip
    page = as_technician.post(reverse("assessment-start", args=[instrument.number]), start_fields(look="1"))
    assert "much drier than what the instrument lived in" in page.content.decode()


@pytest.mark.parametrize(
    ("field", "value"),
    [("humidity_percent", "140"), ("temperature_c", "180"), ("on", "2999-01-01"), ("where", "x" * 300)],
)
def test_an_impossible_beginning_is_refused_and_stays_in_the_form(field, value, as_technician):
    instrument = make_instrument()
    page = as_technician.post(reverse("assessment-start", args=[instrument.number]), start_fields(**{field: value}))
    assert page.status_code == 422
    assert value in page.content.decode()
    assert not Assessment.objects.exists()


def test_a_second_assessment_of_one_purpose_waits_for_the_first(as_technician, assessment):
    page = as_technician.post(reverse("assessment-start", args=[assessment.instrument.number]), start_fields())
    assert "is not finished yet" in page.content.decode()
    assert Assessment.objects.count() == 1


def test_the_page_says_what_is_read_and_what_is_missing(as_technician, assessment, down_weight):
    make_measure("dip", low=10, high=11, name="Key dip at the front", unit="mm", position=3)
    page = as_technician.get(show(assessment)).content.decode()
    assert "Nothing is read yet: begin with down weight." in page
    for key in range(1, 48):
        make_reading(assessment, key, 60, measure=down_weight)
    page = as_technician.get(show(assessment)).content.decode()
    assert "Read so far: down weight at 47 of 85 notes. Still to come: key dip at the front." in page
    assert page.count('class="wide"') == 1
    Assessment.objects.update(finished_at=MOMENT)
    page = as_technician.get(show(assessment)).content.decode()
    assert "Read: down weight at 47 of 85 notes. Not read: key dip at the front." in page


def test_a_finished_assessment_of_remarks_alone_asks_for_no_reading(as_technician, assessment, down_weight):
    Assessment.objects.update(finished_at=MOMENT)
    page = as_technician.get(show(assessment)).content.decode()
    assert "No measure was read." in page
    assert "begin with" not in page


def test_findings_stand_safety_first_and_are_worked_out_on_finishing(as_manager, assessment, down_weight, key_split):
    for key in range(1, 86):
        make_reading(assessment, key, 70, measure=down_weight)
    down_weight.sentence_over = "The touch is heavy{where}: {count keys} need more than {high}."
    down_weight.save()
    services.finding_add(
        assessment=assessment, sentence="The left leg is loose.", severity="safety", certainty="seen", at=MOMENT,
        by=make_manager("Bram"),
    )  # fmt: skip
    as_manager.post(reverse("assessment-finish", args=[assessment.pk]))
    page = as_manager.get(show(assessment)).content.decode()
    assert "The assessment is finished" in page
    worked_out = Finding.objects.get(measure=down_weight)
    assert worked_out.state == "proposed"
    assert "85" in worked_out.sentence
    assert page.index("The left leg is loose.") < page.index(worked_out.sentence[:20])


def test_a_finding_is_kept_struck_out_and_changed(as_manager, as_technician, assessment):
    operation = make_operation()
    finding = Finding.objects.create(assessment=assessment, severity="playing", sentence="Heavy.", why="85 keys")
    as_technician.post(reverse("finding-keep", args=[finding.pk]))
    finding.refresh_from_db()
    assert finding.state == "proposed"
    for name, state in (("finding-keep", "kept"), ("finding-strike", "struck")):
        as_manager.post(reverse(name, args=[finding.pk]))
        finding.refresh_from_db()
        assert finding.state == state
    address = reverse("finding-change", args=[finding.pk])
    sent = {"sentence": "The touch is <b>heavy</b> 🎹", "severity": "wear", "certainty": "inferred"}
    as_manager.post(address, {**sent, "operations": [operation.pk]})
    finding.refresh_from_db()
    assert (finding.sentence, finding.severity, finding.state) == (sent["sentence"], "wear", "kept")
    assert list(finding.operations.all()) == [operation]
    assert "<b>heavy</b>" not in as_manager.get(show(assessment)).content.decode()
    page = as_manager.post(address, {**sent, "sentence": "x" * 500})
    assert "at most 400 characters" in page.content.decode()
    assert "x" * 500 in page.content.decode()


def test_a_technicians_finding_waits_to_be_confirmed(as_technician, assessment):
    sent = {"sentence": "A rib is loose.", "severity": "playing", "certainty": "seen"}
    as_technician.post(reverse("finding-add", args=[assessment.pk]), sent)
    assert Finding.objects.get().state == "proposed"


def test_finishing_again_keeps_what_the_manager_decided(as_manager, assessment, down_weight):
    down_weight.sentence_over = "Heavy{where}."
    down_weight.save()
    for key in range(1, 86):
        make_reading(assessment, key, 70, measure=down_weight)
    as_manager.post(reverse("assessment-finish", args=[assessment.pk]))
    finding = Finding.objects.get()
    as_manager.post(reverse("finding-strike", args=[finding.pk]))
    as_manager.post(reverse("assessment-reopen", args=[assessment.pk]))
    as_manager.post(reverse("assessment-finish", args=[assessment.pk]))
    assert [(each.pk, each.state) for each in Finding.objects.all()] == [(finding.pk, "struck")]


def test_nothing_read_cannot_be_finished(as_technician, assessment):
    page = as_technician.post(reverse("assessment-finish", args=[assessment.pk]), follow=True)
    assert "Nothing was read, remarked or found yet" in page.content.decode()
    assessment.refresh_from_db()
    assert assessment.finished_at is None


def test_a_column_shows_each_bad_row_and_loses_nothing(as_technician, assessment, down_weight):
    address = reverse("assessment-table", args=[assessment.pk, "down-weight"])
    rows = {f"value_{key}": "50" for key in range(1, 86)}
    rows.update({f"because_{key}": "" for key in range(1, 86)})
    bad = {**rows, "value_7": "heavy <i>", "value_9": "", "because_9": "string missing"}
    page = as_technician.post(address, bad).content.decode()
    assert "One reading cannot be kept as written" in page
    assert 'value="heavy &lt;i&gt;"' in page
    assert page.count('value="50"') == 83
    assert 'value="string missing"' in page
    assert not Reading.objects.exists()
    assert as_technician.post(address, {**bad, "value_7": "51"}).status_code == 302
    assert Reading.objects.count() == 85


def test_a_table_is_looked_at_before_it_is_kept(as_technician, assessment, down_weight):
    address = reverse("assessment-import", args=[assessment.pk])
    text = "note,measure,value,unit\nA4,down-weight,52,g\nC5,down-weight,heavy,g\nC9,down-weight,52,g\n"
    page = as_technician.post(address, {"text": text, "keep": "1"}).content.decode()
    assert "Two lines need mending" in page
    assert "“heavy” is not a number" in page
    assert "C9 lies outside this instrument" in page
    assert "C5,down-weight,heavy,g" in page  # what was pasted is still there to mend
    assert not Reading.objects.exists()
    good = SimpleUploadedFile("readings.csv", b"\xef\xbb\xbfnote,measure,value,unit\nA4,down-weight,52,g\n")
    page = as_technician.post(address, {"file": good}).content.decode()
    assert "One reading to keep" in page
    assert not Reading.objects.exists()
    as_technician.post(address, {"text": "note,measure,value,unit\nA4,down-weight,52,g\n", "keep": "1"})
    assert Reading.objects.get().value == 52


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"\xff\xfe\x00n", "is not text in UTF-8"),
        (b"note,measure\n" + b"x" * 3_000_000, "larger than 2 MB"),
        (b"", "is empty"),
    ],
)
def test_a_file_that_is_no_table_is_refused(data, sentence, as_technician, assessment):
    file = SimpleUploadedFile("readings.csv", data)
    page = as_technician.post(reverse("assessment-import", args=[assessment.pk]), {"file": file})
    assert sentence in page.content.decode()


def test_the_readings_go_out_as_csv_and_come_back_the_same(as_technician, assessment, down_weight, finish_grade):
    make_reading(assessment, 49, 52.5, measure=down_weight, remark="=clicks")
    make_reading(assessment, 50, 1, measure=down_weight, not_measured_because="string missing")
    Reading.objects.filter(key=50).update(value=None)
    services.reading_keep(
        assessment=assessment, measure=finish_grade, spot="fall", choice="2", by=assessment.by, at=MOMENT
    )
    answer = as_technician.get(reverse("assessment-csv", args=[assessment.pk]))
    text = answer.content.decode("utf-8-sig")
    assert next(row for row in csv.reader(io.StringIO(text)) if "52.5" in row)[-1] == "'=clicks"
    before = sorted(Reading.objects.values_list("key", "spot", "value", "choice", "not_measured_because"), key=str)
    Reading.objects.all().delete()
    services.readings_import(assessment=assessment, text=text, by=assessment.by, at=MOMENT)
    assert (
        sorted(Reading.objects.values_list("key", "spot", "value", "choice", "not_measured_because"), key=str) == before
    )


def test_a_remark_is_kept_and_an_empty_one_asked_again(as_technician, assessment):
    address = reverse("remark-add", args=[assessment.pk])
    assert "Write the remark first" in as_technician.post(address, {"text": " "}).content.decode()
    as_technician.post(address, {"text": "Buzz at <b>F5</b>", "area": "treble"})
    assert Remark.objects.get().area == "treble"
    assert "<b>F5</b>" not in as_technician.get(show(assessment)).content.decode()


def test_a_photograph_is_shown_to_the_house_and_to_nobody_else(as_technician, stranger, assessment, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "white").save(out, "PNG")
    address = reverse("photograph-add", args=[assessment.instrument.number]) + f"?assessment={assessment.pk}"
    picture = SimpleUploadedFile("fall.png", out.getvalue())
    assert as_technician.post(address, {"picture": picture, "caption": "The fall"}).status_code == 302
    photograph = Photograph.objects.get()
    assert photograph.assessment == assessment
    seen = as_technician.get(reverse("photograph-show", args=[photograph.pk]))
    assert b"".join(seen.streaming_content)[:3] == b"\xff\xd8\xff"
    assert seen["Content-Type"] == "image/jpeg"
    assert seen["X-Content-Type-Options"] == "nosniff"
    assert seen["Cache-Control"].startswith("private")
    assert stranger.get(reverse("photograph-show", args=[photograph.pk])).status_code == 302
    bad = SimpleUploadedFile("fall.png", b"<svg><script>1</script></svg>")
    refused = as_technician.post(address, {"picture": bad, "caption": "My words stay"})
    page = refused.content.decode()
    assert (refused.status_code, "JPEG, PNG or WebP" in page) == (422, True)
    assert "My words stay" in page
    assert as_technician.post(address, {"caption": "none chosen"}).status_code == 422
    assert as_technician.get(address).status_code == as_technician.get(show(assessment)).status_code == 200


def test_the_page_asks_as_often_for_many_readings_as_for_few(
    as_manager, assessment, down_weight, key_split, django_assert_max_num_queries
):
    def ask():
        with django_assert_max_num_queries(60) as asked:
            as_manager.get(show(assessment))
        return len(asked.captured_queries)

    def read(keys):
        for key in keys:
            make_reading(assessment, key, 50, measure=down_weight)
            finding = Finding.objects.create(assessment=assessment, severity="wear", sentence=f"Worn {key}")
            finding.operations.add(make_operation())

    read(range(1, 11))
    ten = ask()
    read(range(11, 86))
    assert ask() == ten


STAFF = ["assessment-show", "assessment-import", "assessment-csv", "finding-add"]


@pytest.mark.parametrize("name", STAFF)
def test_staff_see_the_pages_and_strangers_sign_in(name, as_manager, as_technician, stranger, assessment):
    address = reverse(name, args=[assessment.pk])
    assert as_manager.get(address).status_code == 200
    assert as_technician.get(address).status_code == 200
    assert stranger.get(address)["Location"].startswith(reverse("people-sign-in"))


@pytest.mark.parametrize("name", ["assessment-finish", "assessment-reopen", "remark-add"])
def test_buttons_are_pressed_not_visited(name, as_manager, stranger, assessment):
    address = reverse(name, args=[assessment.pk])
    assert as_manager.get(address).status_code == 405
    assert stranger.post(address).status_code in (302, 405)
