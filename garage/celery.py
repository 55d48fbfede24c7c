"""The Celery application, used by the embedded worker and by worker processes alike."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garage.settings")

app = Celery("garage")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
