"""Settings for tests: the real ones, with quick passwords and a folder of their own."""

import os
import tempfile

os.environ.setdefault("DATA_DIR", tempfile.mkdtemp(prefix="wrestplank-tests-"))
os.environ.setdefault("SECRET_KEY", "only-for-tests-" * 4)

from workshop.settings import *  # noqa: E402, F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
AXES_ENABLED = False
CELERY_BROKER_URL = os.environ.get("BROKER_URL", "memory://")
