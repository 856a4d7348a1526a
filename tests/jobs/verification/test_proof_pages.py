"""The proof as a page and as a paper: who may, what is said, what a bad value does."""

import io
import re
from decimal import Decimal as D

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from jobs.updates.models import Update
from jobs.verification.models import Proof, Target
from jobs.verification.services import proof_sign
from tests.factories import MOMENT, make_manager, make_reading
from tests.jobs.verification.proof_made import make_proof_job, make_touch, read_again

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def monday(time_machine):
    time_machine.move_to(MOMENT)


def text(answer):
    return " ".join(answer.content.decode().split())


def paper(client, job):
    answer = client.get(f"/jobs/{job.pk}/proof/proof.pdf")
    assert answer["Content-Type"] == "application/pdf"
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages).split())


@pytest.fixture
def job():
    """85 keys: 42 in order at first, 83 after the work."""
    return make_proof_job({key: 50 if key <= 42 else 62 for key in range(1, 86)})


@pytest.fixture
def read(job):
    read_again(job, {key: 50 if key <= 83 else 55.125 for key in range(1, 86)})
    return job


def test_the_page_begins_with_what_was_achieved(read, as_technician):
    page = text(as_technician.get(f"/jobs/{read.pk}/proof/"))
    assert "<h1>83 of 85 keys now weigh between 46 and 54 g; before it was 42.</h1>" in page
    assert page.count('<svg class="wide"') == page.count('<svg class="narrow"') == 1
    outside = re.findall(r'<tr><th scope="row">(\S+?)</th><td data-h="Measure">', page)
    assert outside == ["G♯7", "A7"]
    assert "<span>55.125</span>" in page, "a reading is shown as it was kept"
    assert "62.000" not in page


def test_a_technician_reads_and_takes_readings_but_neither_signs_nor_agrees(read, as_technician, stranger):
    page = text(as_technician.get(f"/jobs/{read.pk}/proof/"))
    assert "Sign the proof" not in page
    assert "Set a target" not in page
    assert as_technician.post(f"/jobs/{read.pk}/proof/start/").status_code == 302
    assert as_technician.post(f"/jobs/{read.pk}/proof/sign/", {"words": "x"}).status_code == 403
    for method in (as_technician.get, as_technician.post):
        assert method(f"/jobs/{read.pk}/targets/").status_code == 403
    for address in ("proof/", "proof/start/", "proof/sign/", "proof/proof.pdf", "targets/"):
        assert stranger.post(f"/jobs/{read.pk}/{address}").status_code in {302, 405}
    assert not Proof.objects.exists()


def test_nothing_is_to_see_before_anything_was_agreed_or_read(as_manager):
    empty = make_proof_job({})
    page = text(as_manager.get(f"/jobs/{empty.pk}/proof/"))
    assert "No target has been agreed for this job." in page
    assert "Begin the final readings" in page
    assert as_manager.get(f"/jobs/{empty.pk}/proof/proof.pdf").status_code == 404
    assert as_manager.get("/jobs/99999/proof/").status_code == 404


def test_the_final_readings_are_begun_by_a_press(job, as_technician):
    assert as_technician.get(f"/jobs/{job.pk}/proof/start/").status_code == 405
    answer = as_technician.post(f"/jobs/{job.pk}/proof/start/")
    final = job.instrument.assessments.get(purpose="final")
    assert answer["Location"] == f"/assessments/{final.pk}/"
    assert as_technician.post(f"/jobs/{job.pk}/proof/start/")["Location"] == f"/assessments/{final.pk}/"
    assert "Go on with the final readings" in text(as_technician.get(f"/jobs/{job.pk}/proof/"))


def test_a_target_is_changed_with_a_reason(job, as_manager):
    address = f"/jobs/{job.pk}/targets/?measure=down-weight"
    page = text(as_manager.get(address))
    assert "What should down weight come to?" in page
    assert 'value="46"' in page
    measure = Target.objects.get().measure
    good = {"measure": measure.pk, "low": "44", "high": "52", "why": "a lighter touch, as she asked"}
    for bad in (
        {"low": "heavy"}, {"low": "60"}, {"low": "", "high": ""}, {"why": ""}, {"why": "x" * 121}, {"measure": "99999"},
        {"measure": ""}, {"low": "1e400"}, {"high": "12345678901"},
    ):  # fmt: skip
        answer = as_manager.post(address, {**good, **bad})
        assert answer.status_code == 422, bad
        assert "to mend before this can be kept" in text(answer)
    assert Target.objects.get().low == 46
    answer = as_manager.post(address, good, follow=True)
    assert "Down weight: the target is kept." in text(answer)
    assert "a lighter touch, as she asked" in text(answer)
    assert Target.objects.get().high == D(52)


def test_a_proof_that_cannot_be_signed_yet_keeps_what_was_written(job, as_manager):
    read_again(job, {1: 50})
    page = text(as_manager.get(f"/jobs/{job.pk}/proof/"))
    assert "Down weight (A♯0, B0, C1, C♯1 and 80 more)" in page
    answer = as_manager.post(f"/jobs/{job.pk}/proof/sign/", {"words": "Played in for “three” days 🎹"})
    assert answer.status_code == 422
    assert "Not every note was read again" in text(answer)
    assert "Played in for “three” days 🎹</textarea>" in text(answer)
    assert as_manager.post(f"/jobs/{job.pk}/proof/sign/", {"words": "x" * 3001}).status_code == 422
    assert not Proof.objects.exists()


