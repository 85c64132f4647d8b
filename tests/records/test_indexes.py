"""Every index is written with every row: none is there for nothing."""

# A whole index whose columns are the first ones of another whole one, in the same order and of the
# same kind; a unique one is a rule and not for reading alone. Tables of libraries are theirs.
REPEATING = """
SELECT less.indexrelid::regclass::text, more.indexrelid::regclass::text
  FROM pg_index less
  JOIN pg_index more ON more.indrelid = less.indrelid AND more.indexrelid <> less.indexrelid
  JOIN pg_class AS written ON written.oid = less.indexrelid
  JOIN pg_class AS read ON read.oid = more.indexrelid AND read.relam = written.relam
  JOIN pg_am AS method ON method.oid = read.relam AND method.amname = 'btree'
 WHERE starts_with(less.indrelid::regclass::text, 'records_')
   AND NOT less.indisunique
   AND less.indpred IS NULL AND less.indexprs IS NULL
   AND more.indpred IS NULL AND more.indexprs IS NULL
   AND starts_with(more.indkey::text || ' ', less.indkey::text || ' ')
   AND starts_with(more.indclass::text || ' ', less.indclass::text || ' ')
   AND starts_with(more.indoption::text || ' ', less.indoption::text || ' ')
"""
# Of a person's groups and permissions, which the framework's own model brings.
OF_THE_FRAMEWORK = ("records_user_groups_", "records_user_user_permissions_")


def test_no_index_repeats_the_beginning_of_another(as_owner):
    found = as_owner.execute(REPEATING).fetchall()
    assert [each for each in found if not each[0].startswith(OF_THE_FRAMEWORK)] == []


def test_what_repeats_the_beginning_of_another_is_found(as_owner):
    as_owner.execute("CREATE INDEX repeating ON records_event (contractor_id)")
    try:
        found = as_owner.execute(REPEATING).fetchall()
    finally:
        as_owner.execute("DROP INDEX repeating")
    assert ("repeating", "event_newest_first") in found
