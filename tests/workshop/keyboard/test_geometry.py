"""Where keys lie, against the proportions of the drawing (LOOK: equal naturals, sharps 0.58 of one)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.keyboard.calc.geometry import gap_above, key_shapes, natural_count
from workshop.keyboard.calc.notes import Compass, is_sharp, key_number

FULL = Compass(1, 88)


@pytest.mark.parametrize(
    ("first", "last", "naturals"),
    # 85 keys with 50 naturals and 88 keys with 52: general knowledge of the keyboard, counted on any piano.
    [("A0", "A7", 50), ("A0", "C8", 52), ("C1", "C6", 36), ("C0", "C8", 57)],
)
def test_the_naturals_of_a_compass_are_counted_right(first, last, naturals):
    assert natural_count(Compass(key_number(first), key_number(last))) == naturals


def test_fifty_naturals_share_the_width_of_an_85_key_compass_evenly():
    shapes = key_shapes(Compass(1, 85), 44, 966)
    widths = {round(key.right - key.left, 9) for key in shapes if not key.sharp}
    assert widths == {round(966 / 50, 9)}
    assert shapes[0].left == 44
    assert shapes[-1].right == pytest.approx(1010)


def test_sharps_have_their_width_and_stand_off_their_joint_as_drawn():
    shapes = {key.key: key for key in key_shapes(FULL, 0, 52)}  # one natural is 1 wide
    offsets = {}
    for name in ("C♯4", "D♯4", "F♯4", "G♯4", "A♯4"):
        key = shapes[key_number(name)]
        assert key.right - key.left == pytest.approx(0.58)
        joint = shapes[key.key - 1].right
        offsets[name[0]] = round((key.left + key.right) / 2 - joint, 9)
    assert offsets == {"C": -0.13, "D": 0.13, "F": -0.17, "G": 0.0, "A": 0.17}


def test_a_reading_stands_in_the_middle_of_the_rear_of_its_key():
    # From the drawn model: 85 keys over 44 to 1010 put C1 at 88.2, A♯0 at 66.6 and A7 at 1003.1.
    shapes = {key.key: key for key in key_shapes(Compass(1, 85), 44, 966)}
    assert shapes[key_number("C1")].middle == pytest.approx(88.2, abs=0.05)
    assert shapes[key_number("A♯0")].middle == pytest.approx(66.6, abs=0.05)
    assert shapes[85].middle == pytest.approx(1003.1, abs=0.05)


@given(st.integers(-8, 39), st.integers(49, 97))
def test_keys_of_any_compass_stay_in_order_and_inside_their_width(first, keys):
    last = min(first + keys - 1, 88)
    if last - first + 1 < 49:
        first = last - 48
    compass = Compass(first, last)
    shapes = key_shapes(compass, 10, 300)
    middles = [key.middle for key in shapes]
    assert middles == sorted(middles)
    assert min(key.left for key in shapes) == pytest.approx(10)
    assert max(key.right for key in shapes) == pytest.approx(310)
    naturals = sum(key.right - key.left for key in shapes if not key.sharp)
    assert naturals <= 300 + 1e-9
    if not is_sharp(first) and not is_sharp(last):
        assert naturals == pytest.approx(300)


def test_no_two_neighbouring_readings_are_nearer_than_half_a_natural():
    middles = [key.middle for key in key_shapes(FULL, 0, 52)]
    gaps = [second - first for first, second in zip(middles, middles[1:], strict=False)]
    assert min(gaps) > 0.5
    assert max(gaps) < 0.8


def test_the_break_stands_between_its_two_keys_and_nowhere_above_the_top():
    shapes = key_shapes(FULL, 0, 52)
    assert shapes[19].middle < gap_above(shapes, 20) < shapes[20].middle
    assert gap_above(shapes, 88) is None


def test_a_keyboard_without_width_is_refused():
    with pytest.raises(ValueError, match="more than 0"):
        key_shapes(FULL, 0, 0)
