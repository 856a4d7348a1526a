import pytest

from parts.scale.calc.load import ORDINARY_LOAD_N, NoteStrings, tension_jump, total_load
from parts.scale.calc.tension import newtons


def test_an_ordinary_instrument_carries_sixteen_to_eighteen_short_tons():
    # A technician's page: some 230 strings at 130 to 220 lbf. Ten single, 20 double and 60 treble notes here.
    notes = [NoteStrings(key, newtons(220), 1) for key in range(1, 11)]
    notes += [NoteStrings(key, newtons(175), 2) for key in range(11, 31)]
    notes += [NoteStrings(key, newtons(145), 3) for key in range(31, 89)]
    load = total_load(notes)
    assert sum(note.strings for note in notes) == 224
    assert load == pytest.approx(newtons(10 * 220 + 40 * 175 + 174 * 145))
    assert 16 < load / newtons(2000) < 18
    assert ORDINARY_LOAD_N[0] < load < ORDINARY_LOAD_N[1]


def test_a_key_given_twice_is_refused():
    with pytest.raises(ValueError, match="Key 40 is given twice"):
        total_load([NoteStrings(40, 700, 3), NoteStrings(40, 700, 3)])


@pytest.mark.parametrize(("tension", "strings"), [(0, 3), (700, 0)])
def test_a_note_without_strings_or_tension_is_refused(tension, strings):
    with pytest.raises(ValueError, match="at least one string, under tension"):
        NoteStrings(40, tension, strings)


def test_no_notes_carry_nothing():
    assert total_load([]) == 0


def test_the_jump_is_signed_and_measured_from_the_wound_side():
    assert tension_jump(800, 600) == pytest.approx(-25)
    assert tension_jump(600, 750) == pytest.approx(25)
    with pytest.raises(ValueError, match="above nought"):
        tension_jump(0, 600)
