"""Which record a reference means that was merged into another."""

from collections.abc import Iterable

from garage.records.choices import MergedThing
from garage.records.models import Merge, Organisation

_THINGS = (MergedThing.VEHICLE, MergedThing.JOB)


def merged_into(*, organisation: Organisation, thing: str, refs: Iterable[str]) -> dict[str, int]:
    """The key of the record that each of these references means now; others have no entry.

    A merge that was undone does not count, and one merged on is followed to its end.
    """
    if thing not in _THINGS:
        raise ValueError(f"a merged thing is one of {', '.join(_THINGS)}; got {thing}")
    wanted = set(refs)
    in_force = Merge.objects.filter(
        organisation=organisation, thing=thing, undone_at__isnull=True
    ).order_by("pk")
    # Most organisations have merged nothing, and to ask for many references takes long.
    if not wanted or not in_force.exists():
        return {}
    found = dict(in_force.filter(gone_ref__in=wanted).values_list("gone_ref", "kept_id"))
    level = dict(found)
    while level:
        onward = dict(
            in_force.filter(gone_id__in=set(level.values())).values_list("gone_id", "kept_id")
        )
        level = {ref: onward[pk] for ref, pk in level.items() if pk in onward}
        found |= level
    return found
