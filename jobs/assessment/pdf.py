"""Draws an assessment on paper."""

from jobs.assessment.queries import AssessmentPage
from workshop.house.models import Shop


def draw(page: AssessmentPage, shop: Shop) -> bytes:
    """Return the paper as PDF."""
    raise NotImplementedError
