"""How long a text may be, said in one way."""

from garage.records.errors import RuleBroken


def refuse_long(column: str, text: str, most: int) -> None:
    """RuleBroken where a text that may be empty is too long for its field."""
    if len(text) > most:
        raise RuleBroken(
            f"{column} has at most {most} characters",
            got=len(text),
            do="Shorten it.",
            column=column,
        )


def text_needed(text: str, *, column: str, most: int, rule: str, do: str) -> str:
    """The text with single blanks; RuleBroken where it is empty or too long.

    `rule` is the beginning of the rule, such as "advice has", and `do` what to do where none came.
    """
    said = " ".join(text.split())
    if not 0 < len(said) <= most:
        raise RuleBroken(
            f"{rule} 1 to {most} characters", got=f"{len(said)} characters", do=do, column=column
        )
    return said
