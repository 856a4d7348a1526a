"""The assessment on paper, read back: its findings and every reading are text."""

import io

import pytest
from django.urls import reverse
from pypdf import PdfReader

from jobs.assessment import services
from jobs.assessment.models import Finding
from tests.factories import MOMENT, make_operation, make_reading
from workshop.keyboard.calc.notes import key_name

pytestmark = pytest.mark.django_db


@pytest.fixture
def full(assessment, down_weight, finish_grade):
    for key in range(1, 86):
        make_reading(assessment, key, 40 + key / 4, measure=down_weight)
    services.reading_keep(
        assessment=assessment, measure=finish_grade, spot="fall", choice="2", by=assessment.by, at=MOMENT
    )
    services.remark_keep(assessment=assessment, text="Buzz & rattle <at> F♯5", by=assessment.by, at=MOMENT)
    finding = Finding.objects.create(
        assessment=assessment, measure=down_weight, severity="playing", sentence="The touch is heavy & <uneven>."
    )
    finding.operations.add(make_operation(name="Rebush keys, front and balance"))
    Finding.objects.create(assessment=assessment, severity="wear", sentence="Nobody reads this.", state="struck")
    return assessment


def read_back(client, assessment):
    answer = client.get(reverse("assessment-pdf", args=[assessment.pk]))
    assert answer["Content-Type"] == "application/pdf"
    reader = PdfReader(io.BytesIO(answer.content))
    return answer.content, " ".join(" ".join(page.extract_text().split()) for page in reader.pages), reader


def test_the_paper_holds_the_findings_and_every_reading(as_technician, full):
    _, text, _ = read_back(as_technician, full)
    assert "The touch is heavy & <uneven>." in text
    assert "Calls for: Rebush keys, front and balance" in text
    assert "Buzz & rattle <at> F♯5" in text
    assert "Nobody reads this" not in text
    assert "2 crazed" in text
    for reading in full.readings.filter(key__isnull=False):
        assert f"{key_name(reading.key)} {reading.value.normalize():f} g" in text


def test_the_same_record_gives_the_same_bytes(as_technician, full):
    assert read_back(as_technician, full)[0] == read_back(as_technician, full)[0]


def test_its_fonts_are_embedded(as_technician, full):
    _, _, reader = read_back(as_technician, full)
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            name = font.get_object()["/BaseFont"]
            assert "DejaVu" in name or name == "/Helvetica"  # the name of reportlab's unused default


def test_an_empty_assessment_can_be_printed(as_technician, assessment):
    assert "Nothing was read." in read_back(as_technician, assessment)[1]


def test_strangers_get_no_paper(stranger, full):
    assert stranger.get(reverse("assessment-pdf", args=[full.pk])).status_code == 302
