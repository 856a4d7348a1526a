"""Key numbers and note names. Scientific pitch notation: A4 is key 49, C8 key 88."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.keyboard.calc.notes import Compass, is_sharp, key_name, key_number

COMPASSES = [
    (82, "C1", "A7"),
    (85, "A0", "A7"),
    (88, "A0", "C8"),
    (92, "F0", "C8"),
    (97, "C0", "C8"),
]


@pytest.mark.parametrize(("keys", "first", "last"), COMPASSES)
def test_a_compass_has_its_number_of_keys(keys, first, last):
    compass = Compass(key_number(first), key_number(last))
    assert len(compass) == keys == len(list(compass))
    assert compass.words() == f"{keys} notes, {first} to {last}"
    assert compass.position(compass.first) == 1
    assert compass.position(compass.last) == keys


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("A0", 1), ("A4", 49), ("C8", 88), ("C4", 40), ("a#3", 38), ("A♯3", 38), ("Bb3", 38),
        ("B♭3", 38), ("Cb4", 39), ("C0", -8), ("48", 48), ("-8", -8), (" c♯ 5 ", 53),
    ],
)  # fmt: skip
def test_names_are_understood_as_people_write_them(text, key):
    assert key_number(text) == key


@pytest.mark.parametrize("text", ["", "H4", "A", "A10", "4A", "C##4", "middle C", "1000", "A4.5"])
def test_what_is_no_note_is_refused_with_a_way_out(text):
    with pytest.raises(ValueError, match="is not a note. Write a name such as A4"):
        key_number(text)


@given(st.integers(-8, 88))
def test_every_key_can_be_named_and_found_again(key):
    assert key_number(key_name(key)) == key
    assert is_sharp(key) == ("♯" in key_name(key))


def test_88_keys_have_36_sharps():
    assert sum(is_sharp(key) for key in Compass(1, 88)) == 36


def test_a_key_outside_the_compass_has_no_position():
    compass = Compass(1, 85)
    assert 86 not in compass
    assert "A4" not in compass
    with pytest.raises(ValueError, match="A♯7 .key 86. is outside this instrument’s compass, A0 to A7"):
        compass.position(86)


@pytest.mark.parametrize(("first", "last"), [(-9, 88), (1, 89), (50, 49), (40, 40)])
def test_a_compass_that_cannot_be_is_refused(first, last):
    with pytest.raises(ValueError, match="is not possible"):
        Compass(first, last)


def test_too_few_keys_are_no_piano():
    assert len(Compass(1, 49)) == 49
    with pytest.raises(ValueError, match="48 keys are too few"):
        Compass(1, 48)
