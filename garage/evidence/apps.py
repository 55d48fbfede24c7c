"""The evidence as a Django application: it has commands, and no tables of its own."""

from django.apps import AppConfig


class EvidenceConfig(AppConfig):
    name = "garage.evidence"
    label = "evidence"
