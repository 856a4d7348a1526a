"""Public holidays against the list the British government publishes for England and Wales."""

from datetime import date

import pytest

from workshop.calendar.holidays import public_holidays

# gov.uk bank holidays, England and Wales, from memory; Christmas Day and Boxing Day keep their own dates too.
ENGLAND = {
    2026: ["01-01", "04-03", "04-06", "05-04", "05-25", "08-31", "12-25", "12-26", "12-28"],
    2027: ["01-01", "03-26", "03-29", "05-03", "05-31", "08-30", "12-25", "12-26", "12-27", "12-28"],
}


@pytest.mark.parametrize("year", ENGLAND)
def test_england_keeps_its_days(year):
    expected = [date.fromisoformat(f"{year}-{day}") for day in ENGLAND[year]]
    assert list(public_holidays("GB", "ENG", [year])) == expected


def test_the_days_have_names():
    assert public_holidays("GB", "ENG", [2027])[date(2027, 3, 29)] == "Easter Monday"


@pytest.mark.parametrize("subdivision", [None, "", "  "])
def test_britain_needs_to_say_which_part(subdivision):
    with pytest.raises(ValueError, match="For GB say which part"):
        public_holidays("GB", subdivision, [2026])


def test_scotland_works_on_easter_monday():
    assert date(2026, 4, 6) not in public_holidays("GB", "SCT", [2026])


def test_a_part_may_carry_its_country():
    assert public_holidays("gb", "GB-ENG", [2026]) == public_holidays("GB", "ENG", [2026])


def test_several_years_come_in_order_of_date():
    found = list(public_holidays("GB", "ENG", [2027, 2026]))
    assert found == sorted(found)
    assert {day.year for day in found} == {2026, 2027}


@pytest.mark.parametrize(("country", "part"), [("ZZ", None), ("GB", "YRK"), ("DE", "ZZ")])
def test_an_unknown_place_is_named(country, part):
    with pytest.raises(ValueError, match="No public holidays are known for “"):
        public_holidays(country, part, [2026])


def test_a_country_without_parts_needs_none():
    assert date(2026, 10, 26) in public_holidays("IE", None, [2026])
