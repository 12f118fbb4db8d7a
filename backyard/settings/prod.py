"""Production: PostgreSQL, Redis, TLS at the proxy. Starts only with its secrets in place."""

from django.core.exceptions import ImproperlyConfigured

from backyard.settings import env
from backyard.settings.base import *
from backyard.settings.base import SECRET_KEY

if len(SECRET_KEY) < 40:
    raise ImproperlyConfigured(
        "BACKYARD_SECRET_KEY must be set and at least 40 characters long; make one with "
        "python -c 'import secrets; print(secrets.token_urlsafe(50))'"
    )
for needed in ("DATABASE_URL", "REDIS_URL"):
    if not env.text(needed):
        raise ImproperlyConfigured(f"{needed} must be set; see DEVELOPERS.md, 'Settings'")

SESSION_COOKIE_SECURE = True
SESSION_COOKIE_NAME = "__Host-session"
CSRF_COOKIE_SECURE = True
CSRF_COOKIE_NAME = "__Host-csrf"
SECURE_SSL_REDIRECT = True
SECURE_REDIRECT_EXEMPT = [r"^livez$", r"^readyz$"]
SECURE_HSTS_SECONDS = 365 * 24 * 3600
SECURE_HSTS_INCLUDE_SUBDOMAINS = True
SECURE_HSTS_PRELOAD = True
