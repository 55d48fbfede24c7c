import pytest
from django.test import Client


@pytest.mark.django_db
def test_response_carries_policy(client: Client) -> None:
    response = client.get("/no-such-page/")
    assert response.status_code == 404
    assert "default-src 'self'" in response.headers["Content-Security-Policy"]
