"""The vocabulary: whole as shipped, refused where it does not hold together."""

import pytest

from garage.evidence.findings.vocabulary import LISTS, vocabulary, vocabulary_from

WHOLE = """
[sensing]
a = "one"
b = "two"
[filter]
a = "one"
b = "two"
[upstream]
a = "one"
b = "two"
[findings.zero]
title = "zero"
check = "read"
minutes = 2
states = { good = "good", bad = "bad" }
"""


def test_vocabulary_shipped_names_three_lists_and_their_states() -> None:
    """Fails if a list is lost or a state renamed, which would orphan recorded findings."""
    words = vocabulary()
    assert [len(words.states(of)) for of in LISTS] == [9, 5, 14]
    assert words.state_words("filter", "ash_limited") == "full of ash"


def test_vocabulary_whole_is_read() -> None:
    """Fails if the set-up that the refusals below vary is itself refused."""
    assert vocabulary_from(WHOLE).finding("zero").words("bad") == "bad"


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        ("minutes = 2", "minutes = 0", "above 0"),
        ('check = "read"', 'check = "read"\nneeds = "luck"', "procedure"),
        ('states = { good = "good", bad = "bad" }', 'states = { good = "good" }', "two or more"),
        ('bad = "bad"', 'bad = "good"', "differ"),
        ('title = "zero"\n', "", "holds"),
        ('[sensing]\na = "one"\nb = "two"', "", "holds"),
    ],
)
def test_vocabulary_with_one_fault_is_refused(was: str, now: str, said: str) -> None:
    """Fails if the loader lets one inconsistency pass."""
    with pytest.raises(ValueError, match=said):
        vocabulary_from(WHOLE.replace(was, now, 1))


def test_vocabulary_one_check_with_two_times_is_refused() -> None:
    """Fails if findings of one check could take different times, which skews bits per minute."""
    other = WHOLE.split("[findings.zero]")[1].replace("minutes = 2", "minutes = 3")
    with pytest.raises(ValueError, match="one time"):
        vocabulary_from(f"{WHOLE}[findings.other]{other}")


@pytest.mark.parametrize("observed", [{"nothing": "x"}, {"zero": "x"}])
def test_observed_with_a_name_not_known_is_refused(observed: dict[str, str]) -> None:
    """Fails if a misspelt finding or state is silently dropped."""
    with pytest.raises(ValueError, match="got"):
        vocabulary().checked(observed)
