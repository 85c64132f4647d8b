"""An office sees its own people: of others it learns whether an address is taken."""

from django.db import migrations

KNOWN = """
CREATE FUNCTION person_of(address text) RETURNS uuid
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  SELECT id FROM records_user WHERE lower(email) = address
  UNION ALL
  SELECT id FROM records_user WHERE lower(username) = address
  LIMIT 1
$$;
"""


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0013_names_and_pairs_are_not_anybodys'),
    ]

    operations = [migrations.RunSQL(KNOWN, "DROP FUNCTION person_of(text)")]
