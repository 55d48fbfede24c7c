"""Match engine families by name or alias, and record those not yet known for review."""

from garage.records.models import EngineFamily, EngineFamilyAlias


def family_key(name: str) -> str:
    """What two spellings of one family share: capitals and blanks do not matter."""
    return "".join(name.casefold().split())


class FamilyBook:
    """The installation's engine families, read once for an import of vehicles."""

    def __init__(self) -> None:
        self.created: list[str] = []
        self._by_key: dict[str, int] = {}
        self._names: dict[int, str] = {}
        self._read()

    def find(self, name: str) -> int | None:
        return self._by_key.get(family_key(name))

    def name_of(self, family_id: int) -> str:
        return self._names[family_id]

    def find_or_create(self, name: str) -> int:
        found = self.find(name)
        if found is not None:
            return found
        name = " ".join(name.split())
        # Another organisation's import may create the same family at this moment.
        EngineFamily.objects.bulk_create([EngineFamily(name=name)], ignore_conflicts=True)
        self.created.append(name)
        self._read()
        return self._by_key[family_key(name)]

    def _read(self) -> None:
        for family_id, alias in EngineFamilyAlias.objects.values_list("family_id", "name"):
            self._by_key[family_key(alias)] = family_id
        # Read last: a family's own name goes before another's alias.
        for family_id, name in EngineFamily.objects.values_list("pk", "name"):
            self._by_key[family_key(name)] = family_id
            self._names[family_id] = name
