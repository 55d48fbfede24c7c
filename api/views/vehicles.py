"""Vehicles and their histories."""

from rest_framework.request import Request
from rest_framework.response import Response

from api.history import history_of
from api.paging import page_of, paged
from api.parameters import VehicleQuery, ViewQuery, query_read
from api.schema import answers, described
from api.serializers.vehicles import HistoryAnswer, VehicleAnswer
from api.views.base import READ_PROBLEMS, RecordsView
from garage.records.selectors import access_vehicle, vehicles_find, vehicles_listed

VehiclePage = paged(VehicleAnswer, "VehiclePage")


class VehicleListView(RecordsView):
    """Finds vehicles by registration mark, VIN or reference."""

    @described(
        "vehicles_find",
        "Find vehicles",
        parameters=[VehicleQuery],
        responses=answers(VehiclePage, *READ_PROBLEMS),
    )
    def get(self, request: Request) -> Response:
        asked = query_read(VehicleQuery, request)
        scope = self.scope(request, asked.get("organisation"))
        if "find" in asked:
            rows = vehicles_find(scope=scope, text=asked["find"])
        else:
            rows = vehicles_listed(scope=scope)
        return Response(VehiclePage(page_of(rows, asked)).data)


class VehicleView(RecordsView):
    """One vehicle."""

    @described(
        "vehicle_read",
        "One vehicle",
        parameters=[ViewQuery],
        responses=answers(VehicleAnswer, *READ_PROBLEMS),
    )
    def get(self, request: Request, vehicle_id: int) -> Response:
        asked = query_read(ViewQuery, request)
        scope = self.scope(request, asked.get("organisation"))
        vehicle = access_vehicle(scope=scope, vehicle_id=vehicle_id)
        return Response(VehicleAnswer(vehicle).data)


class VehicleHistoryView(RecordsView):
    """All that is recorded of one vehicle, and what became of its parts."""

    @described(
        "vehicle_history",
        "A vehicle's history",
        description="Marks, readings with doubts, jobs with their operations, and for each part "
        "kind the lives of its parts, what they ought to last, and flags.",
        parameters=[ViewQuery],
        responses=answers(HistoryAnswer, *READ_PROBLEMS),
    )
    def get(self, request: Request, vehicle_id: int) -> Response:
        asked = query_read(ViewQuery, request)
        scope = self.scope(request, asked.get("organisation"))
        vehicle = access_vehicle(scope=scope, vehicle_id=vehicle_id)
        history = history_of(vehicle=vehicle, scope=scope, now=self.now())
        return Response(HistoryAnswer(history).data)
