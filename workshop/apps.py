"""Django's entry for the workshop app."""

from django.apps import AppConfig


class WorkshopConfig(AppConfig):
    """The shell of the house."""

    name = "workshop"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Give the forms their words."""
        from workshop.web.wording import forms_speak

        forms_speak()
