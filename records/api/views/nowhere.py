"""Paths of the API that do not exist: a problem document like every other error."""

from typing import Any, NoReturn

from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.views import APIView

from records.errors import NotFound


class Nowhere(APIView):
    """Every other path."""

    authentication_classes: Any = []
    permission_classes = [AllowAny]
    schema = None

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> NoReturn:
        """Nothing here, whatever the method."""
        raise NotFound()
