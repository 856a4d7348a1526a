"""What is typed at the bench becomes a value in the unit kept."""

from decimal import Decimal

import pytest

from jobs.assessment.calc.values import value_read, value_step


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("52", "g", "52"),
        (" 52,5 ", "g", "52.5"),
        ("−35", "cent", "-35"),
        ("-0.25 semitone", "cent", "-25"),
        # International avoirdupois ounce, 28.349523125 g exactly: NIST Handbook 44, appendix C.
        ("1.8 oz", "g", "51.029"),
        ("2 ounces", "g", "56.699"),
        # Inch, 25.4 mm exactly: NIST Handbook 44, appendix C.
        ("0.375 in", "mm", "9.525"),
        ("280thou", "mm", "7.112"),
        ("1 cm", "mm", "10"),
        # Pound-force inch, 0.112984829 N·m: NIST Special Publication 811, appendix B.8.
        ("100 in-lb", "N.m", "11.298"),
        ("65 F", "degC", "18.333"),
        (".5", "share", "0.5"),
    ],
)
def test_a_typed_reading_is_taken_in_the_unit_of_its_measure(text, unit, value):
    assert value_read(text, unit) == Decimal(value)


@pytest.mark.parametrize(
    ("text", "unit", "sentence"),
    [
        ("", "g", "is not a number"),
        ("fifty", "g", "is not a number"),
        ("nan", "g", "is not a number"),
        ("1e9", "g", "does not fit"),
        ("52 mm", "g", "does not fit this measure"),
        ("52 " + "x" * 300, "g", "is not a unit"),
        ("x" * 300, "g", "is not a number"),
        ("-3", "g", "cannot be below nothing"),
        ("2.5", "count", "whole number"),
        ("140", "%RH", "More than 100 per cent"),
        ("1.5", "share", "between 0 and 1"),
        ("999999999", "g", "more than any instrument"),
        ("440 Hz", "cent", "needs the note it was heard at"),
    ],
)
def test_what_cannot_be_a_reading_is_refused_in_a_short_sentence(text, unit, sentence):
    with pytest.raises(ValueError, match=sentence) as refusal:
        value_read(text, unit)
    assert len(str(refusal.value)) < 200


def test_hertz_are_taken_with_their_note():
    # Cents are 1200 times the binary logarithm of the ratio: Ellis's appendix to Helmholtz (from memory).
    assert value_read("435 Hz", "cent", key=49) == Decimal("-19.786")


def test_minus_and_plus_go_in_the_step_of_the_gauge():
    assert (value_step("down-weight", "g"), value_step("dip", "mm"), value_step("wire-dia", "mm")) == (
        Decimal("1"),
        Decimal("0.1"),
        Decimal("0.01"),
    )
