"""Ask the database for what hangs on many vehicles at once."""

from collections.abc import Collection

from django.db.models import Q

#: Vehicles asked for, of those between the first and the last, from which a range is asked for:
#: a list of keys is prepared anew for each question, which takes longer than a few rows too many.
#: Judgement.
DENSE = 0.8


def among(way: str, vehicle_ids: Collection[int]) -> Q:
    """Those of these vehicles by their keys, `way` being the way to a vehicle's; where their keys
    lie close together, perhaps of a few others between them, too: pass over what is not asked."""
    if not vehicle_ids:
        return Q(pk__in=[])
    first, last = min(vehicle_ids), max(vehicle_ids)
    if len(vehicle_ids) >= DENSE * (last - first + 1):
        return Q(**{f"{way}__gte": first, f"{way}__lte": last})
    return Q(**{f"{way}__in": vehicle_ids})
