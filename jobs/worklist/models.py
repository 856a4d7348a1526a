"""The accepted scope at work."""

from decimal import Decimal

from django.db import models
from django.db.models import Q

from jobs.intake.models import Instrument
from jobs.operations.models import Operation, Stage
from jobs.quoting.models import Quote, Scope
from workshop.people.models import Person


class Job(models.Model):
    class State(models.TextChoices):
        ACCEPTED = "accepted", "accepted"
        IN_HOUSE = "in_house", "in the house"
        READY = "ready", "ready"
        RETURNED = "returned", "returned"
        STOPPED = "stopped", "stopped"

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="jobs")
    quote = models.OneToOneField(Quote, on_delete=models.PROTECT, related_name="job", null=True, blank=True)
    scope = models.ForeignKey(Scope, on_delete=models.PROTECT, related_name="+", null=True, blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.ACCEPTED)
    weight = models.PositiveSmallIntegerField(default=1, help_text="How much a late day matters, 1 to 5.")
    accepted_on = models.DateField()
    arrives_on = models.DateField(null=True, blank=True, help_text="First day it can be in the house.")
    booked_in_on = models.DateField(null=True, blank=True)
    finished_on = models.DateField(null=True, blank=True)
    returned_on = models.DateField(null=True, blank=True)
    agreed_total = models.DecimalField(
        max_digits=10, decimal_places=2, default=Decimal(0), help_text="With VAT, variations included."
    )
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(condition=Q(weight__gte=1) & Q(weight__lte=5), name="weight_1_to_5"),
        ]

    def __str__(self) -> str:
        return str(self.instrument)


class Task(models.Model):
    """One operation on one job (one pass of it where it is done in passes)."""

    class State(models.TextChoices):
        TO_COME = "to_come", "to come"
        AT_WORK = "at_work", "at work"
        DONE = "done", "done"
        LEFT_OUT = "left_out", "left out"

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="tasks")
    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="tasks")
    variation = models.ForeignKey("Variation", on_delete=models.PROTECT, null=True, blank=True, related_name="tasks")
    position = models.PositiveSmallIntegerField(default=0)
    pass_number = models.PositiveSmallIntegerField(default=1)
    stage = models.CharField(max_length=12, choices=Stage.choices)
    name = models.CharField(max_length=200)
    agreed = models.TextField(blank=True, help_text="What exactly was agreed.")
    quantity = models.DecimalField(max_digits=7, decimal_places=1, default=Decimal(1))
    norm_hours = models.DecimalField(max_digits=8, decimal_places=2)
    hours_likely = models.DecimalField(max_digits=8, decimal_places=2)
    hours_80 = models.DecimalField(max_digits=8, decimal_places=2)
    hours_left = models.DecimalField(
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        help_text="As the technician last said; empty: likely less logged.",
    )
    skill = models.ForeignKey("workshop.Skill", on_delete=models.PROTECT, related_name="+")
    work_place = models.CharField(max_length=8, choices=Operation.WorkPlace.choices)
    wait_hours = models.PositiveIntegerField(default=0)
    wait_reason = models.CharField(max_length=40, blank=True)
    sessions = models.PositiveSmallIntegerField(default=1)
    after = models.ManyToManyField("self", symmetrical=False, related_name="followers", blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.TO_COME)
    started_at = models.DateTimeField(null=True, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["job", "position", "pass_number", "id"]
        indexes = [models.Index(fields=["state"], name="task_by_state")]

    def __str__(self) -> str:
        return self.name


class Variation(models.Model):
    """A change of the agreed scope: stop only what is affected, price it, let the client decide in writing."""

    class State(models.TextChoices):
        FOUND = "found", "found, to price"
        SENT = "sent", "waits for the client"
        AGREED = "agreed", "agreed"
        DECLINED = "declined", "declined"
        WITHDRAWN = "withdrawn", "withdrawn"

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="variations")
    number = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.FOUND)
    found = models.TextField(help_text="What was found, in plain words.")
    words = models.TextField(blank=True, help_text="What we propose, as the client reads it.")
    found_at = models.DateTimeField()
    found_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    affects = models.ManyToManyField(
        Task, blank=True, related_name="held_by", help_text="Tasks held until it is answered."
    )
    hours_likely = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(0))
    hours_80 = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(0))
    net = models.DecimalField(max_digits=10, decimal_places=2, default=Decimal(0))
    vat = models.DecimalField(max_digits=10, decimal_places=2, default=Decimal(0))
    total = models.DecimalField(max_digits=10, decimal_places=2, default=Decimal(0))
    ready_on = models.DateField(null=True, blank=True, help_text="New date if agreed.")
    sent_at = models.DateTimeField(null=True, blank=True)
    content_hash = models.CharField(max_length=64, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_name = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["job", "number"]
        constraints = [
            models.UniqueConstraint(fields=["job", "number"], name="variation_number_once"),
            models.CheckConstraint(
                condition=~Q(state__in=["agreed", "declined"]) | (Q(answered_at__isnull=False) & ~Q(answered_name="")),
                name="answered_variation_has_name_and_moment",
            ),
        ]

    def __str__(self) -> str:
        return f"variation {self.number}"


class VariationOperation(models.Model):
    variation = models.ForeignKey(Variation, on_delete=models.CASCADE, related_name="operations")
    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="+")
    quantity = models.DecimalField(max_digits=7, decimal_places=1, default=Decimal(1))
    adds = models.BooleanField(default=True, help_text="False: it is left out of the job.")
    hours_likely = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(0))
    hours_80 = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(0))
    net = models.DecimalField(max_digits=10, decimal_places=2, default=Decimal(0))
    reason = models.CharField(max_length=300, blank=True)
    words = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["id"]
        constraints = [models.UniqueConstraint(fields=["variation", "operation"], name="operation_once_per_variation")]

    def __str__(self) -> str:
        return str(self.operation)
