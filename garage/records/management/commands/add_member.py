"""Give a person a part in an organisation, so that they can sign in."""

import getpass
import sys
from argparse import ArgumentParser
from typing import Any

from django.contrib.auth import get_user_model
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from garage.records.choices import Role
from garage.records.errors import RuleBroken
from garage.records.models import Organisation
from garage.records.services.members import NewMember, member_add


class Command(BaseCommand):
    help = (
        "Make a person a member of an organisation. A new person's password is asked for, or read "
        "from the first line of standard input."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("organisation", metavar="CODE")
        parser.add_argument("username", metavar="NAME")
        parser.add_argument("--role", required=True, choices=Role.values)

    def handle(self, *args: Any, **options: Any) -> None:
        code, username = options["organisation"], options["username"]
        organisation = Organisation.objects.filter(code=code).first()
        if organisation is None:
            raise CommandError(
                f"the organisation must be recorded; got {code!r}. Add it with manage.py "
                "add_organisation.",
                returncode=2,
            )
        known = get_user_model().objects.filter(username=username).exists()
        password = None if known else _password(username)
        try:
            member_add(
                organisation=organisation,
                new=NewMember(username, options["role"], password),
                at=timezone.now(),
            )
        except RuleBroken as broken:
            raise CommandError(str(broken), returncode=2) from broken
        self.stdout.write(f"{username} is {options['role']} of {code}.")


def _password(username: str) -> str:
    if sys.stdin.isatty():
        return getpass.getpass(f"Password for {username}: ")
    return sys.stdin.readline().rstrip("\n")
