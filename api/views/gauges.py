"""Questions about gauges that keep nothing: a display's unit, and whether a sensor reads true."""

from rest_framework.request import Request
from rest_framework.response import Response

from api.gauge_parameters import SensorQuestionBody, UnitQuestionBody
from api.gauge_questions import sensor_asked, unit_asked
from api.parameters import body_read
from api.schema import answers, described
from api.serializers.gauges import SensorAnswer, UnitAnswer
from api.views.base import ASK_PROBLEMS, RecordsView


class UnitInferenceView(RecordsView):
    """Which unit a display shows."""

    @described(
        "unit_infer",
        "Which unit does a display show?",
        description="By known pressures with what the display showed for them: the slope tells "
        "the unit, an offset tells none. Without any, by what bare numbers exclude. Keeps nothing.",
        request=UnitQuestionBody,
        responses=answers(UnitAnswer, *ASK_PROBLEMS),
    )
    def post(self, request: Request) -> Response:
        return Response(UnitAnswer(unit_asked(body_read(UnitQuestionBody, request))).data)


class SensorCheckView(RecordsView):
    """Whether a sensor reads true."""

    @described(
        "sensor_check",
        "Does a sensor read true?",
        description="By known pressures with what it indicated: zero, slope, straightness and "
        "hysteresis with 95 % limits against their tolerances, and whether its zero lets readings "
        "be graded. Keeps nothing.",
        request=SensorQuestionBody,
        responses=answers(SensorAnswer, *ASK_PROBLEMS),
    )
    def post(self, request: Request) -> Response:
        return Response(SensorAnswer(sensor_asked(body_read(SensorQuestionBody, request))).data)
