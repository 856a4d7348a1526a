"""Tags and filters of every page: states, money, days, the note strip, form fields."""

import datetime as dt
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import template
from django.forms import BaseForm, BoundField, CheckboxInput, CheckboxSelectMultiple, RadioSelect
from django.template import Context
from django.utils import timezone
from django.utils.html import escape, format_html
from django.utils.safestring import SafeString, mark_safe

from workshop.calendar import words as day_and_hour_words
from workshop.keyboard.calc import notes
from workshop.keyboard.strip import Strip, draw
from workshop.money import words as money_words
from workshop.web.timeline import draw_hours_bar, draw_slots, draw_thread

register = template.Library()

# Each mark of the house and the colour its words usually take.
MARKS = {
    "pin": "brass",
    "wedge": "felt",
    "hole": "soft",
    "half": "",
    "full": "done",
    "pencil": "soft",
    "gone": "",
    "struck": "soft",
    "rest": "soft",
    "ham": "",
    "hamin": "",
    "loz": "",
    "lozh": "",
    "lozo": "",
}
_LONG_NAMES = {
    "hammer": "ham",
    "hammer-in": "hamin",
    "lozenge": "loz",
    "lozenge-half": "lozh",
    "lozenge-open": "lozo",
}


@register.simple_tag
def st(mark: str, word: object, colour: str | None = None) -> SafeString:
    """Return a state: a small mark and its word, in the mark's own colour or the one given ("" for none).

    Raises ValueError for a mark the house does not have.
    """
    mark = _LONG_NAMES.get(mark, mark)
    if mark not in MARKS:
        raise ValueError(f"There is no mark “{mark}”; the marks are {', '.join(MARKS)}.")
    look = MARKS[mark] if colour is None else colour
    return format_html(
        '<span class="{}"><svg viewBox="0 0 14 14" aria-hidden="true"><use href="#m-{}"/></svg>{}</span>',
        f"st {look}".strip(),
        mark,
        word,
    )


@register.simple_tag
def mark(name: str) -> SafeString:
    """Return a mark alone; the words beside it must say what it means."""
    name = _LONG_NAMES.get(name, name)
    return format_html('<svg class="mk" viewBox="0 0 14 14" aria-hidden="true"><use href="#m-{}"/></svg>', name)


# ---- money, days, hours, chances ---------------------------------------------------------------------


def _amount(value: Any) -> Decimal | None:
    return None if value in (None, "") else Decimal(str(value))


@register.filter
def money(value: Any) -> str:
    """Return an exact amount, "£1,240.00"; empty for None."""
    amount = _amount(value)
    return "" if amount is None else money_words.money(amount)


@register.filter
def money_round(value: Any) -> str:
    """Return an amount without pence, "£4,310"; empty for None."""
    amount = _amount(value)
    return "" if amount is None else money_words.money_round(amount)


@register.simple_tag
def money_range(low: Any, high: Any) -> str:
    """Return a range of amounts without pence, "£5,200–6,300"."""
    return money_words.money_range(Decimal(str(low)), Decimal(str(high)))


def _date(value: Any) -> dt.date | None:
    if isinstance(value, dt.datetime):
        return timezone.localtime(value).date() if timezone.is_aware(value) else value.date()
    return value if isinstance(value, dt.date) else None


@register.filter
def day(value: Any) -> SafeString:
    """Return a day with its weekday, "Fri 12 Mar", as a time element; empty for None."""
    date = _date(value)
    if date is None:
        return mark_safe("")
    return format_html('<time datetime="{}" class="n">{}</time>', date.isoformat(), day_and_hour_words.day_words(date))


@register.filter
def day_year(value: Any) -> SafeString:
    """Return a day with weekday and year, "Fri 12 Mar 2027", as a time element; empty for None."""
    date = _date(value)
    if date is None:
        return mark_safe("")
    return format_html(
        '<time datetime="{}" class="n">{}</time>', date.isoformat(), day_and_hour_words.day_words_year(date)
    )


@register.filter
def at(value: Any) -> SafeString:
    """Return a moment with day and clock, "Fri 12 Mar, 09:12", as a time element; empty for None."""
    date = _date(value)
    if date is None or not isinstance(value, dt.datetime):
        return day(value)
    local = timezone.localtime(value) if timezone.is_aware(value) else value
    return format_html(
        '<time datetime="{}" class="n">{}, {}</time>',
        local.isoformat(timespec="minutes"),
        day_and_hour_words.day_words(date),
        local.strftime("%H:%M"),
    )


@register.filter
def hours(value: Any) -> str:
    """Return hours in a sentence, "2.5 h"; empty for None."""
    return "" if value in (None, "") else day_and_hour_words.hours_words(value)


@register.filter
def hours_column(value: Any) -> str:
    """Return hours in a column, "8.0 h", all with one decimal; empty for None."""
    return "" if value in (None, "") else day_and_hour_words.hours_in_column(value)


@register.filter
def hours_exact(value: Any) -> str:
    """Return the hours of a norm to the hundredth, "2.25 h"; empty for None."""
    return "" if value in (None, "") else day_and_hour_words.hours_exact(value)


