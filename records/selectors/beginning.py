"""Who began an event, for lists in which drafts look alike otherwise."""

from django.db.models import OuterRef, Subquery

from records.models import User

BEGUN_BY = Subquery(User.objects.filter(id=OuterRef("created_by_id")).values("full_name"))
"""The name, for `annotate`; nothing where it is a person of another organization."""
