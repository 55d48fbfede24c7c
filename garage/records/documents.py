"""Which photos and documents are kept, where they lie, and who may open one."""

from dataclasses import dataclass
from typing import BinaryIO

import puremagic
from django.core.files.storage import Storage, storages

from garage.records.errors import RuleBroken
from garage.records.models import Document
from garage.records.permissions import Scope, access

#: Photos as phones take them, and papers; nothing a browser would run. By content, never by name.
EXTENSIONS = {
    "image/jpeg": "jpg",
    "image/png": "png",
    "image/webp": "webp",
    "image/heif": "heic",
    "application/pdf": "pdf",
}
#: What a browser shows by itself without being able to run it.
SHOWN_IN_PAGE = frozenset({"image/jpeg", "image/png", "image/webp"})
#: A phone's photo has some 3 to 12 MB, a scanned report less. Judgement.
MOST_BYTES = 20_000_000
#: Enough for every signature above.
_HEAD_BYTES = 4_096


@dataclass(frozen=True)
class Upload:
    """A file as it comes in. `content` is read from its beginning."""

    title: str
    kind: str
    content: BinaryIO
    size_bytes: int


def content_type_of(upload: Upload) -> str:
    """The type that the content shows; RuleBroken where it is none of those that are kept."""
    if not 0 < upload.size_bytes <= MOST_BYTES:
        raise RuleBroken(
            f"a document has 1 to {MOST_BYTES:,} bytes".replace(",", " "),
            got=f"{upload.size_bytes:,} bytes".replace(",", " "),
            do="Send it smaller: a photo in fewer pixels, a report without its pictures.",
            column="content",
        )
    upload.content.seek(0)
    head = upload.content.read(_HEAD_BYTES)
    upload.content.seek(0)
    try:
        # Sorted by how much of the signature fits; a type further down is another's guess.
        found = puremagic.magic_string(head)[0].mime_type
    except puremagic.PureError:
        found = "of no known type"
    if found not in EXTENSIONS:
        raise RuleBroken(
            "a document is a JPEG, PNG, WebP or HEIC photo or a PDF, by its content",
            got=found or "of no known type",
            do="Save it as a PDF or a photo and send it again.",
            column="content",
        )
    return found


def document_storage() -> Storage:
    """Where documents lie: a folder of its own that no web server serves."""
    return storages["documents"]


def access_document(*, scope: Scope, document_id: int) -> Document:
    """The document, for who may open it; Http404 else."""
    return access(Document.objects.all(), scope=scope, pk=document_id)
