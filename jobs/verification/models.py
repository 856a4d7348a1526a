"""Targets agreed, and the proof."""

from django.db import models
from django.db.models import F, Q

from jobs.assessment.models import Assessment, Measure
from jobs.verification.calc import figure_or_dash
from jobs.worklist.models import Job
from workshop.people.models import Person


class Target(models.Model):
    """What was agreed for one measure on one job."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="targets")
    measure = models.ForeignKey(Measure, on_delete=models.PROTECT, related_name="+")
    low = models.DecimalField(max_digits=10, decimal_places=3, null=True, blank=True)
    high = models.DecimalField(max_digits=10, decimal_places=3, null=True, blank=True)
    why = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["measure"]
        constraints = [
            models.UniqueConstraint(fields=["job", "measure"], name="one_target_a_measure"),
            models.CheckConstraint(
                condition=Q(low__isnull=True) | Q(high__isnull=True) | Q(low__lte=F("high")), name="target_low_high"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.measure}: {self.low} to {self.high}"

    @property
    def low_words(self) -> str:
        """Return the lower limit in figures, or a dash."""
        return figure_or_dash(None if self.low is None else float(self.low))

    @property
    def high_words(self) -> str:
        """Return the upper limit in figures, or a dash."""
        return figure_or_dash(None if self.high is None else float(self.high))


class Proof(models.Model):
    """The final readings beside the first, signed by a person; frozen then."""

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="proof")
    first = models.ForeignKey(Assessment, on_delete=models.PROTECT, null=True, related_name="+")
    final = models.ForeignKey(Assessment, on_delete=models.PROTECT, related_name="+")
    words = models.TextField(blank=True)
    notes_met = models.PositiveIntegerField(default=0)
    notes_read = models.PositiveIntegerField(default=0)
    frozen = models.JSONField(default=dict, blank=True, help_text="Every pair of readings as signed.")
    content_hash = models.CharField(max_length=64, blank=True)
    signed_at = models.DateTimeField(null=True, blank=True)
    signed_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"proof of {self.job}"
