from django.apps import AppConfig


class OutcomesConfig(AppConfig):
    name = "garage.outcomes"
    label = "outcomes"
    verbose_name = "Outcomes"
