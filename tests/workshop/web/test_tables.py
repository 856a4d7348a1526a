"""Lists: caption, order, pages, phone, CSV."""

import csv
import datetime as dt
import io
from decimal import Decimal
from types import SimpleNamespace

import django_filters
import pytest
from django.contrib.auth.models import AnonymousUser
from django.test import RequestFactory
from django.utils.safestring import mark_safe

from workshop.people.models import Skill
from workshop.web.tables import (
    DayColumn,
    ListColumn,
    ListTable,
    MoneyColumn,
    NumberColumn,
    StateColumn,
    csv_response,
    harmless,
    list_page,
)

pytestmark = pytest.mark.urls("tests.workshop.web.rooms_urls")


class Quotes(ListTable):
    number = NumberColumn(verbose_name="No.")
    client = ListColumn()
    total = MoneyColumn(wide=True)
    sent = DayColumn()
    state = StateColumn(look=lambda record: ("gone", record["word"]), orderable=False)
    what = "Quotes"
    note = "prices with VAT"
    order_words = {"number": ("oldest first", "newest first")}
    file_name = "quotes"

    class Meta(ListTable.Meta):
        order_by = "-number"


ROWS = [
    {
        "number": number,
        "client": "Mrs Ferrowby" if number != 3 else "=cmd|' /C calc'!A0",
        "total": Decimal("1240.5") * number,
        "sent": dt.date(2027, 1, number) if number != 2 else None,
        "word": "sent",
    }
    for number in range(1, 31)
]


def page(address="/", rows=ROWS, table=Quotes, filterset=None, **context):
    request = RequestFactory().get(address)
    request.user = AnonymousUser()
    return list_page(request, table, rows, filterset, **context)


def text_of(response):
    return response.content.decode()


def rows_of(response):
    return list(csv.reader(io.StringIO(response.content.decode("utf-8-sig"))))


def test_the_caption_says_what_in_which_order_how_many_of_how_many():
    text = text_of(page())
    assert "<caption>Quotes, newest first, 1 to 25 of 30; prices with VAT</caption>" in text
    assert "by client, Z to A, 26 to 30 of 30" in text_of(page("/?sort=-client&page=2"))
    assert "<caption>Quotes, newest first, all 2; prices with VAT</caption>" in text_of(page(rows=ROWS[:2]))


def test_the_sorted_column_alone_says_so():
    text = text_of(page("/?sort=client"))
    assert text.count("aria-sort=") == 1
    assert 'aria-sort="ascending"><a href="?sort=-client">Client' in text


def test_heads_are_scoped_numbers_stand_right_and_values_carry_their_heads_for_the_phone():
    text = text_of(page(rows=ROWS[:1]))
    assert '<th scope="row">1</th>' in text
    assert '<td data-h="Total" class="num" data-wide><span>£1,240.50</span></td>' in text
    assert '<td data-h="Sent"><span><time datetime="2027-01-01" class="n">Fri 1 Jan</time></span></td>' in text
    assert text.count('scope="col"') == 5
    assert 'href="#m-gone"' in text


def test_pages_and_orders_keep_each_other_and_the_filters():
    text = text_of(page("/?client=x&sort=client"))
    assert 'rel="next" href="?client=x&amp;sort=client&amp;page=2">older' in text
    assert 'href="?client=x&amp;sort=client&amp;as=csv"' in text
    assert "all 30 as CSV" in text


def test_a_page_that_is_no_page_and_an_order_that_is_none_do_no_harm():
    assert page("/?page=nonsense&sort=nothing").status_code == 200
    assert "26 to 30 of 30" in text_of(page("/?page=99"))


def test_the_csv_holds_all_rows_and_columns_as_plain_values():
    response = page("/?as=csv&page=2")
    rows = rows_of(response)
    assert response["Content-Disposition"] == 'attachment; filename="quotes.csv"'
    assert rows[0] == ["No.", "Client", "Total", "Sent", "State"]
    assert len(rows) == 31
    assert rows[1] == ["30", "Mrs Ferrowby", "37215.00", "2027-01-30", "sent"]
    assert rows[29] == ["2", "Mrs Ferrowby", "2481.00", "", "sent"]


def test_a_formula_in_a_name_is_harmless_in_the_csv():
    assert ["3", "'=cmd|' /C calc'!A0", "3721.50", "2027-01-03", "sent"] in rows_of(page("/?as=csv"))


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        # The characters a spreadsheet takes for a formula: OWASP, "CSV Injection".
        ("=1+1", "'=1+1"),
        ("+44 20", "+44 20"),
        ("+cmd", "'+cmd"),
        ("-3", "-3"),
        ("-2+3", "'-2+3"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("\tx", "'\tx"),
        ("  =1", "'=1"),
        (Decimal("-4.50"), "-4.50"),
        (mark_safe("<b>&amp; Co</b>"), "& Co"),
        ("a < b", "a < b"),
        (None, ""),
    ],
)
def test_cells_are_written_harmlessly(cell, written):
    assert harmless(cell) == written


def test_a_csv_is_named_without_anything_odd():
    response = csv_response(Quotes(ROWS), 'a/b "c"')
    assert response["Content-Disposition"] == 'attachment; filename="a-b-c-.csv"'


class Empty(Quotes):
    nothing = "No quote yet. A quote begins at an instrument."


def test_an_empty_list_says_what_to_do_next():
    text = text_of(page(rows=[], table=Empty))
    assert "No quote yet. A quote begins at an instrument." in text
    assert "<table" not in text


class SkillFilter(django_filters.FilterSet):
    name = django_filters.CharFilter(lookup_expr="icontains", label="Name")

    class Meta:
        model = Skill
        fields = ["name"]


class Skills(ListTable):
    name = ListColumn()
    what = "Skills"
    nothing = "No skill yet."


@pytest.mark.django_db
def test_filters_are_kept_in_the_address_and_asked_in_the_database():
    Skill.objects.create(code="a", name="structure")
    Skill.objects.create(code="b", name="tuning")
    text = text_of(page("/?name=tun", rows=Skill.objects.all(), table=Skills, filterset=SkillFilter))
    assert "structure" not in text
    assert "Skills, all 1" in text
    assert 'value="tun"' in text
    assert '<label for="id_name">Name</label>' in text
    nothing = text_of(page("/?name=zzz", rows=Skill.objects.all(), table=Skills, filterset=SkillFilter))
    assert "Nothing fits what you asked for" in nothing
    assert "No skill yet." not in nothing


def test_a_state_may_bring_its_own_colour():
    column = StateColumn(look=lambda record: ("full", "kept", "brass"))
    assert 'class="st brass"' in column.render(record=SimpleNamespace())
