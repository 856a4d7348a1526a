"""Words and marks of the template tags."""

import datetime as dt
from decimal import Decimal

import pytest
from django.template import Context, Template

from workshop.keyboard.calc.notes import Compass
from workshop.keyboard.strip import make_strip


def drawn(source, **context):
    return Template("{% load wrestplank %}" + source).render(Context(context))


@pytest.mark.parametrize(
    ("source", "value", "expected"),
    [
        ("{{ v|money }}", Decimal("1240"), "£1,240.00"),
        ("{{ v|money_round }}", Decimal("4310.49"), "£4,310"),
        ("{{ v|hours }}", 2.5, "2.5 h"),
        ("{{ v|hours_column }}", 8, "8.0 h"),
        ("{{ v|hours_column }}", None, ""),
        ("{{ v|hours_exact }}", 2.25, "2.25 h"),
        ("{{ v|minutes }}", 84, "1 h 24"),
        ("{{ v|chance }}", 0.8, "8 in 10"),
        ("{{ v|chances }}", 0.8, "8 chances in 10"),
        ("{{ v|chances }}", 0.99, "more than 9 chances in 10"),
        ("{{ v|key_name }}", 49, "A4"),
        ("{{ v|count_words }}", 3, "three"),
        ('{{ v|count_words:"key,keys" }}', 1, "one key"),
        ('{{ v|count_words:"key,keys" }}', 13, "13 keys"),
        ("{{ v|day }}", dt.date(2027, 3, 12), '<time datetime="2027-03-12" class="n">Fri 12 Mar</time>'),
        ("{{ v|day_year }}", dt.date(2027, 3, 12), '<time datetime="2027-03-12" class="n">Fri 12 Mar 2027</time>'),
        (
            "{{ v|at }}",
            dt.datetime(2027, 7, 12, 8, 12, tzinfo=dt.UTC),
            '<time datetime="2027-07-12T09:12+01:00" class="n">Mon 12 Jul, 09:12</time>',
        ),
        ("{{ v|join_dots }}", ["rebush keys", "<b>"], "rebush keys · &lt;b&gt;"),
    ],
)
def test_values_are_written_as_people_write_them(source, value, expected):
    assert drawn(source, v=value) == expected


@pytest.mark.parametrize(
    "name", ["money", "money_round", "hours", "minutes", "chance", "chances", "key_name", "day", "day_year", "at"]
)
def test_nothing_is_written_for_nothing(name):
    assert drawn(f"[{{{{ v|{name} }}}}]", v=None) == "[]"


def test_a_day_late_in_the_evening_is_the_day_on_the_wall():
    late = dt.datetime(2027, 7, 11, 23, 30, tzinfo=dt.UTC)  # half past midnight in London, summer time
    assert "Mon 12 Jul" in drawn("{{ v|day }}", v=late)


def test_a_state_is_a_mark_and_a_word_in_the_marks_colour():
    html = drawn('{% st "wedge" "late" %}')
    assert html == (
        '<span class="st felt"><svg viewBox="0 0 14 14" aria-hidden="true"><use href="#m-wedge"/></svg>late</span>'
    )
    assert 'class="st"' in drawn('{% st "lozenge" "Playing" %}')
    assert 'class="st brass"' in drawn('{% st "full" "today" "brass" %}')
    with pytest.raises(ValueError, match="no mark “traffic-light”"):
        drawn('{% st "traffic-light" "late" %}')


def test_every_mark_a_tag_may_use_is_drawn_on_the_page():
    from django.template.loader import render_to_string

    from workshop.templatetags.wrestplank import MARKS

    sprite = render_to_string("partials/_marks.html")
    assert [name for name in MARKS if f'id="m-{name}"' not in sprite] == []


def test_two_strips_on_one_page_have_different_ids_and_both_widths():
    strip = make_strip(Compass(1, 85), {1: 60, 2: None}, 46, 54, "g", "Down weight")
    html = drawn("{% strip s %}{% strip s %}", s=strip)
    for ident in ("s1-w-t", "s1-n-t", "s2-w-t", "s2-n-t"):
        assert html.count(f'id="{ident}"') == 1
    assert html.count("<caption>Down weight</caption>") == 2
    assert "not measured" in html
    assert 'class="wide mid"' in drawn("{% strip s letter=True %}", s=strip)
    assert "<table" not in drawn("{% strip s table=False %}", s=strip)
