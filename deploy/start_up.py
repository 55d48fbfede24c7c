"""What `deploy/run` does once the packages are there: database, demo, report, static files, serve.

One process for all of it: each start of Django costs about a second.
"""

import argparse
import hashlib
import os
import sys
from pathlib import Path

import django
from django.core.exceptions import ImproperlyConfigured
from django.core.management import CommandError, call_command


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--empty", action="store_true")
    parser.add_argument("--report-only", action="store_true")
    parser.add_argument("--port", type=int, required=True)
    options = parser.parse_args(arguments)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garage.settings")
    try:
        django.setup()
        prepare(load_demo=not options.empty)
        call_command("report")
        if not options.report_only:
            static_files_build()
            sign_in_print()
            call_command("serve", port=options.port)
    except (CommandError, ImproperlyConfigured) as error:
        print(f"deploy/run: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("deploy/run: stopped; run it again to go on.", file=sys.stderr)
        return 130
    return 0


def prepare(*, load_demo: bool) -> None:
    """Migrate the database, and load the demo if there is nothing in it."""
    from django.conf import settings

    from garage.records.models import Organisation

    settings.ENVIRONMENT.data_dir.mkdir(mode=0o700, parents=True, exist_ok=True)
    call_command("migrate", verbosity=0)
    if load_demo and not Organisation.objects.exists():
        call_command("load_demo")


def sign_in_print() -> None:
    """Whom to sign in as, where the demo is loaded: its passwords are no secret."""
    from garage.records.services.demo import demo_sign_in

    sign_in = demo_sign_in()
    if sign_in is not None:
        print(f"Demo: sign in as {sign_in.username} with password {sign_in.password}", flush=True)


def static_files_build() -> None:
    """Collect the pages' files with compressed copies, unless they are as they were."""
    from django.conf import settings

    call_command("build_chart_bundle")
    stamp = Path(settings.STATIC_ROOT).parent / "static.stamp"
    state = _static_files_state()
    if Path(settings.STATIC_ROOT).is_dir() and stamp.exists() and stamp.read_text() == state:
        return
    print("Collecting the pages' files ...", flush=True)
    call_command("collectstatic", interactive=False, clear=True, verbosity=0)
    stamp.write_text(state)


def _static_files_state() -> str:
    from django.contrib.staticfiles.finders import get_finders

    digest = hashlib.sha256()
    for finder in get_finders():
        for path, storage in finder.list([]):
            file = Path(storage.path(path)).stat()
            digest.update(f"{path} {file.st_size} {file.st_mtime_ns}\n".encode())
    return digest.hexdigest()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
