"""What silent keepers answered, as of a day: the call lists of the organisations in view."""

from collections import defaultdict
from collections.abc import Collection
from datetime import date, timedelta

from garage.outcomes.facts import CallFact, CallListFact
from garage.records.choices import CallOutcome, CallState
from garage.records.models import Call, CallList

_ENDED = (CallOutcome.SOLD, CallOutcome.SCRAPPED)


def call_lists_read(organisation_ids: Collection[int], as_of: date) -> tuple[CallListFact, ...]:
    """Lists drawn up to that day, the newest first, with the answers given up to it."""
    answers: dict[int, list[CallFact]] = defaultdict(list)
    rows = Call.objects.filter(
        call_list__organisation_id__in=organisation_ids,
        call_list__drawn_on__lte=as_of,
        state=CallState.ANSWERED,
        called_on__lte=as_of,
    ).order_by("call_list_id", "order")
    for call in rows:
        answers[call.call_list_id].append(_fact(call))
    return tuple(
        CallListFact(
            row.organisation_id,
            row.part_kind_id,
            row.drawn_on,
            row.drawn_on - timedelta(days=row.silent_since_days),
            row.population,
            tuple(answers[row.pk]),
        )
        for row in CallList.objects.filter(pk__in=answers).order_by("-drawn_on", "-pk")
    )


def _fact(call: Call) -> CallFact:
    """Who sold or scrapped a vehicle does not come again with it, whatever he means."""
    comes_again = call.outcome == CallOutcome.STILL_CUSTOMER
    if call.will_return is not None and call.outcome not in _ENDED:
        comes_again = call.will_return
    assert call.called_on is not None, "the database holds no answered call without its day"
    return CallFact(
        call.vehicle_id,
        call.called_on,
        call.part_replaced_elsewhere,
        comes_again,
    )
