"""Who asks, and about which instrument."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from jobs.intake.calc import era_of
from workshop.keyboard.calc.notes import Compass


class Client(models.Model):
    name = models.CharField(max_length=120)
    salutation = models.CharField(max_length=120, blank=True, help_text="As in “Dear …”; the name if empty.")
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=30, blank=True)
    address = models.TextField(blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def dear(self) -> str:
        """Return the name a letter begins with."""
        return self.salutation or self.name


def no_bars() -> list[int]:
    """Return an empty list of frame bars."""
    return []


class Instrument(models.Model):
    class Kind(models.TextChoices):
        GRAND = "grand", "grand"
        UPRIGHT = "upright", "upright"

    number = models.PositiveIntegerField(unique=True, help_text="The workshop’s own number.")
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="instruments")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    maker = models.CharField(max_length=80, blank=True, help_text="Name on the fall.")
    year = models.PositiveSmallIntegerField(null=True, blank=True)
    year_is_estimate = models.BooleanField(default=False)
    size_cm = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Length of a grand, height of an upright."
    )
    first_key = models.SmallIntegerField(default=1)
    last_key = models.SmallIntegerField(default=88)
    last_wound_key = models.SmallIntegerField(null=True, blank=True)
    bars_above = models.JSONField(default=no_bars, blank=True, help_text="Keys with a frame bar directly above.")
    finish = models.CharField(max_length=80, blank=True)
    numbers = models.CharField(max_length=200, blank=True, help_text="Serial and other numbers, and where they stand.")
    cautions = models.TextField(blank=True, help_text="Ivory, listed timber, lead, old coatings, loose legs …")
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.CheckConstraint(condition=Q(last_key__gt=F("first_key")), name="compass_goes_upwards"),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.maker or 'unnamed'} {self.kind}"

    def clean(self) -> None:
        """Refuse a compass no piano has, and a break or bar outside it."""
        try:
            compass = self.compass
        except ValueError as error:
            raise ValidationError({"last_key": str(error)}) from error
        outside = [key for key in [self.last_wound_key, *self.bars_above] if key is not None and key not in compass]
        if outside:
            raise ValidationError(f"The break and the bars must lie inside the compass; key {outside[0]} does not.")

    @property
    def compass(self) -> Compass:
        """Return the keys of this instrument, with break and bars."""
        return Compass(self.first_key, self.last_key, self.last_wound_key, tuple(self.bars_above or ()))

    @property
    def era(self) -> str:
        """Return "old" or "modern": which ranges apply."""
        return era_of(self.year or None)

    @property
    def words(self) -> str:
        """Return the instrument in words, e.g. "Larkwhistle grand, about 1887"."""
        name = f"{self.maker or 'Unnamed'} {self.kind}"
        if not self.year:
            return name
        return f"{name}, about {self.year}" if self.year_is_estimate else f"{name}, {self.year}"


class Enquiry(models.Model):
    class State(models.TextChoices):
        OPEN = "open", "asks us"
        ASSESSING = "assessing", "assessment agreed"
        DECLINED = "declined", "declined"

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="enquiries")
    received_on = models.DateField()
    aim = models.TextField(help_text="What the owner hopes for, in the owner’s words.")
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-received_on", "-id"]
        verbose_name_plural = "enquiries"

    def __str__(self) -> str:
        return f"{self.instrument}: {self.aim[:40]}"
