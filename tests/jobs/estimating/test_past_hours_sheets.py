"""Past hours out of spreadsheets: the same table in OpenDocument and Office Open XML, and files that are none.

The workbooks are written by libraries of their own (openpyxl, odfdo) and, once, by hand after the element and
attribute names of OpenDocument 1.3, part 3, 9.1 (tables) and 19.385 (office:value-type).
"""

import datetime as dt
import io
import zipfile
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from odfdo import Cell, Document, Row, Table
from openpyxl import Workbook

from jobs.estimating.calc.csv_hours import csv_hours_read
from jobs.estimating.models import HoursLog
from jobs.estimating.spreadsheets import table_text
from tests.factories import make_manager, make_operation, make_technician
from workshop.web.errors import Refused

DAY = dt.date(2026, 11, 20)
HEADS = ["operation", "hours", "finished", "norm", "technician", "first time"]
ROWS = [
    ["ky-bush", 13.5, dt.date(2026, 3, 12), 12, "Corin", None],
    ["ky-bush", "14,25", "2026-04-02", None, None, None],
    [None, None, None, None, None, None],
    ["KY-BUSH", dt.timedelta(hours=30, minutes=45), dt.datetime(2026, 4, 9, 16, 30), Decimal("12"), "corin", True],
    ["ky-bosh", 3, dt.date(2026, 5, 1), None, None, None],
]
TYPE = "application/vnd.oasis.opendocument.spreadsheet"
NAMES = " ".join(
    f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in ("office", "table", "text")
)
BY_HAND = f"""<?xml version="1.0" encoding="UTF-8"?>
<office:document-content {NAMES} office:version="1.3"><office:body><office:spreadsheet>
<table:table table:name="Past"><table:table-column table:number-columns-repeated="6"/>
<table:table-header-rows><table:table-row>
<table:table-cell office:value-type="string"><text:p>Operation</text:p></table:table-cell>
<table:table-cell office:value-type="string"><text:p>Hours</text:p></table:table-cell>
<table:table-cell office:value-type="string" office:string-value="finished"><text:p>done</text:p></table:table-cell>
<table:table-cell table:number-columns-repeated="1018"/></table:table-row></table:table-header-rows>
<table:table-row table:number-rows-repeated="2">
<table:table-cell table:number-columns-repeated="1024"/></table:table-row>
<table:table-row>
<table:table-cell office:value-type="string"><text:p>ky-bush</text:p></table:table-cell>
<table:table-cell table:formula="of:=6.5+7" office:value-type="float" office:value="13.5"><text:p>13,5</text:p>
</table:table-cell>
<table:table-cell office:value-type="date" office:date-value="2026-03-12"><text:p>12.03.26</text:p></table:table-cell>
</table:table-row>
<table:table-row table:number-rows-repeated="2">
<table:table-cell office:value-type="string"><text:p>ky-bush</text:p></table:table-cell>
<table:table-cell office:value-type="time" office:time-value="PT14H15M00S"><text:p>14:15</text:p></table:table-cell>
<table:table-cell office:value-type="date" office:date-value="2026-04-02T10:00:00"><text:p>2. April</text:p>
</table:table-cell></table:table-row>
<table:table-row table:number-rows-repeated="1048570">
<table:table-cell table:number-columns-repeated="1024"/></table:table-row>
</table:table>
<table:table table:name="Other"><table:table-row><table:table-cell office:value-type="string"><text:p>nothing</text:p>
</table:table-cell></table:table-row></table:table>
</office:spreadsheet></office:body></office:document-content>"""
MANIFEST = f"""<?xml version="1.0" encoding="UTF-8"?>
<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" manifest:version="1.3">
<manifest:file-entry manifest:full-path="/" manifest:media-type="{TYPE}"/>
<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>"""


def xlsx(rows):
    book = Workbook()
    for row in rows:
        book.active.append(row)
    book.create_sheet("Other").append(["nothing"])
    return saved(book.save)


def ods(rows):
    document, table = Document("spreadsheet"), Table("Past")
    document.body.clear()
    for cells in rows:
        row = Row()
        for cell in cells:
            row.append_cell(Cell(cell))
        table.append_row(row)
    document.body.append(table)
    document.body.append(Table("Other"))
    return saved(document.save)


def saved(save):
    file = io.BytesIO()
    save(file)
    return file.getvalue()


def packed(parts):
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as made:
        for name, text in parts.items():
            made.writestr(name, text)
    return file.getvalue()


def by_hand(content=BY_HAND):
    return packed({"mimetype": TYPE, "content.xml": content, "META-INF/manifest.xml": MANIFEST})


def read(data):
    return csv_hours_read(table_text(data), norms={"ky-bush": 12.0}, people=["Corin"], today=DAY)


