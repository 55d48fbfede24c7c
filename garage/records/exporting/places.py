"""Where the files of an export go: a folder, or one archive."""

import io
import os
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import datetime
from pathlib import Path
from typing import BinaryIO, Protocol, TextIO


class Place(Protocol):
    """Takes files one after the other."""

    def file(self, name: str) -> AbstractContextManager[TextIO]:
        """Begin a file of this name; it is there once the block ends without a fault."""
        ...


class FolderPlace:
    """Files of a folder, which only the owner of the process may read: they are personal."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        folder.mkdir(parents=True, exist_ok=True)

    @contextmanager
    def file(self, name: str) -> Iterator[TextIO]:
        handle, made = tempfile.mkstemp(prefix=f".{name}.", dir=self._folder)
        unfinished = Path(made)
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="") as out:
                yield out
            unfinished.replace(self._folder / name)
        except BaseException:
            unfinished.unlink(missing_ok=True)
            raise


class ArchivePlace:
    """Files of one ZIP; `close` finishes it."""

    def __init__(self, out: BinaryIO, *, at: datetime) -> None:
        self._archive = zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED)
        self._at = at

    @contextmanager
    def file(self, name: str) -> Iterator[TextIO]:
        entry = zipfile.ZipInfo(name, self._at.timetuple()[:6])
        entry.compress_type = zipfile.ZIP_DEFLATED
        # A file whose length is not known beforehand may be longer than the old form can say.
        with (
            self._archive.open(entry, "w", force_zip64=True) as raw,
            io.TextIOWrapper(raw, encoding="utf-8", newline="") as out,
        ):
            yield out

    def close(self) -> None:
        self._archive.close()
