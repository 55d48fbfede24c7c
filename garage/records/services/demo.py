"""Load the demo: an invented region's workshops and fleet, and somebody to sign in as."""

import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from django.contrib.auth import get_user_model
from django.db import transaction

from fixtures.demo import OrganisationFiles, write_demo
from garage.records.choices import Role
from garage.records.errors import RuleBroken
from garage.records.models import EngineFamily, Membership, Organisation
from garage.records.services.engine_families import family_accept
from garage.records.services.history_import import (
    ImportRequest,
    Progress,
    history_import,
    no_progress,
)
from garage.records.services.organisations import organisation_add


@dataclass(frozen=True)
class DemoSignIn:
    """Somebody to sign in as. Public, so the demo is refused in production."""

    username: str
    password: str
    role: Role
    organisations: tuple[str, ...] | None
    """Codes; None: all of the demo."""


SIGN_INS = (
    DemoSignIn("demo", "soot-and-ash", Role.OWNER, None),
    DemoSignIn("demo-technician", "soot-and-ash", Role.TECHNICIAN, ("saltmere",)),
    DemoSignIn("demo-viewer", "soot-and-ash", Role.VIEWER, ("cinderlow",)),
)
#: The demo's records end with 2025; no later date may be in them.
DEMO_AS_OF = date(2025, 12, 31)


def demo_load(*, now: datetime, progress: Progress = no_progress) -> None:
    """Add the demo's organisations, records and users, all or nothing."""
    if Organisation.objects.exists():
        raise RuleBroken(
            "the demo is loaded only where there are no organisations yet",
            got=", ".join(Organisation.objects.values_list("code", flat=True)[:5]),
            do="Use another data folder for it.",
        )
    with tempfile.TemporaryDirectory(prefix="register-demo-") as folder, transaction.atomic():
        files = write_demo(Path(folder))
        for organisation in files.organisations:
            demo_organisation_load(files=organisation, now=now, progress=progress)
        for family in EngineFamily.objects.all():
            family_accept(family=family, at=now)
        _add_users(organisation.code for organisation in files.organisations)


def demo_organisation_load(
    *, files: OrganisationFiles, now: datetime, progress: Progress = no_progress
) -> None:
    """Add one organisation of a generated region with its records; every row must hold."""
    organisation_add(
        code=files.code,
        name=files.name,
        kind=files.kind,
        sees_all_repairs=files.sees_all_repairs,
    )
    paths = {
        "vehicles": files.vehicles,
        "clusters": files.clusters,
        "odometer": files.odometer,
        "jobs": files.jobs,
    }
    summary = history_import(
        request=ImportRequest(
            organisation_code=files.code,
            files={name: path for name, path in paths.items() if path is not None},
            as_of=DEMO_AS_OF,
            now=now,
            progress=progress,
        )
    )
    if summary.rejected:
        raise RuleBroken(
            "every row of the demo must be accepted",
            got=f"{summary.rejected} rejected rows of {files.code}",
            do="The demo and the import disagree: mend one of them.",
        )


def _add_users(codes: Iterable[str]) -> None:
    every = tuple(codes)
    organisations = {each.code: each for each in Organisation.objects.filter(code__in=every)}
    for sign_in in SIGN_INS:
        user = get_user_model().objects.create_user(
            username=sign_in.username, password=sign_in.password
        )
        Membership.objects.bulk_create(
            Membership(user=user, organisation=organisations[code], role=sign_in.role)
            for code in sign_in.organisations or every
        )


def demo_sign_in() -> DemoSignIn | None:
    """Whom to sign in as, where the demo is loaded."""
    first = SIGN_INS[0]
    known = get_user_model().objects.filter(username=first.username).exists()
    return first if known else None
