"""The database itself refuses to change or delete a row of the audit trail."""

from django.db import migrations

SQLITE = {
    verb: (
        f"CREATE TRIGGER audit_entry_no_{verb} BEFORE {verb.upper()} ON records_auditentry "
        "BEGIN SELECT RAISE(ABORT, 'the audit trail is append-only'); END"
    )
    for verb in ("update", "delete")
}
POSTGRES = (
    """
    CREATE FUNCTION records_audit_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        RAISE EXCEPTION 'the audit trail is append-only'
        USING ERRCODE = 'integrity_constraint_violation';
    END $$
    """,
    """
    CREATE TRIGGER audit_entry_append_only BEFORE UPDATE OR DELETE ON records_auditentry
    FOR EACH ROW EXECUTE FUNCTION records_audit_refuse()
    """,
)


def refuse(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    for statement in SQLITE.values() if vendor == "sqlite" else POSTGRES:
        schema_editor.execute(statement)


def allow(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        for verb in SQLITE:
            schema_editor.execute(f"DROP TRIGGER audit_entry_no_{verb}")
    else:
        schema_editor.execute("DROP TRIGGER audit_entry_append_only ON records_auditentry")
        schema_editor.execute("DROP FUNCTION records_audit_refuse()")


class Migration(migrations.Migration):
    dependencies = [("records", "0003_records_in_full")]

    operations = [migrations.RunPython(refuse, allow)]
