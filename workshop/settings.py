"""Settings of Wrestplank: one file, read from the environment by typed helpers.

Every setting has a default that runs the whole house on this machine with no server to install.
"""

import os
from pathlib import Path

import environ
from csp.constants import NONE, SELF

BASE_DIR = Path(__file__).resolve().parent.parent
env = environ.Env()

# ---- where things are kept -------------------------------------------------------------------------
DATA_DIR = Path(env.str("DATA_DIR", default=str(BASE_DIR / ".data")))
DATA_DIR.mkdir(parents=True, exist_ok=True)
# The planner's compiled code; the installation itself may be read-only. numba reads this when it is imported.
os.environ.setdefault("NUMBA_CACHE_DIR", str(DATA_DIR / "compiled"))
MEDIA_ROOT = DATA_DIR / "photographs"

# ---- security --------------------------------------------------------------------------------------
DEBUG = env.bool("DEBUG", default=False)
PRODUCTION = env.bool("PRODUCTION", default=False)


def _secret_key() -> str:
    """Return SECRET_KEY, or make one for this machine and keep it beside the data."""
    given: str = env.str("SECRET_KEY", default="")
    if given:
        return given
    kept = DATA_DIR / "secret-key"
    if not kept.exists():
        from django.core.management.utils import get_random_secret_key

        kept.write_text(get_random_secret_key() + get_random_secret_key(), encoding="utf-8")
        kept.chmod(0o600)
    return kept.read_text(encoding="utf-8").strip()


SECRET_KEY = _secret_key()
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["localhost", "127.0.0.1", "[::1]"])
CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[])
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = PRODUCTION
CSRF_COOKIE_SECURE = PRODUCTION
SECURE_SSL_REDIRECT = PRODUCTION
SECURE_HSTS_SECONDS = 31_536_000 if PRODUCTION else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = PRODUCTION
SECURE_HSTS_PRELOAD = PRODUCTION
if PRODUCTION:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "img-src": [SELF, "data:"],
        "object-src": [NONE],
    }
}

# ---- applications ----------------------------------------------------------------------------------
INSTALLED_APPS = [
    "workshop",
    "parts",
    "jobs",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_tables2",
    "django_filters",
    "django_htmx",
    "csp",
    "axes",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "workshop.urls"
WSGI_APPLICATION = "workshop.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "workshop.web.context.house",
            ],
        },
    }
]

# ---- database --------------------------------------------------------------------------------------
DATABASES = {"default": env.db("DATABASE_URL", default=f"sqlite:///{DATA_DIR / 'wrestplank.sqlite3'}")}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # Writers queue up instead of failing: with Django's deferred default, two people writing at once
    # meet "database is locked".
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;",
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# ---- signing in ------------------------------------------------------------------------------------
AUTH_USER_MODEL = "workshop.Person"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "people-sign-in"
LOGIN_REDIRECT_URL = "desk-today"
LOGOUT_REDIRECT_URL = "people-sign-in"
SESSION_COOKIE_AGE = 60 * 60 * 24 * 14
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_TEMPLATE = "people/locked.html"
AXES_RESET_ON_SUCCESS = True

# ---- language and time -----------------------------------------------------------------------------
LANGUAGE_CODE = "en-gb"
TIME_ZONE = env.str("TIME_ZONE", default="Europe/London")
USE_I18N = True
USE_TZ = True

# ---- files -----------------------------------------------------------------------------------------
STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATIC_ROOT.mkdir(exist_ok=True)  # whitenoise warns when it is not there
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"
        if PRODUCTION
        else "django.contrib.staticfiles.storage.StaticFilesStorage"
    },
}
WHITENOISE_USE_FINDERS = not PRODUCTION
DATA_UPLOAD_MAX_MEMORY_SIZE = 4 * 1024 * 1024
FILE_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
PHOTOGRAPH_MAX_BYTES = 20 * 1024 * 1024
PHOTOGRAPH_MAX_PIXELS = 60_000_000

# ---- mail ------------------------------------------------------------------------------------------
# Default: papers are kept as files to look at; EMAIL_URL=smtp://… sends them.
vars().update(env.email("EMAIL_URL", default="filemail:"))
EMAIL_FILE_PATH = str(DATA_DIR / "mail")
EMAIL_TIMEOUT = 20
DEFAULT_FROM_EMAIL = env.str("MAIL_FROM", default="The Workshop <workshop@harrowmere.example>")
MAIL_DOMAIN = env.str("MAIL_DOMAIN", default="harrowmere.example")
SITE_URL = env.str("SITE_URL", default="http://127.0.0.1:8000")

# ---- background work -------------------------------------------------------------------------------
# Default: a broker made of files, needing no server. BROKER_URL=redis://… for a whole shop.
CELERY_BROKER_URL = env.str("BROKER_URL", default="filesystem://localhost")
if CELERY_BROKER_URL.startswith("filesystem:"):
    _broker = DATA_DIR / "broker"
    for _folder in ("queue", "processed", "control"):
        (_broker / _folder).mkdir(parents=True, exist_ok=True)
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        "data_folder_in": str(_broker / "queue"),
        "data_folder_out": str(_broker / "queue"),
        "processed_folder": str(_broker / "processed"),
        "control_folder": str(_broker / "control"),
        "store_processed": False,
    }
PLANNER_WARM = env.bool("PLANNER_WARM", default=True)  # web processes load the planner at their first request
PLAN_SECONDS = env.float("PLAN_SECONDS", default=8.0)  # how long the worker searches for each plan
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_TIMEZONE = TIME_ZONE
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_BEAT_SCHEDULE = {
    # The outbox rows are the truth, a task is a nudge: this picks up whatever a lost nudge left behind.
    "mail-relay": {"task": "workshop.mail_relay", "schedule": 30.0},
    "plan-tick": {"task": "jobs.plan_tick", "schedule": 30.0},
    "quotes-lapse": {"task": "jobs.quotes_lapse", "schedule": 3600.0},
}
CELERY_BEAT_SCHEDULE_FILENAME = str(DATA_DIR / "beat")

# ---- lists -----------------------------------------------------------------------------------------
DJANGO_TABLES2_TEMPLATE = "tables/list.html"

# ---- log -------------------------------------------------------------------------------------------
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s %(message)s"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": env.str("LOG_LEVEL", default="WARNING")},
}
