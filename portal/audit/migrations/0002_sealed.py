from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

from portal.audit import sealing

# On SQLite a later change of the table makes it anew, without its triggers: seal it there again.


def seal(_apps: StateApps, editor: BaseDatabaseSchemaEditor) -> None:
    for statement in sealing.SEAL[editor.connection.vendor]:
        editor.execute(statement, params=None)


def break_seal(_apps: StateApps, editor: BaseDatabaseSchemaEditor) -> None:
    for statement in sealing.BREAK[editor.connection.vendor]:
        editor.execute(statement, params=None)


class Migration(migrations.Migration):
    dependencies = [("audit", "0001_first")]

    operations = [migrations.RunPython(seal, break_seal)]
