from django.apps import AppConfig


class RecordsConfig(AppConfig):
    name = "garage.records"
    label = "records"
    verbose_name = "Records"
