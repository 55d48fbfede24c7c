"""Fixtures of the API's tests: the scene, and clients signed in as members of the cast."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.core.cache import cache
from knox.models import AuthToken
from rest_framework.test import APIClient

from tests.api.scene import Scene, scene_make

ClientOf = Callable[[Any], APIClient]


@pytest.fixture
def scene(db: None) -> Scene:
    return scene_make()


@pytest.fixture
def client_of() -> ClientOf:
    """A client with a token of this user."""

    def make(user: Any) -> APIClient:
        client = APIClient()
        client.credentials(HTTP_AUTHORIZATION=f"Bearer {AuthToken.objects.create(user=user)[1]}")
        return client

    return make


@pytest.fixture
def alder(scene: Scene, client_of: ClientOf) -> APIClient:
    """Signed in as a member of Alder alone."""
    return client_of(scene.cast.viewer)


@pytest.fixture(autouse=True)
def no_throttle_left_over() -> Iterator[None]:
    cache.clear()
    yield
    cache.clear()
