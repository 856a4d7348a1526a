"""Index of the models of this app: Django looks here. Nothing else."""

from jobs.assessment.models import Assessment, Finding, Measure, MeasureRange, Photograph, Reading, Remark
from jobs.billing.models import EarlierInvoice, Invoice, InvoiceLine, InvoiceSeries, Payment
from jobs.estimating.models import HoursImport, HoursLog, NormDecision, QuoteOutcome
from jobs.hours.models import HouseTime, TimeEntry
from jobs.intake.models import Client, Enquiry, Instrument
from jobs.operations.models import AlternativeGroup, NormVersion, Operation, OperationPart
from jobs.portal.models import ClientLink, PortalSession
from jobs.quoting.models import Answer, Quote, QuotePaper, Scope, ScopeCharge, ScopeOperation, TalkWish
from jobs.scheduling.models import JobEnd, Move, Plan, PlanWish, Promise, Stint
from jobs.supplies.models import Need
from jobs.updates.models import Update
from jobs.verification.models import Proof, Target
from jobs.worklist.models import Job, Task, Variation, VariationOperation

__all__ = [
    "AlternativeGroup",
    "Answer",
    "Assessment",
    "Client",
    "ClientLink",
    "EarlierInvoice",
    "Enquiry",
    "Finding",
    "HoursImport",
    "HoursLog",
    "HouseTime",
    "Instrument",
    "Invoice",
    "InvoiceLine",
    "InvoiceSeries",
    "Job",
    "JobEnd",
    "Measure",
    "MeasureRange",
    "Move",
    "Need",
    "NormDecision",
    "NormVersion",
    "Operation",
    "OperationPart",
    "Payment",
    "Photograph",
    "Plan",
    "PlanWish",
    "PortalSession",
    "Promise",
    "Proof",
    "Quote",
    "QuoteOutcome",
    "QuotePaper",
    "Reading",
    "Remark",
    "Scope",
    "ScopeCharge",
    "ScopeOperation",
    "Stint",
    "TalkWish",
    "Target",
    "Task",
    "TimeEntry",
    "Update",
    "Variation",
    "VariationOperation",
]
