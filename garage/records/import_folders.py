"""The folder of one import run: the files sent in, how far it is, whether it shall stop.

Files and not rows: while an import writes, nobody else can write to an SQLite database, and what
one transaction has written no other sees.
"""

import json
import secrets
import shutil
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import BinaryIO

from garage.records.documents import document_storage

_TOKEN_BYTES = 20
_PIECE_BYTES = 1_000_000


@dataclass(frozen=True)
class RunProgress:
    """What a run is at, and how many of its rows are done."""

    step: str
    rows: int
    done: int


@dataclass(frozen=True)
class RunFolder:
    """`name` is the folder's in the document storage; nobody can guess it."""

    name: str

    @property
    def path(self) -> Path:
        return Path(document_storage().path(self.name))

    def file(self, kind: str) -> Path:
        return self.path / f"{kind}.csv"

    def put(self, kind: str, content: BinaryIO) -> None:
        content.seek(0)
        with self.file(kind).open("wb") as out:
            shutil.copyfileobj(content, out, _PIECE_BYTES)

    def progress_write(self, progress: RunProgress) -> None:
        """All or nothing, so that nobody reads half of it."""
        unfinished = self.path / "progress.new"
        unfinished.write_text(json.dumps(asdict(progress)), encoding="utf-8")
        unfinished.replace(self.path / "progress.json")

    def progress_read(self) -> RunProgress | None:
        """None where it has not begun."""
        try:
            said = json.loads((self.path / "progress.json").read_text(encoding="utf-8"))
        except FileNotFoundError:
            return None
        return RunProgress(**said)

    def cancel_ask(self, username: str) -> bool:
        """Whether it could be asked; not where the run ended just now and took its folder along."""
        try:
            (self.path / "cancel").write_text(username, encoding="utf-8")
        except FileNotFoundError:
            return False
        return True

    def cancel_asked_by(self) -> str | None:
        """Who wants it to stop; None: nobody."""
        try:
            return (self.path / "cancel").read_text(encoding="utf-8")
        except FileNotFoundError:
            return None

    def rejected(self, name: str) -> Path:
        """A file of rejected rows by its name alone; whatever else it says leads nowhere else."""
        return self.path / Path(name).name

    def clear(self, *, keep: frozenset[str] = frozenset()) -> None:
        """Delete everything but the files of these names; the folder, too, if none is left."""
        for each in self.path.glob("*"):
            if each.name not in keep:
                each.unlink(missing_ok=True)
        if self.path.is_dir() and not any(self.path.iterdir()):
            self.path.rmdir()


def folder_make() -> RunFolder:
    folder = RunFolder(f"imports/{secrets.token_hex(_TOKEN_BYTES)}")
    folder.path.mkdir(mode=0o700, parents=True)
    return folder
