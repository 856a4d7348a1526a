"""Django's entry for the parts app."""

from django.apps import AppConfig


class PartsConfig(AppConfig):
    """Parts, orders, wire."""

    name = "parts"
    default_auto_field = "django.db.models.BigAutoField"
