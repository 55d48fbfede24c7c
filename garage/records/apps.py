from django.apps import AppConfig


class RecordsConfig(AppConfig):
    name = "garage.records"
    label = "records"
    verbose_name = "Records"

    def ready(self) -> None:
        from garage.records.sqlite_days import days_remember

        days_remember()
