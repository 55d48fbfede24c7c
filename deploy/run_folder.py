"""Folders of test runs: made with the owner's process id in the name, swept when it is dead."""

import os
import re
import shutil
import tempfile
import time
from pathlib import Path

FOLDER_PREFIX = "register-test-"
# A folder younger than this may belong to a run whose process id this machine cannot see.
SWEEP_AFTER_SECONDS = 3600


def run_folder_make() -> Path:
    """A folder of this process, its path short enough for a socket; the caller removes it.

    Others may enter it, for the servers' account must reach its own folder inside.
    """
    sweep_folders(Path(tempfile.gettempdir()), now_seconds=time.time())
    folder = Path(tempfile.mkdtemp(prefix=f"{FOLDER_PREFIX}{os.getpid()}-"))
    folder.chmod(0o711)
    return folder


def sweep_folders(parent: Path, *, now_seconds: float) -> list[Path]:
    """Remove the folders of runs that were killed; return them."""
    swept = []
    for folder in parent.glob(f"{FOLDER_PREFIX}*"):
        owner = re.match(rf"{FOLDER_PREFIX}(\d+)-", folder.name)
        if owner is None or _is_alive(int(owner[1])):
            continue
        try:
            old = now_seconds - folder.stat().st_mtime > SWEEP_AFTER_SECONDS
            if old and folder.stat().st_uid == os.geteuid():
                shutil.rmtree(folder)
                swept.append(folder)
        except OSError:
            continue  # another run sweeps at the same time
    return swept


def _is_alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True
