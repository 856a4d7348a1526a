"""The catalogue of work."""

from decimal import Decimal

from django.db import models
from django.db.models import F, Q

from parts.catalogue.models import Part
from workshop.people.models import Person, Skill


class Stage(models.TextChoices):
    """The stages of a job, in order: what the client is told about and billed by."""

    ASSESSING = "assessing", "Assessing"
    OPENING = "opening", "Opening up"
    STRUCTURE = "structure", "Structure"
    CASE = "case", "Case"
    STRINGS = "strings", "Strings"
    ACTION = "action", "Action"
    KEYS = "keys", "Keys"
    REGULATION = "regulation", "Regulation"
    TUNING = "tuning", "Tuning and voicing"
    FINISH = "finish", "Proof and return"


class Operation(models.Model):
    class AppliesTo(models.TextChoices):
        BOTH = "both", "grand and upright"
        GRAND = "grand", "grand"
        UPRIGHT = "upright", "upright"

    class Unit(models.TextChoices):
        INSTRUMENT = "instrument", "instrument"
        NOTE = "note", "note"
        PANEL = "panel", "panel"
        SECTION = "section", "section"
        PLACE = "place", "place"
        PASS = "pass", "pass"

    class WorkPlace(models.TextChoices):
        BENCH = "bench", "bench"
        FLOOR = "floor", "floor place"
        SPRAY = "spray", "spray room"
        HOME = "home", "client’s home"
        ROAD = "road", "on the road"
        OFFICE = "office", "office"
        OUTWORK = "outwork", "outwork"

    code = models.SlugField(max_length=20, unique=True)
    area = models.CharField(max_length=20)
    stage = models.CharField(max_length=12, choices=Stage.choices)
    position = models.PositiveSmallIntegerField(default=0, help_text="Order in the catalogue.")
    name = models.CharField(max_length=200)
    client_words = models.CharField(max_length=300, blank=True, help_text="In words an owner understands.")
    applies_to = models.CharField(max_length=8, choices=AppliesTo.choices, default=AppliesTo.BOTH)
    unit = models.CharField(max_length=12, choices=Unit.choices, default=Unit.INSTRUMENT)
    usual_grand = models.DecimalField(max_digits=6, decimal_places=1, default=Decimal(1))
    usual_upright = models.DecimalField(max_digits=6, decimal_places=1, default=Decimal(1))
    in_passes = models.BooleanField(default=False, help_text="Units are done one after another, each with its wait.")
    hours_low = models.DecimalField(max_digits=7, decimal_places=2)
    hours_likely = models.DecimalField(max_digits=7, decimal_places=2)
    hours_high = models.DecimalField(max_digits=7, decimal_places=2)
    upright_factor = models.DecimalField(max_digits=4, decimal_places=2, default=Decimal(1))
    skill = models.ForeignKey(Skill, on_delete=models.PROTECT, related_name="operations")
    work_place = models.CharField(max_length=8, choices=WorkPlace.choices)
    wait_hours = models.PositiveIntegerField(default=0, help_text="Clock hours before any later step.")
    wait_reason = models.CharField(max_length=40, blank=True)
    span_days = models.PositiveSmallIntegerField(default=1, help_text="Least number of working days.")
    cautions = models.TextField(blank=True)
    source = models.CharField(max_length=200)
    edited = models.BooleanField(default=False, help_text="Changed by this workshop: a reload keeps it.")
    before = models.ManyToManyField("self", symmetrical=False, related_name="followers", blank=True)
    implies = models.ManyToManyField("self", symmetrical=False, related_name="implied_by", blank=True)

    class Meta:
        ordering = ["position", "code"]
        constraints = [
            models.CheckConstraint(
                condition=Q(hours_low__gt=0)
                & Q(hours_likely__gte=F("hours_low"))
                & Q(hours_high__gte=F("hours_likely")),
                name="norm_low_likely_high",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def in_plain_words(self) -> str:
        """Return the operation as an owner would say it."""
        return self.client_words or self.name


class NormVersion(models.Model):
    """One change of a norm: hours of one unit before and after, who, when and why."""

    operation = models.ForeignKey(Operation, on_delete=models.CASCADE, related_name="norm_versions")
    low_before = models.DecimalField(max_digits=7, decimal_places=2)
    likely_before = models.DecimalField(max_digits=7, decimal_places=2)
    high_before = models.DecimalField(max_digits=7, decimal_places=2)
    low_after = models.DecimalField(max_digits=7, decimal_places=2)
    likely_after = models.DecimalField(max_digits=7, decimal_places=2)
    high_after = models.DecimalField(max_digits=7, decimal_places=2)
    reason = models.CharField(max_length=200)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    on = models.DateField()

    class Meta:
        ordering = ["-on", "-id"]

    def __str__(self) -> str:
        return f"{self.operation}, from {self.on}"


class AlternativeGroup(models.Model):
    """Operations of which at most one can stand in a scope."""

    code = models.SlugField(max_length=20, unique=True)
    name = models.CharField(max_length=80)
    operations = models.ManyToManyField(Operation, related_name="alternative_groups")

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name


class OperationPart(models.Model):
    """What one unit of an operation usually needs."""

    operation = models.ForeignKey(Operation, on_delete=models.CASCADE, related_name="parts")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="operations")
    quantity = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(1))
    per_unit = models.BooleanField(default=False, help_text="Quantity is for each unit, not for the whole task.")
    applies_to = models.CharField(max_length=8, choices=Operation.AppliesTo.choices, default=Operation.AppliesTo.BOTH)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["operation", "part", "applies_to"], name="part_once_per_operation_and_kind"
            ),
            models.CheckConstraint(condition=Q(quantity__gt=0), name="operation_part_has_a_quantity"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.part} for {self.operation}"

    def fits(self, kind: str) -> bool:
        """Tell whether an instrument of that kind needs it."""
        return self.applies_to in (Operation.AppliesTo.BOTH, kind)
