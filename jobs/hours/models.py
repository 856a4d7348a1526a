"""Time logged on tasks, with its corrections; and time of the house that belongs to no task."""

from django.db import models
from django.db.models import F, Q

from jobs.assessment.models import Assessment
from jobs.worklist.models import Job, Task
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


class HouseTime(models.Model):
    """Time of one person that no task stands for: an assessment before any order, a visit under guarantee after return.

    The client pays neither. Nothing is erased: what was wrong is taken back with a reason.
    """

    assessment = models.ForeignKey(
        Assessment, on_delete=models.PROTECT, null=True, blank=True, related_name="house_times"
    )
    job = models.ForeignKey(
        Job, on_delete=models.PROTECT, null=True, blank=True, related_name="visits", help_text="Under guarantee."
    )
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="house_times")
    on = models.DateField()
    minutes = models.PositiveSmallIntegerField()
    note = models.CharField(max_length=200, blank=True)
    client_key = models.UUIDField(unique=True, null=True, blank=True, help_text="The same entry arrives once.")
    kept_at = models.DateTimeField()
    kept_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    taken_back_at = models.DateTimeField(null=True, blank=True)
    taken_back_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    taken_back_because = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-on", "-id"]
        indexes = [models.Index(fields=["person", "on"], name="house_time_by_person_and_day")]
        constraints = [
            models.CheckConstraint(
                condition=Q(assessment__isnull=False, job__isnull=True) | Q(assessment__isnull=True, job__isnull=False),
                name="house_time_of_one_thing",
            ),
            models.CheckConstraint(condition=Q(minutes__gt=0) & Q(minutes__lte=1440), name="house_time_within_one_day"),
            models.CheckConstraint(
                condition=Q(taken_back_at__isnull=True) | ~Q(taken_back_because=""), name="house_time_back_with_reason"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.words}, {self.on}"

    @property
    def words(self) -> str:
        """Return what it was, "assessment" or "visit under guarantee"."""
        return "assessment" if self.assessment_id else "visit under guarantee"
