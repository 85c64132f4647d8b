"""Makes its tables and somebody who may post, whose token it prints.

DJANGO_SETTINGS_MODULE=tests.benchmarks.generic.settings python -m tests.benchmarks.generic.prepare
"""

import django
from django.core.management import call_command


def main() -> None:
    """Without migrations: the tables are made as the models say."""
    django.setup()
    from django.contrib.auth.models import User
    from rest_framework.authtoken.models import Token

    call_command("migrate", run_syncdb=True, verbosity=0)
    print(Token.objects.create(user=User.objects.create_user("benchmark")).key)


if __name__ == "__main__":
    main()
