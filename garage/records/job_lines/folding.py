"""Fold a line to the words that matter, so that equal jobs read alike."""

import re
import unicodedata
from functools import cache

from garage.records.job_lines.lexicon import lexicon

#: The longest phrase that is kept as the key of an answer.
LONGEST = 300
_MONEY = re.compile(
    r"[£$€]\s*\d[\d.,]*|\b\d[\d,]*\.\d+\b|\b\d[\d,.]*\s*(?:gbp|usd|eur|aud|pounds|dollars|euros)\b"
)
_MEASURE = re.compile(
    r"\b\d+(?:[.,]\d+)?\s*"
    r"(?:%|(?:hrs?|hours?|mins?|minutes?|kms?|miles|mi|mm|mbar|bar|psi|g|l|ltrs?|litres?|volts?|v|nm)\b)"
    r"|\b\d+w\d+\b|\b\d{1,4}[/.-]\d{1,2}[/.-]\d{2,4}\b"
)
_QUANTITY = re.compile(r"\b(?:x\s*(\d+)|(\d+)\s*x)\b")
_NUMBERED = re.compile(r"\b(no|nr|cyl|cylinder|num|injector|inj|egt|bank)\.?(\d)\b")
_DASH = re.compile(r"\s+[-–—]+\s+|[;|\n\r]+")
_STOP = re.compile(r"\.(?=\s|$)|[!?]+")
_SIGNS = {",": " , ", ":": " : ", "&": " & ", "+": " & ", "/": " & ", "=": " : ", "'": ""}
_OTHER = re.compile(r"[^a-z0-9,;:.&]+")
_ENDS = " ,;:.&"


def phrase_fold(text: str) -> str:
    """Small letters without accents; short forms opened; money, hours and measures dropped."""
    bare = unicodedata.normalize("NFKD", text).replace("’", "'").casefold()
    plain = "".join(sign for sign in bare if not unicodedata.combining(sign))
    plain = _spellings().sub(lambda found: f" {lexicon().spellings[found[0]]} ", plain)
    plain = _MEASURE.sub(" ", plain)
    plain = _MONEY.sub(" ", plain)
    plain = _QUANTITY.sub(lambda found: f" x {found[1] or found[2]} ", plain)
    plain = _NUMBERED.sub(r"\1 \2", plain)
    plain = _STOP.sub(" . ", _DASH.sub(" ; ", plain))
    plain = "".join(_SIGNS.get(sign, sign) for sign in plain)
    plain = re.sub(r"\.(?!\s|$)", " ", plain)
    return " ".join(_OTHER.sub(" ", plain).split())[:LONGEST].strip(_ENDS)


@cache
def _spellings() -> re.Pattern[str]:
    """The short forms, the longest first, bounded where they begin or end with a letter."""
    forms = sorted(lexicon().spellings, key=len, reverse=True)
    return re.compile(
        "|".join(
            ("" if form == "n't" or not form[0].isalnum() else r"(?<![a-z0-9])")
            + re.escape(form)
            + (r"(?![a-z0-9])" if form[-1].isalnum() else "")
            for form in forms
        )
    )
