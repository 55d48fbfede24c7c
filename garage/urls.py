"""Where pages and the API are mounted."""

from django.urls import include, path

urlpatterns = [
    path("api/v1/", include("api.urls")),
    path("", include("garage.pages.urls")),
]

handler400 = "api.errors.bad_request"
handler500 = "api.errors.server_error"
