"""Roles, database and queue, made once by an administrator of the server; again harmless.

    ADMIN_DATABASE_URL=postgresql://postgres@host/postgres python -m deploy.roles

Passwords come from OWNER_PASSWORD, LOGIN_PASSWORD, QUEUE_PASSWORD and BACKUP_PASSWORD (or files
named by OWNER_PASSWORD_FILE and so on); without one a role's password stays as it is. The
administrator is a superuser, or has CREATEROLE and CREATEDB: then no role for backups can be made,
and a backup needs an administrator. Migrations make no roles: they grant to these.
"""

import sys
from collections.abc import Mapping

import psycopg
from psycopg import Connection
from psycopg.conninfo import make_conninfo
from psycopg.sql import SQL, Identifier, Literal

from deploy.environment import secret
from deploy.queue_schema import install_queue
from records import roles

DATABASE = "stationbook"

# Every attribute is said, so that a role made by hand beforehand is put right.
WORDS = {
    "rolcanlogin": ("NOLOGIN", "LOGIN"),
    "rolinherit": ("NOINHERIT", "INHERIT"),
    "rolsuper": ("NOSUPERUSER", "SUPERUSER"),
    "rolcreatedb": ("NOCREATEDB", "CREATEDB"),
    "rolcreaterole": ("NOCREATEROLE", "CREATEROLE"),
    "rolbypassrls": ("NOBYPASSRLS", "BYPASSRLS"),
}
PASSWORDS = {
    roles.OWNER: "OWNER_PASSWORD",
    roles.LOGIN: "LOGIN_PASSWORD",
    roles.QUEUE: "QUEUE_PASSWORD",
    roles.BACKUP: "BACKUP_PASSWORD",
}


def prepare_server(
    admin_dsn: str, *, database: str = DATABASE, passwords: Mapping[str, str] | None = None
) -> None:
    """Make everything that migrations, web and worker expect to find."""
    with psycopg.connect(admin_dsn, autocommit=True) as admin:
        make_roles(admin, passwords or {})
        make_database(admin, database)
    with psycopg.connect(make_conninfo(admin_dsn, dbname=database), autocommit=True) as admin:
        grant_schema(admin)
        install_queue(admin, database)


def make_roles(admin: Connection, passwords: Mapping[str, str]) -> None:
    """Make or mend the roles; one caller at a time, since concurrent changes of roles fail."""
    for role in roles.ALL:
        _make_role(admin, role)
    if _is_superuser(admin):
        _make_backup_role(admin)
    for role, password in passwords.items():
        if role != roles.BACKUP or _is_superuser(admin):
            _set_password(admin, role, password)
    for role in roles.ASSUMED:
        _let_become(admin, roles.LOGIN, role, inherit=False)
    if not _is_superuser(admin):
        for role in (roles.OWNER, roles.QUEUE):
            _let_become(admin, admin.info.user, role, inherit=True)


def _wanted(role: str) -> dict[str, bool]:
    said = {"rolcanlogin": role in roles.WITH_PASSWORD, "rolinherit": role != roles.LOGIN}
    return {**dict.fromkeys(WORDS, False), **said}


def _make_role(admin: Connection, role: str) -> None:
    columns = SQL(", ").join(Identifier(name) for name in WORDS)
    query = SQL("SELECT {} FROM pg_roles WHERE rolname = %s").format(columns)
    found = admin.execute(query, [role]).fetchone()
    verb = "ALTER" if found else "CREATE"
    has = dict(zip(WORDS, found, strict=True)) if found else {}
    # Only what differs: altering some attributes is a superuser's privilege.
    changes = [
        WORDS[name][value] for name, value in _wanted(role).items() if has.get(name) != value
    ]
    if changes:
        statement = SQL("{} ROLE {} {}").format(SQL(verb), Identifier(role), SQL(" ".join(changes)))
        admin.execute(statement)


def _make_backup_role(admin: Connection) -> None:
    """A dump that policies hold back would be one of no rows; it writes nothing anywhere."""
    name = {"role": Identifier(roles.BACKUP)}
    verb = SQL("ALTER" if _backup_role_is_there(admin) else "CREATE")
    powers = SQL("LOGIN INHERIT REPLICATION BYPASSRLS NOSUPERUSER NOCREATEDB NOCREATEROLE")
    admin.execute(SQL("{} ROLE {role} {}").format(verb, powers, **name))
    admin.execute(SQL("GRANT pg_read_all_data TO {role}").format(**name))
    admin.execute(SQL("ALTER ROLE {role} SET default_transaction_read_only TO on").format(**name))


