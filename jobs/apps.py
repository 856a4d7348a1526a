"""Django's entry for the jobs app."""

from django.apps import AppConfig


class JobsConfig(AppConfig):
    """The steps of a job, one app with one history."""

    name = "jobs"
    default_auto_field = "django.db.models.BigAutoField"
