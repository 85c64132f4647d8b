"""Many stations at once: one that was registered over the API, with its history, copied in SQL."""

import psycopg

STEP = 1_000_000
TABLES = (
    "site", "sitesummary", "appointment", "pump", "motor", "drive", "sensor", "vessel", "pumpset",
    "piecestanding", "record", "performedtask",
)  # fmt: skip
ROWS = (
    "row", "site_id", "pump_id", "motor_id", "drive_id", "regulating_sensor_id",
    "record_id", "event_id", "pump_set_id", "suction_sensor_id", "flow_meter_id",
    "level_sensor_id", "discharge_switch_id",
)  # fmt: skip
IDS = ("id", "piece", "pump", "motor", "drive")


def copy(admin: psycopg.Connection, site: str, numbers: range) -> None:
    """A station for each number, like one; guards and triggers stay silent."""
    [(row,)] = admin.execute("SELECT row FROM records_site WHERE id = %s", [site])
    with admin.transaction():
        admin.execute("SET LOCAL session_replication_role = replica")
        for name in TABLES:
            _copy(admin, f"records_{name}", row, numbers)
    admin.execute("ANALYZE")


def _copy(admin: psycopg.Connection, table: str, site: int, numbers: range) -> None:
    columns = admin.execute(
        "SELECT column_name, data_type FROM information_schema.columns"
        " WHERE table_name = %s AND is_generated = 'NEVER'", [table],
    ).fetchall()  # fmt: skip
    told = [(f'"{name}"', _value(table, name, kind)) for name, kind in columns]
    names, values = (", ".join(each) for each in zip(*told, strict=True))
    of = "row" if table == "records_site" else "site_id"
    admin.execute(
        f"INSERT INTO {table} ({names}) OVERRIDING SYSTEM VALUE SELECT {values}"
        f" FROM {table} t CROSS JOIN generate_series({numbers.start}, {numbers.stop - 1}) AS k"
        f" WHERE t.{of} = {site}"
    )


def _value(table: str, name: str, kind: str) -> str:
    if name in (*ROWS, "id") and kind == "bigint":
        return f't."{name}" + k::bigint * {STEP}'
    if name in IDS and kind == "uuid":
        return f"md5(t.{name}::text || k)::uuid"
    if (table, name) in (("records_site", "code"), ("records_piecestanding", "tag")):
        return f"CASE WHEN {_is_site(table)} THEN t.{name} || '-' || k ELSE t.{name} END"
    if (table, name) == ("records_site", "latitude"):
        return "30 + (k * 7919 % 1000) / 100.0"
    if (table, name) == ("records_site", "longitude"):
        return "-100 + (k * 104729 % 2000) / 100.0"
    return f't."{name}"'


def _is_site(table: str) -> str:
    return "true" if table == "records_site" else "t.kind = 'site'"