def _backup_role_is_there(admin: Connection) -> bool:
    query = "SELECT 1 FROM pg_roles WHERE rolname = %s"
    return admin.execute(query, [roles.BACKUP]).fetchone() is not None


def _set_password(admin: Connection, role: str, password: str) -> None:
    """Send the password hashed, so that no log of the server holds it."""
    hashed = admin.pgconn.encrypt_password(
        password.encode(), role.encode(), b"scram-sha-256"
    ).decode()
    statement = SQL("ALTER ROLE {} PASSWORD {}").format(Identifier(role), Literal(hashed))
    admin.execute(statement)


def _let_become(admin: Connection, member: str, role: str, *, inherit: bool) -> None:
    """Let a role switch to another by SET ROLE, with or without having its rights before."""
    words = SQL("GRANT {} TO {}").format(Identifier(role), Identifier(member))
    if admin.info.server_version >= 160000:  # before, the member's own INHERIT says it
        words += SQL(" WITH INHERIT {}, SET TRUE").format(SQL("TRUE" if inherit else "FALSE"))
    admin.execute(words)


def _is_superuser(admin: Connection) -> bool:
    return admin.info.parameter_status("is_superuser") == "on"


def make_database(admin: Connection, name: str, *, template: str | None = None) -> None:
    """Make the database if it is missing, and close it to everybody who is not named here."""
    exists = admin.execute("SELECT 1 FROM pg_database WHERE datname = %s", [name]).fetchone()
    names = {
        "name": Identifier(name),
        "owner": Identifier(roles.OWNER),
        "login": Identifier(roles.LOGIN),
        "queue": Identifier(roles.QUEUE),
    }
    if not exists:
        kind = SQL("TEMPLATE {}").format(Identifier(template)) if template else _plain(admin)
        statement = SQL("CREATE DATABASE {name} OWNER {owner} {kind}").format(kind=kind, **names)
        admin.execute(statement)
    with admin.transaction():
        admin.execute(SQL("SET LOCAL ROLE {owner}").format(**names))
        admin.execute(SQL("REVOKE ALL ON DATABASE {name} FROM PUBLIC").format(**names))
        admin.execute(SQL("GRANT CONNECT ON DATABASE {name} TO {login}, {queue}").format(**names))
        if _backup_role_is_there(admin):
            backup = Identifier(roles.BACKUP)
            grant = SQL("GRANT CONNECT ON DATABASE {name} TO {backup}")
            admin.execute(grant.format(backup=backup, **names))


def _plain(admin: Connection) -> SQL:
    """Answer an empty database that sorts alike on every machine."""
    if admin.info.server_version >= 170000:
        locale = "LOCALE_PROVIDER builtin BUILTIN_LOCALE 'C.UTF-8'"
    else:
        locale = "LC_COLLATE 'C'"
    return SQL("TEMPLATE template0 ENCODING 'UTF8' " + locale)


def grant_schema(admin: Connection) -> None:
    """Open the schema of the book's tables to those who use it, and to nobody else."""
    users = SQL(", ").join(Identifier(role) for role in (roles.LOGIN, *roles.ASSUMED))
    with admin.transaction():
        admin.execute(SQL("SET LOCAL ROLE {}").format(Identifier(roles.OWNER)))
        admin.execute("REVOKE ALL ON SCHEMA public FROM PUBLIC")
        admin.execute(SQL("GRANT USAGE ON SCHEMA public TO {}").format(users))


def main() -> None:
    """Prepare the server that ADMIN_DATABASE_URL names."""
    admin_dsn = secret("ADMIN_DATABASE_URL")
    if not admin_dsn:
        sys.exit("Set ADMIN_DATABASE_URL to a connection of an administrator of the server.")
    given = {role: secret(name) for role, name in PASSWORDS.items()}
    prepare_server(admin_dsn, passwords={role: word for role, word in given.items() if word})
    print(f"The database {DATABASE}, its roles and its queue are ready.")


if __name__ == "__main__":
    main()