@pytest.mark.parametrize("write", [xlsx, ods])
def test_a_sheet_is_understood_and_its_rows_keep_their_numbers(write):
    found = read(write([[None], HEADS, *ROWS]))
    assert [(row.line, row.hours, row.norm, row.finished, row.technician, row.first_time) for row in found.rows] == [
        (3, 13.5, 12, dt.date(2026, 3, 12), "Corin", False),
        (4, 14.25, 12, dt.date(2026, 4, 2), "", False),
        (6, 30.75, 12, dt.date(2026, 4, 9), "Corin", True),
    ]
    assert [(fault.line, fault.sentence[:9]) for fault in found.faults] == [(7, "“ky-bosh”")]


def test_a_sheet_written_by_hand_after_the_standard_is_understood():
    found = read(by_hand())
    assert not found.faults
    assert [(row.line, row.hours, row.finished) for row in found.rows] == [
        (4, 13.5, dt.date(2026, 3, 12)),
        (5, 14.25, dt.date(2026, 4, 2)),
    ]
    assert [row.line for row in found.repeated] == [6]


def test_of_a_formula_its_value_is_read():
    """Named after ISO/IEC 29500-1, 18.3.1.40 (f) and 18.3.1.96 (v): the value stands beside the formula."""
    with zipfile.ZipFile(io.BytesIO(xlsx([HEADS, ROWS[0]]))) as made:
        parts = {name: made.read(name) for name in made.namelist()}
    sheet = "xl/worksheets/sheet1.xml"
    assert b"<v>13.5</v>" in parts[sheet]
    parts[sheet] = parts[sheet].replace(b"<v>13.5</v>", b"<f>6.5+7</f><v>13.5</v>")
    [row] = read(packed(parts)).rows
    assert row.hours == 13.5


def test_a_cell_beside_the_table_is_not_lost_in_silence():
    [fault] = read(xlsx([HEADS, [*ROWS[0], "hard"]])).faults
    assert (fault.line, "“hard” stands under no head" in fault.sentence) == (2, True)


REPEATED = BY_HAND.replace(
    'number-rows-repeated="2">\n<table:table-cell office', 'number-rows-repeated="900000">\n<table:table-cell office'
)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"\xff\xfe\x00", "neither a workbook nor text"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "old binary workbook, or locked"),
        (b"PK\x03\x04 and no more", "damaged or locked"),
        (b"x" * 1_000_001, "larger than 1 MB"),
        (packed({"letter.txt": "Dear Corin"}), "holds no spreadsheet"),
        (packed({"xl/workbook.xml": "<workbook"}), "damaged or locked"),
        (by_hand("no XML"), "damaged or locked"),
        (by_hand(BY_HAND.replace("<office:document-content", "<!DOCTYPE x><office:document-content")), "declarations"),
        (by_hand("0" * 21_000_000), "unpacks to far more"),
        (packed({f"{number}": "" for number in range(501)}), "unpacks to far more"),
        (by_hand(REPEATED), "more than 5000 rows"),
    ],
)
def test_a_file_that_is_no_table_is_said(data, words):
    with pytest.raises(Refused, match=words):
        table_text(data)


def test_a_sheet_longer_than_may_be_is_said():
    book = Workbook()
    book.active["A5300"] = "ky-bush"
    with pytest.raises(Refused, match="more than 5000 rows"):
        table_text(saved(book.save))


@pytest.mark.parametrize("write", [xlsx, ods])
def test_a_sheet_is_looked_at_and_kept_as_it_was_understood(client, db, write):
    client.force_login(make_manager())
    make_technician("Corin")
    make_operation(hours_low=Decimal(8), hours_likely=Decimal(12), hours_high=Decimal(18))
    page = reverse("norms-bring-in")
    answer = client.post(page, {"file": SimpleUploadedFile("past.bin", write([HEADS, *ROWS[:4]]))})
    assert "Three past tasks to keep" in answer.content.decode()
    text = answer.context["form"].initial["text"]
    assert client.post(page, {"text": text, "keep": "1"}).status_code == 302
    logs = HoursLog.objects.order_by("finished_on").values_list("hours", "first_time")
    assert list(logs) == [(Decimal("13.50"), False), (Decimal("14.25"), False), (Decimal("30.75"), True)]
    again = client.post(page, {"file": SimpleUploadedFile("past.bin", write([HEADS, *ROWS[:4]]))}).content.decode()
    assert "Every line is here already" in again
    wrong = client.post(page, {"file": SimpleUploadedFile("past.ods", b"PK\x03\x04")})
    assert (wrong.status_code, "damaged or locked" in wrong.content.decode()) == (422, True)
