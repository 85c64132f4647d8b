"""Somebody who runs the service is let in to look: for a reason, for a time, written down."""

import datetime
import django.db.models.deletion
import django.db.models.expressions
import records.models.fields
from django.conf import settings
from django.db import migrations, models


# The framework takes other words for a matter of forms: the database's own check is ours to change.
LOOKED = """
DO $$
DECLARE
  known text := (SELECT pg_get_constraintdef(oid) FROM pg_constraint
                  WHERE conname = 'records_auditentry_action_check');
BEGIN
  ALTER TABLE records_auditentry DROP CONSTRAINT records_auditentry_action_check;
  EXECUTE 'ALTER TABLE records_auditentry ADD CONSTRAINT records_auditentry_action_check '
    || replace(known, 'ARRAY[', 'ARRAY[''operator looked''::text, ');
END $$;
"""

# As before, and whoever is admitted just now, with the reason.
LOOK_UP = """
DROP FUNCTION memberships_of(uuid);
CREATE FUNCTION memberships_of(given uuid)
RETURNS TABLE (user_name text, organization_id uuid, organization_name text, role text,
               admitted text)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
  SELECT coalesce(nullif(u.full_name, ''), u.username), o.id, o.name, let_in.role, let_in.admitted
    FROM (SELECT user_id, organization_id, role, '' AS admitted, since
            FROM records_membership WHERE user_id = given AND ended_at IS NULL
          UNION ALL
          SELECT user_id, organization_id, 'office', reason, since
            FROM records_admission
           WHERE user_id = given AND ended_at IS NULL AND until > now()) AS let_in
    JOIN records_user u ON u.id = let_in.user_id AND u.is_active
    JOIN records_organization o ON o.id = let_in.organization_id
   ORDER BY let_in.since
$$;
"""

KEPT = """
CREATE TRIGGER records_admission_is_not_deleted BEFORE DELETE ON records_admission
  FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER records_admission_is_not_emptied BEFORE TRUNCATE ON records_admission
  FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
"""


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0009_contractors_change'),
    ]

    operations = [
        migrations.AlterField(
            model_name='auditentry',
            name='action',
            field=records.models.fields.WordField(choices=[('added', 'added'), ('changed', 'changed'), ('taken out of service', 'taken out of service'), ('finding answered', 'finding answered'), ('file added', 'file added'), ('file removed', 'file removed'), ('signed', 'signed'), ('signature withdrawn', 'signature withdrawn'), ('signature void', 'signature void'), ('withdrawn', 'withdrawn'), ('sealed', 'sealed'), ('limit set', 'limit set'), ('limit removed', 'limit removed'), ('token made', 'token made'), ('token revoked', 'token revoked'), ('person invited', 'person invited'), ('person joined', 'person joined'), ('role changed', 'role changed'), ('person removed', 'person removed'), ('operator admitted', 'operator admitted'), ('operator dismissed', 'operator dismissed'), ('operator looked', 'operator looked'), ('contractor appointed', 'contractor appointed'), ('appointment ended', 'appointment ended')]),
        ),
        migrations.CreateModel(
            name='Admission',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reason', models.TextField()),
                ('admitted_by', models.TextField()),
                ('since', models.DateTimeField()),
                ('until', models.DateTimeField()),
                ('ended_at', models.DateTimeField(null=True)),
                ('organization', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='records.organization')),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('reason__regex', '^\\s*$'), _negated=True), models.Q(('admitted_by__regex', '^\\s*$'), _negated=True)), name='admission_says_by_whom_and_why'), models.CheckConstraint(condition=models.Q(('until__gt', models.F('since')), ('until__lte', django.db.models.expressions.CombinedExpression(models.F('since'), '+', models.Value(datetime.timedelta(days=3))))), name='admission_is_for_three_days_at_most'), models.UniqueConstraint(condition=models.Q(('ended_at', None)), fields=('user',), name='one_admission_a_person')],
            },
        ),
        migrations.RunSQL([LOOKED, LOOK_UP, KEPT], migrations.RunSQL.noop),
    ]
