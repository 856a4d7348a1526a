"""Settings for tests: the real ones, with quick passwords, a folder of their own, and no waiting for the disk."""

import atexit
import os
import shutil
import tempfile

# One folder a run, and one below it for each xdist worker; never the folder of a real shop.
_folder = os.environ.get("TESTS_DIR")
if _folder is None:
    _folder = os.environ["TESTS_DIR"] = tempfile.mkdtemp(prefix="wrestplank-tests-")
    atexit.register(shutil.rmtree, _folder, ignore_errors=True)
_worker = os.environ.get("PYTEST_XDIST_WORKER", "")
os.environ["DATA_DIR"] = os.path.join(_folder, _worker or "main")
os.environ["NUMBA_CACHE_DIR"] = os.path.join(_folder, "compiled")  # compiled once a run, for all its processes
os.environ["SECRET_KEY"] = "only-for-tests-" * 4
for _name in ("EMAIL_URL", "PRODUCTION", "DEBUG"):
    os.environ.pop(_name, None)
if _worker and os.environ.get("BROKER_URL", "").endswith("/0"):
    # Each worker of the tests takes its own numbered database of the one Redis.
    os.environ["BROKER_URL"] = f"{os.environ['BROKER_URL'][:-2]}/{int(_worker.removeprefix('gw')) + 1}"

from workshop.settings import *  # noqa: E402, F403
from workshop.settings import DATA_DIR, DATABASES  # noqa: E402

PLAN_SECONDS = 0.3
PLANNER_WARM = False
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
AXES_ENABLED = False
CELERY_BROKER_URL = os.environ.get("BROKER_URL", "memory://")
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file, not memory: threads and other processes must meet the locks of the real thing.
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / "tests.sqlite3")}
    DATABASES["default"]["OPTIONS"]["init_command"] = (
        "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF; PRAGMA foreign_keys=ON;"
    )
