from django.apps import AppConfig
from django.utils.module_loading import autodiscover_modules


class BackgroundConfig(AppConfig):
    name = "garage.background"
    label = "background"
    verbose_name = "Background work"

    def ready(self) -> None:
        # Web processes and commands need the handlers' names too, to refuse an unknown kind when
        # it is queued; keep every `tasks` module light.
        autodiscover_modules("tasks")
