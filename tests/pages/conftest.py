"""Fixtures of the pages' tests: the scene, and browsers signed in as members of the cast."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from tests.api.scene import Scene, scene_make

ClientOf = Callable[[Any], Client]


@pytest.fixture
def scene(db: None) -> Scene:
    return scene_make()


@pytest.fixture
def client_of() -> ClientOf:
    """A client signed in as this user."""

    def make(user: Any) -> Client:
        client = Client()
        client.force_login(user)
        return client

    return make


@pytest.fixture
def alder(scene: Scene, client_of: ClientOf) -> Client:
    """Signed in as a viewer at Alder alone."""
    return client_of(scene.cast.viewer)


@pytest.fixture
def at_both(scene: Scene, client_of: ClientOf) -> Client:
    """Signed in as a member of Alder and Birch."""
    return client_of(scene.cast.at_both)


@pytest.fixture
def technician(scene: Scene, client_of: ClientOf) -> Client:
    """Signed in as a technician of workshop Alder."""
    return client_of(scene.cast.technician)
