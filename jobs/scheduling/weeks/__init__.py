"""The weeks ahead: how full people and places are, and what finishing and collecting would free."""

from jobs.scheduling.weeks.page import WEEKS, WeeksPage, weeks_page

__all__ = ["WEEKS", "WeeksPage", "weeks_page"]
