"""The Celery app: the wake-up and the muscle; the truth of a job is its row in the outbox."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "backyard.settings.dev")
app = Celery("backyard")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
