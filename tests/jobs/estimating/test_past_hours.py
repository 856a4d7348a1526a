"""Past hours from a table: looked at, mended line by line, kept once, taken back."""

import datetime as dt
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from jobs.estimating.calc.csv_hours import csv_hours_read
from jobs.estimating.models import HoursImport, HoursLog
from jobs.estimating.services import hours_for
from tests.factories import make_manager, make_operation, make_technician

DAY = dt.date(2026, 11, 20)
TABLE = """operation,hours,finished,norm,technician,first time
ky-bush,13.5,2026-03-12,12,Corin,
ky-bush,14,2026-04-02,,,
KY-BUSH,30,2026-04-09,12,corin,yes
"""


def read(text, known=()):
    return csv_hours_read(text, norms={"ky-bush": 12.0}, people=["Corin"], today=DAY, known=known)


def test_a_good_table_is_understood():
    found = read(TABLE)
    assert not found.faults
    assert [(row.hours, row.norm, row.technician, row.first_time) for row in found.rows] == [
        (13.5, 12, "Corin", False),
        (14, 12, "", False),
        (30, 12, "Corin", True),
    ]


def test_semicolons_and_decimal_commas_are_read_too():
    [row] = read("\ufeffOperation;Finished;Hours\nky-bush;2026-03-12;13,5\n").rows
    assert row.hours == 13.5


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("ky-bosh,3,2026-03-12,,,", "“ky-bosh” is no operation"),
        ("ky-bush,much,2026-03-12,,,", "“much” under hours"),
        ("ky-bush,-3,2026-03-12,,,", "“-3” under hours"),
        ("ky-bush,nan,2026-03-12,,,", "“nan” under hours"),
        ("ky-bush,3,12.3.2026,,,", "“12.3.2026” under finished"),
        ("ky-bush,3,2026-12-24,,,", "has not come yet"),
        ("ky-bush,3,2026-03-12,0,,", "“0” under norm"),
        ("ky-bush,3,2026-03-12,,Nobody,", "“Nobody” does not work here"),
        ("ky-bush,3,2026-03-12,,,perhaps", "neither yes nor no"),
        ("ky-bush", "“” under hours"),
    ],
)
def test_each_fault_names_its_line(line, words):
    found = read(TABLE + line + "\n")
    assert [fault.line for fault in found.faults] == [5]
    assert words in found.faults[0].sentence
    assert len(found.rows) == 3


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("operation,hours\n", "lacks “finished”"),
        ("operation,hours,finished,colour\n", "“colour” is no column"),
        ("operation,hours,finished,hours\n", "stands twice"),
    ],
)
def test_a_head_line_that_cannot_be_used_is_said(text, words):
    assert words in read(text).faults[0].sentence


def test_repeated_rows_are_recognised():
    found = read(TABLE + TABLE.splitlines()[1] + "\n", known={("ky-bush", "", dt.date(2026, 4, 2), 14.0)})
    assert [row.line for row in found.repeated] == [3, 5]
    assert len(found.rows) == 2


@pytest.fixture
def boss(client, db):
    manager = make_manager()
    make_technician("Corin")
    make_operation(hours_low=Decimal(8), hours_likely=Decimal(12), hours_high=Decimal(18))
    client.force_login(manager)
    return manager


def test_a_table_is_looked_at_kept_once_and_taken_back(client, boss):
    page = reverse("norms-bring-in")
    text = client.post(page, {"file": SimpleUploadedFile("past.csv", TABLE.encode())}).content.decode()
    assert "Three past tasks to keep" in text
    assert not HoursLog.objects.exists()
    assert client.post(page, {"text": TABLE, "keep": "1"}).status_code == 302
    operation = make_operation()
    found = hours_for(operation=operation, quantity=1, kind="grand")
    assert (found.logs, found.likely > 12) == (2, True)
    again = client.post(page, {"text": TABLE, "keep": "1"}).content.decode()
    assert "Every line is here already" in again
    batch = HoursImport.objects.get()
    client.post(reverse("norms-take-back", args=[batch.pk]))
    assert not HoursLog.objects.exists()
    assert hours_for(operation=operation, quantity=1, kind="grand").likely == pytest.approx(12)
    answer = client.post(reverse("norms-take-back", args=[batch.pk]), follow=True).content.decode()
    assert "taken back before" in answer


def test_a_faulty_table_keeps_nothing_and_stays_on_the_page(client, boss):
    text = TABLE + "ky-bosh,3,2026-03-12,,,\n"
    answer = client.post(reverse("norms-bring-in"), {"text": text, "keep": "1"})
    assert answer.status_code == 422
    assert "One line needs mending" in answer.content.decode()
    assert "ky-bosh,3,2026-03-12" in answer.content.decode()
    assert not HoursImport.objects.exists()


def test_an_empty_form_and_a_file_that_is_no_text_are_said(client, boss):
    page = reverse("norms-bring-in")
    assert "Choose a file or paste the table" in client.post(page, {}).content.decode()
    wrong = client.post(page, {"file": SimpleUploadedFile("past.csv", b"\xff\xfe\x00PK")})
    assert "nor text in UTF-8" in wrong.content.decode()


def test_past_hours_are_the_managers(client, db):
    client.force_login(make_technician())
    assert client.get(reverse("norms-bring-in")).status_code == 403
