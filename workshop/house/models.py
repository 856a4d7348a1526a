"""The shop itself: one row."""

import datetime as dt
from decimal import Decimal

from django.db import models
from django.db.models import F, Q

from workshop.people.models import check_workdays, monday_to_friday


class Shop(models.Model):
    class VatMode(models.TextChoices):
        GROSS = "gross", "prices include VAT"
        NET = "net", "VAT is added"

    name = models.CharField(max_length=80, default="The Workshop")
    street = models.CharField(max_length=80, blank=True)
    town = models.CharField(max_length=80, blank=True)
    postcode = models.CharField(max_length=12, blank=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=30, blank=True)
    vat_number = models.CharField(max_length=20, blank=True)
    opens = models.TimeField(default=dt.time(8, 0))
    closes = models.TimeField(default=dt.time(16, 0))
    slot_minutes = models.PositiveSmallIntegerField(default=30)
    workdays = models.JSONField(default=monday_to_friday, validators=[check_workdays])
    country = models.CharField(max_length=2, default="GB")
    subdivision = models.CharField(max_length=6, default="ENG", blank=True)
    currency = models.CharField(max_length=3, default="GBP")
    hourly_rate = models.DecimalField(
        max_digits=8, decimal_places=2, default=Decimal("48.00"), help_text="Labour, per hour, without VAT."
    )
    assessment_price = models.DecimalField(
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        help_text="An assessment billed on its own, with VAT. Empty: by its hours, at the rate.",
    )
    parts_markup_percent = models.DecimalField(max_digits=5, decimal_places=2, default=Decimal("15.00"))
    vat_percent = models.DecimalField(max_digits=5, decimal_places=2, default=Decimal("20.00"))
    vat_mode = models.CharField(max_length=8, choices=VatMode.choices, default=VatMode.GROSS)
    deposit_percent = models.DecimalField(max_digits=5, decimal_places=2, default=Decimal("30.00"))
    quote_valid_days = models.PositiveSmallIntegerField(default=28)
    link_valid_days = models.PositiveSmallIntegerField(default=180)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(pk=1), name="there_is_one_shop"),
            models.CheckConstraint(condition=Q(closes__gt=F("opens")), name="shop_closes_after_it_opens"),
        ]

    def __str__(self) -> str:
        return self.name
