"""Invoices in an unbroken series, of a job or of an assessment alone; what was paid; what a job takes into account."""

from decimal import Decimal

from django.db import models
from django.db.models import F, Q

from jobs.assessment.models import Assessment
from jobs.intake.models import Instrument
from jobs.worklist.models import Job
from workshop.people.models import Person


class Invoice(models.Model):
    """A frozen paper: numbered when issued, never changed; a mistake is mended by a credit.

    It belongs to one job, or to one assessment that is paid for on its own.
    """

    class Kind(models.TextChoices):
        DEPOSIT = "deposit", "Deposit"
        STAGE = "stage", "Stage"
        BALANCE = "balance", "Balance"
        CREDIT = "credit", "Credit"
        ASSESSMENT = "assessment", "Assessment"

    number = models.PositiveIntegerField(unique=True)
    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="invoices")
    assessment = models.ForeignKey(Assessment, on_delete=models.PROTECT, null=True, blank=True, related_name="invoices")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    stage = models.CharField(max_length=12, blank=True)
    issued_on = models.DateField()
    issued_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    due_on = models.DateField()
    to_name = models.CharField(max_length=120)
    to_address = models.TextField(blank=True)
    about = models.CharField(max_length=200)
    issued_from = models.JSONField(
        default=dict, blank=True, help_text="The shop as it stood on the paper: name, address, VAT number."
    )
    net = models.DecimalField(max_digits=10, decimal_places=2)
    vat = models.DecimalField(max_digits=10, decimal_places=2)
    total = models.DecimalField(max_digits=10, decimal_places=2)
    credits = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="credited_by")
    content_hash = models.CharField(max_length=64)
    stands = models.BooleanField(default=True, help_text="False once credited: a new one may take its place.")

    class Meta:
        ordering = ["-number"]
        constraints = [
            # Within a tenth of a penny: SQLite adds decimals as floating numbers.
            models.CheckConstraint(
                condition=Q(total__lt=F("net") + F("vat") + Decimal("0.001"))
                & Q(total__gt=F("net") + F("vat") - Decimal("0.001")),
                name="invoice_adds_up",
            ),
            models.UniqueConstraint(
                fields=["job", "kind", "stage"],
                condition=Q(kind__in=["deposit", "balance", "stage"], stands=True),
                name="one_standing_invoice_a_kind_and_stage",
            ),
            models.CheckConstraint(
                condition=(Q(job__isnull=False, assessment__isnull=True) & ~Q(kind="assessment"))
                | Q(job__isnull=True, assessment__isnull=False, kind__in=["assessment", "credit"]),
                name="invoice_of_one_thing",
            ),
            models.UniqueConstraint(
                fields=["assessment"],
                condition=Q(kind="assessment", stands=True),
                name="one_standing_invoice_an_assessment",
            ),
        ]

    def __str__(self) -> str:
        return f"invoice {self.number}"

    @property
    def instrument(self) -> Instrument:
        """Return the instrument of its job or its assessment."""
        about = self.job or self.assessment
        assert about is not None  # the database holds to one of the two
        return about.instrument


class EarlierInvoice(models.Model):
    """An assessment invoiced on its own that an order followed: whether the job takes its amount off what it asks for.

    An unset ``decided_by`` means the rule decided when the order came, and nobody has changed it.
    """

    invoice = models.OneToOneField(Invoice, on_delete=models.PROTECT, related_name="taken_into")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="earlier_invoices")
    deducted = models.BooleanField()
    decided_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    decided_at = models.DateTimeField()

    class Meta:
        ordering = ["invoice__number"]

    def __str__(self) -> str:
        return f"{self.invoice} before {self.job}"


class InvoiceLine(models.Model):
    invoice = models.ForeignKey(Invoice, on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField()
    words = models.CharField(max_length=200)
    net = models.DecimalField(max_digits=10, decimal_places=2)
    vat_percent = models.DecimalField(max_digits=5, decimal_places=2)
    vat = models.DecimalField(max_digits=10, decimal_places=2)
    gross = models.DecimalField(max_digits=10, decimal_places=2, default=Decimal(0))

    class Meta:
        ordering = ["position"]

    def __str__(self) -> str:
        return self.words


class InvoiceSeries(models.Model):
    """The last number given: one row, locked while a number is taken, so the series has no gap."""

    last_number = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(pk=1), name="there_is_one_series")]

    def __str__(self) -> str:
        return f"up to {self.last_number}"


class Payment(models.Model):
    class Method(models.TextChoices):
        TRANSFER = "transfer", "bank transfer"
        CARD = "card", "card"
        CASH = "cash", "cash"
        CHEQUE = "cheque", "cheque"

    invoice = models.ForeignKey(Invoice, on_delete=models.PROTECT, related_name="payments")
    amount = models.DecimalField(max_digits=10, decimal_places=2)
    on = models.DateField()
    method = models.CharField(max_length=10, choices=Method.choices, default=Method.TRANSFER)
    note = models.CharField(max_length=120, blank=True)
    kept_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    kept_at = models.DateTimeField()

    class Meta:
        ordering = ["on", "id"]
        constraints = [models.CheckConstraint(condition=~Q(amount=0), name="payment_is_not_nothing")]

    def __str__(self) -> str:
        return f"{self.amount} on {self.on}"
