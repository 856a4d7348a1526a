"""Time logged, and its corrections."""

from django.db import models
from django.db.models import F, Q

from jobs.worklist.models import Task
from workshop.people.models import Person


class TimeEntry(models.Model):
    """Time of one person on one task. A correction is a new row that replaces the old one; nothing is erased."""

    task = models.ForeignKey(Task, on_delete=models.PROTECT, related_name="entries")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="entries")
    on = models.DateField()
    started_at = models.DateTimeField(null=True, blank=True)
    stopped_at = models.DateTimeField(null=True, blank=True)
    minutes = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Empty while the clock runs.")
    note = models.CharField(max_length=200, blank=True)
    first_time = models.BooleanField(default=False, help_text="First time this person did it: left out of the norms.")
    client_key = models.UUIDField(
        unique=True, null=True, blank=True, help_text="Made on the phone: the same entry arrives once."
    )
    kept_at = models.DateTimeField()
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by")
    correction_reason = models.CharField(max_length=200, blank=True)
    corrected_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    withdrawn = models.BooleanField(default=False, help_text="This correction says: there was no such time.")

    class Meta:
        ordering = ["-on", "-started_at", "-id"]
        verbose_name_plural = "time entries"
        indexes = [models.Index(fields=["person", "on"], name="entry_by_person_and_day")]
        constraints = [
            models.CheckConstraint(
                condition=Q(minutes__isnull=True) | Q(withdrawn=True) | (Q(minutes__gt=0) & Q(minutes__lte=1440)),
                name="entry_within_one_day",
            ),
            models.CheckConstraint(
                condition=Q(stopped_at__isnull=True) | Q(stopped_at__gte=F("started_at")),
                name="entry_stops_after_start",
            ),
            models.UniqueConstraint(
                fields=["person"], condition=Q(minutes__isnull=True, withdrawn=False), name="one_running_clock_a_person"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.task}, {self.on}"
