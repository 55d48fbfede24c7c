from django.apps import AppConfig


class PagesConfig(AppConfig):
    name = "garage.pages"
    label = "pages"
    verbose_name = "Pages"
