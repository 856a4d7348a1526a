"""The Celery application: one code path for the embedded broker and for Redis."""

import os
from typing import Any

from celery import Celery
from celery.signals import worker_ready
from kombu.transport import TRANSPORT_ALIASES

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
TRANSPORT_ALIASES["filesystem"] = "workshop.running.broker:Transport"

app = Celery("wrestplank")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


@worker_ready.connect
def ready(sender: Any, **_: Any) -> None:
    """Look for mail that a worker which died left half sent, and send what waits."""
    from django.conf import settings
    from django.utils import timezone

    from workshop.mail.services import mail_left_behind

    mail_left_behind(alone=str(settings.CELERY_BROKER_URL).startswith("filesystem:"), at=timezone.now())
