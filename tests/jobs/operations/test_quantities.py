"""Counts, hours, waits and sessions. Norms are common practice, no source."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.operations.calc.quantities import Hours, hours_for, pieces, sessions, usual_quantity, wait_total
from jobs.operations.reference import read_reference

OPERATIONS = read_reference(Path(__file__).parents[3] / "fixtures" / "reference").catalogue().operations


@pytest.mark.parametrize(
    ("code", "kind", "notes", "count"),
    [
        ("ac-centre", "grand", 85, 85),  # done on every note
        ("ac-centre", "grand", 88, 88),
        ("ac-centre", "upright", 97, 97),
        ("ky-ivory", "grand", 85, 12),  # some notes
        ("cs-strip", "upright", 85, 11),
        ("cs-figured", "grand", 85, 1),  # not usual: one when chosen
        ("tn-settle", "grand", 85, 4),
    ],
)
def test_the_usual_count_follows_kind_and_compass(code, kind, notes, count):
    assert usual_quantity(OPERATIONS[code], kind, notes) == count


def test_an_unknown_kind_is_refused():
    with pytest.raises(ValueError, match="grand or upright"):
        usual_quantity(OPERATIONS["tn-fine"], "square")


def test_hours_are_multiplied_by_count_and_for_an_upright():
    assert hours_for(OPERATIONS["st-treble"], 3, "grand") == Hours(12, 16.5, 24)
    assert hours_for(OPERATIONS["ac-wrecon"], 1, "upright").likely == pytest.approx(9.8)
    with pytest.raises(ValueError, match="above nought"):
        hours_for(OPERATIONS["st-treble"], 0, "grand")


def test_units_done_together_wait_once_after_the_last():
    parts = pieces(OPERATIONS["cs-strip"], 12, "grand")
    assert [(p.hours.likely, p.wait_hours) for p in parts] == [(18, 24)]
    assert wait_total(OPERATIONS["cs-strip"], 12) == 24


def test_every_pass_has_its_own_wait():
    parts = pieces(OPERATIONS["tn-settle"], 4, "grand")
    assert [(p.number, p.of, p.hours.likely, p.wait_hours) for p in parts] == [
        (i, 4, pytest.approx(1.75), 96) for i in (1, 2, 3, 4)
    ]
    assert wait_total(OPERATIONS["tn-settle"], 4) == 384


def test_half_a_pass_is_refused():
    with pytest.raises(ValueError, match="whole passes"):
        pieces(OPERATIONS["tn-settle"], 2.5, "grand")


def test_french_polish_takes_at_least_its_25_days():
    assert sessions(75, 25) == (3.0,) * 25
    assert len(sessions(200, 25)) == 34


@given(st.floats(0.1, 400), st.integers(1, 40))
def test_sessions_add_up_and_keep_the_day(hours, least):
    cut = sessions(hours, least)
    assert sum(cut) == pytest.approx(hours)
    assert len(cut) >= least
    assert max(cut) <= 6.001


def test_sessions_of_nothing_are_refused():
    with pytest.raises(ValueError, match="above nought"):
        sessions(0, 1)
