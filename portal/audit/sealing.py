"""The database itself refuses to change or remove a row of the record, whoever asks it to.

SQLite has no rights of its own, so on both engines a trigger stands guard. Emptying the whole
database stays possible where the engine has a word of its own for it (TRUNCATE, which clearing a
test database uses); on SQLite whoever must do that breaks the seal first and sets it anew.

The rows are no hash chain: each would need the one before it, so that every publishing and every
look at film would queue behind all others until the slowest has ended, and whoever can drop the
trigger can also reckon the chain anew. What shows a record that was tampered with is a backup
that lies elsewhere.
"""

from __future__ import annotations

SEAL = {
    "sqlite": [
        f"CREATE TRIGGER audit_entry_no_{verb.lower()} BEFORE {verb} ON audit_entry "
        "BEGIN SELECT RAISE(ABORT, 'the record is only ever added to'); END"
        for verb in ("UPDATE", "DELETE")
    ],
    "postgresql": [
        "CREATE FUNCTION audit_entry_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION 'the record is only ever added to' "
        "USING ERRCODE = 'integrity_constraint_violation'; END $$",
        "CREATE TRIGGER audit_entry_sealed BEFORE UPDATE OR DELETE ON audit_entry "
        "FOR EACH ROW EXECUTE FUNCTION audit_entry_refuse()",
    ],
}
BREAK = {
    "sqlite": [
        "DROP TRIGGER audit_entry_no_update",
        "DROP TRIGGER audit_entry_no_delete",
    ],
    "postgresql": [
        "DROP TRIGGER audit_entry_sealed ON audit_entry",
        "DROP FUNCTION audit_entry_refuse()",
    ],
}
