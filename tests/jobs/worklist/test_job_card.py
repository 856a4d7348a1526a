"""The job card: read back from the PDF, with its code, its cautions and room for readings."""

import datetime as dt
from io import BytesIO

import pytest
import segno
from pypdf import PdfReader

from jobs.worklist.models import Task
from jobs.worklist.services import task_agreed_write, variation_report
from tests.factories import MOMENT
from workshop.documents import paper

pytestmark = pytest.mark.django_db


@pytest.fixture
def codes(monkeypatch):
    """What the QR codes drawn on the papers say."""
    said = []
    make = segno.make

    def spy(text, **more):
        said.append((text, make(text, **more)))
        return said[-1][1]

    monkeypatch.setattr(paper.segno, "make", spy)
    return said


def card(client, job, stage=""):
    answer = client.get(f"/jobs/{job.pk}/card.pdf", {"stage": stage} if stage else {})
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    pages = [page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages]
    return pages, " ".join(" ".join(pages).split())


def test_a_stage_fits_one_page_with_what_was_agreed_its_order_and_its_wait(job, as_technician, boss):
    task = job.tasks.get(operation__code="ky-bush")
    task_agreed_write(task=task, agreed="Red cloth, 🎹 as before.", by=boss)
    pages, words = card(as_technician, job, "keys")
    assert len(pages) == 1
    assert f"No. {job.instrument.number} Larkwhistle grand" in words
    assert "Red cloth" in words
    assert f"{task.position} Work ky-bush" in words
    assert "Work dm-open" not in words
    assert "Readings" in words


def test_the_whole_card_leaves_out_stages_that_are_over_and_says_so(job, as_technician):
    _, words = card(as_technician, job)
    assert "Done before: assessing." in words
    assert "Work in-report" not in words
    assert all(f"Work tn-settle: {number} of 3" in words for number in (1, 2, 3))
    assert "48 h settling" in words


def test_the_cautions_of_work_to_come_stand_on_it_with_their_task_and_defer_to_local_rules(job, as_technician):
    _, words = card(as_technician, job)
    assert "Weighs 310 kg: four people and a dolly" in words
    assert "Lead is poisonous: gloves, no dry sweeping, follow local rules (Work ky-weigh)" in words
    assert "Steam and hide glue: ventilate (Work ky-bush)" in words
    assert "Local rules and the word of trained or licensed people come before what stands here." in words
    job.tasks.filter(operation__code="ky-weigh").update(state=Task.State.DONE, done_at=MOMENT)
    _, words = card(as_technician, job)
    assert "Lead is poisonous" not in words


@pytest.mark.parametrize(("stage", "anchor"), [("", ""), ("keys", "#stage-keys")])
def test_the_code_on_it_leads_to_the_page_of_the_job(job, as_technician, codes, settings, stage, anchor):
    settings.SITE_URL = "https://bench.harrowmere.example"
    _, words = card(as_technician, job, stage)
    address = f"https://bench.harrowmere.example/jobs/{job.pk}/{anchor}"
    ((said, code),) = codes
    assert said == address
    assert address in words
    assert code.error in {"M", "Q", "H"}  # M at least; the library raises it where a code of that size has room
    assert as_technician.get(f"/jobs/{job.pk}/").status_code == 200


def test_what_a_variation_holds_says_so_on_the_card(job, as_technician, boss):
    variation_report(job=job, found="A crack.", affects=[job.tasks.get(operation__code="ky-bush")], by=boss, at=MOMENT)
    _, words = card(as_technician, job, "keys")
    assert "Held by variation 1." in words


def test_a_stage_the_job_does_not_have_is_not_found(job, as_technician):
    for stage in ("action", "no-such", "'\"<"):
        assert as_technician.get(f"/jobs/{job.pk}/card.pdf", {"stage": stage}).status_code == 404


def test_the_same_job_gives_the_same_paper(job, as_technician):
    first, second = (as_technician.get(f"/jobs/{job.pk}/card.pdf").content for _ in range(2))
    assert first == second


def test_a_variation_as_a_paper_has_the_figures_of_its_rows(job, as_manager, boss):
    from jobs.worklist.services import variation_price, variation_send

    found = variation_report(job=job, found="Two keys are cracked.", affects=[], by=boss, at=MOMENT)
    variation_price(variation=found, operations={"ky-repair": 1}, words="Repair them.", by=boss)
    late = dt.datetime(2027, 6, 30, 23, 30, tzinfo=dt.UTC)  # 1 July on the shop's wall
    sent = variation_send(variation=found, by=boss, at=late, ready_on=dt.date(2027, 7, 20))
    answer = as_manager.get(f"/variations/{found.pk}/variation.pdf")
    words = " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages).split())
    for expected in (
        f"£{sent.net:,.2f}",
        f"£{sent.vat:,.2f}",
        f"£{sent.total:,.2f}",
        "Thu 1 Jul 2027",
        "Tue 20 Jul 2027",
        sent.content_hash,
    ):
        assert expected in words
