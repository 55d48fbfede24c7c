"""The API's page in a browser: drawn under the strict policy, asking nobody else, and usable."""

import pytest

from tests.api.documents import openapi_document
from tests.browser.conftest import WIDTHS, VisitOf

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("width", WIDTHS)
def test_page_of_the_api_is_drawn_from_here_alone(visit_of: VisitOf, width: int) -> None:
    visit = visit_of(width=width)
    page = visit.go("/api/v1/docs/")
    page.wait_for_selector(".opblock")
    operations = sum(len(each) for each in openapi_document()["paths"].values())
    assert page.locator(".opblock").count() == operations
    assert visit.complaints == []
    assert visit.outside == []


def test_page_of_the_api_tries_an_address_with_the_pages_session(visit_of: VisitOf) -> None:
    page = visit_of().go("/api/v1/docs/")
    page.click("#operations-vehicles-vehicles_find")
    page.click("button.try-out__btn")
    page.click("button.execute")
    page.wait_for_selector(".live-responses-table .response-col_status")
    shown = page.locator(".live-responses-table").inner_text()
    assert "Van 12" in shown
    assert page.locator(".live-responses-table .response-col_status").first.inner_text() != "401"
