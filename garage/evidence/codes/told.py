"""All that is known here of one trouble code, in words."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from garage.evidence.codes.failure_types import SOURCE, failure_type_words
from garage.evidence.codes.form import TroubleCode
from garage.evidence.codes.heavy import HeavyCode
from garage.evidence.codes.meanings import Meaning, groups, meaning_of

_NO_OWN: Mapping[str, Meaning] = MappingProxyType({})
_HEAVY_DEFINER = "an SPN and an FMI of SAE J1939"
_HEAVY_SOURCE = "from memory of SAE J1939-73; check against the licensed list"


@dataclass(frozen=True, slots=True)
class CodeTold:
    """A code in words.

    Attributes
    ----------
    printed, code : str
        With its failure type, and without: ``P2463-92`` and ``P2463``.
    words, source : str
        What it says and who says so; empty where nothing is known of it here.
    group, group_title : str
        Empty likewise.
    failure_words, failure_source : str
        What failure type or FMI says; empty where there is none, or nothing is known of it.
    definer : str
        Who says what such a code means.
    """

    printed: str
    code: str
    words: str
    source: str
    group: str
    group_title: str
    failure_words: str
    failure_source: str
    definer: str

    @property
    def is_known(self) -> bool:
        """Whether anything is known of it here; False says nothing of the vehicle."""
        return bool(self.words)


def code_told(code: TroubleCode | HeavyCode, own: Mapping[str, Meaning] = _NO_OWN) -> CodeTold:
    """What is known of this code?

    Parameters
    ----------
    code : TroubleCode or HeavyCode
    own : mapping of code to Meaning
        An organisation's own words, which take the place of those shipped.

    Examples
    --------
    >>> told = code_told(TroubleCode("P2463", 0x92))
    >>> told.printed, told.words, told.failure_words
    ('P2463-92', 'filter restricted, soot', 'performance or wrong operation')
    >>> code_told(TroubleCode("P1999")).is_known
    False
    """
    if isinstance(code, HeavyCode):
        bare, definer, source = code.printed, _HEAVY_DEFINER, _HEAVY_SOURCE
        failure = code.fmi_words
    else:
        bare, definer, source = code.code, code.definer.words, SOURCE
        failed = code.failure_type
        failure = "" if failed is None else failure_type_words(failed) or ""
    meaning = meaning_of(bare, own)
    return CodeTold(
        printed=code.printed,
        code=bare,
        words="" if meaning is None else meaning.words,
        source="" if meaning is None else meaning.source,
        group="" if meaning is None else meaning.group,
        group_title="" if meaning is None else groups().get(meaning.group, meaning.group),
        failure_words=failure,
        failure_source=source if failure else "",
        definer=definer,
    )
