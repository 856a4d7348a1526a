"""Measures of each kind of value, as the reference data has them."""

import pytest

from tests.factories import make_assessment, make_instrument, make_measure, make_technician


@pytest.fixture
def assessment(db):
    return make_assessment(make_instrument(last_key=85, bars_above=[40]), by=make_technician("Edda"))


@pytest.fixture
def down_weight(db):
    return make_measure()


@pytest.fixture
def finish_grade(db):
    return make_measure(
        "finish-grade",
        low=0,
        high=1,
        name="Condition of the finish",
        unit="",
        units_accepted=[],
        value_kind="grade",
        choices=["0", "1", "2", "3", "4"],
        spot_kinds=["panel"],
    )


@pytest.fixture
def key_split(db):
    return make_measure(
        "key-split",
        low=None,
        high=None,
        name="Split key",
        unit="",
        units_accepted=[],
        value_kind="yesno",
        choices=["yes", "no"],
        ordinary_choice="no",
        spot_kinds=["note"],
    )
