"""What can be wrong with queued work."""


class UnknownWorkKind(LookupError):
    """A kind of work that no app has registered a handler for."""

    def __init__(self, kind: str, known: list[str]) -> None:
        super().__init__(
            f"a kind of work must have a registered handler; got {kind!r}."
            f" Known: {', '.join(known) or 'none'}. Register it with @work_handler({kind!r}) in the"
            " app's tasks module."
        )
