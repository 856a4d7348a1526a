"""The plan, and what was promised on it."""

import datetime as dt
from decimal import Decimal

from django.db import models
from django.db.models import F, Q

from jobs.worklist.models import Job, Task
from workshop.people.models import Person


class Plan(models.Model):
    """One worked-out plan of the whole house: in force, once in force, or offered and waiting for the manager.

    An offered plan answers the plan in force it was worked out around; it names its way between calm and early.
    """

    class Way(models.TextChoices):
        CALMEST = "calmest", "fewest moves"
        BETWEEN = "between", "in between"
        EARLIEST = "earliest", "least late"

    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    why = models.CharField(max_length=200, blank=True)
    is_current = models.BooleanField(default=False)
    seconds = models.FloatField(default=0)
    weighted_days_late = models.PositiveIntegerField(default=0)
    status = models.CharField(max_length=40, default="best of the simple rules")
    troubles = models.JSONField(
        default=list, blank=True, help_text="Sentences: what could not be planned, and what to change."
    )
    is_offered = models.BooleanField(default=False, help_text="Waits for the manager’s answer.")
    way = models.CharField(max_length=8, choices=Way.choices, blank=True)
    answers = models.ForeignKey(
        "self", on_delete=models.SET_NULL, null=True, blank=True, related_name="offers", help_text="The plan in force."
    )
    wish = models.ForeignKey("PlanWish", on_delete=models.SET_NULL, null=True, blank=True, related_name="offers")
    told = models.PositiveIntegerField(default=0, help_text="Tasks people were told for the next ten working days.")
    moved = models.PositiveIntegerField(default=0, help_text="How many of those have another person or start.")
    moved_later = models.PositiveIntegerField(default=0, help_text="Moved tasks beyond the ten days.")

    class Meta:
        ordering = ["-made_at", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["is_current"], condition=Q(is_current=True), name="one_current_plan"),
            models.CheckConstraint(condition=~Q(is_current=True, is_offered=True), name="offered_is_not_in_force"),
        ]

    def __str__(self) -> str:
        return f"plan of {self.made_at:%Y-%m-%d %H:%M}"


class Stint(models.Model):
    """One uninterrupted piece of a task within one day."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="stints")
    task = models.ForeignKey(Task, on_delete=models.CASCADE, related_name="stints")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="stints")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()

    class Meta:
        ordering = ["starts_at", "id"]
        indexes = [models.Index(fields=["plan", "person", "starts_at"], name="stint_by_person")]
        constraints = [
            models.CheckConstraint(condition=Q(ends_at__gt=F("starts_at")), name="stint_has_a_length"),
            models.UniqueConstraint(fields=["plan", "person", "starts_at"], name="nobody_twice_at_once"),
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.task} from {self.starts_at}"


class Move(models.Model):
    """A task of the next ten working days whose person or start another plan changes, and why."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="moves")
    task = models.ForeignKey(Task, on_delete=models.CASCADE, related_name="moves")
    was_person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    was_at = models.DateTimeField()
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    starts_at = models.DateTimeField()
    why = models.CharField(max_length=300)

    class Meta:
        ordering = ["was_at", "id"]
        constraints = [models.UniqueConstraint(fields=["plan", "task"], name="one_move_per_task_and_plan")]

    def __str__(self) -> str:
        return f"{self.task}: {self.why}"


class JobEnd(models.Model):
    """What a plan says about one job: its end, what decides it, and what simulated futures say of both.

    ``day_50``, ``day_80`` and ``day_90`` hold with that chance; ``likely_ends`` are twenty equally likely ends as ISO
    dates, in order; ``shares`` say what decides the end how often: kind, share of the futures, words. All are empty
    where no futures were tried. ``help_days`` is what ``help_words`` would gain, 0 when nothing single helps, empty
    when nothing was tried.
    """

    class Decider(models.TextChoices):
        PERSON = "person", "a person"
        PLACE = "place", "a place"
        PART = "part", "a part"
        WAIT = "wait", "a wait"
        WORK = "work", "the work itself"

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="ends")
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="planned_ends")
    ends_on = models.DateField()
    decider = models.CharField(max_length=8, choices=Decider.choices, default=Decider.WORK)
    decider_words = models.CharField(max_length=200, blank=True)
    day_50 = models.DateField(null=True, blank=True)
    day_80 = models.DateField(null=True, blank=True)
    day_90 = models.DateField(null=True, blank=True)
    likely_ends = models.JSONField(default=list, blank=True)
    shares = models.JSONField(default=list, blank=True)
    help_words = models.CharField(max_length=200, blank=True)
    help_days = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["ends_on"]
        constraints = [models.UniqueConstraint(fields=["plan", "job"], name="one_end_per_job_and_plan")]

    def __str__(self) -> str:
        return f"{self.job}: {self.ends_on}"

    @property
    def dots(self) -> list[dt.date]:
        """Return twenty equally likely ends in order; none where no futures were tried."""
        return [dt.date.fromisoformat(day) for day in self.likely_ends]

    def chance_by(self, day: dt.date) -> Decimal | None:
        """Return the chance of being done by a day, in twentieths; None where no futures were tried."""
        dots = self.dots
        return Decimal(sum(end <= day for end in dots)) / len(dots) if dots else None


class Promise(models.Model):
    """A date given to a client; the newest one stands, the earlier ones stay readable."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="promises")
    date = models.DateField()
    chance = models.DecimalField(max_digits=3, decimal_places=2, null=True, blank=True, help_text="When it was given.")
    given_at = models.DateTimeField()
    given_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-given_at", "-id"]

    def __str__(self) -> str:
        return f"{self.job} by {self.date}"


class PlanWish(models.Model):
    """Somebody asked for a new plan, or something happened that calls for one.

    The row is the truth and the background task a nudge: when the nudge is lost, the worker's clock finds the
    row. A wish that is not begun yet takes further wishes in.
    """

    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    why = models.CharField(max_length=200)
    begun_at = models.DateTimeField(null=True, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    plan = models.ForeignKey(Plan, on_delete=models.SET_NULL, null=True, blank=True, related_name="wishes")
    trouble = models.TextField(blank=True)
    searched_seconds = models.FloatField(default=0, help_text="Told by the search about once a second.")
    first_plan_seconds = models.FloatField(null=True, blank=True, help_text="When the first whole plan was there.")
    best_days_late = models.FloatField(null=True, blank=True, help_text="Weighted days late of the best so far.")
    late_instruments = models.PositiveIntegerField(null=True, blank=True)
    stop_asked_at = models.DateTimeField(null=True, blank=True)
    stop_asked_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    answered_at = models.DateTimeField(null=True, blank=True, help_text="When the manager answered what was offered.")
    answered_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-asked_at", "-id"]
        verbose_name_plural = "plan wishes"

    def __str__(self) -> str:
        return f"{self.why}, asked {self.asked_at:%Y-%m-%d %H:%M}"
