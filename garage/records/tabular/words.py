"""The words of other people's tables, kept as data beside this module, in one spelling."""

import re
import tomllib
import unicodedata
from functools import cache
from pathlib import Path
from typing import Any

_HERE = Path(__file__).parent
_HUMPS = re.compile(r"(?<=[a-z])(?=[A-Z])")
_NOT_WORD = re.compile(r"[\W_]+")


def plain(text: str) -> str:
    """Small letters without accents, runs of anything else as one blank: what is compared."""
    humped = _HUMPS.sub(" ", text)
    bare = "".join(
        sign for sign in unicodedata.normalize("NFKD", humped) if not unicodedata.combining(sign)
    )
    return _NOT_WORD.sub(" ", bare.casefold()).strip()


@cache
def word_file(name: str) -> dict[str, Any]:
    """A file of words as it was written."""
    with (_HERE / name).open("rb") as file:
        return tomllib.load(file)


@cache
def header_synonyms() -> dict[str, frozenset[str]]:
    """What each of our columns is called elsewhere, in plain spelling, its own name among them."""
    return {
        column: frozenset({plain(column), *map(plain, names)})
        for column, names in word_file("header_words.toml")["columns"].items()
    }


@cache
def words_not_ours() -> frozenset[str]:
    return frozenset(map(plain, word_file("header_words.toml")["not_ours"]["names"]))


@cache
def words_of_totals() -> frozenset[str]:
    return frozenset(map(plain, word_file("header_words.toml")["totals"]["names"]))


@cache
def words_of_headers() -> frozenset[str]:
    """Every name a column may bear, ours or not."""
    return frozenset().union(*header_synonyms().values(), words_not_ours())
