"""What stops a whole table or a whole mapping, in words."""


class TableUnreadable(Exception):
    """The file cannot be read as a table; the message says why and what to do."""


class MappingInvalid(Exception):
    """A stored mapping cannot be used; `faults` names everything that is wrong with it."""

    def __init__(self, *faults: str) -> None:
        self.faults = faults
        super().__init__("\n".join(faults))
