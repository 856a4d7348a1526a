"""One written form for one content.

SHA-256 of the empty object {} in UTF-8 was taken with coreutils' sha256sum: printf '{}' | sha256sum.
"""

import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.quoting.calc.canonical import canonical_json, content_hash


def test_the_hash_is_that_of_the_plain_text():
    assert content_hash({}) == "44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a"


def test_the_order_of_names_and_the_way_letters_are_composed_change_nothing():
    assert content_hash({"a": 1, "b": "é"}) == content_hash({"b": "e\u0301", "a": 1})


def test_line_ends_of_a_form_and_of_a_file_are_the_same():
    assert canonical_json({"letter": "one\r\ntwo"}) == canonical_json({"letter": "one\ntwo"})


def test_amounts_and_days_are_written_as_they_are_printed():
    content = {"on": dt.date(2027, 1, 11), "amount": Decimal("4310.00"), "none": None, "list": (1, "x")}
    assert canonical_json(content) == '{"amount":"4310.00","list":[1,"x"],"none":null,"on":"2027-01-11"}'


def test_a_moment_is_the_same_in_every_time_zone():
    summer = dt.timezone(dt.timedelta(hours=1))
    here, there = dt.datetime(2027, 6, 1, 9, tzinfo=dt.UTC), dt.datetime(2027, 6, 1, 10, tzinfo=summer)
    assert content_hash({"at": here}) == content_hash({"at": there})


@pytest.mark.parametrize(
    "value",
    [0.1, dt.datetime(2027, 1, 11, 9), Decimal("NaN"), {1: "x"}, object(), {1, 2}],
    ids=["float", "naive moment", "no number", "key not a text", "object", "set"],
)
def test_what_has_no_single_written_form_is_refused(value):
    with pytest.raises(TypeError):
        canonical_json({"value": value})


@given(st.dictionaries(st.text(max_size=5), st.decimals(allow_nan=False, allow_infinity=False, places=2), min_size=1))
def test_any_changed_amount_changes_the_hash(amounts):
    name = sorted(amounts)[0]
    assert content_hash(amounts) != content_hash({**amounts, name: amounts[name] + Decimal("0.01")})
