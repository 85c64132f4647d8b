"""An office neither renames whom others work for as well, nor takes up who works with others."""

from django.db import migrations

GUARDS = """
-- Whoever runs the service acts without an organization, and may.
CREATE FUNCTION refuse_name_of_a_shared_client() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
BEGIN
  IF app_org() IS NOT NULL AND app_org() <> OLD.id AND EXISTS (
       SELECT FROM records_clientele
        WHERE client_id = OLD.id AND contractor_id <> app_org()) THEN
    RAISE EXCEPTION 'a client of several contractors keeps its name'
      USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER shared_client_keeps_its_name BEFORE UPDATE OF name ON records_organization
  FOR EACH ROW WHEN (NEW.name IS DISTINCT FROM OLD.name)
  EXECUTE FUNCTION refuse_name_of_a_shared_client();

-- A pair opens the other's name, and is what a site and a limit of it rest on: an office makes one
-- with an organization that it adds just then.
CREATE FUNCTION refuse_pair_with_a_stranger() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
BEGIN
  IF app_org() IS NOT NULL AND app_org() <> NEW.client_id
     AND EXISTS (SELECT FROM records_organization WHERE id = NEW.client_id)
     AND NOT EXISTS (SELECT FROM records_clientele
                      WHERE client_id = NEW.client_id AND contractor_id = NEW.contractor_id) THEN
    RAISE EXCEPTION 'the organization is another one''s client'
      USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER no_pair_with_a_stranger BEFORE INSERT ON records_clientele
  FOR EACH ROW EXECUTE FUNCTION refuse_pair_with_a_stranger();
"""
BACK = """
DROP TRIGGER shared_client_keeps_its_name ON records_organization;
DROP TRIGGER no_pair_with_a_stranger ON records_clientele;
DROP FUNCTION refuse_name_of_a_shared_client();
DROP FUNCTION refuse_pair_with_a_stranger();
"""


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0012_devices_enrol_by_a_code'),
    ]

    operations = [migrations.RunSQL(GUARDS, BACK)]
