"""SQL of guards that several migrations make; `refuse_change` itself stands in 0002.

The name begins with an underscore, so that the framework takes this for no migration.
"""

_WAYS = {
    "kept": "UPDATE OR DELETE",
    "not_changed": "UPDATE",
    "not_deleted": "DELETE",
    "not_emptied": "TRUNCATE",
}


def rows_are(table, *ways):
    """Triggers that refuse to change a table's rows, delete them or empty it, whoever asks."""
    for way in ways:
        each = "STATEMENT" if way == "not_emptied" else "ROW"
        yield (
            f"CREATE TRIGGER {table}_is_{way} BEFORE {_WAYS[way]} ON {table}"
            f" FOR EACH {each} EXECUTE FUNCTION refuse_change()"
        )


def refusal(function, condition, words, answer="NEW"):
    """A trigger's function that raises `words` where a row meets a condition.

    It looks as the tables' owner: who is refused need not see what the condition asks.
    """
    return f"""
CREATE FUNCTION {function}() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, public
AS $$
BEGIN
  IF {condition} THEN
    RAISE EXCEPTION '{words}'
      USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN {answer};
END $$
"""
