"""The shell of the house: what exists without any job. Knows nothing of parts or jobs."""

from workshop.celery import app as celery_app

__all__ = ["celery_app"]
