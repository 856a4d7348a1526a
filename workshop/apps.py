"""Django's entry for the workshop app."""

from django.apps import AppConfig


class WorkshopConfig(AppConfig):
    """The shell of the house."""

    name = "workshop"
    default_auto_field = "django.db.models.BigAutoField"
