"""What `deploy/run` does before anything is installed: options, installation, then the register.

Standard library only.
"""

import argparse
import os
import sys
from pathlib import Path
from typing import NoReturn

from deploy.installation import CannotInstall, installation_ensure

REPO = Path(__file__).resolve().parent.parent
PORT_MAX = 65_535


def options_parse(arguments: list[str]) -> argparse.Namespace:
    """The options of `deploy/run`; `data` comes back absolute."""
    parser = argparse.ArgumentParser(
        prog="deploy/run",
        description="Set the register up in this folder, print its report and serve it.",
        epilog="Other settings come from REGISTER_ variables; see docs/settings.md.",
    )
    parser.add_argument("--empty", action="store_true", help="do not load the demo")
    parser.add_argument("--report-only", action="store_true", help="stop after the report")
    parser.add_argument("--data", metavar="DIR", help="data folder; default: data, in this folder")
    parser.add_argument(
        "--port", type=_port, default=8000, metavar="N", help="default: 8000; 0 takes a free one"
    )
    parser.add_argument("--called-from", default=".", help=argparse.SUPPRESS)
    options = parser.parse_args(arguments)
    if options.data is not None:
        options.data = str(Path(options.called_from, Path(options.data).expanduser()).resolve())
    return options


def _port(text: str) -> int:
    try:
        port = int(text)
    except ValueError:
        port = -1
    if not 0 <= port <= PORT_MAX:
        raise argparse.ArgumentTypeError(f"a port is a number from 0 to {PORT_MAX}; got {text!r}")
    return port


def main(arguments: list[str]) -> NoReturn:
    options = options_parse(arguments)
    try:
        python = installation_ensure(REPO, "run")
    except CannotInstall as error:
        sys.exit(f"deploy/run: {error}")
    if options.data is not None:
        os.environ["REGISTER_DATA_DIR"] = options.data
    command = [str(python), "-m", "deploy.start_up", "--port", str(options.port)]
    command += ["--empty"] if options.empty else []
    command += ["--report-only"] if options.report_only else []
    os.chdir(REPO)
    # In place of this process, so that a signal to it reaches the server.
    os.execv(command[0], command)


if __name__ == "__main__":
    main(sys.argv[1:])
