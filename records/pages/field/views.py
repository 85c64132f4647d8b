"""The field sheet's few pages: nothing in them is secret, and what they show is on the device."""

import json

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from records.pages.field import parts, runtime
from records.pages.field.description import described

# No inline script or style and no eval; WebAssembly is compiled here and nowhere else.
POLICY = "; ".join(
    (
        "default-src 'self'",
        "object-src 'none'",
        "script-src 'self' 'wasm-unsafe-eval'",
        "worker-src 'self'",
        "connect-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "manifest-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)
_SENDS = 'import {{ sendWaiting }} from "{queue}";\nself.sendWaiting = sendWaiting;\n'
JAVASCRIPT = "text/javascript; charset=utf-8"
JSON, MANIFEST = "application/json", "application/manifest+json"
FOR_EVER = "public, max-age=31536000, immutable"


@require_safe
def sheet(request: HttpRequest) -> HttpResponse:
    """The one page of the app."""
    told = {"at": parts.static_address("")}
    return _guarded(render(request, "field/sheet.html", told))


@require_safe
def service_worker(request: HttpRequest) -> HttpResponse:
    """What answers without signal; it changes when any part of the app does.

    As a module it sends as well, for browsers that wake it when there is signal.
    """
    sends = _SENDS.format(queue=parts.static_address("queue.js")) if "module" in request.GET else ""
    text = f"{sends}const PARTS = {json.dumps(parts.all_parts(), indent=1)};\n{_script('sw.js')}"
    return _asked_again(HttpResponse(text, content_type=JAVASCRIPT))


@require_safe
def listed_parts(request: HttpRequest) -> HttpResponse:
    """The parts with their versions, as the service worker has them."""
    return _asked_again(HttpResponse(json.dumps(parts.all_parts()), content_type=JSON))


@require_safe
def judging_worker(request: HttpRequest) -> HttpResponse:
    """The worker that judges, under a policy of its own."""
    return _guarded(HttpResponse(_script("judging.js"), content_type=JAVASCRIPT))


@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    """What makes the app installable."""
    told = {
        "name": "Stationbook field sheet",
        "short_name": "Field sheet",
        "start_url": "/field/",
        "scope": "/field/",
        "id": "/field/",
        "display": "standalone",
        "background_color": "#fdfdfb",
        "theme_color": "#1b2226",
        "icons": [
            {"src": parts.static_address(name), "sizes": sizes, "type": kind, "purpose": purpose}
            for name, sizes, kind, purpose in ICONS
        ],
    }
    return _asked_again(HttpResponse(json.dumps(told), content_type=MANIFEST))


ICONS = (
    ("icon.svg", "any", "image/svg+xml", "any"),
    ("icon-192.png", "192x192", "image/png", "any"),
    ("icon-512.png", "512x512", "image/png", "maskable"),
)


@require_safe
def description(request: HttpRequest) -> HttpResponse:
    """What can be entered, as the inputs declare it."""
    return _asked_again(HttpResponse(described().text, content_type=JSON))


@require_safe
def rules(request: HttpRequest, digest: str) -> HttpResponse:
    """The rules and what they import."""
    archive = runtime.archive()
    if digest != archive.digest:
        raise Http404
    answer = HttpResponse(archive.content, content_type="application/zip")
    answer["Cache-Control"] = FOR_EVER
    return answer


def _script(name: str) -> str:
    return (parts.APP / "workers" / name).read_text()


def _guarded(answer: HttpResponse) -> HttpResponse:
    answer["Content-Security-Policy"] = POLICY
    return _asked_again(answer)


def _asked_again(answer: HttpResponse) -> HttpResponse:
    answer["Cache-Control"] = "no-cache"
    return answer
