"""What the database's catalogue says of the second wall, held against its one declaration."""

from collections.abc import Iterator
from typing import Any

from records import wall

Rows = list[tuple[Any, ...]]

TABLES = "SELECT tablename FROM pg_tables WHERE schemaname = 'public'"
POLICIES = (
    "SELECT tablename, policyname, array_to_string(roles, ','), cmd, permissive, qual, with_check"
    " FROM pg_policies WHERE schemaname = 'public'"
)
ENABLED = (
    "SELECT relname FROM pg_class WHERE relnamespace = 'public'::regnamespace"
    " AND relkind = 'r' AND relrowsecurity"
)
# Of tables, views and sequences; an owner's own rights are no grants.
GRANTS = """
SELECT relname, CASE grantee WHEN 0 THEN 'PUBLIC' ELSE grantee::regrole::text END,
       privilege_type, NULL
  FROM pg_class, aclexplode(relacl)
 WHERE relnamespace = 'public'::regnamespace AND grantee <> relowner
UNION ALL
SELECT relname, CASE grantee WHEN 0 THEN 'PUBLIC' ELSE grantee::regrole::text END,
       privilege_type, attname
  FROM pg_attribute JOIN pg_class ON pg_class.oid = attrelid, aclexplode(attacl)
 WHERE relnamespace = 'public'::regnamespace AND grantee <> relowner
"""
# Triggers are called by nobody: all other functions are declared.
FUNCTIONS = """
SELECT oid::regprocedure::text, coalesce(
         (SELECT array_agg(CASE grantee WHEN 0 THEN 'PUBLIC' ELSE grantee::regrole::text END)
            FROM aclexplode(coalesce(proacl, acldefault('f', proowner)))
           WHERE grantee <> proowner), '{}')
  FROM pg_proc WHERE pronamespace = 'public'::regnamespace AND prorettype <> 'trigger'::regtype
"""
# Whoever calls one that acts for its owner must not choose where it looks.
OPEN_PATHS = """
SELECT proname FROM pg_proc WHERE pronamespace = 'public'::regnamespace AND prosecdef
   AND NOT coalesce(proconfig, '{}') @> ARRAY['search_path=pg_catalog, public']
"""
VIEWS = (
    "SELECT relname FROM pg_class WHERE relnamespace = 'public'::regnamespace"
    " AND relkind IN ('v', 'm', 'f')"
)


def declared_grants() -> Iterator[tuple[str, str, str, str | None]]:
    """Every privilege that the declaration gives, column by column where it says so."""
    for table, guard in wall.GUARDS.items():
        for role, grants in guard.grants.items():
            depth_of_columns = grants.replace("(", "|").replace(")", "|").split("|")
            words = iter(depth_of_columns)
            for plain in words:
                columns = next(words, "")
                privileges = [p.strip() for p in plain.split(",") if p.strip()]
                on_columns = [privileges.pop()] if columns else []
                yield from ((table, role, p, None) for p in privileges)
                for column in columns.split(","):
                    yield from ((table, role, p, column.strip()) for p in on_columns)


def differences(connection: Any) -> list[str]:
    """In what the database differs from the declaration; `connection` is the tables' owner's."""

    def rows(statement: str) -> Rows:
        return connection.execute(statement).fetchall()

    guards = wall.GUARDS
    guarded = {table for table, guard in guards.items() if guard.policies}
    policies = {
        (table, wall.policy_name(table, role), role, "ALL", "PERMISSIVE")
        for table, guard in guards.items()
        for role in guard.policies
    }
    compared = {
        "tables": (set(rows(TABLES)), {(table,) for table in guards}),
        "views": (set(rows(VIEWS)), set()),
        "row security": (set(rows(ENABLED)), {(table,) for table in guarded}),
        "policies": ({tuple(head) for *head, _, _ in rows(POLICIES)}, policies),
        "grants": (set(rows(GRANTS)), set(declared_grants())),
        "functions": (
            {(name.replace(", ", ","), *sorted(who)) for name, who in rows(FUNCTIONS)},
            {(name.replace(", ", ","), *sorted(who)) for name, who in wall.FUNCTIONS.items()},
        ),
        "open search paths": (set(rows(OPEN_PATHS)), set()),
    }
    found = [f"{what}: {a ^ b}" for what, (a, b) in compared.items() if a != b]
    return found or _not_as_built_anew(connection)


def _not_as_built_anew(connection: Any) -> list[str]:
    """Policies whose words are others than those that the declaration would make."""
    with connection.transaction(force_rollback=True):
        before = set(connection.execute(POLICIES).fetchall())
        build(connection)
        after = set(connection.execute(POLICIES).fetchall())
    return [f"policy: {each}" for each in before ^ after]


def open_up(connection: Any) -> None:
    """Let every role see every row: the wall as if it were not there."""
    for table, guard in wall.GUARDS.items():
        for role in guard.policies:
            name = wall.policy_name(table, role)
            connection.execute(f"ALTER POLICY {name} ON {table} USING (true) WITH CHECK (true)")


def build(connection: Any) -> None:
    """The wall as it is declared."""
    listed = [each for table, guard in wall.GUARDS.items() for each in wall.of_table(table, guard)]
    for statement in (*listed, *wall.of_functions()):
        connection.execute(statement)
