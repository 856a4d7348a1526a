"""What was really logged, how finished quotes turned out, and what was decided about norms."""

from django.db import models
from django.db.models import F, Q

from jobs.operations.models import Operation
from workshop.people.models import Person


class HoursImport(models.Model):
    """Past hours brought in from a table at once; taken back at once too."""

    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    rows = models.PositiveIntegerField()
    taken_back_at = models.DateTimeField(null=True, blank=True)
    taken_back_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return f"{self.rows} past tasks"


class HoursLog(models.Model):
    """One finished task as the learner sees it: hours logged against the norm it had.

    ``task_number`` and ``job_number`` are plain numbers handed over by the steps that come after this one.
    """

    class Source(models.TextChoices):
        TASK = "task", "a task of this house"
        IMPORT = "import", "brought in from a file"

    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="logs")
    technician = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="logs")
    norm_hours = models.DecimalField(max_digits=8, decimal_places=2, help_text="Of the whole task, as it was then.")
    norm_of_unit = models.DecimalField(max_digits=7, decimal_places=2, help_text="Likely hours of one unit then.")
    hours = models.DecimalField(max_digits=8, decimal_places=2)
    said_likely = models.DecimalField(max_digits=8, decimal_places=2, help_text="The likely figure given before.")
    said_80 = models.DecimalField(max_digits=8, decimal_places=2, help_text="The 8-in-10 figure given before.")
    finished_on = models.DateField()
    first_time = models.BooleanField(default=False, help_text="Somebody did it for the first time: not counted.")
    left_out_because = models.CharField(max_length=200, blank=True, help_text="Why the manager does not count it.")
    source = models.CharField(max_length=8, choices=Source.choices, default=Source.TASK)
    brought_in = models.ForeignKey(HoursImport, on_delete=models.PROTECT, null=True, blank=True, related_name="logs")
    task_number = models.PositiveBigIntegerField(null=True, blank=True, unique=True)
    job_number = models.PositiveBigIntegerField(null=True, blank=True)
    instrument_words = models.CharField(max_length=120, blank=True)
    changed_at = models.DateTimeField()

    class Meta:
        ordering = ["-finished_on", "-id"]
        indexes = [models.Index(fields=["operation", "finished_on"], name="log_by_operation_and_day")]
        constraints = [
            models.CheckConstraint(
                condition=Q(hours__gt=0) & Q(norm_hours__gt=0) & Q(norm_of_unit__gt=0), name="log_has_hours_and_norm"
            ),
            models.CheckConstraint(condition=Q(said_80__gte=F("said_likely")), name="log_said_in_order"),
        ]

    def __str__(self) -> str:
        return f"{self.operation}: {self.hours} h"

    @property
    def counts(self) -> bool:
        """Tell whether the learner hears it."""
        return not self.first_time and not self.left_out_because


class QuoteOutcome(models.Model):
    """A finished quote: what it said on its day, and what the same tasks took in the end."""

    quote_number = models.PositiveIntegerField(unique=True)
    mean = models.FloatField(help_text="L of the rule, hours, from the figures of the day.")
    spread = models.FloatField(help_text="s of the rule.")
    likely = models.DecimalField(max_digits=8, decimal_places=2)
    figure_80 = models.DecimalField(max_digits=8, decimal_places=2)
    hours = models.DecimalField(max_digits=8, decimal_places=2, help_text="Logged on the same tasks.")
    tasks_left_out = models.PositiveSmallIntegerField(default=0, help_text="Quoted but not done: not compared.")
    finished_on = models.DateField()
    instrument_words = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["-finished_on", "-quote_number"]
        constraints = [
            models.CheckConstraint(
                condition=Q(mean__gt=0) & Q(spread__gt=0) & Q(hours__gt=0), name="outcome_has_hours"
            ),
        ]

    def __str__(self) -> str:
        return f"quote {self.quote_number}: {self.hours} h"


class NormDecision(models.Model):
    """What a manager decided about a norm that the hours speak against."""

    class Decided(models.TextChoices):
        ACCEPTED = "accepted", "taken as proposed"
        KEPT = "kept", "kept as it is"

    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="norm_decisions")
    decided = models.CharField(max_length=8, choices=Decided.choices)
    reason = models.CharField(max_length=200)
    norm_before = models.DecimalField(max_digits=7, decimal_places=2)
    proposed = models.DecimalField(max_digits=7, decimal_places=2)
    logs = models.PositiveIntegerField(help_text="How many logs of this work there were.")
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return f"{self.operation}: {self.get_decided_display()}"