@register.filter
def minutes(value: Any) -> str:
    """Return minutes as hours and minutes, "1 h 24"; empty for None."""
    return "" if value in (None, "") else day_and_hour_words.minutes_words(value)


@register.filter
def clock(value: Any) -> str:
    """Return hours as they are kept at the bench, "3 h 20", to five minutes; empty for None."""
    return "" if value in (None, "") else day_and_hour_words.clock_words(value)


@register.filter
def chance(value: Any) -> str:
    """Return a chance between 0 and 1 in words, "8 in 10"; empty for None."""
    return "" if value in (None, "") else day_and_hour_words.chance_words(float(value))


@register.filter
def chances(value: Any) -> str:
    """Return a chance between 0 and 1 as an owner reads it, "8 chances in 10"; empty for None."""
    return chance(value).replace(" in ", " chances in ", 1)


@register.filter
def key_name(value: Any) -> str:
    """Return the note name of a key number, "C♯5"; empty for None."""
    return "" if value in (None, "") else notes.key_name(int(value))


@register.filter
def count_words(number: Any, nouns: str = "") -> str:
    """Return a number in words, "three"; with nouns ``"key,keys"`` "one key" or "three keys"."""
    count = int(number)
    words = day_and_hour_words.count_words(count)
    if not nouns:
        return words
    one, _, many = nouns.partition(",")
    noun = one.strip() if count == 1 else many.strip() or f"{one.strip()}s"
    return f"{words} {noun}"


# ---- drawings ----------------------------------------------------------------------------------------


@register.inclusion_tag("partials/_strip.html", takes_context=True)
def strip(context: Context, strip: Strip, ident: str = "", letter: bool = False, table: bool = True) -> dict[str, Any]:
    """Return the note strip as a figure: caption, key, a wide and a narrow drawing, and the readings as a table.

    ``letter`` takes the middle width of the client's letter. ``ident`` must differ for each strip of a page;
    without one they are numbered.
    """
    if not ident:
        kept: Any = context.render_context
        number = (kept.get("strip_number") or 0) + 1
        kept["strip_number"] = number
        ident = f"s{number}"
    width = "mid" if letter else "wide"
    return {
        "strip": strip,
        "ident": ident,
        "drawn": draw(strip, width, ident),
        "narrow": draw(strip, "narrow", ident),
        "table": table and bool(strip.readings),
        "some_out": any(dot.state in {"out", "worst"} for dot in strip.dots),
        "some_missing": any(dot.state == "missing" for dot in strip.dots),
    }


@register.simple_tag
def thread(done: Any, full: Any) -> SafeString:
    """Return the thread under a day of the week: as long as the day is full, red beyond it."""
    return draw_thread(float(done or 0), float(full or 0))


@register.simple_tag
def hours_bar(scale: Any, likely: Any, high: Any, used: Any = None) -> SafeString:
    """Return the small bar of a table cell: cream from likely to 8 in 10, a pencil line for what is logged."""
    return draw_hours_bar(float(used or 0), float(likely), float(high), float(scale))


@register.simple_tag
def slots(held: int, total: int, changing: int = 0) -> SafeString:
    """Return floor places as squares: filled held, half changing, open free."""
    return draw_slots(held, total, changing)


# ---- forms -------------------------------------------------------------------------------------------


def _control(bound: BoundField, described: str) -> SafeString:
    attrs: dict[str, Any] = {}
    if described:
        attrs["aria-describedby"] = described
    if bound.errors:
        attrs["aria-invalid"] = "true"
    return mark_safe(bound.as_widget(attrs=attrs))  # noqa: S308 - Django escapes its own widgets


@register.inclusion_tag("partials/_field.html")
def field(bound: BoundField, optional: bool = True) -> dict[str, Any]:
    """Return one form field: label above, control, what is wrong, hint below.

    A field that may stay empty says so, unless ``optional`` is False (as in filters).
    """
    described = " ".join(
        [f"{bound.auto_id}_error"] * bool(bound.errors) + [f"{bound.auto_id}_helptext"] * bool(bound.help_text)
    )
    widget = bound.field.widget
    return {
        "field": bound,
        "control": _control(bound, described),
        "described": described,
        "hidden": bound.is_hidden,
        "check": isinstance(widget, CheckboxInput),
        "group": isinstance(widget, RadioSelect | CheckboxSelectMultiple),
        "mark_optional": optional,
    }


@register.inclusion_tag("partials/_form_errors.html")
def form_errors(*forms: BaseForm) -> dict[str, Any]:
    """Return what has to be mended, above the form, each with a link to its field; nothing when all is well.

    Forms that are kept together are summed up together.
    """
    number = sum(len(errors) for form in forms for errors in form.errors.values())
    spelt = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine")
    return {"forms": forms, "count": number, "words": spelt[number] if number < len(spelt) else str(number)}


@register.inclusion_tag("partials/_fields.html")
def fields(form: BaseForm) -> dict[str, Any]:
    """Return the errors and all fields of a form in their order."""
    return {"form": form}


@register.filter
def join_dots(values: Iterable[object]) -> SafeString:
    """Return things in one line, parted by middle dots."""
    return mark_safe(" · ".join(escape(value) for value in values))  # noqa: S308 - escaped just here