def test_signing_makes_it_ready_and_drafts_the_letter(read, as_manager):
    answer = as_manager.post(f"/jobs/{read.pk}/proof/sign/", {"words": "Play it often."}, follow=True)
    assert "Signed. The instrument is ready" in text(answer)
    assert "Play it often." in text(answer)
    read.refresh_from_db()
    assert read.state == "ready"
    assert "83 of 85" in Update.objects.get(event="ready").body
    again = as_manager.post(f"/jobs/{read.pk}/proof/sign/", {"words": "again"})
    assert again.status_code == 422
    assert "it stays as it is" in text(again)
    assert Proof.objects.get().words == "Play it often."
    assert "its targets stay as they were agreed" in text(as_manager.get(f"/jobs/{read.pk}/targets/"))


def test_a_proof_of_an_instrument_that_is_not_in_the_house_is_not_signed(read, as_manager):
    read.state = "returned"
    read.save()
    assert as_manager.post(f"/jobs/{read.pk}/proof/sign/", {"words": ""}).status_code == 422
    assert not Proof.objects.exists(), "neither signed nor half signed"
    assert not Update.objects.exists()


def test_the_paper_holds_every_reading_before_and_after(read, as_manager):
    proof_sign(job=read, by=make_manager("Tamsin"), at=MOMENT, words="Play it often.\n\nKeep it at 50 %.")
    words = paper(as_manager, read)
    for said in (
        "83 of 85 keys now weigh between 46 and 54 g; before it was 42.", "Mrs Ferrowby", "A0 to A7",
        "Play it often.", "Keep it at 50 %.", "Outside what was agreed: G♯7 55.125, A7 55.125.",
        "signed, Mon 11 Jan 2027", "Tamsin", Proof.objects.get().content_hash,
    ):  # fmt: skip
        assert said in words, said
    rows = dict(re.findall(r"([A-G]♯?\d) ((?:50|62) (?:50|55\.125))(?= )", words.split("Every reading")[1]))
    assert len(rows) == 85
    assert (rows["C♯1"], rows["F4"], rows["A7"]) == ("50 50", "62 50", "62 55.125")


def test_the_strips_of_the_paper_are_lines_not_pictures(read, as_manager):
    proof_sign(job=read, by=make_manager(), at=MOMENT, words="")
    pages = PdfReader(io.BytesIO(as_manager.get(f"/jobs/{read.pk}/proof/proof.pdf").content)).pages
    assert not any(page.images for page in pages)
    curves = sum(page.get_contents().get_data().count(b" c\n") for page in pages)
    assert curves > 85 * 2, "a hollow and a filled dot for each key"


def test_the_paper_and_the_page_stay_when_readings_change(read, as_manager):
    proof_sign(job=read, by=make_manager(), at=MOMENT, words="")
    before = as_manager.get(f"/jobs/{read.pk}/proof/proof.pdf").content
    read.instrument.assessments.get(purpose="final").readings.update(value=99)
    assert as_manager.get(f"/jobs/{read.pk}/proof/proof.pdf").content == before
    assert "83 of 85 keys" in text(as_manager.get(f"/jobs/{read.pk}/proof/"))


def test_a_note_not_measured_says_why_on_page_and_paper(as_manager):
    job = make_proof_job({1: 60, 2: 60})
    read_again(job, {1: 50}, k2="key out <for> repair")
    assert "not measured: key out &lt;for&gt; repair" in text(as_manager.get(f"/jobs/{job.pk}/proof/"))
    proof_sign(job=job, by=make_manager(), at=MOMENT, words="")
    assert "Not measured: A♯0 (key out <for> repair)." in paper(as_manager, job)


def test_a_proof_changed_behind_our_back_is_told(read, as_manager):
    proof_sign(job=read, by=make_manager(), at=MOMENT, words="")
    assert "changed outside the tool" not in text(as_manager.get(f"/jobs/{read.pk}/proof/"))
    Proof.objects.update(notes_met=85)
    assert "This proof is not what was signed" in text(as_manager.get(f"/jobs/{read.pk}/proof/"))


def test_the_page_asks_as_often_for_six_measures_as_for_one(as_manager):
    def count(job):
        with CaptureQueriesContext(connection) as asked:
            assert as_manager.get(f"/jobs/{job.pk}/proof/").status_code == 200
        return len(asked)

    one = make_proof_job({1: 60})
    read_again(one, {1: 50})
    few = count(one)
    measures = [make_touch(f"m-{number}", name=f"Measure {number}") for number in range(6)]
    six = make_proof_job({1: 60}, measure=measures[0])
    first = six.instrument.assessments.get()
    for measure in measures[1:]:
        for key in range(1, 86):
            make_reading(first, key, 60, measure=measure)
        Target.objects.create(job=six, measure=measure, low=1, high=2, why="test")
    read_again(six, {1: 50}, measure=measures[0])
    assert count(six) == few
