"""Its one address."""

from django.urls import path
from rest_framework.generics import CreateAPIView

from tests.benchmarks.generic.models import Visit
from tests.benchmarks.generic.serializers import VisitSerializer


class Visits(CreateAPIView):
    """Takes a visit."""

    queryset = Visit.objects.all()
    serializer_class = VisitSerializer


urlpatterns = [path("visits", Visits.as_view())]
