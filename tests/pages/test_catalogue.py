"""The catalogue of parts on its page."""

from django.test import Client

from tests.pages.reading import leaks_in, text_of


def test_catalogue_says_how_each_part_wears_and_where_that_comes_from(alder: Client) -> None:
    answer = alder.get("/part-kinds/")
    told = text_of(answer)
    assert "320 000 km (common practice, no source)" in told
    assert "160 000 km or 120 months" in told
    assert "cyl 1, cyl 2, cyl 3, cyl 4" in told
    assert leaks_in(answer) == []


def test_catalogue_is_for_who_is_signed_in() -> None:
    assert Client().get("/part-kinds/").status_code == 302
