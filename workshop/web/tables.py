"""Lists: one table look, filters and order in the address, pages from the server, everything as CSV."""

import csv
import datetime as dt
import re
from collections.abc import Callable
from decimal import Decimal
from html import unescape
from typing import Any

import django_tables2 as tables
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.html import format_html, strip_tags
from django.utils.safestring import SafeString

from workshop.calendar.words import day_words, hours_in_column
from workshop.money.words import money, money_round

ROWS_A_PAGE = 25
_NUMBER = re.compile(r"[+-]?\d[\d ]*([.,]\d+)?")


class ListColumn(tables.Column):
    """A column of words. ``wide`` columns are left out on small screens and stay in the export."""

    numeric = False
    orders = ("A to Z", "Z to A")

    def __init__(self, *args: Any, wide: bool = False, **options: Any) -> None:
        options.setdefault("default", "")
        super().__init__(*args, **options)
        self.wide = wide


class NumberColumn(ListColumn):
    """A column of numbers, right-aligned; the unit stands in its head."""

    numeric = True
    orders = ("least first", "most first")


class MoneyColumn(NumberColumn):
    """An amount: with pence ("£1,240.00"), or to the pound when ``pence`` is False. Exported as a plain number."""

    def __init__(self, *args: Any, pence: bool = True, **options: Any) -> None:
        super().__init__(*args, **options)
        self.pence = pence

    def render(self, value: Decimal) -> str:
        """Return the amount in words."""
        return money(value) if self.pence else money_round(value)

    def value(self, value: Decimal) -> str:
        """Return the amount as a plain number."""
        return f"{value:.2f}"


class HoursColumn(NumberColumn):
    """Hours, all of a column with as many decimals, "8.0 h". Exported as a plain number."""

    def __init__(self, *args: Any, places: int = 1, **options: Any) -> None:
        super().__init__(*args, **options)
        self.places = places

    def render(self, value: Any) -> str:
        """Return the hours in words."""
        return hours_in_column(value, self.places)

    def value(self, value: Any) -> str:
        """Return the hours as a plain number."""
        return f"{float(value):.2f}".rstrip("0").rstrip(".")


class DayColumn(ListColumn):
    """A day, "Fri 12 Mar". Exported as 2027-03-12."""

    orders = ("earliest first", "latest first")

    def _day(self, value: dt.date) -> dt.date:
        if isinstance(value, dt.datetime):
            return timezone.localtime(value).date() if timezone.is_aware(value) else value.date()
        return value

    def render(self, value: dt.date) -> SafeString:
        """Return the day as a time element."""
        day = self._day(value)
        return format_html('<time datetime="{}" class="n">{}</time>', day.isoformat(), day_words(day))

    def value(self, value: dt.date) -> str:
        """Return the day as ISO 8601."""
        return self._day(value).isoformat()


class StateColumn(ListColumn):
    """A state: ``look`` returns (mark, word) or (mark, word, colour) of a record. Exported as its word."""

    def __init__(self, *args: Any, look: Callable[[Any], tuple[str, ...]], **options: Any) -> None:
        super().__init__(*args, empty_values=(), **options)
        self.look = look

    def render(self, record: Any) -> SafeString:
        """Return mark and word."""
        from workshop.templatetags.wrestplank import st

        return st(*self.look(record))

    def value(self, record: Any) -> str:
        """Return the word."""
        return self.look(record)[1]


class ListTable(tables.Table):
    """The base of every list.

    ``what`` begins the caption ("Quotes"); ``note`` ends it ("prices with VAT"); ``order_words`` names an order,
    column name -> (rising, falling) ("oldest first", "newest first"); ``row_head`` is the column that names a
    row (the first if not given), ``row_name`` the one beside it on a phone; ``nothing`` says what to do when the
    list is empty; ``file_name`` names the CSV.
    """

    what = "All"
    note = ""
    row_head = ""
    row_name = ""
    nothing = "Nothing here yet."
    file_name = "list"
    newer, older = "newer", "older"
    order_words: dict[str, tuple[str, str]] = {}
    filtered = False  # whether filters hide rows; set by list_page
    take: tuple[tuple[str, str], ...] = ()  # more ways to take the list along: (label, address)

    class Meta:
        template_name = "tables/list.html"

    @property
    def head_name(self) -> str:
        """The column whose cell heads its row."""
        return self.row_head or next(iter(self.columns.names()), "")

    @property
    def number_of_rows(self) -> int:
        """How many rows there are on all pages."""
        return int(self.paginator.count) if hasattr(self, "paginator") else len(self.rows)

    def _order(self) -> str:
        for alias in self.order_by or ():
            name = alias.lstrip("-")
            falling = alias.startswith("-")
            if name in self.order_words:
                return self.order_words[name][falling]
            if name in self.columns.names():
                column = self.columns[name]
                rising_words = getattr(column.column, "orders", ListColumn.orders)
                return f"by {str(column.header).lower()}, {rising_words[falling]}"
        return ""

    def caption(self) -> str:
        """Return what, in which order, how many of how many, which tax."""
        total = self.number_of_rows
        page = getattr(self, "page", None)
        if page is not None and page.paginator.num_pages > 1:
            count = f"{page.start_index()} to {page.end_index()} of {total}"
        else:
            count = "all 1" if total == 1 else f"all {total}"
        words = ", ".join(part for part in (self.what, self._order(), count) if part)
        return f"{words}; {self.note}" if self.note else words


def harmless(cell: Any) -> str:
    """Return a cell for CSV that no spreadsheet takes for a formula: text beginning with = + - @ gets an apostrophe.

    Plain numbers stay numbers, markup is taken off.
    """
    if cell is None:
        return ""
    text = unescape(strip_tags(cell)) if isinstance(cell, SafeString) else str(cell)
    text = text.strip(" ")
    if text[:1] in {"=", "+", "-", "@", "\t", "\r", "\n"} and not _NUMBER.fullmatch(text):
        return f"'{text}"
    return text


def csv_response(table: tables.Table, name: str) -> HttpResponse:
    """Return all rows of a table as a CSV file called ``name``.csv, whatever page is shown."""
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{re.sub(r"[^A-Za-z0-9-]+", "-", name)}.csv"'
    # The mark tells spreadsheets that £ and ♯ are UTF-8.
    response.write("\ufeff")
    writer = csv.writer(response)
    for row in table.as_values():
        writer.writerow([harmless(cell) for cell in row])
    return response


def list_page(
    request: HttpRequest,
    table_class: type[ListTable],
    rows: Any,
    filterset: Any = None,
    *,
    template: str = "tables/page.html",
    per_page: int = ROWS_A_PAGE,
    **context: Any,
) -> HttpResponse:
    """Return a list page: filtered, sorted and paged by the address; as CSV with ``?as=csv``.

    The template gets ``table``, ``filters`` (the bound filter form's set, or None), ``filtered`` (whether any
    is in use) and the given context.
    """
    filters = None
    if filterset is not None:
        filters = filterset(request.GET, queryset=rows, request=request)
        rows = filters.qs
    table = table_class(rows, request=request)
    tables.RequestConfig(request, paginate={"per_page": per_page}).configure(table)
    if request.GET.get("as") == "csv":
        return csv_response(table, table.file_name)
    table.filtered = filters is not None and any(request.GET.get(name) for name in filters.form.fields)
    return render(request, template, {"table": table, "filters": filters, "filtered": table.filtered, **context})
