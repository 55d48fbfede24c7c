"""Addresses of the pages."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import URLPattern, URLResolver, path

from garage.pages.views.early_failures import early_failures
from garage.pages.views.family import family
from garage.pages.views.find import start
from garage.pages.views.organisation import organisation_in_view
from garage.pages.views.vehicle import vehicle

urlpatterns: list[URLPattern | URLResolver] = [
    path("", start, name="start"),
    path(
        "sign-in/",
        LoginView.as_view(template_name="pages/sign_in.html", redirect_authenticated_user=True),
        name="sign-in",
    ),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("organisation-in-view/", organisation_in_view, name="organisation-in-view"),
    path("vehicles/<int:vehicle_id>/", vehicle, name="vehicle"),
    path("engine-families/<int:family_id>/", family, name="family"),
    path("early-failures/", early_failures, name="early-failures"),
]
