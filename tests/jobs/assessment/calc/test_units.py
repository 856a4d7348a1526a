"""Units of readings: inch, ounce and pound-force by their international definitions."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.assessment.calc.units import convert, fitting_units

PLAIN = ["mm", "cm", "in", "thou", "degC", "degF", "g", "oz", "N.m", "in-lb"]
PITCH = ["cent", "semitone", "Hz", "beat/s"]


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [
        (0.410, "in", "mm", 10.414),  # a source equates 11.5 mm with 0.410 in; it is 10.4 mm
        (1, "cm", "mm", 10),
        (38, "thou", "mm", 0.9652),
        (140, "degF", "degC", 60),
        (-40, "degC", "degF", -40),
        (1, "oz", "g", 28.349523125),
        (80, "in-lb", "N.m", 9.04),  # pin torques a source prints without a unit, inch-pounds assumed
        (120, "in-lb", "N.m", 13.56),
        (30, "in-lb", "N.m", 3.39),
        (5, "s", "s", 5),
    ],
)
def test_readings_come_into_the_unit_kept(value, unit, to, expected):
    assert convert(value, unit, to) == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize(
    ("value", "unit", "key", "cents"),
    [
        (435, "Hz", 49, -19.786),
        (415, "Hz", 49, -101.27),
        (-2, "beat/s", 49, -7.887),
        (-0.5, "semitone", None, -50),
        (220, "Hz", 37, 0),
    ],
)
def test_pitch_comes_into_cents(value, unit, key, cents):
    assert convert(value, unit, "cent", key=key) == pytest.approx(cents, abs=0.005)


def test_a_beat_depends_on_the_note_it_was_heard_at():
    at_a4, at_a5 = (convert(-1, "beat/s", "cent", key=key) for key in (49, 61))
    assert at_a4 / at_a5 == pytest.approx(2, rel=0.002)


def test_pitch_is_measured_from_the_pitch_agreed():
    assert convert(435, "Hz", "cent", key=49, a4_hz=435) == 0


@given(st.floats(-1e4, 1e4), st.sampled_from(PLAIN), st.data())
def test_a_plain_reading_comes_back_as_it_went(value, unit, data):
    other = data.draw(st.sampled_from(fitting_units(unit)))
    assert convert(convert(value, unit, other), other, unit) == pytest.approx(value, rel=1e-9, abs=1e-7)


@given(st.floats(-150, 150), st.sampled_from(PITCH), st.sampled_from(PITCH), st.integers(-8, 88))
def test_a_pitch_comes_back_as_it_went(cents, there, and_there, key):
    once = convert(cents, "cent", there, key=key)
    twice = convert(once, there, and_there, key=key)
    assert convert(twice, and_there, "cent", key=key) == pytest.approx(cents, abs=1e-6)


@pytest.mark.parametrize(
    ("unit", "to", "sentence"),
    [
        ("in-lb", "mm", "“in-lb” does not fit this measure. Give it in mm, cm, in or thou."),
        ("mm", "deg", "kept in deg and read in nothing else"),
        ("furlong", "mm", "“furlong” does not fit"),
        ("cent", "g", "Give it in g or oz"),
        ("beats", "cent", "Give it in cent, semitone, Hz or beat/s"),
    ],
)
def test_a_unit_that_does_not_fit_is_refused_with_those_that_do(unit, to, sentence):
    with pytest.raises(ValueError, match=sentence):
        convert(1, unit, to)


@pytest.mark.parametrize(("unit", "to"), [("Hz", "cent"), ("beat/s", "cent"), ("cent", "Hz"), ("cent", "beat/s")])
def test_hertz_and_beats_need_their_note(unit, to):
    with pytest.raises(ValueError, match="needs the note it was heard at"):
        convert(100, unit, to)


def test_a_frequency_of_nothing_is_refused():
    with pytest.raises(ValueError, match="above nought"):
        convert(0, "Hz", "cent", key=49)
