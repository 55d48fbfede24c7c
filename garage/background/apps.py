from django.apps import AppConfig


class BackgroundConfig(AppConfig):
    name = "garage.background"
    label = "background"
    verbose_name = "Background work"
