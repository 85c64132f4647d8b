"""Nested ModelSerializers, as the framework's own guide has them."""

from typing import Any

from rest_framework import serializers

from tests.benchmarks.generic import models

CHILDREN = {
    "settings": models.Setting,
    "measurements": models.Measurement,
    "duty_points": models.DutyPoint,
    "sensor_checks": models.SensorCheck,
    "checks": models.Check,
}


class PartSerializer(serializers.ModelSerializer):
    """Everything of a part but whose it is."""

    class Meta:
        exclude = ["visit"]


class SettingSerializer(PartSerializer):
    class Meta(PartSerializer.Meta):
        model = models.Setting


class MeasurementSerializer(PartSerializer):
    class Meta(PartSerializer.Meta):
        model = models.Measurement


class DutyPointSerializer(PartSerializer):
    class Meta(PartSerializer.Meta):
        model = models.DutyPoint


class SensorCheckSerializer(PartSerializer):
    class Meta(PartSerializer.Meta):
        model = models.SensorCheck


class CheckSerializer(PartSerializer):
    class Meta(PartSerializer.Meta):
        model = models.Check


class VisitSerializer(serializers.ModelSerializer):
    """A visit with its parts."""

    settings = SettingSerializer(many=True)
    measurements = MeasurementSerializer(many=True)
    duty_points = DutyPointSerializer(many=True)
    sensor_checks = SensorCheckSerializer(many=True)
    checks = CheckSerializer(many=True)

    class Meta:
        model = models.Visit
        fields = "__all__"

    def create(self, validated_data: dict[str, Any]) -> models.Visit:
        """The visit's row, then one statement for the rows of each part."""
        parts = {name: validated_data.pop(name) for name in CHILDREN}
        visit = models.Visit.objects.create(**validated_data)
        for name, model in CHILDREN.items():
            model._default_manager.bulk_create(model(visit=visit, **row) for row in parts[name])
        return visit
