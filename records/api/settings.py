"""How the REST framework is set up here."""

from typing import Any

REST_FRAMEWORK: dict[str, Any] = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "records.api.authentication.BearerAuthentication",
        "records.api.authentication.PersonAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_PARSER_CLASSES": [
        "records.api.json_bodies.JsonParser",
        "records.api.json_bodies.MergePatchParser",
    ],
    "DEFAULT_RENDERER_CLASSES": ["records.api.json_bodies.JsonRenderer"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_CONTENT_NEGOTIATION_CLASS": "records.api.negotiation.AlwaysJson",
    "EXCEPTION_HANDLER": "records.api.problems.handle",
    "UNAUTHENTICATED_USER": None,
}

SPECTACULAR_SETTINGS: dict[str, Any] = {
    "TITLE": "Stationbook",
    "DESCRIPTION": "Commissioning records of variable-speed pump sets: register what is installed, "
    "post what was set and measured, read what does not agree and why, sign, seal, hand over. "
    "The service computes and records; it never writes to equipment. An agreement that it "
    "computes is arithmetic and not a safety approval.",
    "VERSION": "0.1.0",
    "OAS_VERSION": "3.1.1",
    "SERVE_PERMISSIONS": ["rest_framework.permissions.AllowAny"],
    "SERVE_AUTHENTICATION": [],
    "SERVE_INCLUDE_SCHEMA": False,
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "SWAGGER_UI_SETTINGS": {"persistAuthorization": False, "docExpansion": "list"},
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "COMPONENT_SPLIT_REQUEST": False,
    "COMPONENT_SPLIT_PATCH": False,
    "POSTPROCESSING_HOOKS": ["records.api.schema.complete"],
    "ENUM_GENERATE_CHOICE_DESCRIPTION": False,
}
