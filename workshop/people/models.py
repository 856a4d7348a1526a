"""Who works here."""

from django.contrib.auth.models import AbstractUser
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q


def monday_to_friday() -> list[int]:
    """Return the usual working days, Monday being 0."""
    return [0, 1, 2, 3, 4]


def check_workdays(days: object) -> None:
    """Refuse anything but a list of different weekdays, Monday 0 to Sunday 6."""
    good = isinstance(days, list) and all(isinstance(day, int) and 0 <= day <= 6 for day in days)
    if not good or len(set(map(str, days))) != len(days):  # type: ignore[arg-type, call-overload]
        raise ValidationError("Working days are weekdays from 0 (Monday) to 6 (Sunday), each once.")


class Skill(models.Model):
    code = models.SlugField(max_length=20, unique=True)
    name = models.CharField(max_length=60)
    description = models.CharField(max_length=200, blank=True)
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["position", "code"]

    def __str__(self) -> str:
        return self.name


class Person(AbstractUser):
    class Role(models.TextChoices):
        MANAGER = "manager", "manager"
        TECHNICIAN = "technician", "technician"

    role = models.CharField(max_length=12, choices=Role.choices, default=Role.TECHNICIAN)
    skills = models.ManyToManyField(Skill, blank=True, related_name="people")
    workdays = models.JSONField(default=monday_to_friday, validators=[check_workdays], blank=True)
    on_the_bench = models.BooleanField(default=True, help_text="Is given work in the plan.")

    class Meta:
        ordering = ["first_name", "username"]

    def __str__(self) -> str:
        return self.first_name or self.username

    @property
    def is_manager(self) -> bool:
        """Tell whether this person plans, quotes and sends."""
        return self.role == self.Role.MANAGER


class Leave(models.Model):
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="leaves")
    first_day = models.DateField()
    last_day = models.DateField()
    reason = models.CharField(max_length=60, default="away")

    class Meta:
        ordering = ["first_day"]
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="leave_ends_after_it_begins"),
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.first_day} to {self.last_day}"
