"""A quote as it is read: everything the letter, the PDF and the client's page say, and nothing else."""

import datetime as dt
from dataclasses import dataclass, field
from decimal import Decimal

PRICED_IN = {"net": "without VAT", "gross": "VAT included"}


@dataclass(frozen=True)
class PrintedFinding:
    """One finding in an owner's words, with its severity and certainty as words."""

    severity: str
    certainty: str
    sentence: str


@dataclass(frozen=True)
class PrintedOperation:
    """One piece of work of a scope; ``because`` is chosen, implied or refused, ``reason`` says why."""

    code: str
    stage: str
    words: str
    because: str
    reason: str
    quantity: Decimal
    norm_hours: Decimal
    hours_likely: Decimal
    hours_80: Decimal


@dataclass(frozen=True)
class PrintedCharge:
    """One amount; ``shown`` is the side the quote is priced in."""

    kind: str
    kind_words: str
    stage: str
    words: str
    net: Decimal
    gross: Decimal
    vat_percent: Decimal
    shown: Decimal


@dataclass(frozen=True)
class PrintedRate:
    """What a scope charges at one VAT rate (per cent)."""

    rate: Decimal
    without_vat: Decimal
    vat: Decimal


@dataclass(frozen=True)
class PrintedScope:
    """One alternative, with its frozen figures. ``total_80`` and ``hours_80`` hold 8 times in 10."""

    pk: int
    position: int
    title: str
    notice: str
    stays_open: str
    hours_likely: Decimal
    hours_80: Decimal
    net_likely: Decimal
    vat_likely: Decimal
    total_likely: Decimal
    total_80: Decimal
    ready_on: dt.date | None
    ready_chance: Decimal | None
    answer_by: dt.date | None
    operations: tuple[PrintedOperation, ...]
    charges: tuple[PrintedCharge, ...]
    rates: tuple[PrintedRate, ...] = ()

    @property
    def work(self) -> tuple[PrintedOperation, ...]:
        """The operations that are done."""
        return tuple(each for each in self.operations if each.because != "refused")

    @property
    def refused(self) -> tuple[PrintedOperation, ...]:
        """What was left out, with the reason."""
        return tuple(each for each in self.operations if each.because == "refused")


@dataclass(frozen=True)
class PrintedWords:
    """What the letter says besides the scopes: to whom, about what, from whom. Frozen when the quote is sent."""

    client_name: str
    dear: str
    client_address: str
    instrument: str
    instrument_number: int
    shop: dict[str, str]
    findings: tuple[PrintedFinding, ...]
    cautions: tuple[str, ...]
    signed: str


@dataclass(frozen=True)
class PrintedQuote:
    """A whole quote. ``content_hash`` is empty for a draft, whose figures are as they stand now."""

    number: int
    state: str
    letter: str
    vat_mode: str
    vat_percent: Decimal
    hourly_rate: Decimal
    deposit_percent: Decimal
    currency: str
    sent_on: dt.date | None
    valid_until: dt.date | None
    content_hash: str
    words: PrintedWords
    scopes: tuple[PrintedScope, ...] = field(default=())

    @property
    def priced_in(self) -> str:
        """Return "VAT included" or "without VAT"."""
        return PRICED_IN[self.vat_mode]
