"""The Django project: settings, URL tree, Celery app."""

from backyard.celery import app as celery_app

__all__ = ["celery_app"]
