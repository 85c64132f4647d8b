"""The door for a WSGI server: gunicorn deploy.wsgi."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
application = get_wsgi_application()

from deploy.login_role import check_at_start  # noqa: E402  # Django has to be set up first
from deploy.production import refuse_defaults  # noqa: E402
from records.pages import rules  # noqa: E402

refuse_defaults()
check_at_start()
rules.rows("entered")  # the longest page: made here once, before workers are forked
