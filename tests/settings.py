"""The register's settings and, beside its apps, one with work to try the worker with."""

from garage.settings import *  # noqa: F403
from garage.settings import INSTALLED_APPS as REGISTER_APPS

INSTALLED_APPS = [*REGISTER_APPS, "tests.work_app"]
