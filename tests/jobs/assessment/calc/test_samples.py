"""Sample notes over an instrument's own compass."""

import pytest

from jobs.assessment.calc.samples import key_before, next_key, sample_keys
from workshop.keyboard.calc.notes import Compass, key_name

PLAIN_88 = Compass(1, 88)


def test_the_quick_sample_of_a_modern_compass():
    # The set of the workshop's list: common practice, no source.
    assert sample_keys(PLAIN_88, "quick") == (1, 16, 28, 40, 52, 64, 76, 88)


def test_the_last_sample_of_eighty_five_notes_is_the_eighty_fifth():
    assert sample_keys(Compass(1, 85), "quick")[-1] == 85


def test_an_extended_old_compass_begins_at_its_own_lowest_key():
    assert sample_keys(Compass(-8, 88), "quick")[:2] == (-8, 1)


def test_the_standard_sample_holds_every_c_f_sharp_and_a():
    names = {key_name(key).rstrip("0123456789") for key in sample_keys(PLAIN_88, "standard")}
    assert names == {"C", "F♯", "A"}
    assert len(sample_keys(PLAIN_88, "standard")) == 8 + 7 + 8


@pytest.mark.parametrize("which", ["quick", "standard"])
def test_both_sides_of_the_break_and_of_every_bar_are_always_read(which):
    keys = sample_keys(Compass(1, 85, 20, (43, 61)), which)
    assert {20, 21, 43, 44, 61, 62} <= set(keys)


def test_all_notes_are_all_notes():
    assert sample_keys(Compass(1, 85), "all") == tuple(range(1, 86))


def test_an_unknown_sample_is_refused():
    with pytest.raises(ValueError, match="quick, standard or all"):
        sample_keys(PLAIN_88, "some")


@pytest.mark.parametrize(
    ("read", "after", "expected"),
    [((), None, 1), ((1,), 1, 16), ((1, 28), 16, 40), ((16, 88), 88, 1), ((1, 16, 28, 40, 52, 64, 76, 88), 88, None)],
)
def test_the_next_note_is_the_next_unread_one_and_then_from_the_bottom_again(read, after, expected):
    assert next_key(sample_keys(PLAIN_88, "quick"), read, after) == expected


def test_the_note_before_is_the_nearest_below():
    assert key_before((1, 16, 28), 20) == 16
    assert key_before((1, 16, 28), 1) is None
