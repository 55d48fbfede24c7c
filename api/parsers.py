"""The body of a request as JSON: each name once, no deeper than anything asked for here."""

import json
from collections import Counter
from collections.abc import Iterable, Mapping
from typing import IO, Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser

from api.problems import INVALID_REQUEST, Fault, Refused

#: No body here goes deeper than a list of parts of a part. Judgement, no source.
NESTING_MOST = 20


class PlainJSONParser(JSONParser):
    """JSON in UTF-8. A name given twice is refused, for one of its values would be lost in silence;
    so is what is nested too deep to be looked through, and figures that are no numbers."""

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        twice: list[str] = []

        def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
            times = Counter(name for name, _ in pairs)
            twice.extend(name for name, count in times.items() if count > 1)
            return dict(pairs)

        try:
            said = json.loads(
                stream.read().decode(), object_pairs_hook=once, parse_constant=_no_number
            )
        except (ValueError, RecursionError) as error:
            raise ParseError(str(error)) from error
        if _is_deep(said):
            raise ParseError(f"nested more than {NESTING_MOST} deep")
        if twice:
            raise Refused(INVALID_REQUEST, errors=[_given_twice(name) for name in twice])
        return said


def writable(name: str) -> str:
    """A name as an answer can hold it: half a pair of a character cannot be written out."""
    return name.encode(errors="backslashreplace").decode()


def _given_twice(name: str) -> Fault:
    known = writable(name)
    return Fault("given_twice", "body", known, f"{known} may be given once; send it once.")


def _no_number(written: str) -> Any:
    raise ValueError(f"{written} is no number")


def _is_deep(said: Any) -> bool:
    level = [said]
    for _ in range(NESTING_MOST):
        level = [inner for outer in level for inner in _parts(outer)]
        if not level:
            return False
    return True


def _parts(said: Any) -> Iterable[Any]:
    if isinstance(said, dict):
        return said.values()
    return said if isinstance(said, list) else ()
