"""Embedded: one machine, SQLite, a queue of files, plain HTTP on the loopback."""

import secrets

from backyard.settings.base import *
from backyard.settings.base import BACKYARD_DIR, SECRET_KEY

for folder in ("media", "static", "queue/messages", "queue/control", "mail"):
    (BACKYARD_DIR / folder).mkdir(parents=True, exist_ok=True)

if not SECRET_KEY:
    key_file = BACKYARD_DIR / "secret_key"
    if not key_file.exists():
        key_file.touch(mode=0o600)
        key_file.write_text(secrets.token_urlsafe(50), encoding="utf-8")
    SECRET_KEY = key_file.read_text(encoding="utf-8")
