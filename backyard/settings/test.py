"""For the tests: quick passwords, mail and files in memory."""

import tempfile
from pathlib import Path

from backyard.settings import env
from backyard.settings.base import *
from backyard.settings.base import DATABASES, LANGUAGES, STORAGES

SECRET_KEY = "test-key-test-key-test-key-test-key-test-key-test-key"
BACKYARD_DIR = Path(tempfile.gettempdir()) / "backyard-tests"
BACKYARD_CLOCK_AHEAD = 0
# the phone's page waits shorter before it sends and tries again
PHONE_PACE = "quick"
# a pseudo language (tests/language), and one with a decimal comma
LANGUAGES = [*LANGUAGES, ("xx", "Pseudo"), ("de", "Deutsch")]
BACKYARD_DIR.mkdir(exist_ok=True)
# a test that wants it names a folder of its own
ACCESS_LOG_DIR = None
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
CELERY_BROKER_URL = "memory://"
CELERY_BROKER_TRANSPORT_OPTIONS = {}
STORAGES = STORAGES | {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
ALLOWED_HOSTS = ["testserver", "localhost", "127.0.0.1"]
STATIC_ROOT = BACKYARD_DIR / "static"
STATIC_ROOT.mkdir(exist_ok=True)
if not env.text("DATABASE_URL"):
    DATABASES["default"]["NAME"] = BACKYARD_DIR / "unused.sqlite3"
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "init_command": "PRAGMA foreign_keys=ON;",
    }
