"""Small drawings beside figures."""

import datetime as dt
import re

import pytest

from workshop.web.figures import draw_dots, draw_hours_bar, draw_slots, draw_thread, twenty

D = dt.date


def test_twenty_ends_stand_for_any_number():
    ends = [D(2027, 1, 1) + dt.timedelta(days=count) for count in range(400)]
    assert [(end - D(2027, 1, 1)).days for end in twenty(ends)] == list(range(10, 400, 20))
    assert twenty([]) == []
    assert twenty([D(2027, 1, 4)]) == [D(2027, 1, 4)] * 20


def test_twenty_dots_are_filled_where_the_promise_is_kept():
    ends = [D(2027, 3, 1)] * 14 + [D(2027, 3, 10)] * 4 + [D(2027, 3, 17), D(2027, 3, 24)]
    svg = draw_dots(ends, D(2027, 3, 5), title="Twenty equally likely ends for no. 212")
    assert svg.count('class="pt"') == 14
    assert svg.count('class="before"') == 6
    assert "14 of 20 fall on or before the promise, Fri 5 Mar; 6 later." in svg
    assert svg.count('class="promise"') == 1


@pytest.mark.parametrize("days", [0, 3, 40, 200, 900])
def test_every_end_has_its_dot_however_far_the_ends_spread(days):
    ends = [D(2027, 1, 2) + dt.timedelta(days=days * count // 19) for count in range(20)]
    for promise in (D(2027, 1, 1), D(2027, 1, 16), D(2029, 6, 1)):
        svg = draw_dots(ends, promise, title="Ends")
        assert svg.count("<circle") == 20
        assert svg.count('class="promise"') == 1
        assert all(-6 <= float(x) <= 626 for x in re.findall(r'cx="([\d.-]+)"', svg))


def test_a_chance_without_any_simulated_end_is_refused():
    with pytest.raises(ValueError, match="No ends"):
        draw_dots([], D(2027, 3, 5), title="Ends")


def test_hours_bars_of_one_table_share_one_scale():
    svg = draw_hours_bar(134, 218, 251, 300)
    assert 'class="band" x="109" y="2" width="16.5"' in svg  # 218 and 251 of 300 on 150 units
    assert 'class="pt" x="0" y="6" width="67"' in svg
    assert 'aria-label="likely 218 h, 251 h in 8 of 10, 134 h logged"' in svg
    with pytest.raises(ValueError, match="above 0"):
        draw_hours_bar(0, 1, 2, 0)


def test_floor_places_are_full_half_and_open():
    svg = draw_slots(7, 8, 1)
    assert svg.count('class="slot held"') == 7
    assert svg.count('class="slot"') == 2
    assert svg.count('height="6.5"') == 1


def test_a_thread_is_as_long_as_the_day_is_full_and_doubles_beyond_it():
    assert 'width="80"' in draw_thread(6, 7.5)
    assert "over-full" not in draw_thread(7.5, 7.5)
    assert 'class="over-full" x="0" y="5" width="20"' in draw_thread(9, 7.5)
    assert 'width="0"' in draw_thread(3, 0)
