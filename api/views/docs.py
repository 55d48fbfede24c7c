"""The API's documentation page: everything it loads comes from here."""

from drf_spectacular.views import SpectacularSwaggerSplitView


class DocsView(SpectacularSwaggerSplitView):
    """The page's script comes from an address of its own, so that the page holds none."""

    url_name = "api:schema"
    title = "Comeback Register API"
    template_name = "api/docs.html"
