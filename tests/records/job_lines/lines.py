"""Lines as an import leaves them open."""

from garage.records.job_lines.classify import lines_classify
from garage.records.job_lines.folding import phrase_fold
from garage.records.job_lines.results import UnreadLine


def unread(text: str, seen: int = 1) -> UnreadLine:
    return UnreadLine(phrase_fold(text), text, seen, lines_classify(text, {}))
