"""Time: started, stopped, entered, corrected; tasks closed."""

from jobs.hours.services.checks import LONGEST_CLOCK
from jobs.hours.services.clock import clock_start, clock_stop
from jobs.hours.services.closing import hours_left_say, task_close
from jobs.hours.services.entries import entry_correct, entry_withdraw, time_enter
from jobs.hours.services.house import house_time_keep, house_time_take_back

__all__ = [
    "LONGEST_CLOCK",
    "clock_start",
    "clock_stop",
    "entry_correct",
    "entry_withdraw",
    "hours_left_say",
    "house_time_keep",
    "house_time_take_back",
    "task_close",
    "time_enter",
]
