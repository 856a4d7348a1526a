"""Measures with their ranges; assessments with their readings; findings."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Coalesce

from jobs.intake.models import Instrument
from jobs.operations.models import Operation
from workshop.people.models import Person


def empty_list() -> list[object]:
    """Return an empty list."""
    return []


class Severity(models.TextChoices):
    SAFETY = "safety", "Safety"
    PLAYING = "playing", "Playing"
    WEAR = "wear", "Wear"
    LOOKS = "looks", "Looks"


class SpotKind(models.TextChoices):
    NOTE = "note", "note"
    SECTION = "section", "section"
    PANEL = "panel", "panel"
    WHOLE = "whole", "the whole instrument"


class Measure(models.Model):
    class ValueKind(models.TextChoices):
        NUMBER = "number", "number"
        GRADE = "grade", "grade"
        YES_NO = "yesno", "yes or no"
        CHOICE = "choice", "choice"

    code = models.SlugField(max_length=24, unique=True)
    position = models.PositiveSmallIntegerField(default=0)
    area = models.CharField(max_length=24, blank=True)
    name = models.CharField(max_length=120)
    client_words = models.CharField(max_length=200, blank=True)
    unit = models.CharField(max_length=12, blank=True)
    units_accepted = models.JSONField(default=empty_list, blank=True)
    value_kind = models.CharField(max_length=8, choices=ValueKind.choices)
    choices = models.JSONField(default=empty_list, blank=True)
    ordinary_choice = models.CharField(max_length=20, blank=True)
    spot_kinds = models.JSONField(default=empty_list)
    applies_to = models.CharField(max_length=8, choices=Operation.AppliesTo.choices, default="both")
    severity = models.CharField(max_length=8, choices=Severity.choices, default=Severity.PLAYING)
    sentence_over = models.CharField(max_length=300, blank=True)
    sentence_under = models.CharField(max_length=300, blank=True)
    how = models.CharField(max_length=200, blank=True)
    note = models.CharField(max_length=300, blank=True)
    points_to = models.ManyToManyField(Operation, blank=True, related_name="measures")

    class Meta:
        ordering = ["position", "code"]

    def __str__(self) -> str:
        return self.name


class MeasureRange(models.Model):
    """What is ordinary for a measure on one kind and era of instrument."""

    class Era(models.TextChoices):
        MODERN = "modern", "modern"
        OLD = "old", "old"

    measure = models.ForeignKey(Measure, on_delete=models.CASCADE, related_name="ranges")
    instrument_kind = models.CharField(max_length=8, choices=Instrument.Kind.choices)
    era = models.CharField(max_length=8, choices=Era.choices)
    low = models.DecimalField(max_digits=10, decimal_places=3, null=True, blank=True)
    high = models.DecimalField(max_digits=10, decimal_places=3, null=True, blank=True)
    status = models.CharField(max_length=40)
    source = models.CharField(max_length=200)
    edited = models.BooleanField(default=False, help_text="Set by this workshop: a reload keeps it.")

    class Meta:
        ordering = ["measure", "instrument_kind", "era"]
        constraints = [
            models.UniqueConstraint(fields=["measure", "instrument_kind", "era"], name="one_range_a_kind_and_era"),
            models.CheckConstraint(
                condition=Q(low__isnull=True) | Q(high__isnull=True) | Q(low__lte=models.F("high")),
                name="range_low_high",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.measure}, {self.era} {self.instrument_kind}: {self.low} to {self.high}"


class Assessment(models.Model):
    class Purpose(models.TextChoices):
        FIRST = "first", "first"
        REVIEW = "review", "after opening up"
        FINAL = "final", "final"

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="assessments")
    purpose = models.CharField(max_length=8, choices=Purpose.choices, default=Purpose.FIRST)
    on = models.DateField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="assessments")
    where = models.CharField(max_length=60, default="bench")
    state_words = models.CharField(max_length=200, blank=True, help_text="Strings on, action in, dampers held off …")
    temperature_c = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    humidity_percent = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-on", "-id"]

    def __str__(self) -> str:
        return f"{self.get_purpose_display()} assessment of {self.instrument}, {self.on}"


class Reading(models.Model):
    """One value of one measure at one spot; or why there is none."""

    assessment = models.ForeignKey(Assessment, on_delete=models.CASCADE, related_name="readings")
    measure = models.ForeignKey(Measure, on_delete=models.PROTECT, related_name="readings")
    spot_kind = models.CharField(max_length=8, choices=SpotKind.choices, default=SpotKind.WHOLE)
    key = models.SmallIntegerField(null=True, blank=True)
    spot = models.CharField(max_length=40, blank=True, help_text="Name of the section or panel.")
    value = models.DecimalField(max_digits=10, decimal_places=3, null=True, blank=True)
    choice = models.CharField(max_length=20, blank=True)
    not_measured_because = models.CharField(max_length=120, blank=True)
    gauge = models.CharField(max_length=60, blank=True)
    remark = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["measure", "key", "spot"]
        constraints = [
            models.UniqueConstraint(
                "assessment", "measure", "spot_kind", Coalesce("key", -99), "spot", name="one_reading_a_spot"
            ),
            models.CheckConstraint(
                condition=Q(value__isnull=False) | ~Q(choice="") | ~Q(not_measured_because=""),
                name="reading_says_something",
            ),
            models.CheckConstraint(
                condition=(Q(spot_kind="note") & Q(key__isnull=False)) | (~Q(spot_kind="note") & Q(key__isnull=True)),
                name="note_reading_has_a_key",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.measure} {self.spot or self.key or ''}: {self.value if self.value is not None else self.choice}"


class Remark(models.Model):
    assessment = models.ForeignKey(Assessment, on_delete=models.CASCADE, related_name="remarks")
    area = models.CharField(max_length=40, blank=True)
    text = models.TextField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return self.text[:60]


class Photograph(models.Model):
    """A picture, re-encoded by us: no metadata, bounded size."""

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="photographs")
    assessment = models.ForeignKey(
        Assessment, on_delete=models.CASCADE, null=True, blank=True, related_name="photographs"
    )
    image = models.FileField(upload_to="instruments/")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    caption = models.CharField(max_length=200, blank=True)
    for_client = models.BooleanField(default=True)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return self.caption or f"photograph {self.pk}"


class Finding(models.Model):
    class Certainty(models.TextChoices):
        SEEN = "seen", "seen"
        INFERRED = "inferred", "inferred"
        UNKNOWN = "unknown", "unknown until opened"

    class State(models.TextChoices):
        PROPOSED = "proposed", "to confirm"
        KEPT = "kept", "kept"
        STRUCK = "struck", "struck out"

    assessment = models.ForeignKey(Assessment, on_delete=models.CASCADE, related_name="findings")
    measure = models.ForeignKey(Measure, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    severity = models.CharField(max_length=8, choices=Severity.choices)
    certainty = models.CharField(max_length=8, choices=Certainty.choices, default=Certainty.SEEN)
    sentence = models.CharField(max_length=400)
    why = models.TextField(blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.PROPOSED)
    position = models.PositiveSmallIntegerField(default=0)
    operations = models.ManyToManyField(Operation, blank=True, related_name="findings")

    class Meta:
        ordering = ["position", "id"]

    def __str__(self) -> str:
        return self.sentence
