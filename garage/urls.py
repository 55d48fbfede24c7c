"""Where pages and the API are mounted."""

from django.urls import include, path

urlpatterns = [
    path("api/v1/", include("api.urls")),
    path("", include("garage.pages.urls")),
]
