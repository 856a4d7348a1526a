"""The Celery application: one code path for the embedded broker and for Redis."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")

app = Celery("wrestplank")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
