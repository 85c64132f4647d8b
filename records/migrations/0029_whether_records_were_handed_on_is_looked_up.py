"""Whether a contractor was handed any records is found in their index.

Asked within the wall it was not: an array's operator may not look at rows before a policy has let
them through, so that every record of the contractor was read before each list of them. To read them all
looks cheap besides, where the first that is found would do: most often there is none.
"""

from django.db import migrations

WAS_HANDED = """
CREATE FUNCTION was_handed_records() RETURNS boolean
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public SET enable_seqscan = off
AS $$
  SELECT EXISTS (SELECT FROM records_record WHERE handed_to @> ARRAY[app_org()]);
$$;
"""
AWAY = "DROP FUNCTION was_handed_records();"


class Migration(migrations.Migration):
    dependencies = [("records", "0028_a_use_that_is_noted_is_not_noted_again")]

    operations = [migrations.RunSQL(WAS_HANDED, AWAY)]
