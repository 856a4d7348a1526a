"""Hand every closed task of the house to the learner; for a house that worked before its hours taught."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from jobs import flow
from workshop.calendar.words import count_words


class Command(BaseCommand):
    """Gathers the hours of closed tasks. Safe to run again: what is known already is not written twice."""

    help = "Hand the hours of every closed task to the learner; those known already stay as they are."

    def handle(self, *args: Any, **options: Any) -> None:
        """Gather, and say how many tasks were new or changed."""
        written = flow.hours_gathered(timezone.now())
        if written:
            tasks = "closed task is" if written == 1 else "closed tasks are"
            self.stdout.write(f"{count_words(written).capitalize()} {tasks} new or changed.")
        else:
            self.stdout.write("Nothing new: every closed task with hours is known already.")
