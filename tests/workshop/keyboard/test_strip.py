"""The note strip: what it says, what it draws, and that nothing is written over anything else."""

import random
import re
from itertools import combinations
from xml.etree import ElementTree

import pytest

from workshop.keyboard.calc.geometry import key_shapes
from workshop.keyboard.calc.layout import label_boxes, strip_layout
from workshop.keyboard.calc.notes import Compass, key_name
from workshop.keyboard.calc.scale import plot_scale
from workshop.keyboard.calc.shapes import Line, Words
from workshop.keyboard.calc.sheet import FRAMES
from workshop.keyboard.calc.strip import describe, make_strip, range_words, worst_keys
from workshop.keyboard.strip import draw

SVG = "{http://www.w3.org/2000/svg}"
COMPASSES = {
    82: Compass(4, 85, 18, (40,)),
    85: Compass(1, 85, 20, (40, 61)),
    88: Compass(1, 88, 20, (40, 61)),
    92: Compass(-3, 88, 22, (40,)),
    97: Compass(-8, 88, 24, (24, 40)),
}


def some_strip(compass, seed=1, **more):
    dice = random.Random(seed)
    values = {key: round(dice.gauss(53, 7)) for key in compass}
    values[compass.first + 3] = None
    values[compass.last - 1] = None
    return make_strip(compass, values, 46, 54, "g", "Down weight of no. 212", **more)


def parsed(svg):
    return ElementTree.fromstring(svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))


@pytest.mark.parametrize("keys", COMPASSES)
@pytest.mark.parametrize("width", ["wide", "mid", "narrow"])
def test_every_drawing_is_sound_and_says_what_it_shows(keys, width):
    strip = some_strip(COMPASSES[keys])
    root = parsed(draw(strip, width, "s1"))
    title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title.text == "Down weight of no. 212"
    assert f"{keys - 2} of {keys} notes read" in desc.text
    assert root.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"
    assert root.get("role") == "img"
    assert not [each for each in root.iter() if each.get("style")]


@pytest.mark.parametrize("keys", COMPASSES)
@pytest.mark.parametrize("width", ["wide", "mid", "narrow"])
@pytest.mark.parametrize("seed", range(6))
def test_no_words_are_written_over_other_words(keys, width, seed):
    layout = strip_layout(some_strip(COMPASSES[keys], seed), width)
    boxes = label_boxes(layout, {"wide": 12, "mid": 12, "narrow": 10.5}[width])
    for one, other in combinations(boxes, 2):
        assert not one.hits(other)


@pytest.mark.parametrize("seed", range(6))
def test_red_names_stay_clear_of_each_other_even_in_the_largest_lettering(seed):
    for keys in COMPASSES.values():
        for width in FRAMES:
            layout = strip_layout(some_strip(keys, seed), width)
            red = [each for each in layout.shapes if isinstance(each, Words) and each.look == "bad"]
            boxes = label_boxes(type(layout)(0, 0, tuple(red), ()), FRAMES[width].size)
            assert not any(one.hits(other) for one, other in combinations(boxes, 2))


@pytest.mark.parametrize(("width", "most"), [("wide", 5), ("mid", 5), ("narrow", 2)])
def test_no_more_readings_are_red_than_can_be_named(width, most):
    layout = strip_layout(some_strip(COMPASSES[88]), width)
    red = [each for each in layout.shapes if each.look == "out"]
    assert len(red) == most
    assert 1 <= len([each for each in layout.shapes if each.look == "bad"]) <= most


@pytest.mark.parametrize("keys", COMPASSES)
def test_every_missing_note_has_its_tick_and_every_other_its_mark(keys):
    strip = some_strip(COMPASSES[keys])
    shapes = strip_layout(strip).shapes
    ticks = [each for each in shapes if each.look == "miss"]
    marks = [each for each in shapes if each.look in {"pt", "off", "out"}]
    assert len(ticks) == 2
    assert len(marks) == keys - 2
    frame = FRAMES["wide"]
    keys_drawn = {key.key: key.middle for key in key_shapes(strip.compass, frame.left, frame.right - frame.left)}
    middles = sorted((tick.points[0][0] + tick.points[-1][0]) / 2 for tick in ticks)
    assert middles == pytest.approx([keys_drawn[strip.compass.first + 3], keys_drawn[strip.compass.last - 1]])


def test_a_note_that_has_not_come_up_yet_is_not_drawn_as_missing():
    strip = make_strip(COMPASSES[85], {1: 50, 2: None}, 46, 54, "g", "Down weight")
    looks = [each.look for each in strip_layout(strip).shapes]
    assert looks.count("miss") == 1
    assert looks.count("pt") == 1
    assert "1 of 85 notes read. All are in the range, 46–54 g. A♯0 not measured." in strip.description


@pytest.mark.parametrize(
    ("values", "limits"),
    [
        ([40, 73], [46, 54]),
        ([0, 0.9], [0.5]),
        ([500, 900], [600, 720]),
        ([-40, 9], [-5, 5]),
        ([50, 50], [46, 54]),
        ([0.001, 0.002], [0.0015]),
        ([3.0], []),
    ],
)
def test_a_scale_has_at_most_five_figures_and_always_the_limits(values, limits):
    scale = plot_scale(values, limits)
    assert len(scale.figures) <= 5
    assert set(limits) <= set(scale.figures)
    assert all(0 <= scale.part(value) <= 1 for value in [*values, *limits])


