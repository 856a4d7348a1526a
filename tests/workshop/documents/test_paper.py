"""Papers read back with an independent reader (pypdf)."""

import datetime as dt
import io
import sys

import pytest
from pypdf import PdfReader
from pypdf.generic import IndirectObject

from workshop.documents.paper import Paper
from workshop.house.models import Shop
from workshop.keyboard.calc.notes import Compass
from workshop.keyboard.strip import make_strip

SHOP = Shop(name="The Workshop", street="2 Ropewalk", town="Harrowmere", postcode="HM1 2AB", phone="01632 960001")


def paper(**more):
    return Paper(**{"shop": SHOP, "title": "Quote 23", **more})


def read(pdf):
    return PdfReader(io.BytesIO(pdf))


def text_of(pdf):
    return "\n".join(page.extract_text() for page in read(pdf).pages)


@pytest.mark.parametrize(
    "words",
    [
        "C♯5 and B♭3, ½ turn, 54 g − 46 g, £1,240.00",
        "“Larkwhistle”, née Ölander, Ævar Łukasz Žižka, O’Hara & Sons <Ltd>",
        "Ναυσικά, Александра",
        "80 % · 20 °C · Ø 1.025 mm · ±0.5 · ≤ 12 · → 3",
    ],
)
def test_what_is_written_can_be_selected_and_searched(words):
    one = paper()
    one.text(words)
    assert words in text_of(one.render())


def test_a_name_in_letters_our_face_lacks_stays_in_the_text():
    one = paper()
    one.text("Mr 漢字 かな, Ms 김민지 & Mr 李")
    text = text_of(one.render())
    assert all(name in text for name in ("Mr 漢字", "かな", "김민지", "李", "& Mr"))


@pytest.mark.parametrize(
    ("written", "printed"),
    [
        ("Nan 🎹 Ferrowby", "Nan (musical keyboard) Ferrowby"),
        ("thanks 👍🏽", "thanks (thumbs up sign)"),  # the tone of the skin is not read aloud
        ("F♯5, ½ h, £1,240.00", "F♯5, ½ h, £1,240.00"),
    ],
)
def test_a_picture_letter_is_written_as_its_name(written, printed):
    one = paper(title=written)
    one.text(written)
    text = text_of(one.render())
    assert text.count(printed) == 2


def test_a_letter_no_face_has_becomes_an_open_square_and_is_not_lost_silently():
    one = paper()
    one.text("Nan \ue000 Ferrowby")
    assert "Nan □ Ferrowby" in text_of(one.render())


@pytest.mark.parametrize("rows", range(30, 60))
def test_no_single_row_of_a_table_stands_alone_on_a_page(rows):
    one = paper()
    one.table(("What", "Amount"), [(f"line {number}.", "£1.00") for number in range(rows)], numbers=(1,))
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(one.render())).pages]
    counts = [page.count("line ") for page in pages]
    assert sum(counts) == rows
    assert min(counts) >= 2


@pytest.mark.parametrize("rows", [5, 8])  # short enough to stay whole, and one that is parted
@pytest.mark.parametrize("above", range(20, 45, 3))
def test_the_head_of_a_part_stays_with_the_rows_below_it(above, rows):
    one = paper()
    for number in range(above):
        one.text(f"above {number}")
    one.part("The work")
    one.table(("Stage", "What we do"), [("stage", "tall " * 120) for _ in range(rows)], widths_mm=(34, 140))
    pages = [page.extract_text() for page in read(one.render()).pages]
    headed = next(page for page in pages if "The work" in page)
    assert headed.count("stage") >= 2


def test_nothing_written_is_taken_for_markup():
    one = paper()
    one.facts([("Client", "<b>Bold</b> & <img src='x'/>")])
    one.points(["<para>", "a < b"])
    one.table(["<i>Head</i>"], [["</para>"]])
    text = text_of(one.render())
    assert "<b>Bold</b> & <img src='x'/>" in text
    assert all(words in text for words in ("<para>", "a < b", "<i>Head</i>", "</para>"))


def full_paper():
    one = paper()
    one.address(["Mrs Ferrowby", "4 Quay Street"], ["Quote 23", "Mon 11 Jan 2027"])
    one.heading("Three ways to keep your piano")
    one.letter("Dear Mrs Ferrowby,\n\nwe have read it note by note.")
    one.caution("The strings pull with 18 tonnes. Nobody but a trained person lets them down.")
    compass = Compass(1, 85, 20)
    values = {key: 50 + (key % 7) for key in range(1, 86)}
    one.strip(make_strip(compass, {**values, 33: 71, 40: None}, 46, 54, "g", "Down weight"))
    one.part("What it costs")
    rows = [[f"line {number}", f"{number}.00"] for number in range(140)]
    one.table(["Work", "£"], [*rows, ["Together", "9,730.00"]], numbers=[1], totals=1)
    one.qr("http://127.0.0.1:8000/jobs/1/", "The job on your telephone")
    one.sign("Name and day", "For the workshop")
    return one.render()


def test_the_same_matter_gives_the_same_bytes_and_a_paper_can_be_rendered_twice():
    assert full_paper() == full_paper()
    one = paper()
    one.text("once")
    assert one.render() == one.render()


def test_every_page_has_the_shop_the_title_and_its_number_and_tables_repeat_their_heads():
    pages = [page.extract_text() for page in read(full_paper()).pages]
    assert len(pages) >= 3
    for number, page in enumerate(pages, start=1):
        assert "The Workshop" in page
        assert f"page {number} of {len(pages)}" in page
    assert sum("Work" in page.replace("Workshop", "") for page in pages) >= 2
    assert "line 139" in pages[-1] or "line 138" in pages[-2]
    assert next(page for page in pages if "Together" in page).count("line ") >= 1


def test_a_strip_is_drawn_as_lines_with_words_that_can_be_searched():
    pdf = full_paper()
    text = text_of(pdf)
    assert "E3 71" in text or "71" in text
    assert "Ordinary 46–54 g in cream; dot in range; lozenge out of range; open tick not measured" in text
    assert not any(page.images for page in read(pdf).pages)


def test_it_says_its_title_and_language_and_is_a4():
    reader = read(full_paper())
    assert reader.metadata.title == "Quote 23"
    assert reader.metadata.author == "The Workshop"
    assert reader.trailer["/Root"]["/Lang"] == "en-GB"
    width, height = reader.pages[0].mediabox[2:]
    # ISO 216: A4 is 210 mm by 297 mm.
    assert (round(float(width) / 72 * 25.4), round(float(height) / 72 * 25.4)) == (210, 297)


def test_every_face_is_embedded():
    reader = read(full_paper())
    faces = {}
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            font = font.get_object() if isinstance(font, IndirectObject) else font
            faces[font["/BaseFont"]] = "/FontDescriptor" in font and "/FontFile2" in font["/FontDescriptor"]
    embedded = {name for name, there in faces.items() if there}
    assert any("DejaVuSans" in name for name in embedded)
    assert any("DejaVuSerif" in name for name in embedded)
    # Helvetica is named by the library in every file, and no word of ours is set in it.
    assert {name for name, there in faces.items() if not there} <= {"/Helvetica"}


def test_the_fonts_are_found_without_importing_the_package_that_carries_them():
    assert "matplotlib" not in sys.modules


def test_the_day_of_making_is_not_in_the_file():
    assert str(dt.date.today().year).encode() + b"-" not in full_paper()[:200]
