"""What can be bought, from whom, and what lies on the shelf."""

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models

from workshop.people.models import Person


class Supplier(models.Model):
    name = models.CharField(max_length=80, unique=True)
    email = models.EmailField(blank=True)
    address = models.TextField(blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Part(models.Model):
    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    unit = models.CharField(max_length=20, help_text="set, metre, kilogram, piece …")
    kind = models.CharField(max_length=40, blank=True)
    measure_needed = models.CharField(
        max_length=200, blank=True, help_text="Which measures an order must state, in words; empty if none."
    )
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, null=True, blank=True, related_name="parts")
    price = models.DecimalField(
        max_digits=9,
        decimal_places=2,
        default=Decimal(0),
        validators=[MinValueValidator(0)],
        help_text="What we pay for one unit, without VAT.",
    )
    lead_days = models.PositiveSmallIntegerField(default=7, help_text="Calendar days from order to arrival.")
    reorder_below = models.DecimalField(max_digits=9, decimal_places=2, default=Decimal(0))
    shelf = models.CharField(max_length=40, blank=True)
    source = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class StockMove(models.Model):
    """One change of what lies on the shelf; the shelf is the sum of its moves."""

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="moves")
    quantity = models.DecimalField(max_digits=9, decimal_places=2, help_text="In is positive, out negative.")
    reason = models.CharField(max_length=120)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return f"{self.part}: {self.quantity} ({self.reason})"
