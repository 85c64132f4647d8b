"""How pump sets and transmitters moved since their first records, over the API."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from records.api import trend_answers as told
from records.api.base import BookView
from records.api.schema import READ
from records.documents.trending import documents
from records.ids import identity
from records.selectors import trends


class PumpSetTrends(BookView):
    """A pump set over the years."""

    @extend_schema(
        operation_id="read_pump_set_trends", tags=["records"],
        responses={200: told.PumpSetTrendsAnswer, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """Head, efficiency and insulation since the first record, and what of it is noise."""
        _, found = trends.of_pump_set(self.actor, identity(id))
        return Response(documents.of_pump_set(found))


class SensorTrends(BookView):
    """A transmitter over the years."""

    @extend_schema(
        operation_id="read_sensor_trends", tags=["records"],
        responses={200: told.SensorTrendsAnswer, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """Errors and drift since the first record, and what of it is noise."""
        _, found = trends.of_sensor(self.actor, identity(id))
        return Response(documents.of_sensor(found))
