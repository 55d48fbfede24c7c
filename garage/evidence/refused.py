"""What a pure function refused, as the records refuse it: the rule, what came, what to do."""

from garage.records.errors import RuleBroken


def broken_from(wrong: ValueError | str, *, got: object, column: str) -> RuleBroken:
    """The refusal of a pure function, or its words, as a rule broken by a field.

    Their words run "the rule; got this. What to do". Words without that shape are the rule.

    Examples
    --------
    >>> str(broken_from("a byte is two characters; got 'x'. Copy it", got="x", column="byte"))
    "a byte is two characters; got 'x'. Copy it."
    """
    rule, parted, rest = str(wrong).partition("; got ")
    told, _, do = rest.rpartition(". ") if parted else ("", "", "")
    _, fault, why = told.partition("': ")
    if fault and why:
        do = f"{why[:1].upper()}{why[1:]}. {do}"
    return RuleBroken(rule, got=got, do=f"{do or 'Correct it, or leave it out'}.", column=column)