def test_the_worst_are_named_from_both_sides_of_the_range():
    assert worst_keys({1: 3.0, 2: 17.0, 3: 15.0, 4: -5.0, 5: 0.0, 6: 1.0}) == (2, 4, 3, 1, 6)
    assert worst_keys({1: 0.0, 2: 0.0}) == ()


def test_the_description_names_the_heaviest_the_lightest_and_the_missing():
    values = {key: 50 for key in COMPASSES[85]} | {18: 71, 7: 69, 64: 41, 51: None}
    strip = make_strip(COMPASSES[85], values, 46, 54, "g", "Down weight")
    assert describe(strip) == (
        "84 of 85 notes read. 2 are over 54 g, the highest D2 at 71 g. 1 is under 46 g, the lowest C6 at 41 g. "
        "B4 not measured."
    )


def test_the_table_says_the_same_as_the_drawing():
    strip = some_strip(COMPASSES[85])
    assert [row.note for row in strip.readings] == [key_name(key) for key in COMPASSES[85]]
    states = {row.note: row.against for row in strip.readings}
    for dot in strip.dots:
        if dot.value is not None:
            expected = "over" if dot.value > 54 else "under" if dot.value < 46 else "in range"
            assert states[key_name(dot.key)] == expected


def test_before_and_after_share_one_drawing_and_one_table():
    before, after = {1: 60, 2: 58, 3: None}, {1: 50, 2: 57, 3: 51}
    strip = make_strip(COMPASSES[85], after, 46, 54, "g", "Down weight", before=before)
    shapes = strip_layout(strip).shapes
    assert len([each for each in shapes if each.look == "before"]) == 2
    assert len([each for each in shapes if each.look == "move"]) == 2
    assert [(row.before, row.value, row.change) for row in strip.readings] == [
        ("60", "50", "−10"),
        ("58", "57", "−1"),
        ("not measured", "51", ""),
    ]


def test_joined_readings_are_cut_at_the_break():
    values = {key: 700.0 for key in range(1, 40)}
    strip = make_strip(COMPASSES[85], values, None, None, "N", "Tension", joined=True)
    runs = [each for each in strip_layout(strip).shapes if each.look == "move"]
    assert [len(run.points) for run in runs if isinstance(run, Line)] == [20, 19]


def test_a_range_may_bend_along_the_compass():
    compass = COMPASSES[85]
    strip = make_strip(compass, dict.fromkeys(compass, 650.0), lambda key: 900 - 5 * key, [920.0] * 85, "N", "Tension")
    band = next(each for each in strip_layout(strip).shapes if each.look == "band")
    assert len(band.points) == 170
    assert strip.limits(11) == (845, 920)


def test_a_list_of_limits_must_have_one_for_each_key():
    with pytest.raises(ValueError, match="3 limits were given for 85 keys"):
        make_strip(COMPASSES[85], {}, [1.0, 2.0, 3.0], None, "N", "Tension")


def test_a_reading_outside_the_compass_is_refused():
    with pytest.raises(ValueError, match="C8 .* outside"):
        make_strip(COMPASSES[85], {88: 50}, 46, 54, "g", "Down weight")


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (46, 54, "46–54 g"),
        (-5, 5, "−5 to 5 g"),
        (20, None, "at least 20 g"),
        (None, 0.5, "at most 0.5 g"),
        (None, None, ""),
    ],
)
def test_a_range_is_said_in_words(low, high, words):
    assert range_words(low, high, "g") == words


def test_the_key_in_hand_is_green_and_each_key_can_be_opened():
    strip = make_strip(
        COMPASSES[85], {1: 50}, 46, 54, "g", "Down weight", current_key=48, href_for=lambda key: f"?key={key}&kind=dw"
    )
    svg = draw(strip, "wide", "s1")
    root = parsed(svg)
    assert root.get("role") == "group"
    links = root.findall(f"{SVG}a")
    assert [each.get("href") for each in links] == [f"?key={key}&kind=dw" for key in COMPASSES[85]]
    assert links[47].get("aria-label") == "G♯4"
    assert len(re.findall(r'class="cur"', svg)) == 1
    assert len(re.findall(r'class="next"', svg)) == 1


def test_words_from_people_are_escaped():
    strip = make_strip(COMPASSES[85], {1: 50}, 46, 54, "g", 'A "title" & <script>', band_words="<b>usual</b>")
    svg = draw(strip, "wide", "s1")
    assert "<script" not in svg
    assert "<b>" not in svg
    parsed(svg)


def test_equal_readings_without_a_range_still_make_a_drawing():
    strip = make_strip(COMPASSES[85], dict.fromkeys(COMPASSES[85], 0.0), None, None, "mm", "Flat")
    assert "band" not in {each.look for each in strip_layout(strip).shapes}
    parsed(draw(strip, "narrow", "s1"))
