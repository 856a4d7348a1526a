"""Timelines show their rows and nothing else."""

import datetime as dt
from xml.etree import ElementTree

import pytest

from workshop.web.timeline import (
    Arrival,
    Away,
    Bar,
    Lane,
    Promise,
    Span,
    Wait,
    draw_instruments,
    draw_people,
    whole_words,
)

SVG = "{http://www.w3.org/2000/svg}"
D = dt.date
SPAN = Span(D(2027, 1, 13))  # a Wednesday: the drawing begins on its Monday


def parsed(svg):
    return ElementTree.fromstring(svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))


def bars_of(root):
    return [each for each in root.iter(f"{SVG}rect") if each.get("class").split()[0] in {"begun", "work", "past"}]


def test_eight_weeks_are_forty_working_days_from_a_monday():
    assert SPAN.start == D(2027, 1, 11)
    assert len(SPAN.days) == 40
    assert SPAN.end == D(2027, 3, 5)
    assert SPAN.day_width == pytest.approx(26.1)


def test_a_day_lies_where_it_belongs_and_a_weekend_takes_no_room():
    assert SPAN.x(D(2027, 1, 11)) == 112
    assert SPAN.x(D(2027, 1, 18)) == pytest.approx(242.5)  # as in the drawn model
    assert SPAN.x(D(2027, 1, 16)) == SPAN.x(D(2027, 1, 18))
    assert SPAN.x(D(2027, 1, 15), after=True) == pytest.approx(SPAN.x(D(2027, 1, 18)))
    assert SPAN.x(D(2026, 12, 1)) == 112
    assert SPAN.x(D(2028, 1, 1)) == pytest.approx(1156)


def test_a_moment_lies_within_its_day():
    noon = SPAN.x(dt.datetime(2027, 1, 11, 12, 0))
    assert noon == pytest.approx(112 + 26.1 / 2)
    assert SPAN.x(dt.datetime(2027, 1, 11, 6, 0)) == 112


def test_a_shop_that_works_on_saturdays_has_six_days_a_week():
    assert len(Span(D(2027, 1, 11), workdays=(0, 1, 2, 3, 4, 5)).days) == 48


def some_bars():
    return [
        Bar("Bram", D(2027, 1, 11), D(2027, 1, 13), "ribs and bridge cap", "203", "begun", href="/203/"),
        Bar("Bram", D(2027, 1, 14), D(2027, 1, 14), "pins", "219"),
        Bar("Corin", D(2027, 2, 1), D(2027, 2, 3), "action <b>", "216", "draft"),
        Bar("Corin", D(2027, 6, 1), D(2027, 6, 3), "far away", "216"),
    ]


def test_every_bar_on_the_drawing_has_a_title_and_every_row_in_the_span_a_bar():
    root = parsed(draw_people(SPAN, [Lane("Bram"), Lane("Corin")], some_bars()))
    bars = bars_of(root)
    assert [bar.find(f"{SVG}title").text for bar in bars] == [
        "203 ribs and bridge cap, Mon 11 Jan to Wed 13 Jan, begun",
        "219 pins, Thu 14 Jan, planned",
        "216 action <b>, Mon 1 Feb to Wed 3 Feb, not accepted yet",
    ]
    assert [bar.get("class") for bar in bars] == ["begun", "work", "work draft"]


def test_a_drawing_with_links_is_a_group_and_one_without_is_a_picture():
    lanes = [Lane("Bram"), Lane("Corin")]
    linked = parsed(draw_people(SPAN, lanes, some_bars()))
    assert linked.get("role") == "group"
    assert [each.get("href") for each in linked.iter(f"{SVG}a")] == ["/203/"]
    assert parsed(draw_people(SPAN, lanes, some_bars()[1:])).get("role") == "img"


def test_bars_are_as_long_as_their_days():
    root = parsed(draw_people(SPAN, [Lane("Bram"), Lane("Corin")], some_bars()))
    widths = [float(bar.get("width")) for bar in bars_of(root)]
    assert widths == pytest.approx([76.3, 24.1, 76.3], abs=0.06)  # the drawn model's three days and one day


def test_days_away_are_hatched_once_though_the_shop_is_closed_too():
    away = [Away("Bram", D(2027, 1, 14), D(2027, 1, 15)), Away("", D(2027, 1, 15), D(2027, 1, 18), "closed")]
    root = parsed(draw_people(SPAN, [Lane("Bram"), Lane("Corin")], [], away))
    hatched = [each for each in root.iter(f"{SVG}rect") if each.get("class") == "away-days"]
    assert [each.find(f"{SVG}title").text for each in hatched] == [
        "Bram: away, Thu 14 Jan to Fri 15 Jan",
        "Bram: closed, Mon 18 Jan to Mon 18 Jan",
        "Corin: closed, Fri 15 Jan to Mon 18 Jan",
    ]


def test_a_wait_is_no_bar():
    waits = [Wait("198", D(2027, 1, 26), D(2027, 1, 31), "hardens 7 d")]
    root = parsed(draw_instruments(SPAN, [Lane("198")], [], waits))
    assert bars_of(root) == []
    titles = [each.text for each in root.iter(f"{SVG}title")]
    assert "hardens 7 d, Tue 26 Jan to Sun 31 Jan, needs nobody" in titles
    assert len([each for each in root.iter(f"{SVG}path") if each.get("class") == "wait"]) == 1


def test_a_promise_beyond_the_last_week_is_said_with_an_arrow_and_has_no_line():
    promise = Promise("216", D(2027, 4, 23), D(2027, 4, 12), D(2027, 4, 27), "Fri 23 Apr, 8 in 10")
    root = parsed(draw_instruments(SPAN, [Lane("216")], [], promises=[promise]))
    assert "Fri 23 Apr, 8 in 10 →" in [each.text for each in root.iter(f"{SVG}text")]
    assert not [each for each in root.iter(f"{SVG}path") if each.get("class") == "promise"]


def test_a_late_promise_is_red_and_keeps_its_line_and_its_range():
    promise = Promise("198", D(2027, 1, 29), D(2027, 2, 3), D(2027, 2, 9), "Fri 29 Jan, 1 in 10", late=True)
    root = parsed(draw_instruments(SPAN, [Lane("198")], [], promises=[promise]))
    words = next(each for each in root.iter(f"{SVG}text") if each.text == "Fri 29 Jan, 1 in 10")
    assert words.get("class") == "bad"
    chance = next(each for each in root.iter(f"{SVG}rect") if each.get("class") == "chance")
    assert float(chance.get("width")) == pytest.approx(5 * 26.1, abs=0.1)  # Wed to Tue are five working days


def test_parts_that_are_here_and_parts_that_are_due_have_different_marks_and_words_that_do_not_meet():
    arrivals = [Arrival("203", D(2027, 1, 18), "wound strings"), Arrival("203", D(2027, 1, 20), "felts", here=True)]
    root = parsed(draw_instruments(SPAN, [Lane("203")], [], arrivals=arrivals))
    marks = [each.get("class") for each in root.iter(f"{SVG}path") if each.get("class").startswith("part-")]
    assert marks == ["part-mk", "part-in"]
    words = {each.text for each in root.iter(f"{SVG}text")}
    assert "felts" in words
    assert "wound strings" not in words  # two days are too little room: the title and the table say it
    assert "wound strings, due Mon 18 Jan" in {each.text for each in root.iter(f"{SVG}title")}


def test_an_unknown_state_is_refused():
    with pytest.raises(KeyError):
        draw_people(SPAN, [Lane("Bram")], [Bar("Bram", D(2027, 1, 11), D(2027, 1, 11), "x", state="maybe")])


@pytest.mark.parametrize(
    ("text", "width", "kept"),
    [
        ("let-off, springs and dampers", 1000, "let-off, springs and dampers"),
        ("let-off, springs and dampers", 125, "let-off, springs"),
        ("let-off, springs", 60, "let-off"),
        ("regulation", 20, ""),
        ("", 20, ""),
    ],
)
def test_a_name_is_cut_at_a_whole_word_or_left_out(text, width, kept):
    assert whole_words(text, width) == kept
